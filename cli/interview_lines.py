"""Lines between a person and the questions: asking on stderr, reading from the terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable

from cli.say import say

__all__ = ["ask_line", "ask_lines", "ask_yes"]

MORE = "  and the next, or Enter where that is all"


def ask_line(prompt: str = "> ") -> str:
    """Return the line that is typed, without its end.

    Raises
    ------
    EOFError
        No more will be typed.
    """
    while True:
        print(prompt, end="", file=sys.stderr, flush=True)
        typed = sys.stdin.buffer.readline()
        if not typed:
            print(file=sys.stderr)
            raise EOFError
        try:
            return typed.decode(sys.stdin.encoding or "utf-8").strip()
        except UnicodeDecodeError:
            say(f"  This cannot be read as {sys.stdin.encoding}; type it again.")


def ask_lines(ends: Callable[[str], bool]) -> str:
    """Return the lines that are typed up to an empty one; the last alone where it says that the others do not count."""
    lines = [ask_line()]
    while lines[-1] and not ends(lines[-1]):
        say(MORE)
        lines.append(ask_line("+ "))
    return lines[-1] if lines[-1] else "\n".join(lines).strip()


def ask_yes(question: str) -> bool:
    """Ask for yes or no; Enter is yes."""
    while True:
        say(f"{question} (yes, no; Enter is yes)")
        typed = ask_line().lower()
        if typed in ("", "y", "yes"):
            return True
        if typed in ("n", "no"):
            return False
        say("  This is yes or no.")
