"""What the data files hold: the shapes of their entries."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

__all__ = ["INCH_MM", "CatalogueError", "Entry", "Grade", "Kind", "Pins", "Section", "table"]

INCH_MM = 25.4
"""Millimetres in an inch, exact."""

Kind = Literal["v", "ribbed", "round", "flat"]
Grade = Literal["ordinary", "high"]
"""How strong a belt of its section is: the commonest, or those of the highest rated power."""


class CatalogueError(ValueError):
    """The catalogue has no such thing.

    Parameters
    ----------
    what
        What is wrong, as a sentence without a full stop.
    got, allowed, advice
        The value asked for, what there is, what to try.
    """

    def __init__(self, what: str, got: str = "", allowed: str = "", advice: str = "") -> None:
        """Keep the parts, from which a fault with its place can be made."""
        self.what, self.got, self.allowed, self.advice = what, got, allowed, advice
        named = (("got ", got), ("allowed: ", allowed), ("try: ", advice))
        super().__init__("; ".join([what, *(label + text for label, text in named if text)]))


class Entry(BaseModel):
    """A row of a data file: frozen, closed to unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Pins(Entry):
    """How a groove is measured over two gauge pins: datum diameter = size over the pins − take-off.

    Where no standard names a take-off, the size over the pins follows from the groove itself.
    """

    pin_mm: float
    """Diameter of the pins."""
    take_off_mm: float | None = None


class Section(Entry):
    """A belt section with the groove made for it."""

    name: str
    title: str
    kind: Kind
    top_mm: float
    """Width of the belt's top, or of the whole belt where it is ribbed or flat."""
    height_mm: float
    datum_width_mm: float
    """Width of the belt at its datum line."""
    datum_depth_mm: float
    """How far the datum line lies below the belt's top."""
    above_mm: float
    """How far the rim of a groove lies outside the datum line (b)."""
    below_mm: float
    """Least depth of a groove below the datum line (h)."""
    e_mm: float
    """Distance of neighbouring grooves."""
    f_mm: float
    """Distance from the middle of the outer groove to the edge of the rim."""
    smallest_datum_mm: float
    """Smallest datum diameter that the belt may bend around."""
    preferred_datum_mm: float
    """Smallest datum diameter that is advised."""
    pitch_shift_mm: float = 0.0
    """Pitch diameter less datum diameter."""
    default_measured: Literal["datum", "outside"] = "datum"
    """Line on which diameters are usually given."""
    pins: Pins | None = None
    belt_speed_m_s: float = 30.0
    kg_per_m: float
    default_series: Literal["metric", "inch"] | None = "metric"
    """Stock lengths meant where none are named; nothing for belts joined from any length."""
    ribs: int = 0
    sources: dict[str, str]
    """Where each group of figures comes from; the groups are named in the data file."""

    @property
    def pins_measured(self) -> bool:
        """Whether a standard tells the datum diameter from the size over pins, whatever the groove's angle."""
        return self.pins is not None and self.pins.take_off_mm is not None

    @property
    def smallest_source(self) -> str:
        """Where the smallest diameter comes from."""
        return self.sources["smallest"]

    @property
    def preferred_source(self) -> str:
        """Where the smallest advised diameter comes from."""
        return self.sources.get("preferred", self.smallest_source)


@cache
def table(name: str) -> dict[str, Any]:
    """Return the contents of one of this folder's data files.

    Examples
    --------
    >>> sorted(table("lengths"))
    ['r40', 'series', 'tolerance']
    """
    return tomllib.loads(resources.files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8"))
