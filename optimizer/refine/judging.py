"""Many designs judged at once, by J or by what is preferred to it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.records import Problem, SideSizes, Targets
from optimizer.refine.stated import Goal

__all__ = ["SAME_PLACES", "Judge", "j_of_many"]

Floats = NDArray[np.float64]
ALL_CHORDS = 6
"""Number of speeds up to which every chord is tried."""
OUTER = 3
"""How many speeds at either end have their chords tried where there are more."""


SAME_PLACES, SAME = 12, 1e-12
"""Decimal places to which J is compared; what differs by less is the same, and the first one listed is taken."""
AMOUNT_PLACES = 6
"""The same of timber [mm³] and of discs [mm]."""


class Judge:
    """Puts designs of one problem in order."""

    def __init__(self, problem: Problem, goal: Goal = "j", most_j: float = inf) -> None:
        """Take what is made least, and the J that may then not be passed."""
        self.problem, self.goal, self.most_j = problem, goal, most_j
        ways, switches = problem.layout.ways, len(problem.switches)
        self.steps = np.array([place for place, _ in ways])
        """Place in the series of every way of making a speed."""
        self.places = np.array([chosen[switches:] for _, chosen in ways])
        """Position of every stage for every way, shape (ways, stages)."""
        base = log(problem.motor_rpm * problem.gain_out) + sum(log(s.gain) for s in problem.stages)
        shares = [
            sum(log(s.shares[setting]) for s, setting in zip(problem.switches, chosen, strict=False))
            for _, chosen in ways
        ]
        self.base = base + np.array(shares)
        """Logarithm of every way's speed at unit ratios of all belt stages."""

    def logs(self, ratios: Sequence[Floats]) -> Floats:
        """Return the logarithms of the ways' speeds, shape (designs, ways), from each stage's log ratios."""
        return self.base + sum((part[:, self.places[:, s]] for s, part in enumerate(ratios)), np.zeros(1))

    def js(self, ratios: Sequence[Floats]) -> Floats:
        """Return J of every design."""
        return j_of_many(self.problem.targets, self.logs(ratios), self.steps)

    def order(self, js: Floats, amounts: Floats) -> NDArray[np.intp]:
        """Return the designs' places in order of merit: within the J allowed, by what is wanted, then by J."""
        js, amounts = np.round(js, SAME_PLACES), np.round(amounts, AMOUNT_PLACES)
        if self.goal == "j":
            return np.argsort(js, kind="stable")
        beyond = js > self.most_j + SAME
        return np.lexsort((js, np.where(beyond, js, amounts), beyond))

    def better(self, one: tuple[float, float], other: tuple[float, float]) -> bool:
        """Tell whether J and amount of one design are better than those of another, by more than rounding."""
        if self.goal == "j" or max(one[0], other[0]) > self.most_j + SAME:
            return one[0] < other[0] - SAME
        less = other[1] * SAME
        return one[1] < other[1] - less or (one[1] <= other[1] + less and one[0] < other[0] - SAME)

    def amount(self, side: SideSizes, pitch_mm: float, source: str) -> float:
        """Return what one step has of what is wanted: timber [mm³], or its disc [mm]; 0 where J is."""
        if self.goal == "j" or source != "turned":
            return 0.0
        return side.timber_mm3(pitch_mm) if self.goal == "timber" else side.blank_mm(pitch_mm)

    def together(self, amounts: Sequence[Floats]) -> Floats:
        """Return what several parts have together: their sum, or the largest."""
        whole = amounts[0]
        for part in amounts[1:]:
            whole = np.maximum(whole, part) if self.goal == "disc" else whole + part
        return whole


def j_of_many(targets: Targets, logs: Floats, steps: NDArray[np.intp] | None = None) -> Floats:
    """Return J of many series, shape (designs,), from the logarithms of their speeds, shape (designs, speeds).

    `steps` are their places in the series where several share one; 0, 1, 2 … else.

    Chord by chord as in `optimizer.series.unevenness`, for all designs at a time. With more than so many speeds only
    chords between the first few and the last few are tried, so that J may come out somewhat too high: good enough to
    choose by.

    Examples
    --------
    >>> targets = Targets(bands=(), lo_rpm=100, hi_rpm=400)
    >>> j_of_many(targets, np.log([[100.0, 200, 400], [101, 200, 400]])).round(4).tolist()
    [0.0, 0.0124]
    """
    low, high, count = log(targets.lo_rpm), log(targets.hi_rpm), logs.shape[1]
    if count == 1:
        return targets.end_weight * np.abs(logs[:, 0] - (low + high) / 2)
    miss = np.maximum(np.abs(logs[:, 0] - low), np.abs(logs[:, -1] - high))
    steps = np.arange(count) if steps is None else steps
    least = log(targets.ratio_least)
    delta = np.full(logs.shape[0], inf)
    for lower, upper in combinations(range(count), 2):
        if count > ALL_CHORDS and not (lower < OUTER and upper >= count - OUTER):
            continue
        if steps[upper] == steps[lower]:
            continue
        slopes = np.maximum((logs[:, upper] - logs[:, lower]) / (steps[upper] - steps[lower]), least)
        np.minimum(delta, np.ptp(logs - slopes[:, None] * steps, axis=1) / 2, out=delta)
    return np.asarray(targets.end_weight * miss + targets.unevenness_weight * delta)
