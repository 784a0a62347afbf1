"""Geometric series of speeds: how far a set of speeds is from one, and how to make one.

Logarithms are natural throughout; speeds stand in the order of the series, slowest first.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import ceil, exp, inf, log, log10
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Evenness", "end_miss", "geometric", "least_spread", "preferred_numbers", "series_ratio", "unevenness"]

Array = NDArray[np.float64]

R40 = (
    1.00, 1.06, 1.12, 1.18, 1.25, 1.32, 1.40, 1.50, 1.60, 1.70, 1.80, 1.90, 2.00, 2.12,
    2.24, 2.36, 2.50, 2.65, 2.80, 3.00, 3.15, 3.35, 3.55, 3.75, 4.00, 4.25, 4.50, 4.75,
    5.00, 5.30, 5.60, 6.00, 6.30, 6.70, 7.10, 7.50, 8.00, 8.50, 9.00, 9.50,
)  # fmt: skip
"""Preferred numbers of ISO 3, series R40 (from memory; 400 to 2500 was read in GOST 1284.3-96, table 19)."""

SAME_PLACES = 12
"""Decimal places to which distances from a series are compared; of chords as good as each other the first is taken."""
ROUNDS = 60
"""Lines drawn for a spread at the most; they meet after a few."""


class Evenness(NamedTuple):
    """The geometric series nearest to a set of speeds."""

    delta: float
    """Greatest distance of any speed from the series, as a natural logarithm: the unevenness."""
    start: float
    """Natural logarithm of the fitted series' first term."""
    log_ratio: float
    """Natural logarithm of its ratio φ."""


def unevenness(
    logs: Sequence[float] | Array, ratio_least: float = 1.0, places: Sequence[int] | None = None
) -> Evenness:
    """Return the unevenness of a series, with the geometric series it is measured against.

    ``δ = min over a, φ of max_k |ln n_k − a − (k − 1)·ln φ|`` with ``φ ≥ ratio_least``. For a slope ``ln φ``
    the distance is half the spread of ``ln n_k − (k − 1)·ln φ``, convex and piecewise linear in the slope,
    so that its least value lies at the slope of a chord between two of the points, or at the least slope
    allowed. Where the least slope does not bind, δ is half the greatest deviation of any point from the
    chord of its outer two.

    Parameters
    ----------
    logs
        Natural logarithms of the speeds in the order of the series, at least one.
    ratio_least
        Least ratio of the fitted series.
    places
        Place of every speed in the series, where several ways of making a speed share one; 0, 1, 2 … else.

    Returns
    -------
    Unevenness, first term and ratio, all as natural logarithms; the unevenness of one or two speeds is 0
    unless the least ratio forbids it.

    Raises
    ------
    ValueError
        There is no speed.

    Examples
    --------
    The middle one of three lies 0.2 above the chord of its neighbours, so that half of it remains:

    >>> fit = unevenness([0.0, 1.2, 2.0])
    >>> round(fit.delta, 12), round(fit.start, 12), round(fit.log_ratio, 12)
    (0.1, 0.1, 1.0)
    """
    values = np.asarray(logs, dtype=np.float64)
    count = values.size
    if count == 0:
        raise ValueError("a series needs at least one speed")
    least = log(ratio_least)
    if count == 1:
        return Evenness(0.0, float(values[0]), least)
    if count == 2 and places is None and values[1] - values[0] >= least:
        return Evenness(0.0, float(values[0]), float(values[1] - values[0]))
    if places is None:
        at, (lower, upper) = np.arange(count), _chords(count)
    else:
        at = np.asarray(places)
        lower, upper = np.nonzero(at[:, None] < at[None, :])
    slopes = np.maximum((values[upper] - values[lower]) / (at[upper] - at[lower]), least)
    slopes = np.append(slopes, least) if not slopes.size else slopes
    rests = values - slopes[:, None] * at
    tops, bottoms = rests.max(axis=1), rests.min(axis=1)
    best = int(np.argmin(np.round(tops - bottoms, SAME_PLACES)))
    return Evenness(float(tops[best] - bottoms[best]) / 2, float(tops[best] + bottoms[best]) / 2, float(slopes[best]))


@lru_cache(maxsize=64)
def _chords(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the places of all pairs of points."""
    return np.triu_indices(count, 1)


def least_spread(
    parts: list[Array], offsets: list[Array], ratio_least: float = 0.0, most: Array | None = None
) -> tuple[Array, Array]:
    """Return the least sum of spreads over ln φ, with the ln φ that gives it.

    Every stage's spread at a common f = ln φ is ``max(x_p − o_p·f) − min(x_p − o_p·f)``; the unevenness of the
    chain's speeds is half the sum of the spreads, at the f that makes the sum least. The sum is convex in f with
    straight pieces, so cutting planes from either side meet at the least value after a few rounds.

    Parameters
    ----------
    parts
        For every stage an array (designs, positions) of log ratios.
    offsets
        For every stage the places its positions lift the speed.
    ratio_least
        Least ln φ.
    most
        For every design a spread beyond which it is of no interest: infinity is returned as soon as that is known.

    Examples
    --------
    >>> logs = np.array([[0.0, 1.1, 2.0]])
    >>> spread, ratio = least_spread([logs], [np.arange(3.0)])
    >>> round(float(spread[0]) / 2, 12), round(float(ratio[0]), 12)
    (0.05, 1.0)
    """
    count = parts[0].shape[0]
    low = _cut(parts, offsets, np.full(count, ratio_least))
    if sum(len(o) for o in offsets) == len(offsets):
        return low[0], np.full(count, ratio_least)
    greatest = max(float(np.ptp(part)) if part.size else 0.0 for part in parts) + ratio_least + 1.0
    high = _cut(parts, offsets, np.full(count, greatest))
    best, at = low[0] + low[1] * ratio_least, np.full(count, ratio_least)
    open_ = np.flatnonzero(low[1] < 0)
    ratio = np.clip(_mean_rise(parts, offsets)[open_], ratio_least, greatest)
    for _ in range(ROUNDS):
        if not open_.size:
            break
        base, slope = _cut([part[open_] for part in parts], offsets, ratio)
        best[open_], at[open_] = base + slope * ratio, ratio
        for line, here in ((low, slope < 0), (high, slope >= 0)):
            line[0][open_[here]], line[1][open_[here]] = base[here], slope[here]
        ratio = (low[0][open_] - high[0][open_]) / (high[1][open_] - low[1][open_])
        meeting = low[0][open_] + low[1][open_] * ratio
        going = best[open_] > meeting + 1e-14
        if most is not None:
            beyond = going & (meeting > most[open_])
            best[open_[beyond]] = np.inf
            going &= ~beyond
        open_, ratio = open_[going], ratio[going]
    return best, at


def _mean_rise(parts: list[Array], offsets: list[Array]) -> Array:
    """Return the ln φ that first and last positions alone would give."""
    rise = np.sum([part[:, -1] - part[:, 0] for part in parts], axis=0)
    return np.asarray(rise / sum(places[-1] for places in offsets))


def _cut(parts: list[Array], offsets: list[Array], ratio: Array) -> tuple[Array, Array]:
    """Return value at 0 and slope of the line that touches the sum of spreads at a ratio."""
    base, slope = np.zeros(ratio.size), np.zeros(ratio.size)
    here = np.arange(ratio.size)
    for part, places in zip(parts, offsets, strict=True):
        level = part - ratio[:, None] * places
        top, bottom = level.argmax(axis=1), level.argmin(axis=1)
        base += part[here, top] - part[here, bottom]
        slope -= places[top] - places[bottom]
    return base, slope


def end_miss(logs: Sequence[float] | Array, lo_rpm: float, hi_rpm: float) -> float:
    """Return how far the series' ends lie from where it should begin and end, as a natural logarithm.

    ``ε = max(|ln(n_1/lo)|, |ln(n_K/hi)|)``; for a single speed its distance from ``½·ln(lo·hi)``.

    Parameters
    ----------
    logs
        Natural logarithms of the speeds [rpm] in the order of the series, at least one.
    lo_rpm, hi_rpm
        Where the series should begin and end [rpm].

    Raises
    ------
    ValueError
        There is no speed.

    Examples
    --------
    >>> from math import log
    >>> round(end_miss([log(103), log(200), log(400)], 100, 400), 6) == round(log(1.03), 6)
    True
    >>> round(end_miss([log(200)], 100, 400), 12)
    0.0
    """
    if len(logs) == 0:
        raise ValueError("a series needs at least one speed")
    low, high = log(lo_rpm), log(hi_rpm)
    if len(logs) == 1:
        return abs(float(logs[0]) - (low + high) / 2)
    return max(abs(float(logs[0]) - low), abs(float(logs[-1]) - high))


def series_ratio(first: float, last: float, count: int) -> float:
    """Return the ratio of a geometric series, ``φ = (last/first)^(1/(count − 1))``.

    Raises
    ------
    ValueError
        The series has fewer than two terms.

    Examples
    --------
    P. C. Sharma, Production Engineering, 11th ed. (2008), example 22.2, p. 778: six speeds for work of 60 to
    10 mm at 30 m/min.

    >>> round(series_ratio(159.15, 954.93, 6), 4)
    1.431
    """
    if count < 2:
        raise ValueError(f"a ratio needs at least two terms, not {count}")
    return exp((log(last) - log(first)) / (count - 1))


def geometric(first: float, last: float, count: int) -> Array:
    """Return a geometric series with both its ends; a single term lies at ``sqrt(first·last)``.

    Raises
    ------
    ValueError
        The series has no term.

    Examples
    --------
    >>> geometric(100, 800, 4).round(9).tolist()
    [100.0, 200.0, 400.0, 800.0]
    """
    if count < 1:
        raise ValueError(f"a series needs at least one term, not {count}")
    if count == 1:
        return np.array([exp((log(first) + log(last)) / 2)])
    terms = np.exp(np.linspace(log(first), log(last), count))
    terms[0], terms[-1] = first, last
    return terms


def preferred_numbers(series: str, low: float, high: float = inf, count: int | None = None) -> tuple[float, ...]:
    """Return preferred numbers of ISO 3 from `low` on, at most up to `high` and at most `count` of them.

    Parameters
    ----------
    series
        ``"R5"``, ``"R10"``, ``"R20"`` or ``"R40"``, or a derived series such as ``"R20/2"``: every second
        term, counted from the first term at or above `low`.
    low, high
        Limits, both included.
    count
        Greatest number of terms.

    Raises
    ------
    ValueError
        The series is not one of these, or neither `high` nor `count` ends it.

    Examples
    --------
    >>> preferred_numbers("R20/2", 160, 2000)
    (160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0)
    """
    name, _, every = series.partition("/")
    steps = {"R5": 8, "R10": 4, "R20": 2, "R40": 1}
    if name not in steps or not (every or "1").isdigit() or every == "0":
        raise ValueError(f"{series!r} is not R5, R10, R20, R40, or one of these with a step such as R20/2")
    if high == inf and count is None:
        raise ValueError("give the last number or how many there should be")
    base, stride = R40[:: steps[name]], int(every or 1)
    place = ceil(round(len(base) * log10(low), 6)) - 2
    while _term(base, place) < low * (1 - 1e-9):
        place += 1
    terms: list[float] = []
    while _term(base, place) <= high * (1 + 1e-9) and (count is None or len(terms) < count):
        terms.append(_term(base, place))
        place += stride
    return tuple(terms)


def _term(base: tuple[float, ...], place: int) -> float:
    """Return a term of a series that repeats in every decade."""
    decade, within = divmod(place, len(base))
    return round(base[within] * 10.0**decade, 2 - decade)
