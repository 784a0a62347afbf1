"""A question, with the words and figures that several of them share."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, floor

from optimizer.asking.answer import (
    Amounts,
    Answer,
    Answers,
    Plain,
    Reader,
    Stocked,
    Suggestion,
    Text,
    Written,
    amount,
    parted,
    with_unit,
)
from optimizer.catalogue.entry import CatalogueError
from optimizer.quantities import LENGTH, QuantityError, as_written
from optimizer.quantities.shop import MM_PER, inch_fraction

__all__ = ["Named", "Question", "Stock", "always", "nothing", "round_down", "round_up", "surface_text"]


def always(_: Answers) -> bool:
    """Ask whatever was answered."""
    return True


def nothing(_: Answers) -> tuple[str, ...]:
    """Remark on nothing."""
    return ()


@dataclass(frozen=True)
class Question:
    """A question, with all that is needed to ask it, to explain it, to read its answer."""

    name: str
    """Its key in a file of answers."""
    part: str
    """The part of the machine it is about."""
    asks: str
    """The question on one line."""
    why: str
    """What it means, and what hangs on it."""
    reads: Reader
    example: Written
    """An answer that can be read, whatever the machine."""
    suggests: Callable[[Answers], Suggestion | None] = lambda _: None
    """What is taken where nothing is answered; nothing where the maker alone knows."""
    asked: Callable[[Answers], bool] = always
    """Whether it is asked, after what was answered before."""
    remarks: Callable[[Answers], tuple[str, ...]] = nothing
    """What is worth saying of the answer, its own among the answers."""


@dataclass(frozen=True)
class Named(Text):
    """Reads the name of something in the catalogue, and keeps it as the catalogue writes it."""

    known_as: Callable[[str], str]
    """Returns the catalogue's name; `CatalogueError` where there is no such thing."""

    def read(self, value: Written, units: str) -> Answer:
        """Return the name."""
        text = str(super().read(value, units).value)
        try:
            name = self.known_as(text)
        except CatalogueError as error:
            raise QuantityError(error.what, error.got, error.allowed, error.advice) from None
        return Answer(name, name)


STEP_MM = {"mm": 5.0, "cm": 5.0, "in": 25.4 / 4}
"""Sizes are suggested in multiples of this."""
FT_PER_MIN = 60 / 0.3048
TOUCH = 1e-6


def round_up(length_mm: float, units: str) -> Plain:
    """Return a length rounded up to a round figure in the maker's units.

    Examples
    --------
    >>> round_up(236.1, "mm"), round_up(236.1, "cm"), round_up(236.1, "in"), round_up(254, "in")
    (240, 24, '9 1/2', 10)
    """
    return _written(ceil(length_mm / STEP_MM[units] - TOUCH), units)


def round_down(length_mm: float, units: str) -> Plain:
    """Return a length rounded down to a round figure in the maker's units.

    Examples
    --------
    >>> round_down(236.1, "mm"), round_down(236.1, "cm"), round_down(236.1, "in")
    (235, 23.5, '9 1/4')
    """
    return _written(floor(length_mm / STEP_MM[units] + TOUCH), units)


def surface_text(speeds_m_s: tuple[float, float], unit: str) -> str:
    """Return a span of surface speeds in m/s, m/min or ft/min, round figures.

    Examples
    --------
    >>> surface_text((20 / 60, 30 / 60), "m/min"), surface_text((8.0, 12.0), "ft/min")
    ('20 to 30 m/min', '1600 to 2400 ft/min')
    """
    per = {"m/s": 1.0, "m/min": 60.0, "ft/min": FT_PER_MIN}[unit]
    return f"{_two_digits(speeds_m_s[0] * per)} to {_two_digits(speeds_m_s[1] * per)} {unit}"


def _two_digits(number: float) -> str:
    return f"{float(f'{number:.2g}'):g}"


def _written(count: int, units: str) -> Plain:
    length_mm = count * STEP_MM[units]
    if units == "in":
        text = inch_fraction(length_mm, STEP_MM["in"])
        return int(text) if text.isdecimal() else text
    length = round(length_mm / MM_PER[units], 6)
    return int(length) if length == int(length) else length


MOST_ALIKE = 100
"""As many of one kind as a scenario takes."""
_ITEM = re.compile(r"(?:(?P<count>\d{1,4})\s*[x×]\s*)?(?P<sizes>.+)", re.ASCII)
_UNIT = re.compile(r"[A-Za-z\"'][^+]*$")


@dataclass(frozen=True)
class Stock(Amounts):
    """Reads sizes with how many there are of each."""

    pieces: bool = False
    """Whether one may have several sizes, joined by +."""
    open_ended: bool = True
    """Whether there may be any number of one without a count; one, otherwise."""

    def read(self, value: Written, units: str) -> Answer:
        """Return the sizes."""
        parts = parted(value)
        if not parts:
            raise QuantityError("nothing is stated", as_written(str(value)), self._form())
        last = parts[-1]
        unit = _UNIT.search(_sizes(last)) if isinstance(last, str) else None
        bare = not any(isinstance(part, str) and _UNIT.search(_sizes(part)) for part in parts[:-1])
        items = [self._item(part, units, unit[0] if unit and bare else "") for part in parts]
        return Answer(tuple(written for written, _ in items), tuple(stocked for _, stocked in items))

    def shown(self, written: Written, units: str) -> str:
        """Return the sizes with their units and counts, as they are understood."""
        read = self.read(written, units).value
        assert isinstance(read, tuple)
        return ", ".join(self._told(one, units) for one in read if isinstance(one, Stocked))

    def _told(self, one: Stocked, units: str) -> str:
        sizes = " with ".join(with_unit(size, LENGTH, units) for size in one.written)
        return f"any number of {sizes}" if one.count is None else f"{one.count} of {sizes}"

    def _item(self, part: Plain, units: str, unit: str) -> tuple[Plain, Stocked]:
        if not isinstance(part, str):
            written, real = amount(part, LENGTH, units)
            return part, Stocked((real,), (written,), None if self.open_ended else 1)
        found = _ITEM.fullmatch(part.strip())
        if found is None:
            raise QuantityError("a length starts with a number", as_written(part), self._form())
        texts = [text.strip() for text in found["sizes"].split("+")] if self.pieces else [found["sizes"].strip()]
        own = _UNIT.search(texts[-1])
        common = own[0] if own else unit
        pairs = [amount(text if _UNIT.search(text) else f"{text} {common}".strip(), LENGTH, units) for text in texts]
        count = self._count(found["count"], len(texts), part)
        stocked = Stocked(tuple(real for _, real in pairs), tuple(written for written, _ in pairs), count)
        sizes = "+".join(str(written) for written in stocked.written)
        plain = stocked.written[0] if len(pairs) == 1 else sizes
        return (f"{found['count']} x {sizes}" if found["count"] else plain), stocked

    def _count(self, written: str | None, grooves: int, part: str) -> int | None:
        if written is None:
            return None if self.open_ended and grooves == 1 else 1
        count = int(written)
        if not 1 <= count <= MOST_ALIKE:
            raise QuantityError("this is no number of pieces", as_written(part), f"1 to {MOST_ALIKE}")
        return count

    def _form(self) -> str:
        return "2 x 63, 90, 71+80" if self.pieces else "2 x 150, 200"


def _sizes(part: str) -> str:
    """Return an item without its count, whose x is no unit."""
    found = _ITEM.fullmatch(part.strip())
    return found["sizes"] if found else part
