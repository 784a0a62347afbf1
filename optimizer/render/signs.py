"""Makers' words as a file format can hold them."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable
from unicodedata import category

__all__ = ["REPLACED", "distinct_names", "printable"]

REPLACED = "\N{REPLACEMENT CHARACTER}"
"""Stands for what cannot be shown."""
LONGEST_NAME = 200
"""Signs of a name, of which DXF allows 255 (from memory)."""
UNSEEN = ("Cc", "Cf", "Cs", "Cn", "Co")
"""Control and format signs, lone surrogates, what is no sign or a private one (Unicode, general category)."""


def printable(text: str, known: Container[int] | None = None) -> str:
    """Return a text on one line, white space as blanks, what a face cannot show as the replacement character.

    Parameters
    ----------
    text
        Any text.
    known
        The code points that the face has; any that are signs where not given.

    Examples
    --------
    >>> printable("a\\tb\\x1b[1m\\ud800")
    'a b\N{REPLACEMENT CHARACTER}[1m\N{REPLACEMENT CHARACTER}'
    >>> printable("ab", known={0x61})
    'a\N{REPLACEMENT CHARACTER}'
    """
    return "".join(_sign(sign, known) for sign in text)


def distinct_names(names: Iterable[str], unwanted: str, reserved: Iterable[str] = ()) -> dict[str, str]:
    """Return names with runs of unwanted signs as hyphens, told apart by numbers where they become the same.

    Capitals and small letters count as the same.

    Parameters
    ----------
    names
        The names.
    unwanted
        A regular expression of what they may not hold.
    reserved
        Names that are given already, in small letters.

    Examples
    --------
    >>> distinct_names(["thin lines", "thin/lines", "Thin*Lines"], r"[^\\w-]+")
    {'thin lines': 'thin-lines', 'thin/lines': 'thin-lines-2', 'Thin*Lines': 'Thin-Lines-3'}
    """
    found: dict[str, str] = {}
    taken = set(reserved)
    for name in names:
        base = tried = re.sub(unwanted, "-", name)[:LONGEST_NAME].strip() or "-"
        number = 1
        while tried.lower() in taken:
            number += 1
            tried = f"{base}-{number}"
        taken.add(tried.lower())
        found[name] = tried
    return found


def _sign(sign: str, known: Container[int] | None) -> str:
    if sign.isspace():
        return " "
    if category(sign) in UNSEEN or (known is not None and ord(sign) not in known):
        return REPLACED
    return sign
