"""The arrow that tells which way a shaft turns."""

from __future__ import annotations

from collections.abc import Iterator
from math import atan2, cos, radians, sin

from optimizer.drawing.sheet import Arc, Area, Entity, Point

__all__ = ["turning_arrow"]

ARROW_MM = 1.8
"""Length of the head."""
SPAN_DEG = (25.0, 155.0)
"""From where to where the arc runs, over the shaft."""


def turning_arrow(layer: str, centre: Point, radius_mm: float, turns: str) -> Iterator[Entity]:
    """Yield an arc over a shaft, with a head at the end toward which it turns: `clockwise` or `anticlockwise`.

    Examples
    --------
    >>> arc, head = turning_arrow("turning", (0, 0), 5, "anticlockwise")
    >>> isinstance(head, Area) and head.points[0][0] < 0
    True
    """
    yield Arc(layer, centre, radius_mm, *SPAN_DEG)
    way = 1 if turns == "anticlockwise" else -1
    end = radians(SPAN_DEG[1] if way > 0 else SPAN_DEG[0])
    lean = way * ARROW_MM / radius_mm / 2
    tip = end + 2 * lean
    onward = -way * sin(end + lean), way * cos(end + lean)
    yield _head(layer, (centre[0] + radius_mm * cos(tip), centre[1] + radius_mm * sin(tip)), onward)


def _head(layer: str, tip: Point, way: Point) -> Area:
    """Return the head of an arrow that points along a way."""
    turn = atan2(way[1], way[0])
    corners = [tip]
    for across in (ARROW_MM / 4, -ARROW_MM / 4):
        x, y = -ARROW_MM * cos(turn) - across * sin(turn), -ARROW_MM * sin(turn) + across * cos(turn)
        corners.append((tip[0] + x, tip[1] + y))
    return Area(layer, tuple(corners), "ink")
