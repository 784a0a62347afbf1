"""The least J that any real diameters could have, by a small linear program with whole-number band choices."""

from __future__ import annotations

from math import inf, log

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from optimizer.records import Problem, SideSizes, StageProblem
from optimizer.search.fit import SeriesRules

__all__ = ["SeriesProgram", "ideal_series_fits", "stage_span"]

Floats = NDArray[np.float64]
OPTIMAL, INFEASIBLE = 0, 2
"""The solver's own numbers for how it ended."""
FAR = 15.0
"""More than any two speeds can lie apart, in logarithms: e^15 is three million."""


def stage_span(stage: StageProblem) -> tuple[float, float]:
    """Return the least and greatest log ratio that the limits of the sizes leave to a stage.

    Raises
    ------
    ValueError
        If a side has no size at all.

    Examples
    --------
    >>> side = SideSizes(key="stage[0].driver", ready_mm=(50.0, 100.0))
    >>> stage = StageProblem(key="stage[0]", driver=side, driven=side, belts=(), centre_mm=(200, 400))
    >>> [round(limit, 4) for limit in stage_span(stage)]
    [-0.6931, 0.6931]
    """
    (a, b), (c, d) = _extent(stage.driver), _extent(stage.driven)
    kept = log(1 - stage.slip)
    return log(a / d) + kept, log(b / c) + kept


def _extent(side: SideSizes) -> tuple[float, float]:
    sizes = [*side.ready_mm, *side.kept_mm, *(side.turned_mm or ())]
    if not sizes:
        raise ValueError(f"{side.key} has no size")
    return min(sizes), max(sizes)


def ideal_series_fits(problem: Problem, spans: list[tuple[float, float]] | None) -> bool:
    """Tell whether a geometric series from bottom to top keeps every rule, so that J can be 0.

    With `spans`, the log ratios of the stages must also be able to make it.
    """
    rules = SeriesRules.of(problem)
    count = rules.speeds
    step = (rules.high - rules.low) / (count - 1) if count > 1 else 0.0
    start = rules.low if count > 1 else (rules.low + rules.high) / 2
    if count > 1 and step < max(rules.ratio_least, rules.distinct):
        return False
    parts = [start - rules.base + step * rules.offsets[0]] + [step * o for o in rules.offsets[1:]]
    if not rules.judge([part[None, :] for part in parts], inf)[0].size:
        return False
    if spans is None:
        return True
    lowest = sum(low for low, _ in spans)
    highest = sum(high - step * o[-1] for (_, high), o in zip(spans, rules.offsets, strict=True))
    wide = all(high - low >= step * o[-1] - 1e-12 for (low, high), o in zip(spans, rules.offsets, strict=True))
    return wide and lowest <= start - rules.base + 1e-12 and start - rules.base <= highest + 1e-12


class SeriesProgram:
    """Wants, sums and spans of ratio as a linear program; band choices are its whole numbers.

    Variables are the log ratio of every position of every stage, ln φ, end miss, unevenness, each stage's
    greatest and least distance from the series, and for every band a choice of the first speed that counts.

    Parameters
    ----------
    problem
        The layout's problem.
    spans
        Least and greatest log ratio of every stage; nothing leaves the stages free.
    """

    def __init__(self, problem: Problem, spans: list[tuple[float, float]] | None) -> None:
        self.rules = SeriesRules.of(problem)
        self._spans = spans or [(-FAR, FAR)] * len(problem.stages)
        counts = [len(o) for o in self.rules.offsets]
        self._starts = np.concatenate([[0], np.cumsum(counts)])
        x = int(self._starts[-1])
        self._ratio, self._miss, self._delta, self._levels = x, x + 1, x + 2, x + 3
        self._choice = x + 3 + 2 * len(counts)
        self._wants = [(low, high, want) for low, high, want in self.rules.bands if want > 0]
        self.possible = all(want <= self.rules.speeds for _, _, want in self._wants)
        self._size = self._choice + sum(self._runs(want) for *_, want in self._wants)
        self._rows: list[tuple[Floats, float, float]] = []
        if self.possible:
            self._series_rows()
            self._band_rows()
        self._matrix = np.array([row for row, _, _ in self._rows]).reshape(-1, self._size)
        self._low = np.array([low for _, low, _ in self._rows])
        self._high = np.array([high for _, _, high in self._rows])

    def _runs(self, want: int) -> int:
        return self.rules.speeds - want + 1

    def _row(self) -> Floats:
        return np.zeros(self._size)

    def _add(self, row: Floats, low: float, high: float) -> None:
        self._rows.append((row, low, high))

    def speed(self, k: int) -> Floats:
        """Return the row that gives ln of speed k less the base."""
        row = self._row()
        for stage, position in enumerate(self.rules.places[k]):
            row[self._starts[stage] + position] = 1
        return row

    @property
    def ratio(self) -> Floats:
        """The row that gives ln φ."""
        row = self._row()
        row[self._ratio] = 1
        return row

    @property
    def delta(self) -> Floats:
        """The row that gives the unevenness."""
        row = self._row()
        row[self._delta] = 1
        return row

    @property
    def j(self) -> Floats:
        """The row that gives J."""
        row = self._row()
        row[self._miss], row[self._delta] = self.rules.weights
        return row

    def _series_rows(self) -> None:
        rules = self.rules
        spread = self._row()
        for stage, offsets in enumerate(rules.offsets):
            top, bottom = self._levels + 2 * stage, self._levels + 2 * stage + 1
            spread[top], spread[bottom] = 0.5, -0.5
            for position, place in enumerate(offsets):
                for level, low, high in ((top, -inf, 0.0), (bottom, 0.0, inf)):
                    row = self._row()
                    row[self._starts[stage] + position], row[self._ratio], row[level] = 1, -place, -1
                    self._add(row, low, high)
        spread[self._delta] = -1
        self._add(spread, -inf, 0.0)
        last = rules.speeds - 1
        ends = [(0, rules.low), (last, rules.high)] if last else [(0, (rules.low + rules.high) / 2)]
        for k, end in ends:
            for sign in (1, -1):
                row = sign * self.speed(k)
                row[self._miss] = -1
                self._add(row, -inf, sign * (end - rules.base))
        self._add(self.speed(0), rules.limits[0] - rules.base, inf)
        self._add(self.speed(last), -inf, rules.limits[1] - rules.base)
        for k in range(last):
            self._add(self.speed(k + 1) - self.speed(k), max(rules.distinct, 0.0), inf)

    def _band_rows(self) -> None:
        at = self._choice
        for low, high, want in self._wants:
            runs = self._runs(want)
            one = self._row()
            one[at : at + runs] = 1
            self._add(one, 1, 1)
            for first in range(runs):
                row = self.speed(first)
                row[at + first] = -FAR
                self._add(row, low - self.rules.base - FAR, inf)
                row = self.speed(first + want - 1)
                row[at + first] = FAR
                self._add(row, -inf, high - self.rules.base + FAR)
            at += runs

    def least(self, objective: Floats, most: float = inf) -> float:
        """Return a lower bound of a row with J up to `most`: the least value itself, unless the solver gives up.

        Infinity where nothing keeps the rules; minus infinity where the solver ends without an answer, which
        bounds nothing.
        """
        if not self.possible:
            return inf
        matrix = np.vstack([self._matrix, self.j])
        constraint = LinearConstraint(matrix, np.append(self._low, -inf), np.append(self._high, most))
        whole = np.zeros(self._size, dtype=np.int8)
        whole[self._choice :] = 1
        for presolve in (
            True,
            False,
        ):  # the solver's presolve now and then ends in an error that plain solving does not
            result = milp(
                objective,
                constraints=constraint,
                bounds=self._bounds(),
                integrality=whole,
                options={"presolve": presolve},
            )
            if result.status == INFEASIBLE:
                return inf
            if result.status == OPTIMAL:
                value, bound = float(result.fun or 0.0), result.mip_dual_bound
                return min(value, float(bound)) if bound is not None and np.isfinite(bound) else value
        return -inf

    def _bounds(self) -> Bounds:
        low, high = np.full(self._size, -inf), np.full(self._size, inf)
        for stage, (least, most) in enumerate(self._spans):
            low[self._starts[stage] : self._starts[stage + 1]] = least
            high[self._starts[stage] : self._starts[stage + 1]] = most
        low[self._ratio], low[self._miss], low[self._delta] = self.rules.ratio_least, 0.0, 0.0
        high[self._miss], high[self._delta] = self.rules.caps
        low[self._choice :], high[self._choice :] = 0.0, 1.0
        return Bounds(low, high)
