"""How finely limits are moved, and how far."""

from __future__ import annotations

from optimizer.scenario import Scenario

__all__ = [
    "ANGLE_TICK_DEG",
    "FARTHEST",
    "FARTHEST_EDGE",
    "FARTHEST_SHARE",
    "GRIP_TICK",
    "HALF",
    "SHARE_TICK",
    "SPEED_TICK_M_S",
    "distance_tick_mm",
    "size_tick_mm",
    "unit_ticks",
]

SIXTEENTH_MM = 25.4 / 16
SIZE_TICK_MM = 0.5
DISTANCE_TICK_MM = 1.0
SPEED_TICK_M_S = 0.5
ANGLE_TICK_DEG = 1.0
GRIP_TICK = 0.05
SHARE_TICK = 0.001
"""Tick of end miss and unevenness."""
HALF = 0.5
"""A smallest pulley is let out to this part of what its section bends around."""
FARTHEST = 2.0
"""Limits are tightened to this part of what they are, or to this multiple."""
FARTHEST_EDGE = 2.0
"""Outermost edges of bands are moved to this multiple of what they are, and to as small a part."""
FARTHEST_SHARE = 0.5
"""End miss and unevenness up to which their limits are let out."""


def size_tick_mm(scenario: Scenario) -> float:
    """Return the tick of diameters: a sixteenth in inches, otherwise 0.5 mm."""
    return SIXTEENTH_MM if scenario.units == "in" else SIZE_TICK_MM


def distance_tick_mm(scenario: Scenario) -> float:
    """Return the tick of distances between and along shafts: a sixteenth in inches, otherwise 1 mm."""
    return SIXTEENTH_MM if scenario.units == "in" else DISTANCE_TICK_MM


def unit_ticks(unit_mm: float, tick_mm: float) -> int:
    """Return the whole ticks nearest to a unit by which two limits are let out together.

    Examples
    --------
    Five millimetres are ten ticks of 0.5 mm, or three sixteenths:

    >>> unit_ticks(5.0, 0.5), unit_ticks(5.0, 1.5875)
    (10, 3)
    """
    return round(unit_mm / tick_mm)
