"""The two streams of a call, made such that whatever is said can be said."""

from __future__ import annotations

import codecs
import io
import os
import sys
from contextlib import suppress

__all__ = ["give_up_output", "settle_streams", "visible"]

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
