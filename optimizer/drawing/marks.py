"""Marks that drawings share: slanted lines over an outline, heads of arrows, which way a shaft turns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil, cos, degrees, floor, hypot, radians, sin

from optimizer.drawing.placing import Room
from optimizer.drawing.sheet import Arc, Area, Entity, Line, Point

__all__ = ["arrow_head", "barbs", "hatched", "turning_arrow"]

SHORTEST_MM = 0.05
"""Pieces shorter than this are left out."""
ARROW_MM = 1.8
"""Length of the head."""
SPAN_DEG = (25.0, 155.0)
"""From where to where the arc runs, over the shaft."""


def hatched(
    layer: str, outline: Sequence[Point], slope_deg: float, spacing_mm: float, free: Sequence[Room] = ()
) -> Iterator[Line]:
    """Yield parallel lines that fill a closed outline.

    Lines of one slope and spacing run on from one outline into the next, as all pass at whole multiples of the spacing
    from the origin.

    Parameters
    ----------
    layer
        Where the lines are drawn.
    outline
        Corners of a closed polygon, which may be hollow anywhere.
    slope_deg
        Direction of the lines [°].
    spacing_mm
        Distance of neighbouring lines [mm].
    free
        Rectangles that the lines leave out, for lettering.

    Examples
    --------
    >>> [line.start[1] for line in hatched("h", [(0, 1), (10, 1), (10, 5), (0, 5)], 0, 2)]
    [2.0, 4.0]
    """
    c, s = cos(radians(slope_deg)), sin(radians(slope_deg))
    turned = [(c * x + s * y, c * y - s * x) for x, y in outline]
    heights = [y for _, y in turned]
    for number in range(ceil(min(heights) / spacing_mm), floor(max(heights) / spacing_mm) + 1):
        y = number * spacing_mm
        for left, right in _inside(turned, y):
            ends = (c * left - s * y, s * left + c * y), (c * right - s * y, s * right + c * y)
            for start, end in _beside(ends, free):
                yield Line(layer, start, end)


def _inside(polygon: Sequence[Point], y: float) -> list[tuple[float, float]]:
    """Return the stretches of a level line that lie in a polygon."""
    crossings = []
    for (x1, y1), (x2, y2) in pairwise((*polygon, polygon[0])):
        if (y1 <= y) != (y2 <= y):
            crossings.append(x1 + (x2 - x1) * (y - y1) / (y2 - y1))
    crossings.sort()
    pairs = zip(crossings[::2], crossings[1::2], strict=True)
    return [(a, b) for a, b in pairs if b - a > SHORTEST_MM]


def _beside(ends: tuple[Point, Point], free: Sequence[Room]) -> Iterator[tuple[Point, Point]]:
    """Yield what is left of a stretch outside of all rectangles."""
    (x1, y1), (x2, y2) = ends
    gaps = sorted(gap for room in free if (gap := _through(ends, room)) is not None)
    place = 0.0
    for start, end in [*gaps, (1.0, 1.0)]:
        if (start - place) * ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 > SHORTEST_MM:
            yield (
                (x1 + (x2 - x1) * place, y1 + (y2 - y1) * place),
                (x1 + (x2 - x1) * start, y1 + (y2 - y1) * start),
            )
        place = max(place, end)


def _through(ends: tuple[Point, Point], room: Room) -> tuple[float, float] | None:
    """Return between which shares of its length a stretch lies in a rectangle; nothing where it passes by."""
    (x1, y1), (x2, y2) = ends
    first, last = 0.0, 1.0
    for start, way, low, high in ((x1, x2 - x1, room.left, room.right), (y1, y2 - y1, room.low, room.high)):
        if abs(way) < 1e-12:
            if not low < start < high:
                return None
            continue
        near, far = sorted(((low - start) / way, (high - start) / way))
        first, last = max(first, near), min(last, far)
    return (first, last) if first < last else None


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
    at = centre[0] + radius_mm * cos(tip), centre[1] + radius_mm * sin(tip)
    yield arrow_head(layer, at, degrees(end + lean) + way * 90, (ARROW_MM, ARROW_MM / 4))


def arrow_head(layer: str, tip: Point, turn_deg: float, size: tuple[float, float]) -> Area:
    """Return a head of a length and of half a width [mm] that points in a direction."""
    long, half = size
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    corners = ((0.0, 0.0), (-long, half), (-long, -half))
    return Area(layer, tuple((tip[0] + c * x - s * y, tip[1] + s * x + c * y) for x, y in corners), "ink")


def barbs(start: Point, end: Point, size: tuple[float, float]) -> Iterator[tuple[Point, Point, Point]]:
    """Yield the tip and both barbs of a head at either end of a line, of a length and of half a width [mm].

    Examples
    --------
    >>> [*barbs((0, 0), (10, 0), (2, 1))]
    [((0, 0), (2.0, 1.0), (2.0, -1.0)), ((10, 0), (8.0, 1.0), (8.0, -1.0))]
    """
    (long, half), apart = size, hypot(end[0] - start[0], end[1] - start[1])
    ux, uy = (end[0] - start[0]) / apart, (end[1] - start[1]) / apart
    for (x, y), way in ((start, long), (end, -long)):
        back = x + way * ux, y + way * uy
        one, other = ((back[0] - side * uy, back[1] + side * ux) for side in (half, -half))
        yield (x, y), one, other
