"""What the speeds of many designs at once are worth, and which of them meet the wants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.records.bands import LOG_TOLERANCE
from optimizer.records.middle import MiddleProblem

__all__ = ["Judge"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Judge:
    """The targets of a machine; speeds are natural logarithms [rpm], an array (designs, speeds)."""

    problem: MiddleProblem
    base: float
    """ln of the spindle speed [rpm] at unit ratios."""

    @classmethod
    def of(cls, problem: MiddleProblem) -> Judge:
        """Read them from the problem."""
        gains = problem.stages[0].gain * problem.stages[1].gain * problem.gain_out
        return cls(problem, log(problem.motor_rpm * gains))

    def miss(self, slowest: Floats | None, fastest: Floats | None, count: int) -> Floats:
        """Return the end miss of designs, or what it is at least where not both ends are known."""
        targets, out = self.problem.targets, np.zeros(count)
        for speeds, end in ((slowest, targets.lo_rpm), (fastest, targets.hi_rpm)):
            if speeds is not None:
                out = np.maximum(out, np.abs(speeds - log(end)))
        return out

    def at_least(self, miss: Floats) -> Floats:
        """Return what F is at least with end misses from those given on: the speeds span the rest of the bands."""
        targets = self.problem.targets
        span = log(targets.hi_rpm / targets.lo_rpm)
        steps = len(self.problem.positions) - 1
        found = np.full(miss.size, inf)
        for value in (miss, np.maximum(miss, span / 2), np.maximum(miss, targets.end_miss_most)):
            gaps = np.maximum(span - 2 * value, 0.0) / steps
            found = np.minimum(found, targets.end_weight * value + targets.unevenness_weight * gaps)
        return np.where(miss <= targets.end_miss_most + LOG_TOLERANCE, found, inf)

    def f(self, speeds: Floats) -> Floats:
        """Return F of designs."""
        targets, ordered = self.problem.targets, np.sort(speeds, axis=1)
        miss = self.miss(ordered[:, 0], ordered[:, -1], len(speeds))
        gaps = np.diff(ordered, axis=1).max(axis=1)
        return np.asarray(targets.end_weight * miss + targets.unevenness_weight * gaps)

    def good(self, speeds: Floats) -> NDArray[np.bool_]:
        """Tell which designs have their ends within the limits, and what every band wants."""
        targets, ordered = self.problem.targets, np.sort(speeds, axis=1)
        miss = self.miss(ordered[:, 0], ordered[:, -1], len(speeds))
        good = miss <= targets.end_miss_most + LOG_TOLERANCE
        if targets.never_above_rpm < inf:
            good &= ordered[:, -1] <= log(targets.never_above_rpm) + LOG_TOLERANCE
        if targets.never_below_rpm > 0:
            good &= ordered[:, 0] >= log(targets.never_below_rpm) - LOG_TOLERANCE
        for have, band in zip(self._counted(ordered), targets.bands, strict=True):
            good &= have >= band.want
        return np.asarray(good)

    def _counted(self, ordered: Floats) -> Sequence[NDArray[np.int64]]:
        """Return for every band how many distinct speeds count in it: of near-equals the slowest."""
        targets = self.problem.targets
        least = log(1 + targets.distinct) - LOG_TOLERANCE
        have = [np.zeros(len(ordered), dtype=np.int64) for _ in targets.bands]
        last = np.full(len(ordered), -inf)
        for speed in ordered.T:
            begins = (speed - last >= least) & (speed > last)
            last = np.where(begins, speed, last)
            for number, band in zip(have, targets.bands, strict=True):
                edge = LOG_TOLERANCE if band.top else -LOG_TOLERANCE
                low, high = log(band.low_rpm) - LOG_TOLERANCE, log(band.high_rpm) + edge
                number += begins & (speed >= low) & (speed <= high)
        return have
