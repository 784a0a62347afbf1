"""The least J that any real diameters could have, by small linear programs."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from math import inf
from typing import NamedTuple, cast

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_array, eye_array, kron

from optimizer.clock import ENDLESS, Clock
from optimizer.search.fit import SeriesRules
from optimizer.search.reach import Reach, ideal_series_fits

__all__ = ["SeriesProgram", "lower_bound"]

Floats = NDArray[np.float64]
OPTIMAL, INFEASIBLE = 0, 2
"""The solver's own numbers for how it ended."""
MOST_CASES = 6
"""Choices of the speeds that count up to which each is boxed by itself; more have too many designs in common."""
MOST_PROGRAMS = 600
"""Programs solved after which wants bound nothing any more: about a second."""
FAR = 15.0
"""More than any two speeds can lie apart, in logarithms: e^15 is three million."""


class _Case(NamedTuple):
    """One choice, for every band, of the first speed that counts in it."""

    matrix: Floats
    most: Floats
    least_j: float


class SeriesProgram:
    """Wants, sums and spans of ratio as a small linear program, solved for each choice of the speeds that count.

    Variables are the log ratio of every position of every stage, ln φ, end miss, unevenness, and each stage's
    greatest and least distance from the series. In a band that wants w speeds some w neighbours of the series
    must lie; which ones is chosen by trying all starts, band by band, as long as the program has a solution.

    Parameters
    ----------
    rules
        The layout's series.
    reach
        How far the stages' log ratios go; nothing leaves them free.
    wants
        Whether the wants count; without them there is one program only, and its least J bounds that with them.
    clock
        Asked before every solution, each of which gets the time that is left.
    """

    def __init__(self, rules: SeriesRules, reach: Reach | None, *, wants: bool = True, clock: Clock = ENDLESS) -> None:
        self.rules, self._clock, self._solved = rules, clock, 0
        self._wants = wants
        self._reach = reach or Reach([(-FAR, FAR)] * len(rules.offsets), [])
        counts = [len(o) for o in self.rules.offsets]
        self._starts = np.concatenate([[0], np.cumsum(counts)])
        x = int(self._starts[-1])
        self._ratio, self._miss, self._delta, self._levels = x, x + 1, x + 2, x + 3
        self._size = x + 3 + 2 * len(counts)
        rows = [*self._series_rows(), *self._reach_rows()]
        self._matrix = np.array([row for row, _ in rows])
        self._most = np.array([most for _, most in rows])

    def _row(self) -> Floats:
        return np.zeros(self._size)

    def speed(self, k: int) -> Floats:
        """Return the row that gives ln of speed k less the base."""
        row = self._row()
        for stage, position in enumerate(self.rules.places[k]):
            row[self._starts[stage] + position] = 1
        return row

    def place(self, stage: int, position: int) -> Floats:
        """Return the row that gives a position's log ratio."""
        row = self._row()
        row[self._starts[stage] + position] = 1
        return row

    def rise(self, stage: int, position: int) -> Floats:
        """Return the row that gives a position's log ratio less that of the first."""
        row = self._row()
        row[self._starts[stage] + position] += 1
        row[self._starts[stage]] -= 1
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

    def _series_rows(self) -> Iterator[tuple[Floats, float]]:
        """Yield rows that must not pass their limits: levels, spread, ends, limits of speed, distinctness."""
        rules = self.rules
        spread = self._row()
        for stage, offsets in enumerate(rules.offsets):
            top, bottom = self._levels + 2 * stage, self._levels + 2 * stage + 1
            spread[top], spread[bottom] = 0.5, -0.5
            for position, place in enumerate(offsets):
                for level, sign in ((top, 1), (bottom, -1)):
                    row = self._row()
                    row[self._starts[stage] + position], row[self._ratio], row[level] = sign, -sign * place, -sign
                    yield row, 0.0
        spread[self._delta] = -1
        yield spread, 0.0
        last = rules.speeds - 1
        ends = [(0, rules.low), (last, rules.high)] if last else [(0, (rules.low + rules.high) / 2)]
        for k, end in ends:
            for sign in (1, -1):
                row = sign * self.speed(k)
                row[self._miss] = -1
                yield row, sign * (end - rules.base)
        if rules.limits[0] > -inf:
            yield -self.speed(0), rules.base - rules.limits[0]
        if rules.limits[1] < inf:
            yield self.speed(last), rules.limits[1] - rules.base
        for k in range(last):
            yield self.speed(k) - self.speed(k + 1), -max(rules.distinct, 0.0)

    def _reach_rows(self) -> Iterator[tuple[Floats, float]]:
        """Yield what belts and limits of speed leave to first and last positions."""
        for cut in self._reach.cuts:
            row = self._row()
            row[self._starts[cut.stage]] += cut.first
            row[self._starts[cut.stage + 1] - 1] += cut.last
            row[self._starts[1 : cut.stage + 1] - 1] += cut.before
            row[self._starts[: cut.stage]] += cut.slowest
            yield row, cut.most

    @cached_property
    def least_j(self) -> float:
        """The least J of any real diameters; infinity where nothing keeps the rules."""
        return min((case.least_j for case in self._cases), default=inf)

    @cached_property
    def _cases(self) -> list[_Case]:
        """Every choice of the speeds that count with which the program has a solution; of too many, none."""
        wants = sorted((low, high, want) for low, high, want in self.rules.bands if want > 0 and self._wants)
        bare = _Case(self._matrix, self._most, 0.0)
        bare = bare._replace(least_j=self._solve(bare, self.j))
        if bare.least_j == inf:
            return []
        open_ = [(bare, ((-inf, -inf), -1))]
        for low, high, want in wants:
            grown = []
            for case, (edges, taken) in open_:
                # bands in order are filled in order: a run that starts lower serves a lower band as well
                ordered = low >= edges[0] and high >= edges[1]
                first = 0 if not ordered else taken + 1 if edges[1] <= low else max(0, taken - want + 1)
                for start in range(first, self.rules.speeds - want + 1):
                    if self._solved > MOST_PROGRAMS:
                        return [bare]
                    found = self._with_run(case, (low, high), (start, start + want - 1))
                    if found:
                        grown.append((found, ((low, high), start + want - 1)))
            open_ = grown
        return [case for case, _ in open_]

    def _with_run(self, case: _Case, edges: tuple[float, float], run: tuple[int, int]) -> _Case | None:
        """Return a case with one more run of speeds inside a band, or nothing where that has no solution."""
        if not self._may_lie(edges, run):
            return None
        rows = np.vstack([case.matrix, -self.speed(run[0]), self.speed(run[1])])
        most = np.append(case.most, [self.rules.base - edges[0], edges[1] - self.rules.base])
        grown = _Case(rows, most, 0.0)
        value = self._solve(grown, self.j)
        return grown._replace(least_j=value) if value < inf else None

    def _may_lie(self, edges: tuple[float, float], run: tuple[int, int]) -> bool:
        """Tell whether speeds can lie in a band as far as the limits on end miss and unevenness say."""
        rules = self.rules
        # a single speed is asked to lie between the ends, not at the lower of them
        start = rules.low if rules.speeds > 1 else (rules.low + rules.high) / 2
        step = (rules.high - rules.low) / max(1, rules.speeds - 1)
        away = rules.caps[0] + 2 * rules.caps[1]
        return start + step * run[0] + away >= edges[0] and start + step * run[1] - away <= edges[1]

    def least(self, objectives: list[Floats], most: float) -> list[list[float]]:
        """Return lower bounds of the rows with J up to `most`, for each choice of the speeds that count.

        They are the least values, where the solver ends; of very many choices none is told from the others. All rows
        are asked for at once, each in a block of its own. Infinity where nothing keeps the rules; minus infinity where
        the solver ends without an answer, which bounds nothing.
        """
        cases = [case for case in self._cases if case.least_j <= most]
        if len(cases) > MOST_CASES:
            cases = [_Case(self._matrix, self._most, 0.0)]
        return [
            self._solve_all(_Case(np.vstack([case.matrix, self.j]), np.append(case.most, most), 0.0), objectives)
            for case in cases
        ]

    def _solve_all(self, case: _Case, objectives: list[Floats]) -> list[float]:
        count = len(objectives)
        blocks = kron(eye_array(count), csr_array(case.matrix), format="csr")
        dense_or_not = cast("Floats", blocks)  # scipy takes sparse matrices, of which its stubs do not know
        result = linprog(
            np.concatenate(objectives),
            A_ub=dense_or_not,
            b_ub=np.tile(case.most, count),
            bounds=self._bounds * count,
            options={"time_limit": self._left_s()},
        )
        if result.status != OPTIMAL or result.x is None:
            return [self._solve(case, objective) for objective in objectives]
        parts = result.x.reshape(count, -1)
        return [float(row @ part) for row, part in zip(objectives, parts, strict=True)]

    def _solve(self, case: _Case, objective: Floats) -> float:
        self._solved += 1
        for method in ("highs", "highs-ipm"):
            result = linprog(
                objective,
                A_ub=case.matrix,
                b_ub=case.most,
                bounds=self._bounds,
                method=method,
                options={"time_limit": self._left_s()},
            )
            if result.status == INFEASIBLE:
                return inf
            if result.status == OPTIMAL:
                return float(result.fun or 0.0)
        return -inf

    def _left_s(self) -> float:
        """Return the time [s] that the solver may take, where there is any."""
        self._clock.ask()
        return self._clock.left_s

    @cached_property
    def _bounds(self) -> list[tuple[float | None, float | None]]:
        low, high = np.full(self._size, -inf), np.full(self._size, inf)
        for stage, (least, most) in enumerate(self._reach.spans):
            low[self._starts[stage] : self._starts[stage + 1]] = least
            high[self._starts[stage] : self._starts[stage + 1]] = most
        low[self._ratio], low[self._miss], low[self._delta] = self.rules.ratio_least, 0.0, 0.0
        high[self._miss], high[self._delta] = self.rules.caps
        return list(zip(low.tolist(), high.tolist(), strict=True))


def lower_bound(
    rules: SeriesRules, known: float, reach: Reach | None, clock: Clock = ENDLESS
) -> tuple[float, SeriesProgram]:
    """Return a lower bound of J within a reach, where `known` is one without it, and the program of that reach."""
    if known == 0.0 and ideal_series_fits(rules, reach):
        return 0.0, SeriesProgram(rules, reach, wants=False, clock=clock)
    program = SeriesProgram(rules, reach, clock=clock)
    return (known if known == inf else max(known, program.least_j)), program
