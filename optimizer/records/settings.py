"""What is told of a mount whose one movement changes several belts."""

from __future__ import annotations

from typing import Literal

from optimizer.scenario.base import Model

__all__ = ["SharedSheet"]


class SharedSheet(Model):
    """Where a shared mount is set; settings are counted from its stated place, onward as the belts tighten."""

    shaft: str
    kind: Literal["slide", "hinge"]
    """Whether settings are lengths along a slide, or arcs of the mount's axis about its hinge."""
    way: Literal["along its direction", "against its direction", "anticlockwise", "clockwise"]
    """Which way settings grow, a hinge's as seen from the motor's pulley end."""
    stages: tuple[str, ...]
    """Places of its stages in the scenario."""
    belt_on_mm: float
    """Setting at which every belt that it tensions can be put on."""
    running_mm: tuple[float, float]
    """Least and greatest setting at which it runs, over all combinations of positions."""
    worn_out_mm: float
    """Setting at which none of the belts that it tensions is loose at the end of its life."""
    common_mm: float
    """Over how many settings any two positions run together at least; below 0 where some never do."""
