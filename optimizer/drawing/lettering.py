"""How much room lettering takes, whatever face it is set in; texts as lines that have room.

No renderer is asked: the widths are those of a wide face without serifs, so that text set in any common one fits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cache, lru_cache
from math import cos, radians, sin
from typing import NamedTuple
from unicodedata import category, east_asian_width

from optimizer.drawing.sheet import Across, Along, Point, Text

__all__ = ["CAPITAL_EM", "JOIN", "Hand", "box_of", "broken", "one_line", "shortened", "text_width_mm", "wrapped"]

CAPITAL_EM = 0.72
"""Height of a capital letter as a share of the type size, 0.71 to 0.73 in common faces (from memory)."""
NARROW, WIDE = "fijlrtI.,:;!|'()[]/\\- ", "mwMWOQG@%&+=<>~^#©®¬±×÷¼½¾ŴŒÆœæ"
"""Letters and signs well below, well above the width of the others."""
LAST_LATIN = 0x17F
"""Above this, letters may be of any width."""
DESCENT_EM = 0.24
"""How far letters reach below the base line (from memory)."""
JOIN = "\x02"
"""Stands for a blank at which no line is broken; no name holds it, as what cannot be printed is replaced."""


class Hand(NamedTuple):
    """How lines of one kind are lettered."""

    layer: str
    height_mm: float
    """Height of capitals."""
    lead_mm: float
    """From line to line."""

    def width_mm(self, text: str) -> float:
        """Return a width [mm] that a text stays within."""
        return text_width_mm(text, self.height_mm)

    def broken(self, text: str, width_mm: float) -> tuple[str, ...]:
        """Return a text as lines within a width [mm]."""
        return broken(text, width_mm, self.height_mm)

    def down(self, at: Point, lines: Iterable[str], across: Across = "left", along: Along = "top") -> Iterator[Text]:
        """Yield lines one below another, the first at a point."""
        for number, line in enumerate(lines):
            yield Text(self.layer, (at[0], at[1] - self.lead_mm * number), line, self.height_mm, across, along)

    def about(self, at: Point, lines: Sequence[str], across: Across = "left") -> Iterator[Text]:
        """Yield lines one below another, the middle of all of them at a point."""
        return self.down((at[0], at[1] + self.lead_mm * (len(lines) - 1) / 2), lines, across, "middle")


def text_width_mm(text: str, height_mm: float) -> float:
    """Return a width [mm] that the text stays within in common faces, for capitals of a height [mm].

    Examples
    --------
    >>> round(text_width_mm("1250", 2.16), 3)
    7.92
    """
    return height_mm / CAPITAL_EM * sum(map(_width_em, text))


def box_of(text: Text) -> tuple[Point, ...]:
    """Return the corners of the room that a text takes on the page, descenders included.

    Examples
    --------
    >>> box = box_of(Text("words", (10, 20), "50", 7.2, across="right", along="top"))
    >>> [(round(x, 2), round(y, 2)) for x, y in box]
    [(-3.2, 10.4), (10.0, 10.4), (10.0, 20.0), (-3.2, 20.0)]
    """
    width, height = text_width_mm(text.text, text.height_mm), text.height_mm
    left = {"left": 0.0, "middle": -width / 2, "right": -width}[text.across]
    base = {"base": 0.0, "middle": -height / 2, "top": -height}[text.along]
    low = base - DESCENT_EM / CAPITAL_EM * height
    c, s = cos(radians(text.turn_deg)), sin(radians(text.turn_deg))
    corners = ((left, low), (left + width, low), (left + width, base + height), (left, base + height))
    return tuple((text.at[0] + c * x - s * y, text.at[1] + s * x + c * y) for x, y in corners)


def wrapped(text: str, width_mm: float, height_mm: float) -> list[str]:
    """Return the text as lines that stay within a width [mm], broken between words, within a word where it must be.

    White space becomes single blanks; a text of nothing is one empty line.

    Examples
    --------
    >>> wrapped("coarse stage first", 20, 2.16)
    ['coarse', 'stage first']
    >>> wrapped("unbrokenlabel", 12, 2.16)
    ['unbrok', 'enlabe', 'l']
    """
    lines: list[str] = []
    for piece in _pieces(text, width_mm, height_mm):
        joined = f"{lines[-1]} {piece}" if lines else piece
        if lines and text_width_mm(joined, height_mm) <= width_mm:
            lines[-1] = joined
        else:
            lines.append(piece)
    return lines or [""]


def _pieces(text: str, width_mm: float, height_mm: float) -> Iterator[str]:
    """Yield the words, those wider than the width in parts."""
    for word in text.split():
        part = ""
        for sign in word:
            if part and text_width_mm(part + sign, height_mm) > width_mm:
                yield part
                part = ""
            part += sign
        yield part


@cache
def _width_em(sign: str) -> float:
    """Return a width that one sign stays within, as a share of the type size."""
    if category(sign) in ("Mn", "Me"):
        return 0.0
    if east_asian_width(sign) in "WF":
        return 1.3
    if sign in NARROW:
        return 0.42
    if sign in WIDE or ord(sign) > LAST_LATIN:
        return 1.1
    return 0.8 if sign.isupper() else 0.66


@lru_cache(maxsize=4096)
def broken(text: str, width_mm: float, capital_mm: float) -> tuple[str, ...]:
    """Return a text as lines within a width [mm], never broken at a blank that holds together.

    Examples
    --------
    >>> broken(f'centres 9{JOIN}35/64"', 20, 2.3)
    ('centres', '9 35/64"')
    """
    return tuple(line.replace(JOIN, " ") for line in wrapped(text, width_mm, capital_mm))


def shortened(text: str, width_mm: float, height_mm: float) -> str:
    """Return a text that stays within a width [mm], its end replaced by an ellipsis where it would not.

    Examples
    --------
    >>> shortened("profile gauge", 40, 2.4), shortened("profile gauge of the countershaft", 30, 2.4)
    ('profile gauge', 'profile gauge…')
    """
    if text_width_mm(text, height_mm) <= width_mm:
        return text
    while text and text_width_mm(f"{text}…", height_mm) > width_mm:
        text = text[:-1]
    return f"{text.rstrip()}…"


def one_line(text: str) -> str:
    """Return a maker's text on one line, what cannot be printed as a question mark.

    Examples
    --------
    >>> one_line("  bench\\tmill\\n\\x1b[31m ")
    'bench mill ?[31m'
    """
    return "".join(sign if sign.isprintable() else "?" for sign in " ".join(text.split()))
