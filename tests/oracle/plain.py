"""The formulas of a belt stage and of a speed series in plain arithmetic, one number at a time.

They share nothing with the package under test: centre distances come from bracketing a root, and the
evenness of a series from its triples of speeds.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import asin, degrees, inf, log, pi, sqrt

from scipy.optimize import brentq

__all__ = [
    "belt_mm",
    "centre_mm",
    "end_miss",
    "half_open",
    "small_wrap_deg",
    "unevenness",
]


def belt_mm(driver_mm: float, driven_mm: float, centre: float, *, crossed: bool = False) -> float:
    """Return the exact belt length [mm] round two pulleys.

    Examples
    --------
    T. H. Wentzell, Machine Design (2007), example 14.2, p. 310 (companion notebook): 4 in and 6 in, belt 54 in.

    >>> round(belt_mm(4, 6, 19.119862), 4)
    54.0
    """
    large, small = max(driver_mm, driven_mm) / 2, min(driver_mm, driven_mm) / 2
    if crossed:
        both = large + small
        return 2 * sqrt(centre**2 - both**2) + both * (pi + 2 * asin(both / centre))
    gap = large - small
    return 2 * sqrt(centre**2 - gap**2) + pi * (large + small) + 2 * gap * asin(gap / centre)


def centre_mm(driver_mm: float, driven_mm: float, length: float, *, crossed: bool = False) -> float | None:
    """Return the centre distance [mm] at which a belt is just taut, or nothing where it never is.

    Examples
    --------
    >>> round(centre_mm(4, 6, 54), 6)
    19.119862
    >>> centre_mm(100, 300, 900) is None
    True
    """
    least = (driver_mm + driven_mm) / 2 if crossed else abs(driver_mm - driven_mm) / 2
    low, high = max(least * (1 + 1e-15), 1e-9), length
    if belt_mm(driver_mm, driven_mm, low, crossed=crossed) >= length:
        return None
    return float(brentq(lambda at: belt_mm(driver_mm, driven_mm, at, crossed=crossed) - length, low, high, xtol=1e-13))


def small_wrap_deg(driver_mm: float, driven_mm: float, centre: float, *, crossed: bool = False) -> float:
    """Return the smaller arc of contact [degrees].

    Examples
    --------
    Wentzell's example 14.2 again, 174.0040 degrees; its centre distance has six places.

    >>> round(small_wrap_deg(4, 6, 19.119862), 3)
    174.004
    """
    if crossed:
        return degrees(pi + 2 * asin((driver_mm + driven_mm) / 2 / centre))
    return degrees(pi - 2 * asin(abs(driver_mm - driven_mm) / 2 / centre))


def unevenness(logs: Sequence[float], ratio_least: float = 1.0) -> float:
    """Return the least possible greatest distance from a line in the place of each speed.

    The best line is held by three speeds, the middle one off the chord of the outer two by twice the distance,
    or, where its slope may not fall below that of the least ratio, by two speeds that rise too slowly.

    Examples
    --------
    >>> unevenness([0.0, 1.0, 1.0])
    0.25
    >>> unevenness([0.0, 1.0])
    0.0
    """
    count = len(logs)
    if count <= 2:
        return 0.0
    worst = 0.0
    for i, j, k in combinations(range(count), 3):
        chord = (logs[i] * (k - j) + logs[k] * (j - i)) / (k - i)
        worst = max(worst, abs(logs[j] - chord) / 2)
    for i, j in combinations(range(count), 2):
        worst = max(worst, ((j - i) * log(ratio_least) - (logs[j] - logs[i])) / 2)
    return worst


def end_miss(logs: Sequence[float], lo_rpm: float, hi_rpm: float) -> float:
    """Return how far the ends of the series are from where they should be.

    Examples
    --------
    >>> round(end_miss([log(110.0), log(400.0)], 100, 400), 6)   # ln 1.1
    0.09531
    >>> end_miss([log(200.0)], 100, 400) < 1e-12
    True
    """
    if len(logs) == 1:
        return abs(logs[0] - (log(lo_rpm) + log(hi_rpm)) / 2)
    return max(abs(logs[0] - log(lo_rpm)), abs(logs[-1] - log(hi_rpm)))


def half_open(value: float, low: float, high: float, *, top: bool) -> bool:
    """Tell whether a speed lies in a band whose lower edge counts, and the upper only at the top.

    Examples
    --------
    >>> half_open(900, 450, 900, top=False), half_open(900, 900, 1700, top=False), half_open(900, 450, 900, top=True)
    (False, True, True)
    """
    edge = 1e-9 if top else -1e-9
    return log(value) >= log(low) - 1e-9 and (high == inf or log(value) <= log(high) + edge)
