"""Parts of a drawing as groups of entities: how much room they take, moved to where they belong, one below another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import cos, radians, sin
from typing import NamedTuple

from optimizer.drawing.lettering import box_of, wrapped
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Line, Point, Polyline, Text

__all__ = ["LEAD", "Room", "at_corner", "moved", "paragraph", "points_of", "room_of", "stacked"]

LEAD = 1.65
"""Distance of the lines of a paragraph as a multiple of the height of capitals."""


class Room(NamedTuple):
    """The upright rectangle that something takes [mm]."""

    left: float
    low: float
    right: float
    high: float


def points_of(entity: Entity) -> tuple[Point, ...]:
    """Return points whose upright rectangle is that of the entity, lettering with its descenders.

    Examples
    --------
    >>> [(round(x, 3), round(y, 3)) for x, y in points_of(Arc("thin", (0, 0), 10, 45, 135))]
    [(7.071, 7.071), (-7.071, 7.071), (0.0, 10.0)]
    """
    match entity:
        case Line():
            return entity.start, entity.end
        case Polyline() | Area():
            return entity.points
        case Text():
            return box_of(entity)
        case Circle():
            (x, y), r = entity.centre, entity.radius_mm
            return (x - r, y - r), (x + r, y + r)
        case Arc():
            span = (entity.end_deg - entity.start_deg) % 360
            turns = [0.0, span, *(t for k in range(8) if 0 < (t := 90 * k - entity.start_deg % 360) < span)]
            (x, y), r = entity.centre, entity.radius_mm
            angles = [radians(entity.start_deg + turn) for turn in turns]
            return tuple((x + r * cos(angle), y + r * sin(angle)) for angle in angles)


def room_of(entities: Iterable[Entity]) -> Room:
    """Return the rectangle around all entities.

    Raises
    ------
    ValueError
        There are none.
    """
    xs, ys = zip(*(point for entity in entities for point in points_of(entity)), strict=True)
    return Room(min(xs), min(ys), max(xs), max(ys))


def moved(entity: Entity, way: Point) -> Entity:
    """Return an entity moved along x and y [mm].

    Examples
    --------
    >>> moved(Line("thin", (0, 0), (10, 0)), (5, 2))
    Line(layer='thin', start=(5, 2), end=(15, 2))
    """
    match entity:
        case Line():
            return replace(entity, start=_sum(entity.start, way), end=_sum(entity.end, way))
        case Polyline() | Area():
            return replace(entity, points=tuple(_sum(point, way) for point in entity.points))
        case Text():
            return replace(entity, at=_sum(entity.at, way))
        case Circle() | Arc():
            return replace(entity, centre=_sum(entity.centre, way))


def at_corner(entities: Sequence[Entity], corner: Point) -> tuple[Entity, ...]:
    """Return a group moved so that the upper left corner of its room lies at a point."""
    room = room_of(entities)
    way = corner[0] - room.left, corner[1] - room.high
    return tuple(moved(entity, way) for entity in entities)


def stacked(groups: Iterable[Sequence[Entity]], corner: Point, gap_mm: float) -> Iterator[Entity]:
    """Yield groups one below another, flush left, the first with its upper left corner at a point; none is empty."""
    x, y = corner
    for group in groups:
        placed = at_corner(group, (x, y))
        yield from placed
        y = room_of(placed).low - gap_mm


def paragraph(layer: str, text: str, width_mm: float, height_mm: float) -> tuple[Text, ...]:
    """Return a text broken into lines that stay within a width, from the origin down."""
    lines = wrapped(text, width_mm, height_mm)
    return tuple(Text(layer, (0.0, -LEAD * height_mm * number), line, height_mm) for number, line in enumerate(lines))


def _sum(point: Point, way: Point) -> Point:
    return point[0] + way[0], point[1] + way[1]
