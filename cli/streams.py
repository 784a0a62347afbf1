"""What is printed where: the streams made fit for any text, and remarks on stderr."""

from __future__ import annotations

import codecs
import io
import os
import sys
from contextlib import suppress
from textwrap import wrap

__all__ = ["give_up_output", "say", "settle_streams", "visible"]

_ESCAPED = "conewright.escaped"


def settle_streams() -> None:
    """Let a stream that cannot show a character show its number, and one that is closed take everything.

    The numbers are written as JSON writes them, so that a document stays one in any locale.
    """
    codecs.register_error(_ESCAPED, _escaped)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, io.TextIOWrapper(io.FileIO(os.devnull, "w"), encoding="utf-8"))
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_ESCAPED)


def give_up_output() -> None:
    """Let go of what cannot be written any more, which Python would try, and complain of, once more at its end."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError:
            with suppress(OSError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def visible(text: str) -> str:
    """Return a line with everything that is no plain sign written as its number, so that it steers no terminal.

    Examples
    --------
    >>> visible("mill.toml: wall, 4 mm"), visible("a\\x1b[2J\\n.toml"), visible("a\\u202eb")
    ('mill.toml: wall, 4 mm', 'a\\\\u001b[2J\\\\u000a.toml', 'a\\\\u202eb')
    """
    return "".join(c if c.isprintable() or c in "\u00a0\u2009\u202f\u3000" else _number(c) for c in text)


def _escaped(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(_number, error.object[error.start : error.end])), error.end


def _number(character: str) -> str:
    """Return a character's number; two of them, as in JSON, where one has too few digits."""
    units = character.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[i]:02x}{units[i + 1]:02x}" for i in range(0, len(units), 2))


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
