"""What is told of the diameters of work at every spindle speed."""

from __future__ import annotations

from typing import Literal

from optimizer.quantities import SurfaceUnit
from optimizer.scenario.base import Model
from optimizer.scenario.surfaces import Of

__all__ = ["BandSurface", "SurfaceSheet", "WorkSheet", "WorkSizeSheet"]


class BandSurface(Model):
    """What a maker wants a band's surface to do."""

    of: Of
    """What the diameters are of: work, a tool, a wheel, or the wheel that a blade runs on."""
    diameter_mm: tuple[float, float]
    """Least and greatest diameter."""
    wanted_m_s: tuple[float, float]
    """Least and greatest speed wanted along the surface."""
    wanted: tuple[float, float]
    """The same in the unit that the maker writes."""
    unit: SurfaceUnit
    told: bool
    """Whether the band's speeds are told by that of its surface, as for a blade, and not by diameters that suit."""
    sets_edges: bool
    """Whether both edges of the band follow from it."""


class SurfaceSheet(Model):
    """How fast the surface of a stated diameter runs."""

    diameter_mm: float
    speed_m_s: float
    speed: float
    """The same in the unit in which the band's speeds are told."""
    unit: SurfaceUnit


class WorkSheet(Model):
    """Work at one spindle speed in one band."""

    number: int
    """The speed, counted from 1."""
    rpm: float
    band: str
    """Nothing for a speed that is in no band."""
    rule: Literal["wood turning", "surface speed"] | None
    """What the span of diameters follows from; nothing where no span is asked for."""
    wanted_m_s: tuple[float, float] | None
    """Least and greatest speed wanted along the surface."""
    source: str
    suited_mm: tuple[float, float] | None
    """Least and greatest diameter that suit the speed."""
    surfaces: tuple[SurfaceSheet, ...]
    """The band's own diameters of work, tool, or wheel."""
    of: Of
    """What they are of."""
    unit: SurfaceUnit
    """Unit in which speeds along the surface are told."""
    told: bool
    """Whether the speed is told by that of its surface, as for a blade, and not by the diameters that suit it."""


class WorkSizeSheet(Model):
    """Work at every speed of which the maker states something."""

    largest_mm: float | None
    """Diameter of the largest work that the machine takes, where it is stated."""
    work: tuple[WorkSheet, ...]
    cautions: tuple[str, ...]
