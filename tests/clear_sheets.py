"""Whether lettering on a sheet is clear of everything else, whether anything leaves the page: exact for every shape."""

from __future__ import annotations

from itertools import combinations, pairwise
from math import cos, hypot, radians, sin

from optimizer.drawing import Sheet
from optimizer.drawing.lettering import box_of
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Line, Point, Polyline, Text

__all__ = ["Box", "box", "covered", "outside"]

Box = tuple[float, float, float, float]
"""Left, low, right, high [mm]."""
CHORD_DEG = 3.0


def outside(sheet: Sheet, edge_mm: float = 0.0) -> list[Entity]:
    """Return everything that does not lie on the page, off its edges."""
    most = edge_mm, edge_mm, sheet.width_mm - edge_mm, sheet.height_mm - edge_mm
    return [e for e in sheet.entities if not _holds(most, box(e))]


def covered(sheet: Sheet) -> list[tuple[Text, Entity]]:
    """Return every text whose room, for a wide face, meets another text, a line, a ring or a filled shape."""
    texts = [(entity, box(entity)) for entity in sheet.entities if isinstance(entity, Text)]
    found: list[tuple[Text, Entity]] = [(a, b) for (a, x), (b, y) in combinations(texts, 2) if _meet(x, y)]
    for other in sheet.entities:
        if not isinstance(other, Text):
            # what does not meet the upright room of all of it cannot lie in it, which is quickly told of thousands
            left, low, right, high = box(other)
            near = [(t, r) for t, r in texts if left < r[2] and r[0] < right and low < r[3] and r[1] < high]
            found += [(text, other) for text, room in near if _lies_in(other, room)]
    return found


def box(entity: Entity) -> Box:
    """Return the upright room of an entity."""
    xs, ys = zip(*_points(entity), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _points(entity: Entity) -> tuple[Point, ...]:
    match entity:
        case Text():
            return box_of(entity)
        case Line():
            return entity.start, entity.end
        case Circle():
            (x, y), r = entity.centre, entity.radius_mm
            return (x - r, y - r), (x + r, y + r)
        case Arc():
            span = (entity.end_deg - entity.start_deg) % 360
            parts = int(span / CHORD_DEG) + 1
            turns = [radians(entity.start_deg + span * part / parts) for part in range(parts + 1)]
            return tuple(
                (entity.centre[0] + entity.radius_mm * cos(t), entity.centre[1] + entity.radius_mm * sin(t))
                for t in turns
            )
        case Area() | Polyline():
            return entity.points


def _lies_in(entity: Entity, room: Box) -> bool:
    """Tell whether any of what an entity paints lies in a room."""
    if isinstance(entity, Circle):
        (x, y), r = entity.centre, entity.radius_mm
        nearest = hypot(x - min(max(x, room[0]), room[2]), y - min(max(y, room[1]), room[3]))
        farthest = max(hypot(x - a, y - b) for a in room[::2] for b in room[1::2])
        return nearest < r and (entity.shade != "none" or farthest > r)
    points = _points(entity)
    if isinstance(entity, Area):
        return _meet(box(entity), room)
    closed = isinstance(entity, Polyline) and entity.closed
    chain = (*points, points[0]) if closed else points
    return any(_cuts(a, b, room) for a, b in pairwise(chain))


def _cuts(start: Point, end: Point, room: Box) -> bool:
    """Tell whether a straight line passes through a room (Liang and Barsky)."""
    first, last = 0.0, 1.0
    for axis in (0, 1):
        way = end[axis] - start[axis]
        for edge, side in ((room[axis], -1.0), (room[axis + 2], 1.0)):
            left = side * (edge - start[axis])
            if way * side == 0:
                if left <= 0:
                    return False
            elif way * side > 0:
                last = min(last, left / (way * side))
            else:
                first = max(first, left / (way * side))
    return first < last


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _holds(outer: Box, inner: Box) -> bool:
    return outer[0] <= inner[0] and outer[1] <= inner[1] and inner[2] <= outer[2] and inner[3] <= outer[3]
