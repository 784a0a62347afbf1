"""A sheet of plywood to scale: squares with their discs, kerf, edge strip, waste, what is left over."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise, product
from math import hypot
from typing import NamedTuple

from optimizer.drawing.hatching import hatched
from optimizer.drawing.lettering import box_of, text_width_mm
from optimizer.drawing.placing import LEAD, Room
from optimizer.drawing.sawing_words import LEFT_OVER, Rule
from optimizer.drawing.sheet import Area, Circle, Entity, Layer, Line, Point, Polyline, Shade, Text
from optimizer.drawing.speed_words import one_line
from optimizer.records.nesting import NestedSheet, PlacedSquare

__all__ = ["BELOW_MM", "BESIDE_MM", "HATCH_DEG", "LAYERS", "across_mm", "picture", "unnumbered"]

LAYERS = (
    Layer("edge strip", 0.0),
    Layer("kerf", 0.0),
    Layer("waste", 0.1, ink="grey"),
    Layer("discs", 0.1, ink="grey"),
    Layer("squares", 0.13),
    Layer("left over", 0.25, dashes_mm=(3.0, 1.0)),
    Layer("sheet", 0.35),
    Layer("grain", 0.25),
    Layer("words", 0.0),
    Layer("quiet words", 0.0, ink="grey"),
)
BESIDE_MM, BELOW_MM = 5.0, 6.0
"""Room left of the sheet for its width, below it for its length and the arrow of the grain."""
SIZE_MM = 2.0
"""Height of capitals of the sheet's own sizes."""
LETTERINGS = ((4.5, 2.4), (3.4, 2.0), (2.6, 1.7), (3.0, 0.0), (2.2, 0.0), (1.6, 0.0))
"""Heights of capitals of number and size in a square, from the largest down; 0 where only the number has room."""
KEPT_MM = (2.6, 2.0, 1.7)
"""The same in the rectangle left over."""
FREE_MM = 0.5
"""Between lettering and the lines around it."""
HATCH_MM, HATCH_DEG = 1.6, 45.0
"""Distance and slope of the lines over waste."""
THINNEST_MM = 0.3
"""Waste narrower than this on paper is left without lines."""
ARROW_MM, HEAD_MM = 22.0, 2.2
"""Length of the arrow of the grain, of its heads."""


class _Scaled(NamedTuple):
    """How the sheet lies on the page: its length across, its width up."""

    corner: Point
    scale: float

    def room(self, across_mm: float, along_mm: float, wide_mm: float, long_mm: float) -> Room:
        """Return where a rectangle of the sheet lies on the page."""
        left, low = self.corner[0] + self.scale * along_mm, self.corner[1] + self.scale * across_mm
        return Room(left, low, left + self.scale * long_mm, low + self.scale * wide_mm)


def picture(sheet: NestedSheet, corner: Point, scale: float, rule: Rule) -> Iterator[Entity]:
    """Yield the sheet to scale, its lower left corner at a point of the page, with its sizes and the grain's arrow.

    The sheet's length runs across the page. Nothing lies over anything else, so that formats without cover show the
    same. Every square carries its number, and its size where it has room; its disc is a thin circle that touches its
    sides.
    """
    scaled = _Scaled(corner, scale)
    whole = scaled.room(0, 0, sheet.width_mm, sheet.length_mm)
    edge = sheet.edge_mm
    inner = scaled.room(edge, edge, sheet.width_mm - 2 * edge, sheet.length_mm - 2 * edge)
    squares = [scaled.room(square.x_mm, square.y_mm, square.side_mm, square.side_mm) for square in sheet.squares]
    sawn = [_grown(room, scale * sheet.kerf_mm, whole) for room in squares]
    yield from _frame("edge strip", whole, inner, "pale")
    for room, cut in zip(squares, sawn, strict=True):
        yield from _frame("kerf", cut, room, "grey")
    left = sheet.leftover
    kept = [scaled.room(left.x_mm, left.y_mm, left.width_mm, left.length_mm)] if left else []
    for room in _uncovered(inner, [*sawn, *kept]):
        if min(room.right - room.left, room.high - room.low) >= THINNEST_MM:
            yield from hatched("waste", _corners(room), HATCH_DEG, HATCH_MM)
    for square, room in zip(sheet.squares, squares, strict=True):
        yield from _square(square, room, rule)
    for room in kept:
        yield Polyline("left over", _corners(room), closed=True)
        if left:
            yield from _kept_words(room, rule(left.width_mm), rule(left.length_mm))
    yield Polyline("sheet", _corners(whole), closed=True)
    yield from _sizes(sheet, whole, rule)


def across_mm(sheet: NestedSheet, scale: float, rule: Rule) -> float:
    """Return how far the picture reaches from the sheet's left edge [mm]: to its right edge, or past it with words."""
    return max(sheet.length_mm * scale, text_width_mm(rule(sheet.length_mm), SIZE_MM))


def _square(square: PlacedSquare, room: Room, rule: Rule) -> Iterator[Entity]:
    """Yield a square, its disc, its number, its size where there is room."""
    middle = (room.left + room.right) / 2, (room.low + room.high) / 2
    radius = (room.right - room.left) / 2
    yield Polyline("squares", _corners(room), closed=True)
    note = f"{square.number}: {rule(square.side_mm)}, {one_line(square.name)}"
    yield Circle("discs", middle, radius, note=note)
    yield from _lettering(square, middle, radius, rule)


def unnumbered(sheet: NestedSheet, scale: float, rule: Rule) -> int:
    """Return how many squares of a sheet are too small on paper for their number."""
    return sum(not _lettering(square, (0.0, 0.0), square.side_mm * scale / 2, rule) for square in sheet.squares)


def _lettering(square: PlacedSquare, middle: Point, radius: float, rule: Rule) -> tuple[Text, ...]:
    """Return the largest lettering that has room in the disc, which may be none."""
    size = rule(square.side_mm).rsplit(" ", 1)
    for number_mm, size_mm in LETTERINGS:
        lines = [(str(square.number), number_mm), *((line, size_mm) for line in size if size_mm)]
        texts = tuple(_stacked(lines, middle))
        if all(hypot(x - middle[0], y - middle[1]) <= radius - FREE_MM for text in texts for x, y in box_of(text)):
            return texts
    return ()


def _stacked(lines: Sequence[tuple[str, float]], middle: Point) -> Iterator[Text]:
    """Yield lines of lettering one below another around a point, the heights of their capitals given."""
    high = sum(LEAD * height for _, height in lines) - (LEAD - 1) * lines[-1][1]
    top = middle[1] + high / 2
    for line, height in lines:
        yield Text("words", (middle[0], top), line, height, "middle", "top")
        top -= LEAD * height


def _kept_words(room: Room, width: str, length: str) -> Iterator[Text]:
    """Yield the words in the rectangle left over, lying or upright, in as few lines as have room."""
    wide, high = room.right - room.left - 2 * FREE_MM, room.high - room.low - 2 * FREE_MM
    middle = (room.left + room.right) / 2, (room.low + room.high) / 2
    breaks = (
        (f"{LEFT_OVER} {width} × {length}",),
        (LEFT_OVER, f"{width} × {length}"),
        (LEFT_OVER, f"{width} ×", length),
    )
    for height, lines in product(KEPT_MM, breaks):
        long, deep = max(text_width_mm(line, height) for line in lines), LEAD * height * len(lines)
        if long <= wide and deep <= high:
            yield from _stacked([(line, height) for line in lines], middle)
            return
        if len(lines) == 1 and long <= high and deep <= wide:
            yield Text("words", middle, lines[0], height, "middle", "middle", 90.0)
            return


def _sizes(sheet: NestedSheet, whole: Room, rule: Rule) -> Iterator[Entity]:
    """Yield width and length of the sheet beside it, the arrow of the grain below it."""
    width = rule(sheet.width_mm)
    if text_width_mm(width, SIZE_MM) <= whole.high - whole.low:
        middle = whole.left - 1.5, (whole.low + whole.high) / 2
        yield Text("words", middle, width, SIZE_MM, "middle", "base", 90.0)
    y = whole.low - 1.5 - SIZE_MM / 2
    length = rule(sheet.length_mm)
    right = whole.left + across_mm(sheet, (whole.right - whole.left) / sheet.length_mm, rule)
    yield Text("words", (right, y), length, SIZE_MM, "right", "middle")
    words = "face grain, if it runs along the length"
    taken = text_width_mm(length, SIZE_MM) + text_width_mm(words, SIZE_MM) + ARROW_MM + 6
    if taken <= whole.right - whole.left:
        yield from _arrow((whole.left, y), (whole.left + ARROW_MM, y))
        yield Text("quiet words", (whole.left + ARROW_MM + 2, y), words, SIZE_MM, "left", "middle")


def _arrow(start: Point, end: Point) -> Iterator[Entity]:
    """Yield a level line with a head at both ends: grain has a direction but no sense."""
    yield Line("grain", (start[0] + HEAD_MM, start[1]), (end[0] - HEAD_MM, end[1]))
    for (x, y), way in ((start, 1), (end, -1)):
        back = x + way * HEAD_MM
        yield Area("grain", ((x, y), (back, y + HEAD_MM / 4), (back, y - HEAD_MM / 4)), "ink")


def _frame(layer: str, outer: Room, inner: Room, shade: Shade) -> Iterator[Area]:
    """Yield what lies between two rectangles, as up to four rectangles."""
    parts = (
        Room(outer.left, outer.low, outer.right, inner.low),
        Room(outer.left, inner.high, outer.right, outer.high),
        Room(outer.left, inner.low, inner.left, inner.high),
        Room(inner.right, inner.low, outer.right, inner.high),
    )
    for part in parts:
        if part.left < part.right and part.low < part.high:
            yield Area(layer, _corners(part), shade)


def _uncovered(whole: Room, covers: Sequence[Room]) -> list[Room]:
    """Return what rectangles leave of a rectangle, as upright strips that do not overlap.

    Examples
    --------
    >>> _uncovered(Room(0, 0, 9, 9), [Room(0, 0, 4, 4)])
    [Room(left=0, low=4, right=4, high=9), Room(left=4, low=0, right=9, high=9)]
    """
    found: list[Room] = []
    open_: dict[tuple[float, float], float] = {}
    edges = {whole.left, whole.right, *(x for room in covers for x in (room.left, room.right))}
    stops = sorted(x for x in edges if whole.left <= x <= whole.right)
    for left, right in pairwise(stops):
        between = [(room.low, room.high) for room in covers if room.left < right and left < room.right]
        gaps = set(_gaps(between, whole.low, whole.high))
        found += [Room(open_.pop(gap), gap[0], left, gap[1]) for gap in sorted(set(open_) - gaps)]
        open_ |= dict.fromkeys(sorted(gaps - set(open_)), left)
    found += [Room(left, low, whole.right, high) for (low, high), left in open_.items()]
    return sorted(found)


def _gaps(spans: Iterable[tuple[float, float]], start: float, end: float) -> Iterator[tuple[float, float]]:
    """Yield what spans leave free between a start and an end."""
    for low, high in sorted(spans):
        if low > start:
            yield start, min(low, end)
        start = max(start, high)
    if start < end:
        yield start, end


def _grown(room: Room, by_mm: float, whole: Room) -> Room:
    """Return a rectangle with a strip around it, as far as the sheet reaches."""
    return Room(
        max(room.left - by_mm, whole.left),
        max(room.low - by_mm, whole.low),
        min(room.right + by_mm, whole.right),
        min(room.high + by_mm, whole.high),
    )


def _corners(room: Room) -> tuple[Point, ...]:
    return (room.left, room.low), (room.right, room.low), (room.right, room.high), (room.left, room.high)
