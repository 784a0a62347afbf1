"""What a threshold leaves: the structural bound, a small mixed-integer linear program, and boxes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
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

__all__ = ["Boxes", "SeriesProgram", "StageBoxes", "boxes_at", "boxes_by_program", "lower_bound", "narrowed"]

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


MARGIN = 1e-7
"""How much wider the linear program's answers are taken, for its own tolerance."""


@dataclass(frozen=True)
class StageBoxes:
    """Spans for one stage; one row a position, least and most."""

    place: Floats
    """Log ratio of each position."""
    rise: Floats
    """Log ratio of each position less that of the first."""


@dataclass(frozen=True)
class Boxes:
    """What any design with J up to a threshold must keep, in natural logarithms."""

    most: float
    """The threshold."""
    spread: float
    """Twice the greatest unevenness."""
    ratio: tuple[float, float]
    """ln φ of the fitted series."""
    first: tuple[float, float]
    """ln of the slowest speed."""
    last: tuple[float, float]
    """ln of the fastest speed."""
    stages: tuple[StageBoxes, ...]

    @property
    def empty(self) -> bool:
        """Whether some span has nothing in it, so that no design keeps them all."""
        spans = [self.ratio, self.first, self.last]
        arrays = [a for s in self.stages for a in (s.place, s.rise)]
        return any(low > high for low, high in spans) or any(bool((a[:, 0] > a[:, 1]).any()) for a in arrays)


def boxes_at(rules: SeriesRules, spans: list[tuple[float, float]], most: float) -> Boxes:
    """Return the spans that a threshold leaves, in closed form.

    With J up to T the ends miss by ε and the series by δ, where ``w_e·ε + w_u·δ <= T``; what a sum of them can
    reach is the greatest over the corners of that triangle cut by the limits on ε and δ.
    """
    count = rules.speeds
    reach = _Reach.of(rules, most)
    if count == 1:
        middle = (rules.low + rules.high) / 2
        first = last = (middle - reach.miss, middle + reach.miss)
        ratio = (rules.ratio_least, inf)
    else:
        first = (rules.low - reach.miss, rules.low + reach.miss)
        last = (rules.high - reach.miss, rules.high + reach.miss)
        swing = reach.sum(2, 2) / (count - 1)
        step = (rules.high - rules.low) / (count - 1)
        ratio = (max(rules.ratio_least, step - swing), step + swing)
    ratio = (ratio[0], min(ratio[1], sum(high - low for low, high in spans) + rules.ratio_least + 1.0))
    first = (max(first[0], rules.limits[0]), min(first[1], rules.limits[1]))
    last = (max(last[0], rules.limits[0]), min(last[1], rules.limits[1]))
    return _with_stages(rules, spans, Boxes(most, 2 * reach.delta, ratio, first, last, ()))


def boxes_by_program(program: SeriesProgram, spans: list[tuple[float, float]], most: float) -> list[Boxes]:
    """Return the spans that a threshold leaves to each choice of the speeds that count, by the linear program.

    They are narrower than in closed form where wants or reach bind.
    """
    rules = program.rules
    closed = boxes_at(rules, spans, most)
    positions = [(s, p) for s, offsets in enumerate(rules.offsets) for p in range(1, offsets.size)]
    ends = [(s, p) for s, offsets in enumerate(rules.offsets) for p in (0, offsets.size - 1)]
    rows = [program.speed(0), program.speed(rules.speeds - 1), program.ratio]
    rows += [program.rise(s, p) for s, p in positions] + [program.place(s, p) for s, p in ends]
    found = []
    for least in program.least([*rows, *(-row for row in rows), -program.delta], most):
        first, last, ratio, *others = [
            (low - MARGIN, MARGIN - high) for low, high in zip(least[: len(rows)], least[len(rows) : -1], strict=True)
        ]
        tight = Boxes(
            most,
            min(closed.spread, 2 * (MARGIN - least[-1])),
            _both(closed.ratio, ratio) if rules.speeds > 1 else closed.ratio,
            _both(closed.first, _shifted(first, rules.base)),
            _both(closed.last, _shifted(last, rules.base)),
            (),
        )
        boxes = _with_stages(rules, spans, tight)
        limits = [boxes.stages[s].rise[p] for s, p in positions] + [boxes.stages[s].place[p] for s, p in ends]
        for limit, (low, high) in zip(limits, others, strict=True):
            limit[:] = max(limit[0], low), min(limit[1], high)
        found.append(boxes)
    return found


def narrowed(
    rules: SeriesRules, spans: list[tuple[float, float]], boxes: Boxes, spread: float, ratio: tuple[float, float]
) -> Boxes:
    """Return what is left to the other stages once one stage's choices are known.

    Parameters
    ----------
    rules, spans
        The series, and the log ratios of every stage, those of the known one from its choices.
    boxes
        The boxes so far.
    spread
        The least spread of the known choices: the other stages share what is left of the unevenness.
    ratio
        The span of ln φ that the known choices leave.
    """
    miss = inf
    if rules.weights[0] > 0:
        miss = (boxes.most - rules.weights[1] * spread / 2) / rules.weights[0] + MARGIN
    ends = (rules.low, rules.high) if rules.speeds > 1 else ((rules.low + rules.high) / 2,) * 2
    tight = Boxes(
        boxes.most,
        boxes.spread - spread,
        _both(boxes.ratio, ratio),
        _both(boxes.first, (ends[0] - miss, ends[0] + miss)),
        _both(boxes.last, (ends[1] - miss, ends[1] + miss)),
        (),
    )
    fresh = _with_stages(rules, spans, tight)
    stages = tuple(
        StageBoxes(_overlap(new.place, old.place), _overlap(new.rise, old.rise))
        for new, old in zip(fresh.stages, boxes.stages, strict=True)
    )
    return replace(fresh, stages=stages)


def _overlap(a: Floats, b: Floats) -> Floats:
    return np.column_stack([np.maximum(a[:, 0], b[:, 0]), np.minimum(a[:, 1], b[:, 1])])


def _shifted(span: tuple[float, float], shift: float) -> tuple[float, float]:
    return (span[0] + shift, span[1] + shift)


def _both(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    return (max(a[0], b[0]), min(a[1], b[1]))


@dataclass(frozen=True)
class _Reach:
    """The greatest end miss and unevenness under a threshold."""

    most: float
    weights: tuple[float, float]
    miss: float
    delta: float

    @classmethod
    def of(cls, rules: SeriesRules, most: float) -> _Reach:
        miss, delta = (
            min(cap, most / weight if weight > 0 else inf)
            for cap, weight in zip(rules.caps, rules.weights, strict=True)
        )
        return cls(most, rules.weights, miss, delta)

    def sum(self, misses: float, deltas: float) -> float:
        """Return the greatest of so many end misses and so many unevennesses together."""
        corners = []
        for miss in (0.0, self.miss):
            left = self.most - self.weights[0] * miss if self.weights[0] > 0 else self.most
            delta = min(self.delta, left / self.weights[1] if self.weights[1] > 0 else inf)
            corners.append(misses * miss + deltas * delta)
        left = self.most - self.weights[1] * self.delta if self.weights[1] > 0 else self.most
        miss = min(self.miss, left / self.weights[0] if self.weights[0] > 0 else inf)
        return max(*corners, misses * miss + deltas * self.delta)


def _with_stages(rules: SeriesRules, spans: list[tuple[float, float]], boxes: Boxes) -> Boxes:
    """Return the boxes with places and rises of every stage, as the spans of the other stages leave them."""
    stages = []
    for s, offsets in enumerate(rules.offsets):
        least = sum(span[0] for t, span in enumerate(spans) if t != s)
        most = sum(span[1] for t, span in enumerate(spans) if t != s)
        low = np.maximum(spans[s][0], boxes.first[0] - rules.base - most)
        high = np.minimum(spans[s][1], boxes.last[1] - rules.base - least)
        place = np.column_stack([np.full(offsets.size, low), np.full(offsets.size, high)])
        place[0, 1] = min(place[0, 1], boxes.first[1] - rules.base - least)
        place[-1, 0] = max(place[-1, 0], boxes.last[0] - rules.base - most)
        rise = np.column_stack([offsets * boxes.ratio[0] - boxes.spread, offsets * boxes.ratio[1] + boxes.spread])
        rise[0] = 0.0
        place[1:, 0] = np.maximum(place[1:, 0], place[0, 0] + rise[1:, 0])
        place[:-1, 1] = np.minimum(
            place[:-1, 1], place[-1, 1] - (offsets[-1] - offsets[:-1]) * boxes.ratio[0] + boxes.spread
        )
        stages.append(StageBoxes(place, rise))
    return replace(boxes, stages=tuple(stages))
