"""What of a bench a layout shows: all shafts at every speed, obstacles as far as they are near."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from optimizer.drawing.belt_stands import DrawnStands, outline, rim_mm
from optimizer.drawing.sheet import Point

__all__ = ["View", "clipped", "view_of"]

AROUND_MM = 10.0
"""View around hinges and bare shafts."""
NEAR_MM, NEAR = 60.0, 0.35
"""How far beyond the shafts obstacles are drawn, at least and as a share of the shafts' own room."""


class View(NamedTuple):
    """A rectangle on the bench [mm]."""

    left: float
    low: float
    right: float
    high: float

    def holding(self, points: Sequence[Point], around_mm: float = 0.0) -> View:
        """Return the least rectangle that holds this one and points with room around them."""
        xs, ys = zip(*points, strict=True)
        return View(
            min(self.left, min(xs) - around_mm),
            min(self.low, min(ys) - around_mm),
            max(self.right, max(xs) + around_mm),
            max(self.high, max(ys) + around_mm),
        )

    def grown(self, by_mm: float) -> View:
        """Return the rectangle with so much more on every side."""
        return View(self.left - by_mm, self.low - by_mm, self.right + by_mm, self.high + by_mm)

    def nearest(self, point: Point) -> Point:
        """Return the place in it that is nearest to a point."""
        return min(max(point[0], self.left), self.right), min(max(point[1], self.low), self.high)


def view_of(stands: DrawnStands) -> View:
    """Return what is drawn."""
    ways = list(stands.stood.values())
    x, y = next(iter(ways[0].shafts.values()))
    view = View(x, y, x, y)
    reach = {name: max(rim_mm(stands.machine, name), AROUND_MM) for name in ways[0].shafts}
    for stood in ways:
        for name, at in stood.shafts.items():
            view = view.holding([at], reach[name])
        for at in stood.hinges.values():
            view = view.holding([at], AROUND_MM)
    near = view.grown(max(NEAR_MM, NEAR * max(view.right - view.left, view.high - view.low)))
    for stood in ways:
        for obstacle, corners in zip(stands.obstacles(), stood.obstacles, strict=True):
            if seen := clipped(outline(obstacle, corners), near):
                view = view.holding(seen)
    return view


def clipped(corners: Sequence[Point], view: View) -> tuple[Point, ...]:
    """Return the corners of what of a convex outline lies in a rectangle, none where it lies outside.

    Cut along one edge after the other (Sutherland and Hodgman, 1974, from memory).

    Examples
    --------
    >>> clipped([(-5, 1), (5, 1), (5, 2), (-5, 2)], View(0, 0, 10, 10))
    ((0.0, 1.0), (5, 1), (5, 2), (0.0, 2.0))
    """
    left: tuple[Point, ...] = tuple(corners)
    for axis, edge, way in ((0, view.left, 1), (0, view.right, -1), (1, view.low, 1), (1, view.high, -1)):
        left = tuple(_cut(left, axis, edge, way))
    return left


def _cut(corners: Sequence[Point], axis: int, edge: float, way: int) -> Iterator[Point]:
    """Yield the corners of an outline on one side of a level or upright line."""
    for number, here in enumerate(corners):
        before = corners[number - 1]
        inside = [(point[axis] - edge) * way >= 0 for point in (before, here)]
        if inside[0] != inside[1]:
            share = (edge - before[axis]) / (here[axis] - before[axis])
            x, y = (a + share * (b - a) for a, b in zip(before, here, strict=True))
            yield x, y
        if inside[1]:
            yield here
