"""The problem put to scipy.optimize.differential_evolution with a repair that always returns listed pairs."""

from __future__ import annotations

from math import inf
from time import perf_counter
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, differential_evolution

from optimizer.records.candidate import StageSizes
from optimizer.records.problem import Problem
from optimizer.records.rules import broken_rules
from tests.bench.answer import Answer, exact_j
from tests.oracle.choices import Variant, sizes_of
from tests.oracle.milp import Formulation
from tests.oracle.plain import end_miss, unevenness

__all__ = ["ask_evolution"]

Floats = NDArray[np.float64]
SEED = 1
PER_VARIABLE = 15
"""Members of the population for every variable."""
CAREFUL = 10.0
"""What an unmet rule adds to J, beside how far it is from being met."""


class _Pairs(NamedTuple):
    """The pairs of one belt, by rising centre distance."""

    centres_mm: Floats
    logs: Floats
    rows: NDArray[np.intp]


def ask_evolution(form: Formulation, limit_s: float) -> Answer:
    """Return the best design that evolution finds until it settles, or within a limit of time.

    Variables are, for each stage, its belt (a whole number), the least centre distance of its window, and for each
    position the log ratio to aim at. The repair takes for each position the pair in the window that comes nearest
    its aim; what then still breaks a rule is charged for.
    """
    trial = _Trial(form)
    start = perf_counter()

    def late(_vector: Floats, convergence: Any) -> None:
        if perf_counter() - start > limit_s:
            raise StopIteration

    differential_evolution(
        trial.charge,
        Bounds(*np.array(trial.bounds, dtype=np.float64).T),
        integrality=trial.whole,
        popsize=PER_VARIABLE,
        maxiter=100_000,
        tol=1e-10,
        atol=1e-10,
        rng=np.random.default_rng(SEED),
        polish=False,
        callback=late,
    )
    seconds = perf_counter() - start
    return Answer("value only", trial.best_j, seconds=seconds)


class _Trial:
    """Turns vectors into designs, and charges for them; remembers the best that keeps every rule."""

    def __init__(self, form: Formulation) -> None:
        self.problem: Problem = form.problem
        self.tables: list[list[Variant]] = form.tables
        self.pairs = [[_sorted(variant) for variant in table] for table in form.tables]
        self.bounds: list[tuple[float, float]] = []
        self.whole: list[bool] = []
        self.best_j = inf
        for number, table in zip(self.problem.layout.positions, self.pairs, strict=True):
            centres = np.concatenate([pairs.centres_mm for pairs in table])
            logs = np.concatenate([pairs.logs for pairs in table])
            self.bounds += [(0, max(len(table) - 1, 0.5)), (centres.min(), centres.max())]
            self.bounds += [(float(logs.min()), float(logs.max()))] * number
            self.whole += [True, False, *[False] * number]

    def charge(self, vector: Floats) -> float:
        """Return J, or more where rules are broken."""
        design, logs = self._repair(vector)
        targets = self.problem.targets
        miss, uneven = (
            end_miss(logs, targets.lo_rpm, targets.hi_rpm),
            unevenness(logs, targets.ratio_least),
        )
        j = targets.end_weight * miss + targets.unevenness_weight * uneven
        unmet = self._unmet(logs) + max(0.0, miss - targets.end_miss_most) + max(0.0, uneven - targets.unevenness_most)
        if unmet > 0:
            return CAREFUL + unmet + j
        if j < self.best_j:
            if broken_rules(self.problem, design):
                return CAREFUL / 2 + j
            self.best_j = exact_j(self.problem, design)
        return j

    def _repair(self, vector: Floats) -> tuple[tuple[StageSizes, ...], list[float]]:
        design: list[StageSizes] = []
        ratios: list[list[float]] = []
        at = 0
        for stage, number in enumerate(self.problem.layout.positions):
            belt, least, aims = round(vector[at]), vector[at + 1], np.sort(vector[at + 2 : at + 2 + number])
            at += 2 + number
            belt = min(belt, len(self.tables[stage]) - 1)
            variant, pairs = self.tables[stage][belt], self.pairs[stage][belt]
            first, last = np.searchsorted(pairs.centres_mm, [least, least + variant.belt.window_mm])
            if last <= first:
                first = min(int(first), pairs.logs.size - 1)
                last = np.searchsorted(pairs.centres_mm, pairs.centres_mm[first] + variant.belt.window_mm, side="right")
            near = np.abs(pairs.logs[first:last, None] - aims[None, :]).argmin(axis=0) + first
            design.append(sizes_of(variant.belt, [variant.rows[p][pairs.rows[k]] for p, k in enumerate(near)]))
            ratios.append([float(pairs.logs[k]) for k in near])
        base = float(np.log(self.problem.motor_rpm * self.problem.gain_out))
        base += sum(float(np.log(rules.gain)) for rules in self.problem.stages)
        logs = [
            base + sum(row[p] for row, p in zip(ratios, place, strict=True)) for place in self.problem.layout.places
        ]
        return tuple(design), logs

    def _unmet(self, logs: list[float]) -> float:
        """Return how far neighbouring speeds, the outer speeds and the wants are from what they must be."""
        targets = self.problem.targets
        least = float(np.log1p(targets.distinct))
        rises = np.diff(logs)
        unmet = float(np.clip(least - rises, 0, None).sum())
        if targets.never_below_rpm > 0:
            unmet += max(0.0, float(np.log(targets.never_below_rpm)) - logs[0])
        if targets.never_above_rpm < inf:
            unmet += max(0.0, logs[-1] - float(np.log(targets.never_above_rpm)))
        for band in targets.bands:
            low, high = float(np.log(band.low_rpm)), float(np.log(band.high_rpm))
            beside = sorted(max(low - value, value - high, 0.0) for value in logs)
            unmet += sum(beside[: band.want])
        return unmet


def _sorted(variant: Variant) -> _Pairs:
    row = variant.rows[0]
    order = np.argsort([pair.centre_mm for pair in row], kind="stable")
    return _Pairs(
        np.array([row[k].centre_mm for k in order]), np.array([row[k].log_ratio for k in order]), order.astype(np.intp)
    )
