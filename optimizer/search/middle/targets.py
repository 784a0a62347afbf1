"""What the speeds should be, as logarithms, ready for many designs at once."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.records.middle import MiddleProblem
from optimizer.records.speeds import LOG_TOLERANCE

__all__ = ["SpeedRules", "wanting"]

Floats = NDArray[np.float64]
TIE = 1e-11
"""How far two values of F may be apart and still be a tie."""
STEPS_OF_THREE = 4
"""A shared cone of three levels makes six speeds, but with gaps up to g it spans no more than 4·g: see `steps`."""


def wanting(speeds: Floats, gap: Floats) -> NDArray[np.int64]:
    """Return how many more speeds it takes at least to leave no gap wider than allowed.

    Parameters
    ----------
    speeds
        Logarithms (designs, speeds), ascending.
    gap
        For every design the widest gap allowed.

    Examples
    --------
    >>> wanting(np.array([[0.0, 1.0, 3.5]]), np.array([1.0])).tolist()
    [2]
    """
    more = np.ceil(np.diff(speeds, axis=1) / gap[:, None] - 1e-9) - 1
    return np.asarray(np.maximum(more, 0).sum(axis=1), dtype=np.int64)


@dataclass(frozen=True)
class SpeedRules:
    """The targets of a problem; all speeds are logarithms less `base`."""

    base: float
    low: float
    high: float
    weights: tuple[float, float]
    """Of end miss and largest gap."""
    cap: float
    """Greatest end miss."""
    least: float
    most: float
    """Slowest and fastest speed allowed."""
    distinct: float
    bands: tuple[tuple[float, float, int], ...]
    """Both edges, tolerance included, with the number wanted."""
    steps: int
    """With gaps up to g the speeds span no more than so many times g.

    One less than there are speeds; but 4 for three levels of a shared cone. There the slowest and fastest leave two
    lower speeds l1 ≤ l2 and two upper ones u1 ≤ u2, and with R for the whole span both belts' shares add up to
    ``u1 + u2 = R + l1 + l2`` (measured from the slowest). So ``R = u1 + u2 − l1 − l2 = (l2 − l1) + 2·(u1 − l2) + (u2 −
    u1)``, each of which is at most g (where u1 < l2 it is less still)."""

    @classmethod
    def of(cls, problem: MiddleProblem, base: float) -> SpeedRules:
        """Read them from a problem."""
        targets = problem.targets
        last = problem.stages[1].driven_rpm * problem.gain_out
        below, above = targets.never_below_rpm, min(targets.never_above_rpm, last)
        bands = [
            (log(b.low_rpm), log(b.high_rpm) + (2 * LOG_TOLERANCE if b.top else 0.0), b.want) for b in targets.bands
        ]
        count = len(problem.positions)
        return cls(
            base=base,
            low=log(targets.lo_rpm) - base,
            high=log(targets.hi_rpm) - base,
            weights=(targets.end_weight, targets.unevenness_weight),
            cap=targets.end_miss_most + LOG_TOLERANCE,
            least=log(below) - base - LOG_TOLERANCE if below > 0 else -inf,
            most=log(above) - base + LOG_TOLERANCE if above < inf else inf,
            distinct=log(1 + targets.distinct) - LOG_TOLERANCE,
            bands=tuple((a - base - LOG_TOLERANCE, b - base - LOG_TOLERANCE, want) for a, b, want in bands if want),
            steps=STEPS_OF_THREE if problem.shared and problem.levels[0] == 3 else count - 1,
        )

    def end_miss(self, slowest: Floats, fastest: Floats) -> Floats:
        """Return the end miss of designs by their outer speeds."""
        return np.maximum(np.abs(slowest - self.low), np.abs(fastest - self.high))

    @property
    def bound(self) -> float:
        """A value that F of no design is below: the speeds span at least the bands less twice the end miss."""
        return min(self._at(miss) for miss in (0.0, self.cap, min(self.cap, max(0.0, self.high - self.low) / 2)))

    @property
    def greatest(self) -> float:
        """A value that F of no design passes."""
        return self.weights[0] * self.cap + self.weights[1] * (max(0.0, self.high - self.low) + 2 * self.cap)

    def miss_most(self, most: float) -> float:
        """Return the greatest end miss of designs with F up to `most`."""
        ends, gap = self.weights
        limits = [self.cap]
        if ends > 0:
            limits.append(most / ends)
            slope = ends - 2 * gap / self.steps
            if slope > 0:
                # past half the span the gap's share is 0, not less: only the line above holds there
                limits.append(max((most - gap * (self.high - self.low) / self.steps) / slope, 0.0))
                if self.high - self.low < 2 * limits[-1]:
                    limits.pop()
        return min(limits) + TIE

    def gap_most(self, most: float, miss: Floats) -> Floats:
        """Return the widest gap that designs of given end misses may have with F up to `most`."""
        if self.weights[1] <= 0:
            return np.where(self.weights[0] * miss <= most + TIE, inf, -inf)
        return np.asarray((most - self.weights[0] * miss) / self.weights[1] + TIE)

    def judge(self, speeds: Floats) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
        """Tell which designs have what every band wants, with the number of their distinct speeds.

        Parameters
        ----------
        speeds
            Logarithms (designs, speeds), ascending.
        """
        last = np.full(speeds.shape[0], -inf)
        counted = np.zeros(speeds.shape[0], dtype=np.int64)
        have = [np.zeros(speeds.shape[0], dtype=np.int64) for _ in self.bands]
        for speed in speeds.T:
            kept = (speed - last >= self.distinct) & (speed > last)
            last = np.where(kept, speed, last)
            counted += kept
            for band, (low, high, _) in zip(have, self.bands, strict=True):
                band += kept & (speed >= low) & (speed <= high)
        good = np.ones(speeds.shape[0], dtype=bool)
        for band, (_, _, want) in zip(have, self.bands, strict=True):
            good &= band >= want
        return good, counted

    def _at(self, miss: float) -> float:
        return self.weights[0] * miss + self.weights[1] * max(0.0, self.high - self.low - 2 * miss) / self.steps
