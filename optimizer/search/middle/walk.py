"""All designs of a space with F up to a ceiling: outer levels first, then the levels between them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.records.speeds import LOG_TOLERANCE
from optimizer.search.index import spread_ranges
from optimizer.search.limits import Meter
from optimizer.search.middle.space import Slot, Space
from optimizer.search.middle.table import Between, Within
from optimizer.search.middle.targets import SpeedRules, wanting

__all__ = ["Ceiling", "Designs", "Walk"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
BLOCK = 400_000
"""Rows joined at once, so that memory stays bounded."""
FIRST = 512
"""Rows of the first slot taken together."""
SIZE_TOLERANCE_MM = 1e-7


@dataclass
class Ceiling:
    """The greatest F still of interest; it comes down as designs are found."""

    most: float


@dataclass(frozen=True)
class Designs:
    """Designs with all slots filled."""

    rows: dict[Slot, Ints]
    speeds: Floats
    """(designs, speeds): logarithms less the space's base, ascending."""
    miss: Floats


@dataclass(frozen=True)
class _States:
    """Designs with some slots filled."""

    rows: dict[Slot, Ints]
    within: Within
    speeds: Floats
    """(states, known speeds), ascending."""
    miss: Floats
    outer: Ints
    """Which outer levels of a block the state has."""

    def __len__(self) -> int:
        return self.outer.size

    def take(self, states: Ints) -> _States:
        """Return some of the states."""
        rows = {slot: rows[states] for slot, rows in self.rows.items()}
        return _States(rows, self.within.take(states), self.speeds[states], self.miss[states], self.outer[states])


@dataclass(frozen=True)
class _Lists:
    """For every outer state of a block the rows that may stand between, in the order of their sort values."""

    row: Ints
    key: Floats
    """State and sort value in one, ascending."""
    span: float
    least: float

    def ranges(self, states: Ints, least: Floats) -> tuple[Ints, Ints]:
        """Return for some states their rows from a sort value on."""
        low = np.clip(least - self.least - 1e-8, 0.0, self.span - 0.5)
        start = np.searchsorted(self.key, states * self.span + low, side="left")
        stop = np.searchsorted(self.key, states * self.span + self.span - 0.25, side="left")
        return start, np.maximum(start, stop)


class Walk:
    """A walk through a space under a ceiling."""

    def __init__(self, space: Space, rules: SpeedRules, ceiling: Ceiling, meter: Meter) -> None:
        self.space, self.rules, self.ceiling, self.meter = space, rules, ceiling, meter
        problem = space.problem
        self.partner = [0, 1, 2] if problem.coupling is None else [1, 0, 2]
        self.entering = log(problem.motor_rpm * problem.stages[0].gain * problem.stages[1].gain)
        self.out = log(problem.gain_out)
        self.count = len(problem.positions)

    def designs(self) -> Iterator[Designs]:
        """Yield every design with F up to the ceiling as it then is; others of the block may be among them."""
        slot = self.space.outer[0]
        table = self.space.tables[slot.table]
        rows = np.flatnonzero(table.levels & 1)
        strides = max(1, -(-rows.size // FIRST))
        for number in range(strides):
            chosen = rows[number::strides]
            nothing = np.zeros(chosen.size)
            states = _States(
                {}, Within.nothing(chosen.size), np.empty((chosen.size, 0)), nothing, np.arange(chosen.size)
            )
            yield from self._outer(self._placed(states, slot, np.arange(chosen.size), chosen), self.space.outer[1:])

    # Outer levels

    def _outer(self, states: _States, slots: Sequence[Slot]) -> Iterator[Designs]:
        if not len(states):
            return
        if not slots:
            yield from self._within(self._ended(states))
            return
        asked = self.space.tables[slots[0].table].ask(states.within, self._reach(states, slots[0]))
        for part in _parts(*asked, BLOCK):
            state, row = spread_ranges(*part)
            self.meter.spend(row.size)
            state, row = self._agreeing(states, slots[0], state, row)
            yield from self._outer(self._placed(states, slots[0], state, row), slots[1:])

    def _reach(self, states: _States, slot: Slot) -> Between:
        """Return what sort values an outer slot may have, by where the speeds should begin and end."""
        miss = self.rules.miss_most(self.ceiling.most)
        rows, tables = states.rows, self.space.tables
        if self.space.problem.shared:
            second = tables[0].second[rows[Slot(0, 0)]]
            return Between(self.rules.high - second - miss, self.rules.high - second + miss)
        first = tables[0].first[rows[Slot(0, 0)]]
        if slot.table == 0:
            return Between(first, np.full(first.size, inf))
        goal = self.rules.low - first
        if slot.level:
            goal = self.rules.high - tables[0].first[rows[Slot(0, self.space.problem.levels[0] - 1)]]
        return Between(goal - miss, goal + miss)

    def _ended(self, states: _States) -> _States:
        """Return the states that keep the limits on their outer speeds and on what moves, as far as they are known."""
        rules = self.rules
        slowest, fastest = states.speeds[:, 0], states.speeds[:, -1]
        miss = rules.end_miss(slowest, fastest)
        good = (miss <= rules.miss_most(self.ceiling.most)) & (slowest >= rules.least) & (fastest <= rules.most)
        states = replace(states, miss=miss).take(np.flatnonzero(good))
        good = (
            wanting(states.speeds, rules.gap_most(self.ceiling.most, states.miss))
            <= self.count - states.speeds.shape[1]
        )
        moving = self._fastest(states)
        for slot, rows in states.rows.items():
            good &= self._moves(moving, slot, rows)
        return states.take(np.flatnonzero(good))

    def _fastest(self, states: _States) -> tuple[Floats, Floats]:
        """Return ln of the greatest speeds [rpm] of the middle and the last shaft."""
        last_level = self.space.problem.levels[0] - 1
        middle = self.entering + self.space.tables[0].first[states.rows[Slot(0, last_level)]]
        return middle, self.space.base + states.speeds[:, -1] - self.out

    def _moves(self, fastest: tuple[Floats, Floats], slot: Slot, rows: Ints) -> NDArray[np.bool_]:
        """Tell which rows stand the greatest speeds of their shafts."""
        table, (middle, last) = self.space.tables[slot.table], fastest
        good = (table.middle_most[rows] >= middle) & (table.last_most[rows] >= last)
        if not (self.space.problem.shared and slot.level == self.space.problem.levels[0] - 1):
            good &= table.belt_most[rows] >= middle
        return good

    # Levels between

    def _within(self, states: _States) -> Iterator[Designs]:
        if not len(states):
            return
        if not self.space.inner:
            yield from self._complete(states)
            return
        asks = {}
        for number in sorted({slot.table for slot in self.space.inner}):
            table = self.space.tables[number]
            ends = [table.sort[states.rows[Slot(number, k)]] for k in (0, self.space.problem.levels[number] - 1)]
            asks[number] = table.ask(states.within, Between(*ends))
        total = sum(int((stop - start).sum()) for _, start, stop in asks.values())
        if total > BLOCK and len(states) > 1:
            half = len(states) // 2
            yield from self._within(states.take(np.arange(half)))
            yield from self._within(states.take(np.arange(half, len(states))))
            return
        states = replace(states, outer=np.arange(len(states)))
        lists = {number: self._list(states, number, asked) for number, asked in asks.items()}
        yield from self._fill(states, self.space.inner, lists)

    def _list(self, states: _States, number: int, asked: tuple[Ints, Ints, Ints]) -> _Lists:
        """Return the rows of a table that agree with every outer state, each by itself."""
        state, row = spread_ranges(*asked)
        self.meter.spend(row.size)
        table, levels = self.space.tables[number], self.space.problem.levels[number]
        bits = sum(1 << level for level in range(1, levels - 1))
        good = (table.levels[row] & bits) != 0
        state, row = state[good], row[good]
        middle, fastest = Slot(number, 1), self._fastest(states)
        state, row = self._agreeing(states, middle, state, row, strict=False)
        good = self._moves((fastest[0][state], fastest[1][state]), middle, row)
        state, row = state[good], row[good]
        speeds = np.sort(np.concatenate([states.speeds[state], self._new(states, middle, state, row)], axis=1), axis=1)
        gap = self.rules.gap_most(self.ceiling.most, states.miss[state])
        good = wanting(speeds, gap) <= self.count - speeds.shape[1]
        state, row = state[good], row[good]
        least, span = float(table.sort.min()), float(np.ptp(table.sort)) + 1.0
        key = state * span + (table.sort[row] - least)
        order = np.argsort(key, kind="stable")
        return _Lists(row[order], key[order], span, least)

    def _fill(self, states: _States, slots: Sequence[Slot], lists: dict[int, _Lists]) -> Iterator[Designs]:
        if not len(states):
            return
        if not slots:
            yield from self._complete(states)
            return
        slot, list_ = slots[0], lists[slots[0].table]
        table = self.space.tables[slot.table]
        start, stop = list_.ranges(states.outer, table.sort[states.rows[Slot(slot.table, slot.level - 1)]])
        for part in _parts(np.arange(len(states)), start, stop, BLOCK):
            state, place = spread_ranges(*part)
            self.meter.spend(place.size)
            state, row = self._agreeing(states, slot, state, list_.row[place])
            if len(slots) == 1:
                state, row = self._filling(states, slot, state, row)
            placed = self._placed(states, slot, state, row)
            gap = self.rules.gap_most(self.ceiling.most, placed.miss)
            good = wanting(placed.speeds, gap) <= self.count - placed.speeds.shape[1]
            yield from self._fill(placed.take(np.flatnonzero(good)), slots[1:], lists)

    def _filling(self, states: _States, slot: Slot, state: Ints, row: Ints) -> tuple[Ints, Ints]:
        """Return the rows for a last slot that fill the lowest and the highest gap wider than allowed.

        This says no less than the judgement of all speeds, but takes no sorting.
        """
        gap = self.rules.gap_most(self.ceiling.most, states.miss)
        wide = np.diff(states.speeds, axis=1) > gap[:, None]
        some = np.asarray(wide.any(axis=1))
        here = np.arange(len(states))
        lowest = states.speeds[here, wide.argmax(axis=1)]
        highest = states.speeds[here, wide.shape[1] - wide[:, ::-1].argmax(axis=1)]
        new = self._new(states, slot, state, row)
        above, below = new - lowest[state, None], highest[state, None] - new
        most = gap[state, None]
        good = ((above > 0) & (above <= most)).any(axis=1) & ((below > 0) & (below <= most)).any(axis=1) | ~some[state]
        return state[good], row[good]

    def _complete(self, states: _States) -> Iterator[Designs]:
        """Yield the states with all slots filled that keep the last limits on what moves."""
        if self.space.problem.shared:
            level = self.space.problem.levels[0] - 1
            table = self.space.tables[0]
            middle = self.entering + table.first[states.rows[Slot(0, level - 1)]]
            states = states.take(np.flatnonzero(table.belt_most[states.rows[Slot(0, level)]] >= middle))
        if len(states):
            yield Designs(states.rows, states.speeds, states.miss)

    # One more row

    def _placed(self, states: _States, slot: Slot, state: Ints, row: Ints) -> _States:
        """Return states with one more slot filled."""
        table = self.space.tables[slot.table]
        speeds = np.concatenate([states.speeds[state], self._new(states, slot, state, row)], axis=1)
        low, high = table.low[self.partner][:, row], table.high[self.partner][:, row]
        if self.space.problem.coupling is not None:
            # two rows' differences add up to little, so that one is near the other turned over
            low[2], high[2] = -high[2], -low[2].copy()
        before = states.within
        within = Within(np.maximum(before.low[:, state], low), np.minimum(before.high[:, state], high))
        rows = {**{slot: rows[state] for slot, rows in states.rows.items()}, slot: row}
        return _States(rows, within, np.sort(speeds, axis=1), states.miss[state], states.outer[state])

    def _new(self, states: _States, slot: Slot, state: Ints, row: Ints) -> Floats:
        """Return the speeds that a slot adds, (states, speeds)."""
        new = []
        for one, other in self.space.speeds(slot, tuple(states.rows)):
            first = row if one == slot else states.rows[one][state]
            second = row if other == slot else states.rows[other][state]
            new.append(self.space.tables[one.table].first[first] + self.space.tables[other.table].second[second])
        return np.stack(new, axis=1) if new else np.empty((row.size, 0))

    def _agreeing(
        self, states: _States, slot: Slot, state: Ints, row: Ints, *, strict: bool = True
    ) -> tuple[Ints, Ints]:
        """Return the rows that fit the belts' places, may stand at the level, and keep the cones' order."""
        table = self.space.tables[slot.table]
        good = np.ones(row.size, dtype=bool)
        for place in (0, 1, 2):
            good &= table.low[place][row] <= states.within.high[place][state]
            good &= table.high[place][row] >= states.within.low[place][state]
        if strict:
            good &= (table.levels[row] >> slot.level) & 1 == 1
        state, row = state[good], row[good]
        mine = [other for other in states.rows if other.table == slot.table]
        below = max((other for other in mine if other.level < slot.level), default=None)
        above = min((other for other in mine if other.level > slot.level), default=None)
        for other, way in ((below, 1), (above, -1)):
            if other is not None:
                good = self._ordered(slot, states.rows[other][state], row, way)
                state, row = state[good], row[good]
        return state, row

    def _ordered(self, slot: Slot, other: Ints, row: Ints, way: int) -> NDArray[np.bool_]:
        """Tell which rows stand on the right side of others: above them for way 1, below for -1."""
        table = self.space.tables[slot.table]
        good = np.ones(row.size, dtype=bool)
        for side, (sign, rise) in enumerate(zip(self.space.order(slot), self.space.rises(slot), strict=True)):
            if sign:
                step = sign * way * (table.size_mm[row, side] - table.size_mm[other, side])
                good &= (np.abs(step) <= SIZE_TOLERANCE_MM) | (step >= max(rise - SIZE_TOLERANCE_MM, 0.0))
        falls = -1 if self.space.second_falls else 1
        for ratio, sign in ((table.first, 1), (table.second, falls)):
            good &= sign * way * (ratio[row] - ratio[other]) >= -LOG_TOLERANCE / 2
        return good


def _parts(asked: Ints, start: Ints, stop: Ints, most: int) -> Iterator[tuple[Ints, Ints, Ints]]:
    """Yield ranges in parts that hold about so many rows each."""
    if not asked.size:
        return
    number = np.cumsum(stop - start) // most
    edges = [0, *(np.flatnonzero(np.diff(number)) + 1), asked.size]
    for low, high in pairwise(edges):
        if low < high:
            yield asked[low:high], start[low:high], stop[low:high]
