"""Lengths of belts by another form of the exact formula, solved by halving an interval.

Plain floats; nothing here is shared with the solver that designs are searched with.
"""

from __future__ import annotations

from math import atan2, nan, pi, sqrt

__all__ = ["length_at_mm", "own_centre_mm", "wraps_deg"]

HALVINGS = 200
"""More than enough to bring any interval down to neighbouring floats."""


def length_at_mm(driver_mm: float, driven_mm: float, centre_mm: float, crossed: bool) -> float:
    """Return the length of a taut belt along its pitch line [mm].

    ``L = 2·t + π·(R + r) + 2·s·arctan(s/t)`` with the free span ``t = sqrt(C² − s²)`` and ``s = R − r`` for
    an open belt, ``R + r`` for a crossed one.

    Examples
    --------
    U. C. Jindal, Machine Design, example 20-3, p. 567, prints 6.0733 m:

    >>> round(length_at_mm(200, 600, 2400, crossed=False), 1)
    6073.3
    """
    half_sum = (driver_mm + driven_mm) / 2
    offset = half_sum if crossed else abs(driver_mm - driven_mm) / 2
    span = sqrt(max((centre_mm - offset) * (centre_mm + offset), 0.0))
    return 2 * span + pi * half_sum + 2 * offset * atan2(offset, span)


def own_centre_mm(driver_mm: float, driven_mm: float, length_mm: float, crossed: bool) -> float:
    """Return the centre distance at which a belt is just taut, not a number where there is none [mm].

    The length grows with the centre distance and is at least twice of it, so the answer lies between the
    least centre distance the pulleys allow and half the length; the interval is halved until it cannot be.

    Examples
    --------
    T. H. Wentzell, Machine Design (2007), example 14.2, p. 310, prints 19.12 in:

    >>> round(own_centre_mm(4, 6, 54, crossed=False), 2)
    19.12
    """
    low = (driver_mm + driven_mm) / 2 if crossed else abs(driver_mm - driven_mm) / 2
    high = length_mm / 2
    if low > high or length_at_mm(driver_mm, driven_mm, low, crossed) > length_mm:
        return nan
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if not low < middle < high:
            break
        if length_at_mm(driver_mm, driven_mm, middle, crossed) < length_mm:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def wraps_deg(driver_mm: float, driven_mm: float, centre_mm: float, crossed: bool) -> tuple[float, float]:
    """Return the arcs of contact on driver and driven [degrees].

    Examples
    --------
    >>> [round(arc, 3) for arc in wraps_deg(4, 6, 19.12, crossed=False)]
    [174.004, 185.996]
    """
    offset = (driver_mm + driven_mm) / 2 if crossed else (driver_mm - driven_mm) / 2
    span = sqrt(max((centre_mm - offset) * (centre_mm + offset), 0.0))
    lean = 2 * atan2(offset, span) * 180 / pi
    return 180 + lean, 180 + (lean if crossed else -lean)
