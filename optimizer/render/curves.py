"""Arcs in parts, for formats that have no arcs or none of any length."""

from __future__ import annotations

from math import ceil, cos, radians, sin, tan

from optimizer.drawing.sheet import Arc, Point

__all__ = ["FULL_DEG", "bezier", "span_deg", "turns_deg"]

FULL_DEG = 360.0
SAME_DEG = 1e-9
"""Directions closer than this are one."""


def span_deg(arc: Arc) -> float:
    """Return how far an arc turns [deg], above 0 to 360; 0 where it ends in the direction it starts in.

    Examples
    --------
    >>> [span_deg(Arc("cut", (0, 0), 1, *ends)) for ends in ((10, 20), (350, 10), (0, 360), (-90, 270), (30, 30))]
    [10.0, 20.0, 360.0, 360.0, 0.0]
    """
    turn = arc.end_deg - arc.start_deg
    if abs(turn) < SAME_DEG:
        return 0.0
    rest = turn % FULL_DEG
    return FULL_DEG if min(rest, FULL_DEG - rest) < SAME_DEG else rest


def turns_deg(arc: Arc, most_deg: float) -> list[float]:
    """Return the directions between which an arc is drawn in equal parts, none longer than stated.

    Examples
    --------
    >>> turns_deg(Arc("cut", (0, 0), 1, 0, 360), 90)
    [0.0, 90.0, 180.0, 270.0, 360.0]
    """
    span = span_deg(arc)
    count = max(1, ceil(span / most_deg - SAME_DEG))
    return [arc.start_deg + span * number / count for number in range(count + 1)]


def bezier(centre: Point, radius_mm: float, start_deg: float, end_deg: float) -> tuple[Point, Point, Point]:
    """Return the two control points and the end of a cubic curve that runs along an arc of a circle.

    The control points lie on the tangents at the ends, ``4/3 tan(turn/4)`` radii away, so that the curve's middle is on
    the circle; elsewhere it strays outward by at most 4e-7 radii for 30 degrees (worked out, growing with the turn to
    the power 6).

    Examples
    --------
    >>> [(round(x, 4), round(y, 4)) for x, y in bezier((0, 0), 1, 0, 90)]
    [(1.0, 0.5523), (0.5523, 1.0), (0.0, 1.0)]
    """
    start, end = radians(start_deg), radians(end_deg)
    reach = 4 / 3 * tan((end - start) / 4)

    def at(turn: float, ahead: float) -> Point:
        x, y = cos(turn) - ahead * sin(turn), sin(turn) + ahead * cos(turn)
        return (centre[0] + radius_mm * x, centre[1] + radius_mm * y)

    return at(start, reach), at(end, -reach), at(end, 0.0)
