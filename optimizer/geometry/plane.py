"""Plane geometry across parallel shafts: gaps between round, straight and flat-sided things, mounts that move.

Plain arrays, vectorised over the first axis: a point is an array `(..., 2)`, a *core* an array `(..., n, 2)` of one
point (a disc's centre), two (a strand's ends), or the corners of a convex outline in order. A thing is a core with a
radius around it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Strands", "gap_of_cores_mm", "slide_to", "strands_of", "turn_to", "turned_about"]

Floats = NDArray[np.float64]
Figures = NDArray[np.float64] | np.float64 | float


class Strands(NamedTuple):
    """The two straight lengths of a belt, each a core of two points."""

    one: Floats
    other: Floats


def strands_of(driver_at: Floats, driven_at: Floats, driver_mm: Figures, driven_mm: Figures, crossed: bool) -> Strands:
    """Return where the straight lengths of a taut belt run [mm].

    With the unit vector ``u`` from driver to driven, its left normal ``n``, radii ``R`` and ``r`` (``-r`` for a crossed
    belt), a common tangent touches both circles along ``m = u·cos a ± n·sin a`` with ``cos a = (R − r)/C``: at
    ``driver + R·m`` and at ``driven + r·m``. Valid where ``C ≥ |R − r|``; nearer than that the strand lies on the line
    of centres.

    Parameters
    ----------
    driver_at, driven_at
        Axes `(..., 2)` [mm].
    driver_mm, driven_mm
        Pitch diameters `(...)` [mm].
    crossed
        Whether the belt runs crossed.

    Examples
    --------
    Two equal pulleys of 100 mm, 300 mm apart, have strands 50 mm above and below the line of centres:

    >>> strands_of(np.array([0.0, 0.0]), np.array([300.0, 0.0]), 100.0, 100.0, False).one.tolist()
    [[0.0, 50.0], [300.0, 50.0]]
    """
    way = driven_at - driver_at
    centre = np.maximum(np.hypot(way[..., 0], way[..., 1]), 1e-9)
    along = way / centre[..., None]
    left = np.stack((-along[..., 1], along[..., 0]), axis=-1)
    large, small = np.asarray(driver_mm) / 2, np.asarray(driven_mm) / 2 * (-1.0 if crossed else 1.0)
    cosine = np.clip((large - small) / centre, -1.0, 1.0)
    sine = np.sqrt(1 - cosine**2)
    found = []
    for side in (1.0, -1.0):
        normal = along * cosine[..., None] + side * left * sine[..., None]
        ends = driver_at + np.asarray(large)[..., None] * normal, driven_at + np.asarray(small)[..., None] * normal
        found.append(np.stack(np.broadcast_arrays(*ends), axis=-2))
    return Strands(*found)


def gap_of_cores_mm(one: Floats, other: Floats) -> Floats:
    """Return the least distance of two convex cores, 0 where they touch or overlap [mm].

    Parameters
    ----------
    one, other
        Cores `(..., n, 2)` and `(..., m, 2)`, corners of outlines in either sense of rotation [mm].

    Examples
    --------
    A point 3 mm beside a line, a point within a square:

    >>> line = np.array([[0.0, 0.0], [10.0, 0.0]])
    >>> float(gap_of_cores_mm(np.array([[5.0, 3.0]]), line))
    3.0
    >>> square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    >>> float(gap_of_cores_mm(np.array([[1.0, 1.0]]), square)), float(gap_of_cores_mm(square + 7.0, square))
    (0.0, 4.242640687119285)
    """
    gaps = [_edges_gap(*a, *b) for a in _edges(one) for b in _edges(other)]
    least = np.minimum.reduce(gaps)
    for outline, within in ((one, other), (other, one)):
        if outline.shape[-2] > 2:
            least = np.where(_holds(outline, within[..., 0, :]), 0.0, least)
    return np.asarray(least)


def slide_to(moved: Floats, other: Floats, direction: Floats, distance_mm: Figures) -> Floats:
    """Return how far a point slides along a unit vector to stand so far from another, the nearest way [mm].

    Root of ``q² + 2q·(d·u) + d² − C² = 0`` that is nearer to 0, with ``d`` from the other point to the moved one; not
    a number where the line passes farther away than that.

    Examples
    --------
    >>> here, other, right = np.array([300.0, 40.0]), np.array([0.0, 0.0]), np.array([1.0, 0.0])
    >>> float(slide_to(here, other, right, np.float64(410.0))) == (410**2 - 40**2) ** 0.5 - 300
    True
    >>> bool(np.isnan(slide_to(here, other, right, np.float64(39.0))))
    True
    """
    away = moved - other
    half = np.sum(away * direction, axis=-1)
    inside = half**2 - np.sum(away * away, axis=-1) + distance_mm**2
    root = np.sqrt(np.where(inside >= -1e-9, np.maximum(inside, 0.0), np.nan))
    near, far = -half + root, -half - root
    return np.asarray(np.where(np.abs(near) <= np.abs(far), near, far))


def turn_to(moved: Floats, other: Floats, pivot: Floats, distance_mm: Figures) -> Floats:
    """Return the angle through which a point turns about a pivot to stand so far from another, the nearest way [rad].

    With arms ``a`` and ``b`` from the pivot to the two points, ``cos γ = (a² + b² − C²)/2ab`` is the angle between the
    arms that gives the distance; not a number where none does.

    Examples
    --------
    Arms of 3 and 4 stand 5 apart at a right angle, from 60° turned back by 30°:

    >>> pivot, other = np.array([0.0, 0.0]), np.array([4.0, 0.0])
    >>> moved = 3 * np.array([0.5, 3**0.5 / 2])
    >>> round(float(np.degrees(turn_to(moved, other, pivot, np.float64(5.0)))), 6)
    30.0
    """
    arm, far = moved - pivot, other - pivot
    a, b = np.hypot(arm[..., 0], arm[..., 1]), np.hypot(far[..., 0], far[..., 1])
    product = np.maximum(2 * a * b, 1e-9)
    cosine = (a**2 + b**2 - distance_mm**2) / product
    wanted = np.arccos(np.where(np.abs(cosine) <= 1 + 1e-12, np.clip(cosine, -1.0, 1.0), np.nan))
    now = np.arctan2(arm[..., 0] * far[..., 1] - arm[..., 1] * far[..., 0], np.sum(arm * far, axis=-1))
    one, two = _within_half_turn(now - wanted), _within_half_turn(now + wanted)
    return np.asarray(np.where(np.abs(one) <= np.abs(two), one, two))


def turned_about(points: Floats, pivot: Floats, angle_rad: Figures) -> Floats:
    """Return points turned about a pivot, from x toward y.

    Examples
    --------
    >>> turned = turned_about(np.array([2.0, 0.0]), np.array([1.0, 0.0]), np.float64(np.pi / 2))
    >>> turned.round(6).tolist()
    [1.0, 1.0]
    """
    away = points - pivot
    cosine, sine = np.cos(angle_rad), np.sin(angle_rad)
    turned = (away[..., 0] * cosine - away[..., 1] * sine, away[..., 0] * sine + away[..., 1] * cosine)
    return np.asarray(pivot + np.stack(turned, axis=-1))


def _within_half_turn(angle: Floats) -> Floats:
    return np.asarray((angle + np.pi) % (2 * np.pi) - np.pi)


def _edges(core: Floats) -> list[tuple[Floats, Floats]]:
    """Return the ends of every edge; a point is an edge of no length."""
    corners = core.shape[-2]
    count = corners if corners > 2 else 1
    return [(core[..., i, :], core[..., (i + 1) % corners, :]) for i in range(count)]


def _edges_gap(a: Floats, b: Floats, c: Floats, d: Floats) -> Floats:
    """Return the distance of two edges: 0 where they cross, else the least from an end to the other edge."""
    least = np.minimum(
        np.minimum(_point_gap(a, c, d), _point_gap(b, c, d)), np.minimum(_point_gap(c, a, b), _point_gap(d, a, b))
    )
    crossing = (_side(a, b, c) * _side(a, b, d) < 0) & (_side(c, d, a) * _side(c, d, b) < 0)
    return np.asarray(np.where(crossing, 0.0, least))


def _point_gap(point: Floats, start: Floats, end: Floats) -> Floats:
    edge = end - start
    square = np.sum(edge * edge, axis=-1)
    share = np.sum((point - start) * edge, axis=-1) / np.where(square > 0, square, 1.0)
    nearest = start + np.clip(share, 0.0, 1.0)[..., None] * edge
    return np.asarray(np.hypot(point[..., 0] - nearest[..., 0], point[..., 1] - nearest[..., 1]))


def _side(start: Floats, end: Floats, point: Floats) -> Floats:
    """Return twice the area of a triangle, above 0 where the point lies left of the edge."""
    one, two = end - start, point - start
    return np.asarray(one[..., 0] * two[..., 1] - one[..., 1] * two[..., 0])


def _holds(outline: Floats, point: Floats) -> Floats:
    """Tell whether a convex outline holds a point."""
    sides = np.stack(np.broadcast_arrays(*(_side(a, b, point) for a, b in _edges(outline))))
    return np.asarray(np.all(sides >= 0, axis=0) | np.all(sides <= 0, axis=0))
