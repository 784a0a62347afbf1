"""End miss, unevenness and wants of many designs at once, and what a choice leaves of them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.records import Problem
from optimizer.records.speeds import LOG_TOLERANCE
from optimizer.series import least_spread

__all__ = ["Prospect", "SeriesRules"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SeriesRules:
    """The targets of a problem as logarithms, ready for many designs at once."""

    base: float
    """ln of the spindle speed [rpm] at unit ratios of all belt stages."""
    places: NDArray[np.int64]
    """(speeds, links): which setting or position makes each speed."""
    offsets: list[Floats]
    """Of every switch, then of every stage: the links of the chain."""
    low: float
    high: float
    weights: tuple[float, float]
    caps: tuple[float, float]
    distinct: float
    ratio_least: float
    limits: tuple[float, float]
    """ln of the slowest and fastest speed allowed."""
    bands: tuple[tuple[float, float, int], ...]
    """ln of both edges, tolerance included, with the number wanted."""
    ways: tuple[tuple[int, tuple[int, ...]], ...] = ()
    """Place of every way of making a speed, with settings and positions, where that is more than `places` says."""
    coarse: int | None = None
    """The link whose positions are the ranges of which one must hold all that a band wants; nothing where none must."""

    @classmethod
    def of(cls, problem: Problem) -> SeriesRules:
        """Read them from a problem."""
        targets = problem.targets
        base = log(problem.motor_rpm * problem.gain_out) + sum(log(stage.gain) for stage in problem.stages)
        edge = LOG_TOLERANCE
        return cls(
            base=base,
            places=np.hstack([np.array(problem.layout.settings, dtype=np.int64), np.array(problem.layout.places)]),
            offsets=[np.array(row, dtype=float) for row in problem.layout.rows],
            low=log(targets.lo_rpm),
            high=log(targets.hi_rpm),
            weights=(targets.end_weight, targets.unevenness_weight),
            caps=(targets.end_miss_most, targets.unevenness_most),
            distinct=log(1 + targets.distinct),
            ratio_least=log(targets.ratio_least),
            limits=(
                log(targets.never_below_rpm) if targets.never_below_rpm > 0 else -inf,
                log(targets.never_above_rpm) if targets.never_above_rpm < inf else inf,
            ),
            ways=problem.layout.ways if problem.layout.shared or targets.one_range else (),
            coarse=problem.layout.coarse if targets.one_range else None,
            bands=tuple(
                (log(b.low_rpm) - edge, log(b.high_rpm) + (edge if b.top else -edge), b.want) for b in targets.bands
            ),
        )

    @property
    def speeds(self) -> int:
        """How many speeds there are."""
        return int(self.places.shape[0])

    def end_miss(self, first: Floats, last: Floats) -> Floats:
        """Return the end miss of series by the logarithms of their first and last speed."""
        if self.speeds == 1:
            return np.abs(first - (self.low + self.high) / 2)
        return np.maximum(np.abs(first - self.low), np.abs(last - self.high))

    def judge(self, parts: list[Floats], most: float) -> tuple[NDArray[np.int64], Floats]:
        """Return which designs keep every rule of the series with J up to `most`, and their J.

        Parameters
        ----------
        parts
            For every stage an array (designs, positions) of log ratios.
        most
            Greatest J.
        """
        rows = np.arange(parts[0].shape[0])
        first = self.base + np.sum([part[:, 0] for part in parts], axis=0)
        last = self.base + np.sum([part[:, -1] for part in parts], axis=0)
        miss = self.end_miss(first, last)
        good = (miss <= self.caps[0] + LOG_TOLERANCE) & (self.weights[0] * miss <= most)
        good &= (first >= self.limits[0] - LOG_TOLERANCE) & (last <= self.limits[1] + LOG_TOLERANCE)
        rows, parts, miss = rows[good], [part[good] for part in parts], miss[good]
        good = self._wanted(parts)
        rows, parts, miss = rows[good], [part[good] for part in parts], miss[good]
        delta = self._uneven(parts, np.minimum(most - self.weights[0] * miss, self.caps[1] * self.weights[1]))
        j = self.weights[0] * miss + self.weights[1] * delta
        good = (delta <= self.caps[1] + LOG_TOLERANCE) & (j <= most)
        return rows[good], j[good]

    def _uneven(self, parts: list[Floats], left: Floats) -> Floats:
        """Return the unevenness, infinity where its share of J is beyond what is left for it."""
        if self.speeds <= 2 and self.ratio_least <= 0:
            return np.zeros(parts[0].shape[0])
        most = 2 * left / self.weights[1] + LOG_TOLERANCE if self.weights[1] > 0 else None
        return least_spread(parts, self.offsets, self.ratio_least, most)[0] / 2

    def _wanted(self, parts: list[Floats]) -> NDArray[np.bool_]:
        """Tell which designs are in strict order, distinct, and have what every band wants."""
        logs = [self.base + sum(part[:, at] for part, at in zip(parts, place, strict=True)) for place in self.places]
        good = np.ones(parts[0].shape[0], dtype=bool)
        for lower, upper in pairwise(logs):
            gap = upper - lower
            good &= (gap >= self.distinct - LOG_TOLERANCE) & (gap > 0)
        for low, high, want in self.bands:
            have = np.zeros(good.size, dtype=np.int8)
            for speed in logs if want else ():
                have += (speed >= low) & (speed <= high)
            good &= have >= want
        return good & self._ways_hold(parts) if self.ways else good

    def _ways_hold(self, parts: list[Floats]) -> NDArray[np.bool_]:
        """Tell in which designs all ways of making a speed are alike, and one range holds what each band wants."""
        good = np.ones(parts[0].shape[0], dtype=bool)
        most, least = np.full((self.speeds, good.size), -inf), np.full((self.speeds, good.size), inf)
        ranges = [chosen[self.coarse] for _, chosen in self.ways] if self.coarse is not None else []
        have = np.zeros((len(self.bands), max(ranges, default=0) + 1, good.size), dtype=np.int8)
        for number, (place, chosen) in enumerate(self.ways):
            speed = self.base + sum(part[:, at] for part, at in zip(parts, chosen, strict=True))
            most[place], least[place] = np.maximum(most[place], speed), np.minimum(least[place], speed)
            for band, (low, high, _) in enumerate(self.bands) if ranges else ():
                have[band, ranges[number]] += (speed >= low) & (speed <= high)
        good &= (most - least <= self.distinct + LOG_TOLERANCE).all(axis=0)
        for band, (_, _, want) in enumerate(self.bands) if ranges else ():
            good &= have[band].max(axis=0) >= want
        return good


Span = tuple[float, float]


@dataclass(frozen=True)
class Prospect:
    """What the choices of the other stages leave J to be, whatever is added to some positions of one stage.

    The end miss follows from the outermost positions. At a common f = ln φ the spread of a stage is at least what
    its outermost positions are apart less what f asks for, and what a position between two others is off their
    chord.
    """

    series: SeriesRules
    first: Span
    """Sum of the log ratios of the first positions of the other stages."""
    last: Span
    rise: Span
    """The second less the first, for one choice."""
    places: float
    """How many places the other stages climb."""

    def least_j(self, offsets: tuple[int, ...], logs: Floats) -> Floats:
        """Return a lower bound of J.

        Parameters
        ----------
        offsets
            Places of the chosen positions, the first and last of the stage among them, in any order.
        logs
            Their log ratios, (choices, positions).
        """
        order = np.argsort(offsets)
        places, level = np.array(offsets, dtype=float)[order], logs[:, order]
        low, high = level[:, 0], level[:, -1]
        spread = np.zeros(low.size)
        if places[-1] > 0:
            if self.places > 0:
                pace = (high - low) / places[-1]
                spread = min(self.places, places[-1]) * _outside(pace, self.rise, self.places)
            for column in range(1, places.size - 1):
                share = places[column] / places[-1]
                spread = np.maximum(spread, np.abs(level[:, column] - low * (1 - share) - high * share))
        return np.asarray(self.series.weights[0] * self._miss(low, high) + self.series.weights[1] * spread / 2)

    def _miss(self, low: Floats, high: Floats) -> Floats:
        series = self.series
        if series.speeds == 1:
            return _outside((series.low + series.high) / 2 - series.base - low, self.first)
        at_first = _outside(series.low - series.base - low, self.first)
        return np.maximum(at_first, _outside(series.high - series.base - high, self.last))


def _outside(value: Floats, span: Span, divisor: float = 1.0) -> Floats:
    """Return how far values lie outside a span, the span divided first."""
    return np.maximum(0.0, np.maximum(span[0] / divisor - value, value - span[1] / divisor))
