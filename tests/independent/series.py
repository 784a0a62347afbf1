"""How even a series of speeds is, in fifty digits, by formulas in closed form."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from tests.independent.numbers import Number, high

__all__ = ["end_miss", "spread", "unevenness"]


def unevenness(logs: Sequence[Number]) -> Number:
    """Return the least greatest distance of ascending logarithms from a straight line in their places.

    The best line through points in order is held by three of them, the middle one as far on one side as the outer
    two on the other (Chebyshev); so it is half the greatest distance of any point from the chord of any two around it.

    Examples
    --------
    >>> print(unevenness([0, 1, 1]), unevenness([0, 2]))
    0.25 0
    """
    worst = high.mpf(0)
    for i, j, k in combinations(range(len(logs)), 3):
        chord = (logs[i] * (k - j) + logs[k] * (j - i)) / high.mpf(k - i)
        worst = max(worst, abs(logs[j] - chord) / 2)
    return worst if worst else 0


def spread(logs: Sequence[Number], slope: Number) -> Number:
    """Return half the spread of the logarithms about lines of one slope, the least distance that slope allows."""
    off = [log - place * slope for place, log in enumerate(logs)]
    return (max(off) - min(off)) / 2


def end_miss(logs: Sequence[Number], low: Number, high_rpm: Number) -> Number:
    """Return the end miss against the bands' bottom and top; of one speed, its distance from their middle."""
    bottom, top = high.log(low), high.log(high_rpm)
    if len(logs) == 1:
        return abs(logs[0] - (bottom + top) / 2)
    return max(abs(logs[0] - bottom), abs(logs[-1] - top))
