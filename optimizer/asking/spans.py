"""Kinds of work as a maker writes them: `iron: 200 to 450 rpm, 2 speeds`, `bowls: 80 to 200 mm at 8 to 12 m/s`."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from dataclasses import dataclass
from math import log10, sqrt

from optimizer.asking.answer import Answer, Wanted, Written
from optimizer.asking.reading import Span
from optimizer.mechanics.surface_speed import suited_mm
from optimizer.quantities import LENGTH, RIM_SPEED, SPEED, QuantityError, as_written, show_length
from optimizer.scenario.band import MOST_SPEEDS

__all__ = ["Bands", "Sizes", "rounded_rpm", "span_rpm"]

LEAST_SIZE_MM = 0.1
"""No work is smaller."""
_COUNT = re.compile(r"(?:,\s*|\s+)(?:(?P<count>\d{1,3})\s*speeds?|x\s*(?P<times>\d{1,3}))\s*$", re.ASCII)


@dataclass(frozen=True)
class _Items(ABC):
    """Reads kinds of work, one a line or parted by semicolons."""

    @property
    def many(self) -> bool:
        """Whether an answer may take several lines."""
        return True

    @property
    @abstractmethod
    def form(self) -> str:
        """How one is written."""

    def read(self, value: Written, units: str) -> Answer:
        """Return the kinds of work."""
        lines = value if isinstance(value, tuple) else tuple(re.split(r"[;\n]", str(value)))
        texts = [str(line).strip() for line in lines if str(line).strip()]
        if not texts or len(texts) > MOST_SPEEDS:
            raise QuantityError(f"this takes 1 to {MOST_SPEEDS} lines", str(len(texts)), self.form)
        items = tuple(self._item(text, units) for text in texts)
        return Answer(tuple(texts), items)

    def shown(self, written: Written, units: str) -> str:
        """Return them one after the other."""
        del units
        return "; ".join(map(str, written)) if isinstance(written, tuple) else str(written)

    def _item(self, text: str, units: str) -> Wanted:
        name, colon, rest = text.rpartition(":")
        if not colon or not name.strip() or not rest.strip():
            raise QuantityError("a name, a colon and what is wanted belong here", as_written(text), self.form)
        found = _COUNT.search(rest)
        want = int(found["count"] or found["times"]) if found else None
        if want is not None and not 1 <= want <= MOST_SPEEDS:
            raise QuantityError(
                "a machine has no such number of speeds", as_written(text), f"1 to {MOST_SPEEDS} speeds"
            )
        return self._of(name.strip(), rest[: found.start()] if found else rest, want, units)

    @abstractmethod
    def _of(self, name: str, rest: str, want: int | None, units: str) -> Wanted:
        """Return the kind of work of this name."""


@dataclass(frozen=True)
class Bands(_Items):
    """Reads spans of spindle speeds."""

    @property
    def form(self) -> str:
        """How one is written."""
        return "iron: 200 to 450 rpm, 2 speeds"

    def _of(self, name: str, rest: str, want: int | None, units: str) -> Wanted:
        (low, least), (high, most) = Span(SPEED).ends(rest, units)
        if least >= most:
            raise QuantityError("a band needs two speeds", as_written(rest.strip()), self.form)
        return Wanted(name, least, most, (low, high), want)


@dataclass(frozen=True)
class Sizes(_Items):
    """Reads diameters of work, tool or wheel."""

    @property
    def form(self) -> str:
        """How one is written."""
        return "bowls: 80 to 200 mm at 8 to 12 m/s, 3 speeds; the part from at on may be left out"

    def _of(self, name: str, rest: str, want: int | None, units: str) -> Wanted:
        size, _, speed = rest.partition(" at ")
        (low, least), (high, most) = Span(LENGTH).ends(size, units)
        if least < LEAST_SIZE_MM:
            least_said = show_length(LEAST_SIZE_MM, units)
            raise QuantityError("this size is too small", as_written(size.strip()), f"{least_said} or more")
        if not speed.strip():
            return Wanted(name, least, most, (low, high), want)
        slow, fast = Span(RIM_SPEED).ends(speed, units)
        return Wanted(name, least, most, (low, high), want, (slow[1], fast[1]), (slow[0], fast[0]))


def span_rpm(size_mm: tuple[float, float], surface_m_s: tuple[float, float]) -> tuple[float, float]:
    """Return the slowest and fastest spindle speed for work between two sizes [rpm].

    The middle of the surface speeds, `v = √(v1·v2)`, belongs to the middle size, `d = √(d1·d2)`; from there the speeds
    go as far either way as the sizes or the surface speeds do, whichever go farther. So the largest work turns
    at the middle surface speed at the slowest speed, the smallest at the fastest, and work of one size has the whole
    span of surface speeds.

    Parameters
    ----------
    size_mm
        The smallest and the largest diameter, above 0.
    surface_m_s
        The least and the greatest speed along the surface, above 0.

    Examples
    --------
    Turned wood of 200 to 400 mm at 8 to 12 m/s; a wheel of 150 mm at 15 to 25 m/s:

    >>> [round(rpm) for rpm in span_rpm((200.0, 400.0), (8.0, 12.0))]
    [468, 936]
    >>> [round(rpm) for rpm in span_rpm((150.0, 150.0), (15.0, 25.0))]
    [1910, 3183]
    """
    middle_mm, middle_m_s = sqrt(size_mm[0] * size_mm[1]), sqrt(surface_m_s[0] * surface_m_s[1])
    # the diameter that suits 1 rpm at a surface speed is the speed that suits 1 mm
    middle_rpm = float(suited_mm(1.0, middle_m_s, middle_m_s).least) / middle_mm
    half = sqrt(max(size_mm[1] / size_mm[0], surface_m_s[1] / surface_m_s[0]))
    return middle_rpm / half, middle_rpm * half


def rounded_rpm(rpm: float, digits: int = 3) -> int | float:
    """Return a speed rounded to some leading digits, a whole number from 10 rpm on.

    Examples
    --------
    >>> rounded_rpm(468.1), rounded_rpm(2331.7), rounded_rpm(2331.7, 2), rounded_rpm(3.14159)
    (468, 2330, 2300, 3.14)
    """
    places = digits - 1 - int(log10(rpm)) if rpm >= 1 else digits
    found = round(rpm, places)
    return int(found) if found == int(found) else found
