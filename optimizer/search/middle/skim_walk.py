"""All designs of standing steps that cost up to a limit: outer levels first, then the levels between them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.records.speeds import LOG_TOLERANCE
from optimizer.search.index import spread_ranges
from optimizer.search.limits import Meter
from optimizer.search.middle.choices import Choices
from optimizer.search.middle.space import Slot, Space
from optimizer.search.middle.table import Between, Within
from optimizer.search.middle.targets import SpeedRules

__all__ = ["SAME_MM", "Budget", "SkimWalk", "Skims"]

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
