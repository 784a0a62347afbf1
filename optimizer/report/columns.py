"""How many columns of a terminal a text takes."""

from __future__ import annotations

from collections.abc import Iterator
from unicodedata import category, east_asian_width

__all__ = ["broken", "columns", "padded"]


def columns(text: str) -> int:
    """Return the columns a text takes on a terminal: two for a wide sign, none for one set on another.

    Examples
    --------
    >>> columns("2x4"), columns("低速"), columns("e\N{COMBINING ACUTE ACCENT}")
    (3, 4, 1)
    """
    return sum(0 if category(sign) in ("Mn", "Me") else 2 if east_asian_width(sign) in "WF" else 1 for sign in text)


def padded(text: str, width: int) -> str:
    """Return a text filled up with blanks to so many columns.

    Examples
    --------
    >>> padded("低速", 6)
    '低速  '
    """
    return text + " " * (width - columns(text))


def broken(text: str, width: int) -> list[str]:
    """Return a text as lines of at most so many columns, broken between words, within a word where it must be.

    Examples
    --------
    >>> broken("coarse stage first", 12), broken("低速低速", 5), broken("", 5)
    (['coarse stage', 'first'], ['低速', '低速'], [''])
    """
    lines: list[str] = []
    for piece in _pieces(text, width):
        if lines and columns(lines[-1]) + 1 + columns(piece) <= width:
            lines[-1] += f" {piece}"
        else:
            lines.append(piece)
    return lines or [""]


def _pieces(text: str, width: int) -> Iterator[str]:
    """Yield the words, those wider than the width in parts."""
    for word in text.split():
        part = ""
        for sign in word:
            if part and columns(part + sign) > width:
                yield part
                part = ""
            part += sign
        yield part
