"""The outline of a plate or card that is cut at true size: round corners, holes, their distances beside it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Layer, Line, Point, Text
from optimizer.quantities import shop_length

__all__ = ["HOLE_FROM_EDGE_MM", "HOLE_MM", "OUTLINE_LAYERS", "OUTSIDE_MM", "Plate", "outlined"]

OUTLINE_LAYERS = (Layer("cut", 0.1), Layer("dimensions", 0.13), Layer("notes", 0.0))
HOLE_MM, HOLE_FROM_EDGE_MM, CORNER_MM = 4.5, 6.0, 4.0
"""Diameter of the holes, for 4 mm screws; how far their middles lie from the edges; radius of the corners."""
OUTSIDE_MM = 16.0
"""Room around the plate on its page, for dimensions."""
EDGE_MM = 3.0
"""Free edge of the page."""
AWAY_MM, BEYOND_MM, NOTE_MM, ARROW_MM = 7.0, 1.0, 2.2, 1.8
"""Distance of a dimension from the plate, reach of its thin lines beyond it, height of its figures, of its arrows."""


Shown = Callable[[float], str]
"""Writes a length."""


class Plate(NamedTuple):
    """A plate's size [mm]."""

    width_mm: float
    height_mm: float


def outlined(plate: Plate, units: str, division_mm: float) -> Iterator[Entity]:
    """Yield outline and holes on layer `cut`, sizes and distances of the holes, in the maker's units, beside it."""
    left, low = OUTSIDE_MM, OUTSIDE_MM
    right, high = left + plate.width_mm, low + plate.height_mm
    for start, end in (
        ((left + CORNER_MM, low), (right - CORNER_MM, low)),
        ((right, low + CORNER_MM), (right, high - CORNER_MM)),
        ((right - CORNER_MM, high), (left + CORNER_MM, high)),
        ((left, high - CORNER_MM), (left, low + CORNER_MM)),
    ):
        yield Line("cut", start, end)
    for x, y, turn in ((right, high, 0), (left, high, 90), (left, low, 180), (right, low, 270)):
        centre = x + CORNER_MM * (1 if x == left else -1), y + CORNER_MM * (1 if y == low else -1)
        yield Arc("cut", centre, CORNER_MM, turn, turn + 90)
    inner = HOLE_FROM_EDGE_MM
    holes = [(x, y) for x in (left + inner, right - inner) for y in (low + inner, high - inner)]
    for hole in holes:
        yield Circle("cut", hole, HOLE_MM / 2)

    def shown(length_mm: float) -> str:
        return shop_length(length_mm, units, division_mm)

    yield from _level((left + inner, right - inner), low + inner, low - AWAY_MM, shown)
    yield from _level((left, right), high, high + AWAY_MM, shown)
    yield from _upright((low + inner, high - inner), left + inner, left - AWAY_MM, shown)
    yield from _upright((low, high), right, right + AWAY_MM, shown)
    sizes = "" if units == "in" else f" sizes in {units},"
    said = f"4 holes {shown(HOLE_MM)}, {shown(inner)} from the edges;{sizes} not engraved"
    yield Text("notes", (EDGE_MM, low - OUTSIDE_MM + 3.0), said, NOTE_MM)


def _level(ends: tuple[float, float], from_mm: float, at_mm: float, shown: Shown) -> Iterator[Entity]:
    """Yield a distance across, below or above the plate."""
    beyond = at_mm + (BEYOND_MM if at_mm > from_mm else -BEYOND_MM)
    for x in ends:
        yield Line("dimensions", (x, from_mm), (x, beyond))
    yield from _measured((ends[0], at_mm), (ends[1], at_mm))
    text = shown(ends[1] - ends[0])
    yield Text("notes", ((ends[0] + ends[1]) / 2, at_mm + 0.8), text, NOTE_MM, "middle")


def _upright(ends: tuple[float, float], from_mm: float, at_mm: float, shown: Shown) -> Iterator[Entity]:
    """Yield a distance up, beside the plate."""
    beyond = at_mm + (BEYOND_MM if at_mm > from_mm else -BEYOND_MM)
    for y in ends:
        yield Line("dimensions", (from_mm, y), (beyond, y))
    yield from _measured((at_mm, ends[0]), (at_mm, ends[1]))
    text = shown(ends[1] - ends[0])
    yield Text("notes", (at_mm - 0.8, (ends[0] + ends[1]) / 2), text, NOTE_MM, "middle", turn_deg=90)


def _measured(start: Point, end: Point) -> Iterator[Entity]:
    """Yield a line with an arrow at both ends."""
    yield Line("dimensions", start, end)
    level = start[1] == end[1]
    for (x, y), way in ((start, 1), (end, -1)):
        along, across = way * ARROW_MM, ARROW_MM / 5
        wings = (
            ((x + along, y + across), (x + along, y - across))
            if level
            else ((x + across, y + along), (x - across, y + along))
        )
        yield Area("dimensions", ((x, y), *wings), "ink")
