"""What is told of the room around belts and pulleys."""

from __future__ import annotations

from optimizer.scenario.base import Model

__all__ = ["AroundSheet", "GapSheet", "ReachSheet"]


class GapSheet(Model):
    """The least gap between two things over every position and both ends of travel."""

    one: str
    other: str
    gap_mm: float
    """Below 0 where they overlap."""
    placed: bool
    """Whether it is known where both lie along the shafts; else the gap is the one across the shafts."""
    state: str
    """How the stages stand where the gap is that small."""


class ReachSheet(Model):
    """Where the axis of a shaft stands over every position and both ends of travel, in the maker's coordinates."""

    shaft: str
    x_mm: tuple[float, float]
    y_mm: tuple[float, float]


class AroundSheet(Model):
    """The room around, where places of shafts are stated."""

    least_gap_mm: float
    """Gap that is to be kept."""
    shafts: tuple[ReachSheet, ...]
    unknown: tuple[str, ...]
    """Shafts whose place is not known, so that nothing on them is looked at; what is missing stands in `skipped`."""
    gaps: tuple[GapSheet, ...]
    """Nearest first."""
