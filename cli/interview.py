"""Asking for a machine on a terminal, line by line."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from cli.new import file_stem, free_path, hindered
from cli.streams import say
from optimizer.asking import Interview, hindrance, scenarios_of
from optimizer.asking.answer import Answers, Suggestion
from optimizer.asking.interview import Reply
from optimizer.asking.question import Question
from optimizer.asking.questions import question_named
from optimizer.errors import Fault

__all__ = ["SUFFIX", "Dialogue", "StoppedError", "ask_line", "ask_lines", "ask_yes"]

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


SUFFIX = ".toml"
WORDS = ("?", "back", "list", "rest", "stop")
OPENING = (
    "This asks for a machine, question by question, and writes a scenario that check accepts.",
    "Enter takes what is suggested. ? explains a question, back goes back by one, list shows the answers so far, rest "
    "takes all that is suggested from here on, stop or ^C ends. Text that is one of these words goes in quotes. "
    "Lengths may have a unit and fractions: 240, 24 cm, 9 1/2 in, 3/4.",
)
ONLY_AGAIN = "Nothing can be made of these answers yet: {}. The last question is open again; back leads further."


class StoppedError(Exception):
    """The maker ended the questions before their end."""


class Dialogue:
    """The questions to one maker.

    Parameters
    ----------
    interview
        What is asked.
    out
        The file to write, where it was named with the call.
    """

    def __init__(self, interview: Interview, out: Path | None) -> None:
        self.interview = interview
        self._out = out
        self._part = ""

    def greet(self) -> None:
        """Say what comes, and the words that steer it."""
        say(*OPENING)

    def run(self) -> tuple[Answers, Path]:
        """Ask until all is answered, and for the file to write; once more, for the file alone.

        Raises
        ------
        StoppedError
            The maker stopped.
        EOFError, KeyboardInterrupt
            The terminal was closed, ^C was typed.
        """
        while True:
            while (question := self.interview.question) is not None:
                self._ask(question)
            reason = "; ".join(filter(None, (hindrance(one.scenario) for one in scenarios_of(self.interview.answers))))
            if reason:
                say("", ONLY_AGAIN.format(reason))
                self.interview.back()
                continue
            path = self._ask_path()
            if path is not None:
                return self.interview.answers, path
            self.interview.back()

    def _ask(self, question: Question) -> None:
        """Ask one question until it is answered, or another one is open."""
        if question.part != self._part:
            self._part = question.part
            say("", f"---- {question.part} ----")
        say("", question.asks, *self._suggested(question))
        typed = ask_lines(WORDS.__contains__) if question.reads.many else ask_line()
        if typed in WORDS:
            self._steer(typed, question)
        elif not typed:
            self._tell(self.interview.take_suggestion())
        else:
            reply = self.interview.answer(typed)
            self._tell(reply)
            if not reply.faults:
                self._echo(question)

    def _suggested(self, question: Question) -> list[str]:
        suggestion = self.interview.suggestion
        if suggestion is None:
            return []
        if question.reads.many and isinstance(suggestion.written, tuple):
            return ["  Enter takes", *(f"    {line}" for line in suggestion.written), f"  ({suggestion.reason})"]
        return [f"  Enter takes {self._shown(question, suggestion)} ({suggestion.reason})"]

    def _shown(self, question: Question, known: Suggestion) -> str:
        return question.reads.shown(known.written, self.interview.answers.units)

    def _steer(self, word: str, question: Question) -> None:
        if word == "?":
            say(f"  {question.why}", f"  For example: {_example(question)}")
        elif word == "back":
            if not self.interview.back():
                say("  This is the first question.")
            self._part = ""
        elif word == "list":
            self._list()
        elif word == "rest":
            self._rest()
        else:
            raise StoppedError

    def _rest(self) -> None:
        """Take all that is suggested, and show it."""
        known = len(list(self.interview.answers))
        reply = self.interview.take_rest()
        self._list(known)
        self._tell(reply)

    def _list(self, first: int = 0) -> None:
        answers = self.interview.answers
        for name in list(answers)[first:]:
            question, answer = question_named(name), answers.by_name[name]
            assert question is not None
            mark = " (suggested)" if answer.reason else ""
            say(f"  {name}: {question.reads.shown(answer.written, answers.units)}{mark}")
        if not list(answers):
            say("  Nothing is answered yet.")

    def _tell(self, reply: Reply) -> None:
        for fault in reply.faults:
            say(f"  Not taken. {_as_sentence(fault)}")
        say(*(f"  {remark}" for remark in reply.remarks))

    def _echo(self, question: Question) -> None:
        """Show a list the way it was read, since commas and units may be read otherwise than they were meant."""
        answers = self.interview.answers
        answer = answers.by_name.get(question.name)
        if answer is not None and isinstance(answer.value, tuple) and not question.reads.many:
            say(f"  Read as {question.reads.shown(answer.written, answers.units)}.")

    def _ask_path(self) -> Path | None:
        """Ask for the file to write; nothing where the maker goes back."""
        named, self._out = self._out, None
        if named is not None and not hindered(named):
            return named
        usual = free_path(Path(file_stem(self.interview.answers.word("title")) + SUFFIX))
        while True:
            say("", "---- The file ----", "", "File to write", f"  Enter takes {usual}")
            typed = ask_line()
            if typed == "back":
                return None
            if typed == "stop":
                raise StoppedError
            if typed in WORDS:
                say(
                    "  The scenario is written there, as text that you can edit. A file that is there is never "
                    "overwritten."
                )
                continue
            path = _named(typed) if typed else usual
            reason = _unnamable(typed) or hindered(path)
            if not reason:
                return path
            say(f"  {reason[:1].upper()}{reason[1:]}.")


def _example(question: Question) -> str:
    example = question.example
    if isinstance(example, str):
        return example
    return (
        str(example[0]) if question.reads.many and isinstance(example, tuple) else question.reads.shown(example, "mm")
    )


def _as_sentence(fault: Fault) -> str:
    text = str(replace(fault, where="")).removeprefix(": ")
    return f"{text[:1].upper()}{text[1:]}."


def _named(typed: str) -> Path:
    path = Path(typed).expanduser()
    return path if path.suffix else path.with_name(path.name + SUFFIX)


def _unnamable(typed: str) -> str:
    """Return why nothing can be a file's name."""
    if any(not character.isprintable() for character in typed):
        return "a file's name has no control characters"
    return "this names a folder; add the name of a file" if typed and not Path(typed).name else ""
