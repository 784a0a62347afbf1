"""Parts of a drawing as groups of entities: the room they take, moved to where they belong, in columns, in tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import cos, radians, sin
from typing import NamedTuple

from optimizer.drawing.lettering import Hand, box_of, text_width_mm, wrapped
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Line, Point, Polyline, Text

__all__ = [
    "LEAD",
    "Block",
    "Column",
    "Room",
    "at_corner",
    "flowed",
    "in_rows",
    "moved",
    "paragraph",
    "points_of",
    "room_of",
    "stacked",
    "table",
]

LEAD = 1.65
"""Distance of the lines of a paragraph as a multiple of the height of capitals."""
CELL_MM, ROW_MM = 2.5, 4.6
"""Height of the capitals in a table, distance of its rows."""


class Room(NamedTuple):
    """The upright rectangle that something takes [mm]."""

    left: float
    low: float
    right: float
    high: float

    @property
    def width(self) -> float:
        """How far it reaches across."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """How far it reaches up."""
        return self.high - self.low

    @property
    def middle(self) -> Point:
        """The place amid its corners."""
        return (self.left + self.right) / 2, (self.low + self.high) / 2

    @property
    def corners(self) -> tuple[Point, ...]:
        """From the lower left one on, counter-clockwise."""
        return (self.left, self.low), (self.right, self.low), (self.right, self.high), (self.left, self.high)

    def grown(self, by_mm: float) -> Room:
        """Return the rectangle with so much more on every side."""
        return Room(self.left - by_mm, self.low - by_mm, self.right + by_mm, self.high + by_mm)

    def holding(self, points: Iterable[Point], around_mm: float = 0.0) -> Room:
        """Return the least rectangle that holds this one and points with room around them."""
        xs, ys = zip(*points, strict=True)
        return Room(
            min(self.left, min(xs) - around_mm),
            min(self.low, min(ys) - around_mm),
            max(self.right, max(xs) + around_mm),
            max(self.high, max(ys) + around_mm),
        )

    def nearest(self, point: Point) -> Point:
        """Return the place in it that is nearest to a point."""
        return min(max(point[0], self.left), self.right), min(max(point[1], self.low), self.high)


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


def in_rows(groups: Iterable[Sequence[Entity]], corner: Point, right_mm: float, gap_mm: float) -> Iterator[Entity]:
    """Yield groups side by side from an upper left corner on, in rows that keep to a right edge where they can."""
    x, y = corner
    low = y
    for group in groups:
        if x > corner[0] and x + room_of(group).width > right_mm:
            x, y = corner[0], low - gap_mm
        placed = at_corner(group, (x, y))
        yield from placed
        x, low = room_of(placed).right + gap_mm, min(low, room_of(placed).low)


def paragraph(layer: str, text: str, width_mm: float, height_mm: float) -> tuple[Text, ...]:
    """Return a text broken into lines that stay within a width, from the origin down."""
    hand = Hand(layer, height_mm, LEAD * height_mm)
    return tuple(hand.down((0.0, 0.0), wrapped(text, width_mm, height_mm), along="base"))


def _sum(point: Point, way: Point) -> Point:
    return point[0] + way[0], point[1] + way[1]


@dataclass(frozen=True, slots=True)
class Block:
    """What stays together, drawn from (0, 0), its upper left corner, downward."""

    entities: tuple[Entity, ...]
    height_mm: float
    falls_away: bool = False
    """Whether it is left out at the top of a column, as a gap is."""
    headed: Block | None = None
    """What stands in its place at the top of a column that has the head already."""


class Column(NamedTuple):
    """Where blocks may stand, on the page [mm]."""

    left_mm: float
    top_mm: float
    low_mm: float


def flowed(
    blocks: Iterable[Block], first: Sequence[Column], others: Sequence[Column], head: Block | None = None
) -> tuple[tuple[Entity, ...], ...]:
    """Return the entities of each page: as much as the columns of the first hold, the rest on pages of other columns.

    Parameters
    ----------
    blocks
        In reading order; one that is higher than any column stands in a column alone.
    first
        Columns of the first page, which may be none.
    others
        Columns of every further page, at least one.
    head
        What stands at the top of every column of further pages.

    Examples
    --------
    >>> from optimizer.drawing.sheet import Text
    >>> line = Block((Text("words", (0, -2), "line", 2),), 5)
    >>> pages = flowed([line] * 4, [Column(10, 30, 20)], [Column(10, 100, 20)])
    >>> [[text.at for text in page] for page in pages]
    [[(10, 28), (10, 23)], [(10, 98), (10, 93)]]
    """
    pages: list[list[Entity]] = [[]]
    columns = list(first)
    top_mm, fresh = columns[0].top_mm if columns else 0.0, True
    for block in blocks:
        while not columns or (not fresh and top_mm - block.height_mm < columns[0].low_mm):
            columns = columns[1:]
            if not columns:
                columns = list(others)
                pages.append([])
            top_mm, fresh = columns[0].top_mm, True
            if head and len(pages) > 1:
                pages[-1] += _at(head, columns[0].left_mm, top_mm)
                top_mm -= head.height_mm
                block = block.headed or block
        if fresh and block.falls_away:
            continue
        pages[-1] += _at(block, columns[0].left_mm, top_mm)
        top_mm, fresh = top_mm - block.height_mm, False
    return tuple(map(tuple, pages))


def _at(block: Block, left_mm: float, top_mm: float) -> list[Entity]:
    return [moved(entity, (left_mm, top_mm)) for entity in block.entities]


def table(rows: Sequence[Sequence[str]]) -> Iterator[Entity]:
    """Yield a table from the origin down, its first row and column set off by lines."""
    columns = [*zip(*rows, strict=True)]
    widths = [max(text_width_mm(cell, CELL_MM) for cell in column) + 3.0 for column in columns]
    total, height = sum(widths), ROW_MM * len(rows)
    yield Line("thin", (0.0, 0.0), (total, 0.0))
    yield Line("thin", (0.0, -ROW_MM), (total, -ROW_MM))
    yield Line("thin", (0.0, -height), (total, -height))
    x = 0.0
    for number, (column, width) in enumerate(zip(columns, widths, strict=True)):
        for place, cell in enumerate(column):
            y = -ROW_MM * (place + 0.5)
            if number:
                yield Text("words", (x + width - 1.5, y), cell, CELL_MM, "right", "middle")
            else:
                yield Text("words", (x + 1.5, y), cell, CELL_MM, "left", "middle")
        x += width
        if not number:
            yield Line("thin", (x, 0.0), (x, -height))
