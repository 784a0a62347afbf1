"""What is told of the diameters of work at every spindle speed."""

from __future__ import annotations

from typing import Literal

from optimizer.scenario.base import Model

__all__ = ["SurfaceSheet", "WorkSheet", "WorkSizeSheet"]


class SurfaceSheet(Model):
    """How fast the surface of a stated diameter runs."""

    diameter_mm: float
    speed_m_s: float


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


class WorkSizeSheet(Model):
    """Work at every speed of which the maker states something."""

    largest_mm: float | None
    """Diameter of the largest work that the machine takes, where it is stated."""
    work: tuple[WorkSheet, ...]
    cautions: tuple[str, ...]
