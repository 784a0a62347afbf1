"""The least that must be turned off steps that stand on a machine with a middle shaft."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.records.problem import SideSizes
from optimizer.records.speeds import LOG_TOLERANCE
from optimizer.search.index import spread_ranges
from optimizer.search.limits import Meter
from optimizer.search.middle.choices import BeltOver, Choices
from optimizer.search.middle.settle import belts_that_fit, settled
from optimizer.search.middle.space import Slot, Space, overs_of, spaces_of
from optimizer.search.middle.table import Between, Within
from optimizer.search.middle.targets import SpeedRules

__all__ = ["SAME_MM", "Budget", "SkimWalk", "SkimmedMiddle", "Skims", "least_middle_skimming"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
BLOCK = 200_000
"""Rows joined at once, so that memory stays bounded."""
FEW = 50_000
"""Rows that are joined sooner than it is asked which of them are near."""
ASKING = 8_000
"""Combinations that asking counts for, by the time it takes."""
SAME_MM = 1e-7


@dataclass
class Budget:
    """The most that may be turned off in all [mm]; it comes down as designs are found."""

    most_mm: float


@dataclass(frozen=True)
class Skims:
    """Designs with some slots filled, or all."""

    rows: Mapping[Slot, Ints]
    cost_mm: Floats
    """What is turned off."""
    within: Within

    def take(self, some: Ints) -> Skims:
        """Return some of them."""
        rows = {slot: row[some] for slot, row in self.rows.items()}
        return Skims(rows, self.cost_mm[some], self.within.take(some))


class SkimWalk:
    """A walk through the designs of a space that a budget allows."""

    def __init__(self, space: Space, budget: Budget, meter: Meter) -> None:
        self.space, self.budget, self.meter = space, budget, meter
        self.rules = SpeedRules.of(space.problem, space.base)
        self.partner = [0, 1, 2] if space.problem.coupling is None else [1, 0, 2]
        self.costs = {slot: self._cost_mm(slot) for slot in space.slots}
        self.cheapest = {slot: rows[np.argsort(self.costs[slot][rows], kind="stable")] for slot, rows in self._rows()}

    def designs(self) -> Iterator[Skims]:
        """Yield the designs, in blocks, whose outer speeds are where they may be and whose rims and belts stand them.

        Raises
        ------
        LimitReachedError
            From the meter.
        """
        outer = sorted(self.space.outer, key=lambda slot: self.cheapest[slot].size)
        yield from self._filled(Skims({}, np.zeros(1), Within.nothing(1)), (*outer, *self.space.inner), len(outer))

    def speeds(self, skims: Skims) -> Floats:
        """Return the logarithms of all speeds, less the space's base, ascending."""
        every = [self._speed(skims, i, j) for i, j in self.space.problem.positions]
        return np.sort(np.stack(every, axis=1), axis=1)

    def _rows(self) -> Iterator[tuple[Slot, Ints]]:
        for slot in self.space.slots:
            yield slot, np.flatnonzero((self.space.tables[slot.table].levels >> slot.level) & 1)

    def _cost_mm(self, slot: Slot) -> Floats:
        """Return what every row of a table costs at a slot."""
        table = self.space.tables[slot.table]
        cost = np.zeros(len(table))
        for number, side in enumerate(self._sides(slot.table)):
            step = side.side.standing_mm[slot.level] if side.side.standing_mm else None
            if step is not None:
                choice = table.choice[:, number]
                cost += np.where(side.stands[choice], max(step) - side.size_mm[choice], 0.0)
        return cost

    def _sides(self, table: int) -> Sequence[Choices]:
        over = self.space.over
        if self.space.problem.shared:
            return over[0].driver, over[0].driven, over[1].driven
        return over[table].driver, over[table].driven

    def _filled(self, skims: Skims, slots: Sequence[Slot], outer: int) -> Iterator[Skims]:
        """Yield the designs with all slots filled, of which the first so many are outer ones."""
        if not skims.cost_mm.size:
            return
        if not slots:
            yield skims
            return
        for state, row in self._asked(skims, slots[0]):
            placed = self._placed(skims, slots[0], state, row)
            yield from self._filled(self._ended(placed) if outer == 1 else placed, slots[1:], outer - 1)

    def _asked(self, skims: Skims, slot: Slot) -> Iterator[tuple[Ints, Ints]]:
        """Yield which rows may fill a slot of which designs, in blocks: the cheap ones, or those near, as are fewer."""
        table, cost, rows = self.space.tables[slot.table], self.costs[slot], self.cheapest[slot]
        every = np.arange(skims.cost_mm.size)
        cheap = np.searchsorted(cost[rows], self.budget.most_mm + SAME_MM - skims.cost_mm, side="right")
        if int(cheap.sum()) > FEW:
            self.meter.spend(ASKING)
            near = table.ask(skims.within, self._between(skims, slot))
            if int((near[2] - near[1]).sum()) < int(cheap.sum()):
                for state, row in self._blocks(*near):
                    affordable = skims.cost_mm[state] + cost[row] <= self.budget.most_mm + SAME_MM
                    some = np.flatnonzero(affordable & ((table.levels[row] >> slot.level) & 1 == 1))
                    yield state[some], row[some]
                return
        for state, place in self._blocks(every, np.zeros_like(cheap), cheap):
            yield state, rows[place]

    def _blocks(self, asked: Ints, start: Ints, stop: Ints) -> Iterator[tuple[Ints, Ints]]:
        """Yield ranges spread, in blocks."""
        number = np.cumsum(stop - start) // BLOCK
        edges = np.searchsorted(number, np.arange(int(number[-1]) + 2)) if number.size else np.empty(0, np.int64)
        for first, last in pairwise(edges.tolist()):
            if first < last:
                state, place = spread_ranges(asked[first:last], start[first:last], stop[first:last])
                self.meter.spend(state.size)
                yield state, place

    def _between(self, skims: Skims, slot: Slot) -> Between:
        """Return what sort values a slot may have, by the end miss or by the levels that are filled."""
        table, count = self.space.tables[slot.table], skims.cost_mm.size
        if self.space.problem.shared and skims.rows and slot in self.space.outer:
            (other,) = skims.rows
            goal = (self.rules.high if slot.level else self.rules.low) - table.second[skims.rows[other]]
            return Between(goal - self.rules.cap, goal + self.rules.cap)
        below, above = self._beside(skims, slot)
        low = np.full(count, -inf) if below is None else table.sort[skims.rows[below]]
        high = np.full(count, inf) if above is None else table.sort[skims.rows[above]]
        return Between(low - LOG_TOLERANCE, high + LOG_TOLERANCE)

    def _beside(self, skims: Skims, slot: Slot) -> tuple[Slot | None, Slot | None]:
        """Return the nearest levels of the slot's table that are filled, below and above it."""
        mine = [other for other in skims.rows if other.table == slot.table]
        below = max((other for other in mine if other.level < slot.level), default=None)
        return below, min((other for other in mine if other.level > slot.level), default=None)

    def _placed(self, skims: Skims, slot: Slot, state: Ints, row: Ints) -> Skims:
        """Return the designs with one more slot filled that agree on the shafts' places and keep the order."""
        table, within = self.space.tables[slot.table], skims.within
        good = (table.low[:, row] <= within.high[:, state]) & (table.high[:, row] >= within.low[:, state])
        some = np.flatnonzero(good.all(axis=0))
        state, row = state[some], row[some]
        for other, way in zip(self._beside(skims, slot), (1, -1), strict=True):
            if other is not None:
                some = np.flatnonzero(self._rises(slot, skims.rows[other][state], row, way))
                state, row = state[some], row[some]
        low, high = table.low[self.partner][:, row], table.high[self.partner][:, row]
        if self.space.problem.coupling is not None:
            # two rows' differences add up to little, so that one is near the other turned over
            low[2], high[2] = -high[2], -low[2].copy()
        return Skims(
            {**{known: rows[state] for known, rows in skims.rows.items()}, slot: row},
            skims.cost_mm[state] + self.costs[slot][row],
            Within(np.maximum(within.low[:, state], low), np.minimum(within.high[:, state], high)),
        )

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

    def _ended(self, skims: Skims) -> Skims:
        """Return the designs whose slowest and fastest speeds, which the outer slots make, are where they may be."""
        rules, problem = self.rules, self.space.problem
        slowest, fastest = (self._speed(skims, *position) for position in (problem.slowest, problem.fastest))
        good = (rules.end_miss(slowest, fastest) <= rules.cap) & (slowest >= rules.least) & (fastest <= rules.most)
        return skims.take(np.flatnonzero(good))

    def moves(self, skims: Skims, fastest: Floats) -> NDArray[np.bool_]:
        """Tell which designs keep the limits on what moves: rims and belts, at the fastest that their shafts run.

        Parameters
        ----------
        skims
            Designs with all slots filled.
        fastest
            Logarithm of their fastest speed, less the space's base.
        """
        problem, tables = self.space.problem, self.space.tables
        entering = log(problem.motor_rpm * problem.stages[0].gain * problem.stages[1].gain)
        firsts = [entering + tables[0].first[skims.rows[Slot(0, level)]] for level in range(problem.levels[0])]
        last = self.space.base + fastest - log(problem.gain_out)
        good = np.ones(fastest.size, dtype=bool)
        for slot, row in skims.rows.items():
            table = tables[slot.table]
            # the belt on the step that the first belt needs for the fastest middle shaft runs with the next slower
            aside = problem.shared and slot.level == problem.levels[0] - 1
            good &= (table.middle_most[row] >= firsts[-1]) & (table.last_most[row] >= last)
            good &= table.belt_most[row] >= firsts[-2 if aside else -1]
        return good

    def _speed(self, skims: Skims, first: int, second: int) -> Floats:
        """Return the logarithms of the speeds of one position, less the space's base."""
        own = (0, 0) if self.space.problem.shared else (0, 1)
        one, other = (Slot(table, level) for table, level in zip(own, (first, second), strict=True))
        tables = self.space.tables
        return np.asarray(tables[one.table].first[skims.rows[one]] + tables[other.table].second[skims.rows[other]])


Key = tuple[float, ...]
GROWTH = 1.8
"""Factor between limits of what is turned off."""
ASKED, TRIED = 300, 1_000
"""Combinations that a design counts for whose speeds are judged, and that is made a candidate, by the time it takes."""
COST_DIGITS, F_DIGITS = 6, 11
"""Millimetres turned off, and values of F, that agree to so many digits are a tie."""


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
    clock: Clock = ENDLESS,
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
    clock
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
    meter, least = Meter(clock), _Least(accepts)
    try:
        meter.spend(0)
        over = overs_of(problem)
        for limit in _limits(problem):
            for space in spaces_of(_within(problem, limit), _laid_within(over, limit)):
                meter.spend(sum(map(len, space.tables)))
                _improve(least, SkimWalk(space, Budget(min(limit, least.most_mm)), meter))
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
    return np.flatnonzero(~choices.stands | np.isin(choices.size_mm, np.array(sorted(left))))


def _taken(over: BeltOver, drivers: Ints, drivens: Ints) -> BeltOver:
    laid = (over.near_mm, over.far_mm, over.scale_low, over.scale_high, over.point_mm)
    sides = []
    for choices, some in ((over.driver, drivers), (over.driven, drivens)):
        sides.append(
            Choices(
                choices.side,
                choices.size_mm[some],
                choices.source[some],
                choices.stands[some],
                choices.timber_mm3[some],
            )
        )
    return BeltOver(over.stage, sides[0], sides[1], *(array[:, drivers][:, :, drivens] for array in laid))


@dataclass
class _Least:
    """The best design so far: least turned off, then least F, then the sizes themselves."""

    accepts: Callable[[Sequence[float]], bool]
    candidate: MiddleCandidate | None = None
    key: Key = (inf,)
    proved: bool = True

    @property
    def most_mm(self) -> float:
        """The most that a better one, or one of equal cost, takes off."""
        return self.key[0] + 10.0**-COST_DIGITS


def _improve(least: _Least, walk: SkimWalk) -> None:
    """Put the best accepted design of a walk in the place of what is known, if it is better.

    Raises
    ------
    LimitReachedError
        From the meter; what is found until then is kept.
    """
    for found in walk.designs():
        _consider(least, walk, found)
        walk.budget.most_mm = min(walk.budget.most_mm, least.most_mm)


def _consider(least: _Least, walk: SkimWalk, skims: Skims) -> None:
    rules, space = walk.rules, walk.space
    speeds = walk.speeds(skims)
    some = np.flatnonzero(walk.moves(skims, speeds[:, -1]) & rules.judge(speeds)[0])
    if not some.size:
        return
    gap = np.diff(speeds[some], axis=1).max(axis=1)
    f = rules.weights[0] * rules.end_miss(speeds[some, 0], speeds[some, -1]) + rules.weights[1] * gap
    sizes = [space.tables[slot.table].size_mm[skims.rows[slot][some]] for slot in space.slots]
    keys = np.column_stack([skims.cost_mm[some].round(COST_DIGITS), f.round(F_DIGITS), *sizes])
    for place in np.lexsort(keys.T[::-1]):
        key = tuple(map(float, keys[place]))
        if key >= least.key:
            return
        walk.meter.spend(ASKED)
        if not least.accepts((space.base + speeds[some[place]]).tolist()):
            continue
        walk.meter.spend(TRIED)
        chosen = {slot: skims.rows[slot][some[place : place + 1]] for slot in space.slots}
        fitting = belts_that_fit(space, chosen)[0]
        candidate = settled(space, {slot: int(row[0]) for slot, row in chosen.items()}, fitting)
        if candidate is not None:
            least.candidate, least.key = candidate, key
            return
