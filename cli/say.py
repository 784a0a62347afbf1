"""What is said on stderr: whole lines in a file, wrapped between words on a terminal."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from textwrap import wrap

from cli.streams import visible

__all__ = ["say"]

NARROWEST, WIDEST = 40, 100
"""Columns that lines are wrapped to at least, so that places stay whole; at most, so that they can be read."""


def say(*texts: str) -> None:
    """Print texts on stderr, each of their lines from the margin or from its own indent on.

    Where stderr takes nothing more, as on a full disk, the exit code says what is left to say.
    """
    width = _columns() if sys.stderr.isatty() else None
    for line in (visible(line) for text in texts for line in text.split("\n")):
        with suppress(OSError):
            print("\n".join(_wrapped(line, width)) if width else line, file=sys.stderr)


def _wrapped(line: str, width: int) -> list[str]:
    indent = " " * (len(line) - len(line.lstrip()) + 2)
    return wrap(line, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False) or [""]


def _columns() -> int:
    try:
        columns = os.get_terminal_size(sys.stderr.fileno()).columns
    except (OSError, ValueError):  # a terminal that does not tell its width
        columns = 80
    return min(max(columns or 80, NARROWEST), WIDEST)
