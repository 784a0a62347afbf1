"""The least that must be turned off standing steps of a machine with a middle shaft, so that it keeps every rule."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.records.bands import LOG_TOLERANCE
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.records.problem import SideSizes
from optimizer.search.index import spread_ranges
from optimizer.search.limits import LimitReachedError, Meter, Stop
from optimizer.search.middle.choices import BeltOver, Choices
from optimizer.search.middle.settle import belts_that_fit, settled
from optimizer.search.middle.space import Slot, Space, overs_of, spaces_of
from optimizer.search.middle.targets import SpeedRules
from optimizer.search.sizes import KEPT

__all__ = ["SkimmedMiddle", "least_middle_skimming"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Key = tuple[float, ...]
GROWTH = 1.5
"""Factor between limits of what is turned off."""
BLOCK = 200_000
"""Rows joined at once, so that memory stays bounded."""
ASKED, TRIED = 300, 1_000
"""Combinations that a design counts for whose speeds are judged, and that is made a candidate, by the time it takes."""
COST_DIGITS, F_DIGITS = 6, 11
"""Millimetres turned off, and values of F, that agree to so many digits are a tie."""
SAME_MM = 1e-7


@dataclass(frozen=True)
class SkimmedMiddle:
    """A design of standing steps, some of them turned smaller."""

    candidate: MiddleCandidate
    skim_mm: float
    """Sum of what is turned off all diameters, those of a shared cone once."""
    f: float
    proved: bool
    """Whether no design that is accepted takes off less."""


def least_middle_skimming(
    problem: MiddleProblem,
    accepts: Callable[[Sequence[float]], bool] = lambda _: True,
    *,
    stop: Stop | None = None,
) -> SkimmedMiddle | None:
    """Return the accepted design that turns least off the steps that stand, of equal ones that of least F.

    A step that stands may have any of the sizes of its list; the largest is the one it has, any other costs what is
    turned off. Open steps cost nothing. All designs that cost up to a limit are looked at, for a limit that grows from
    nothing until there is one; so that none costs less.

    Parameters
    ----------
    problem
        The machine; standing steps have their levels (`SideSizes.placed`).
    accepts
        Tells of the natural logarithms of the speeds [rpm], ascending, whether they will do.
    stop
        Ends the search; the best design so far is then not proved.

    Raises
    ------
    ValueError
        Steps stand that may be at several levels.
    """
    for stage in problem.stages:
        for side in (stage.driver, stage.driven):
            if side.standing_mm and not side.placed:
                raise ValueError(f"{side.key}: steps that stand must have their positions")
    meter, least, over = Meter(stop), _Least(accepts), overs_of(problem)
    try:
        for limit in _limits(problem):
            for space in spaces_of(_within(problem, limit), _laid_within(over, limit)):
                _Skims(space, limit, meter).improve(least)
            if least.candidate is not None:
                break
    except LimitReachedError:
        least.proved = False
    if least.candidate is None:
        return None
    return SkimmedMiddle(least.candidate, least.key[0], least.key[1], least.proved)


def _sides(problem: MiddleProblem) -> list[SideSizes]:
    """Return the sides that are there, a shared cone once."""
    first, second = problem.stages
    return [first.driver, first.driven, *([] if problem.shared else [second.driver]), second.driven]


def _limits(problem: MiddleProblem) -> Iterator[float]:
    """Yield limits of what is turned off in all: nothing, then from the least there is to all there can be."""
    steps = [step for side in _sides(problem) for step in side.standing_mm if step is not None]
    costs = [max(step) - size for step in steps for size in step]
    most = sum(max(step) - min(step) for step in steps)
    yield 0.0
    limit = min((cost for cost in costs if cost > SAME_MM), default=inf)
    while limit < most:
        yield limit
        limit *= GROWTH
    if most > 0:
        yield most


def _within(problem: MiddleProblem, limit_mm: float) -> MiddleProblem:
    """Return a problem in which no step is turned down by more than a limit."""

    def within(side: SideSizes) -> SideSizes:
        standing = tuple(
            None if step is None else tuple(size for size in step if max(step) - size <= limit_mm + SAME_MM)
            for step in side.standing_mm
        )
        return side.model_copy(update={"standing_mm": standing})

    one, other = (
        stage.model_copy(update={"driver": within(stage.driver), "driven": within(stage.driven)})
        for stage in problem.stages
    )
    return problem.model_copy(update={"stages": (one, other)})


def _laid_within(over: tuple[BeltOver, BeltOver], limit_mm: float) -> tuple[BeltOver, BeltOver]:
    """Return how belts lie over the sizes that are left within a limit."""
    one, other = ([_left(side, limit_mm) for side in (stage.driver, stage.driven)] for stage in over)
    return _taken(over[0], one[0], one[1]), _taken(over[1], other[0], other[1])


def _left(choices: Choices, limit_mm: float) -> Ints:
    """Return the places of the choices that some step may be turned to within a limit, and of all that are not cut."""
    steps = [step for step in choices.side.standing_mm if step is not None]
    left = {size for step in steps for size in step if max(step) - size <= limit_mm + SAME_MM}
    return np.flatnonzero((choices.source != KEPT) | np.isin(choices.size_mm, np.array(sorted(left))))


def _taken(over: BeltOver, drivers: Ints, drivens: Ints) -> BeltOver:
    laid = (over.near_mm, over.far_mm, over.scale_low, over.scale_high, over.point_mm)
    sides = []
    for choices, some in ((over.driver, drivers), (over.driven, drivens)):
        timber = choices.timber_mm3[some]
        sides.append(Choices(choices.side, choices.size_mm[some], choices.source[some], timber))
    return BeltOver(over.stage, sides[0], sides[1], *(array[:, drivers][:, :, drivens] for array in laid))


@dataclass
class _Least:
    """The best design so far: least turned off, then least F, then the sizes themselves."""

    accepts: Callable[[Sequence[float]], bool]
    candidate: MiddleCandidate | None = None
    key: Key = (inf,)
    proved: bool = True


@dataclass(frozen=True)
class _States:
    """Designs with some slots filled."""

    rows: Mapping[Slot, Ints]
    cost_mm: Floats
    low: Floats
    """(3, states): greatest of the least places that a further row must reach, see `Within`."""
    high: Floats

    def take(self, some: Ints) -> _States:
        """Return some of the states."""
        rows = {slot: row[some] for slot, row in self.rows.items()}
        return _States(rows, self.cost_mm[some], self.low[:, some], self.high[:, some])


class _Skims:
    """All designs of a space that cost up to a limit."""

    def __init__(self, space: Space, limit_mm: float, meter: Meter) -> None:
        self.space, self.limit, self.meter = space, limit_mm, meter
        self.rules = SpeedRules.of(space.problem, space.base)
        self.partner = [0, 1, 2] if space.problem.coupling is None else [1, 0, 2]
        self.choices = {slot: self._cheapest_first(slot) for slot in space.slots}

    def improve(self, least: _Least) -> None:
        """Put the best accepted design that is better than what is known in its place.

        Raises
        ------
        LimitReachedError
            From the meter; what is found until then is kept.
        """
        self.limit = min(self.limit, least.key[0])
        states = _States({}, np.zeros(1), np.full((3, 1), -inf), np.full((3, 1), inf))
        for found in self._filled(states, (*self.space.outer, *self.space.inner)):
            self._consider(found, least)
            self.limit = min(self.limit, least.key[0])

    def _cheapest_first(self, slot: Slot) -> tuple[Ints, Floats]:
        """Return the rows that may stand at a slot with what they cost, the least first."""
        table = self.space.tables[slot.table]
        cost = np.zeros(len(table))
        for number, side in enumerate(self._table_sides(slot.table)):
            step = side.side.standing_mm[slot.level] if side.side.standing_mm else None
            if step is not None:
                choice = table.choice[:, number]
                kept = side.source[choice] == KEPT
                cost += np.where(kept, max(step) - side.size_mm[choice], 0.0)
        rows = np.flatnonzero((table.levels >> slot.level) & 1)
        rows = rows[np.argsort(cost[rows], kind="stable")]
        return rows, cost[rows]

    def _table_sides(self, table: int) -> Sequence[Choices]:
        over = self.space.over
        if self.space.problem.shared:
            return over[0].driver, over[0].driven, over[1].driven
        return over[table].driver, over[table].driven

    def _filled(self, states: _States, slots: Sequence[Slot]) -> Iterator[_States]:
        """Yield the designs with all slots filled, in blocks."""
        if not states.cost_mm.size:
            return
        if not slots:
            yield states
            return
        rows, costs = self.choices[slots[0]]
        stop = np.searchsorted(costs, self.limit + SAME_MM - states.cost_mm, side="right")
        edges = np.searchsorted(np.cumsum(stop) // BLOCK, np.arange(int(stop.sum()) // BLOCK + 2))
        for first, last in pairwise(edges.tolist()):
            if first < last:
                state, place = spread_ranges(np.arange(first, last), np.zeros(last - first, np.int64), stop[first:last])
                self.meter.spend(state.size)
                placed = self._placed(states, slots[0], state, rows[place], costs[place])
                yield from self._filled(self._ended(placed) if slots[0] == self.space.outer[-1] else placed, slots[1:])

    def _ended(self, states: _States) -> _States:
        """Return the states whose slowest and fastest speeds, which the outer slots make, are where they may be."""
        rules, problem = self.rules, self.space.problem
        slowest, fastest = (self._speed(states, *position) for position in (problem.slowest, problem.fastest))
        good = (rules.end_miss(slowest, fastest) <= rules.cap) & (slowest >= rules.least) & (fastest <= rules.most)
        return states.take(np.flatnonzero(good))

    def _placed(self, states: _States, slot: Slot, state: Ints, row: Ints, cost: Floats) -> _States:
        """Return the states with one more slot filled that agree with its rows on the shafts' places and the order."""
        table = self.space.tables[slot.table]
        good = (table.low[:, row] <= states.high[:, state]) & (table.high[:, row] >= states.low[:, state])
        some = np.flatnonzero(good.all(axis=0) & self._ordered(states, slot, state, row))
        state, row, cost = state[some], row[some], cost[some]
        low, high = table.low[self.partner][:, row], table.high[self.partner][:, row]
        if self.space.problem.coupling is not None:
            low[2], high[2] = -high[2], -low[2].copy()
        return _States(
            {**{known: rows[state] for known, rows in states.rows.items()}, slot: row},
            states.cost_mm[state] + cost,
            np.maximum(states.low[:, state], low),
            np.minimum(states.high[:, state], high),
        )

    def _ordered(self, states: _States, slot: Slot, state: Ints, row: Ints) -> NDArray[np.bool_]:
        """Tell which rows keep the order of cones and speeds with the nearest levels that are filled."""
        mine = [other for other in states.rows if other.table == slot.table]
        below = max((other for other in mine if other.level < slot.level), default=None)
        above = min((other for other in mine if other.level > slot.level), default=None)
        good = np.ones(row.size, dtype=bool)
        for other, way in ((below, 1), (above, -1)):
            if other is not None:
                good &= self._rises(slot, states.rows[other][state], row, way)
        return good

    def _rises(self, slot: Slot, other: Ints, row: Ints, way: int) -> NDArray[np.bool_]:
        """Tell which rows stand on the right side of others: above them for way 1, below for -1."""
        table, good = self.space.tables[slot.table], np.ones(row.size, dtype=bool)
        for side, (sign, rise) in enumerate(zip(self.space.order(slot), self.space.rises(slot), strict=True)):
            if sign:
                step = sign * way * (table.size_mm[row, side] - table.size_mm[other, side])
                good &= (np.abs(step) <= SAME_MM) | (step >= max(rise - SAME_MM, 0.0))
        falls = -1 if self.space.second_falls else 1
        for ratio, sign in ((table.first, 1), (table.second, falls)):
            good &= sign * way * (ratio[row] - ratio[other]) >= -LOG_TOLERANCE / 2
        return good

    def _consider(self, states: _States, least: _Least) -> None:
        rules, slots = self.rules, self.space.slots
        every = [self._speed(states, i, j) for i, j in self.space.problem.positions]
        speeds = np.sort(np.stack(every, axis=1), axis=1)
        miss = rules.end_miss(speeds[:, 0], speeds[:, -1])
        some = np.flatnonzero(self._moves(states, speeds[:, -1]) & rules.judge(speeds)[0])
        if not some.size:
            return
        gap = np.diff(speeds[some], axis=1).max(axis=1)
        f = rules.weights[0] * miss[some] + rules.weights[1] * gap
        sizes = [self.space.tables[slot.table].size_mm[states.rows[slot][some]] for slot in slots]
        keys = np.column_stack([states.cost_mm[some].round(COST_DIGITS), f.round(F_DIGITS), *sizes])
        for place in np.lexsort(keys.T[::-1]):
            key = tuple(map(float, keys[place]))
            if key >= least.key:
                return
            self.meter.spend(ASKED)
            if not least.accepts((self.space.base + speeds[some[place]]).tolist()):
                continue
            self.meter.spend(TRIED)
            chosen = {slot: states.rows[slot][some[place : place + 1]] for slot in slots}
            fitting = belts_that_fit(self.space, chosen)[0]
            candidate = settled(self.space, {slot: int(row[0]) for slot, row in chosen.items()}, fitting)
            if candidate is not None:
                least.candidate, least.key = candidate, key
                return

    def _moves(self, states: _States, fastest: Floats) -> NDArray[np.bool_]:
        """Tell which designs keep the limits on what moves: rims and belts, at the fastest that their shafts run."""
        problem, tables = self.space.problem, self.space.tables
        entering = log(problem.motor_rpm * problem.stages[0].gain * problem.stages[1].gain)
        firsts = [entering + tables[0].first[states.rows[Slot(0, level)]] for level in range(problem.levels[0])]
        last = self.space.base + fastest - log(problem.gain_out)
        good = np.ones(fastest.size, dtype=bool)
        for slot, row in states.rows.items():
            table = tables[slot.table]
            # the belt on the step that the first belt needs for the fastest middle shaft runs with the next slower
            aside = problem.shared and slot.level == problem.levels[0] - 1
            good &= (table.middle_most[row] >= firsts[-1]) & (table.last_most[row] >= last)
            good &= table.belt_most[row] >= firsts[-2 if aside else -1]
        return good

    def _speed(self, states: _States, first: int, second: int) -> Floats:
        """Return the logarithms of the speeds of one position, less the space's base."""
        own = (0, 0) if self.space.problem.shared else (0, 1)
        one, other = (Slot(table, level) for table, level in zip(own, (first, second), strict=True))
        return np.asarray(
            self.space.tables[one.table].first[states.rows[one]]
            + self.space.tables[other.table].second[states.rows[other]]
        )
