"""Choices of ticks for all levels put together level by level, those kept that may still be the best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records import StageSizes
from optimizer.records.coupling import SETTING_TOLERANCE_MM
from optimizer.records.middle import MiddleProblem
from optimizer.refine.middle.cones import cones_of
from optimizer.refine.middle.speed_rules import Judge
from optimizer.refine.middle.speeds import ordered
from optimizer.refine.middle.ticks import Ticks

__all__ = ["Joined", "Joiner"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
CLOSE_MM = 1e-9
CLOSE = 1e-12
"""How far F may pass the most allowed and still be looked at."""
UNFIT = 8
"""Parts that do not fit take so many times less than those whose speeds are worked out."""
BLOCK = 400_000
"""Combinations looked at together."""


@dataclass(frozen=True)
class Joined:
    """Designs as choices for every level, best first."""

    rows: Rows
    """(designs, levels in the joiner's order)."""
    f: Floats
    every: bool
    """Whether no design with F up to the most allowed is missing."""
    looked_at: int
    """How many parts of designs were looked at; so many that do not fit count as one."""


class _Grown(NamedTuple):
    """Parts of designs with one more level chosen."""

    rows: Rows
    worth: Floats
    """What F may well come to."""
    fitting: int
    """How many fitted, those dropped for their speeds too."""


class Joiner:
    """Puts the choices of all levels together."""

    def __init__(self, problem: MiddleProblem, stages: Sequence[StageSizes], ticks: Sequence[Ticks]) -> None:
        """Take note of the choices near some sizes."""
        self.problem, self.stages, self.ticks = problem, stages, ticks
        self.judge = Judge.of(problem)
        self.cones = cones_of(problem, stages)
        self.rank = np.argsort(ordered(problem, stages))
        self.slots = {(belt, tick.level): n for n, tick in enumerate(ticks) for belt in tick.belts}
        self.between = self._between()

    def joined(self, most_f: float, most_rows: int) -> Joined:
        """Return the designs with F up to the most allowed.

        A part of a design, with some levels chosen, is dropped where two belts' places do not meet, a cone loses its
        order, or F cannot come down to the most allowed whatever the other levels are. Where still too many parts
        remain, those are kept whose speeds leave the least even room for the others.

        Parameters
        ----------
        most_f
            F that may not be passed.
        most_rows
            How many parts are kept.
        """
        rows, every, looked_at = np.zeros((1, 0), dtype=np.intp), True, 0
        worth = np.zeros(1)
        for slot in range(len(self.ticks)):
            step = max(1, BLOCK // max(1, len(self.ticks[slot])))
            kept = [self._grown(rows[start : start + step], slot, most_f) for start in range(0, len(rows), step)]
            if not kept:
                break
            looked_at += len(rows) * len(self.ticks[slot]) // UNFIT + sum(part.fitting for part in kept)
            rows = np.concatenate([part.rows for part in kept])
            worth = np.concatenate([part.worth for part in kept])
            if len(rows) > most_rows and slot + 1 < len(self.ticks):
                best = np.sort(np.argsort(np.round(worth, 12), kind="stable")[:most_rows])
                rows, every = rows[best], False
        if rows.shape[1] < len(self.ticks):
            return Joined(np.zeros((0, len(self.ticks)), dtype=np.intp), np.empty(0), every, looked_at)
        good = self._runs(rows) & self.judge.good(self._speeds(rows, self._known(len(self.ticks))))
        order = np.argsort(np.round(worth[good], 12), kind="stable")
        return Joined(rows[good][order], worth[good][order], every, looked_at)

    def _grown(self, rows: Rows, slot: int, most_f: float) -> _Grown:
        """Return the rows with every choice of one more level that fits, and what each may be worth."""
        old, new = np.nonzero(self._fits(rows, slot))
        fitting = old.size
        known = self._known(slot + 1)
        last = slot + 1 == len(self.ticks)
        worth = np.zeros(old.size)
        if len(known) > 1:
            bound, worth = self._worth(self._grown_speeds(rows, slot, (old, new), known), known)
            kept = np.flatnonzero(bound <= most_f + CLOSE)
            old, new, worth = old[kept], new[kept], worth[kept]
        grown = np.column_stack([rows[old], new])
        if not last:
            return _Grown(grown, worth, fitting)
        f = self.judge.f(self._speeds(grown, known))
        kept = np.flatnonzero(f <= most_f + CLOSE)
        return _Grown(grown[kept], f[kept], fitting)

    def _grown_speeds(self, rows: Rows, slot: int, pairs: tuple[Rows, Rows], known: Sequence[int]) -> list[Floats]:
        """Return ln of the speeds [rpm] at every known position of rows with one more choice each."""
        old, new = pairs
        ratios: dict[tuple[int, int], Floats] = {}
        for (belt, level), place in self.slots.items():
            if place < slot:
                ratios[belt, level] = self.ticks[place].over[belt].ratio[rows[:, place]][old]
            elif place == slot:
                ratios[belt, level] = self.ticks[place].over[belt].ratio[new]
        return [
            self.judge.base + ratios[0, i] + ratios[1, j] for i, j in (self.problem.positions[place] for place in known)
        ]

    def _worth(self, speeds: list[Floats], known: list[int]) -> tuple[Floats, Floats]:
        """Return what F is at least, and what it may well come to."""
        positions, targets = self.problem.positions, self.problem.targets
        ends = [
            speeds[known.index(place)] if (place := positions.index(end)) in known else None
            for end in (self.problem.slowest, self.problem.fastest)
        ]
        miss = self.judge.miss(ends[0], ends[1], speeds[0].size)
        surely, likely, uneven = (np.zeros(miss.size) for _ in range(3))
        for lower, upper in pairwise(sorted(range(len(known)), key=lambda k: self.rank[known[k]])):
            gap = speeds[upper] - speeds[lower]
            between = self.between[known[lower], known[upper]]
            share = gap / (self.rank[known[upper]] - self.rank[known[lower]])
            np.maximum(surely, gap / (1 + between), out=surely)
            np.maximum(likely, share, out=likely)
            uneven += share * share
        base = self.judge.at_least(miss)
        ends_f = targets.end_weight * miss
        found = [np.maximum(base, ends_f + targets.unevenness_weight * part) for part in (surely, likely)]
        # of those alike, the one whose speeds lie the more evenly
        return found[0], found[1] + 1e-6 * uneven

    def _between(self) -> NDArray[np.intp]:
        """Return how many positions' speeds can lie between those of every two positions."""
        positions = self.problem.positions
        low, high = np.empty(len(positions)), np.empty(len(positions))
        for place, pair in enumerate(positions):
            ratios = [self.ticks[self.slots[belt, level]].over[belt].ratio for belt, level in enumerate(pair)]
            low[place] = sum(float(ratio.min(initial=inf)) for ratio in ratios)
            high[place] = sum(float(ratio.max(initial=-inf)) for ratio in ratios)
        within = (high[None, None, :] > low[:, None, None]) & (low[None, None, :] < high[None, :, None])
        each = np.eye(len(positions), dtype=bool)
        within &= ~each[:, None, :] & ~each[None, :, :]
        return np.asarray(within.sum(axis=2))

    def _known(self, slots: int) -> list[int]:
        """Return the positions whose two levels are among the first slots."""
        return [
            place
            for place, (i, j) in enumerate(self.problem.positions)
            if self.slots[0, i] < slots and self.slots[1, j] < slots
        ]

    def _speeds(self, rows: Rows, known: Sequence[int]) -> Floats:
        """Return ln of the spindle speeds [rpm] at some positions, (designs, positions)."""
        return np.column_stack(
            [
                self.judge.base + self._ratio(rows, 0, i) + self._ratio(rows, 1, j)
                for i, j in (self.problem.positions[place] for place in known)
            ]
        )

    def _ratio(self, rows: Rows, belt: int, level: int) -> Floats:
        """Return the log ratio that designs have at a level of a belt."""
        slot = self.slots[belt, level]
        return self.ticks[slot].over[belt].ratio[rows[:, slot]]

    def _fits(self, rows: Rows, slot: int) -> NDArray[np.bool_]:
        """Tell for every row and every choice of one more level whether they fit each other."""
        here = self.ticks[slot]
        good = np.ones((len(rows), len(here)), dtype=bool)
        for before in range(slot):
            there, chosen = self.ticks[before], rows[:, before]
            self._in_order(good, (there, chosen), here)
            if self.problem.coupling is not None:
                for belt, other in ((a, b) for a in here.belts for b in there.belts if a != b):
                    pair = (here.level, there.level) if belt == 0 else (there.level, here.level)
                    if pair in self.problem.positions:
                        mine, others = here.over[belt], there.over[other]
                        low = np.maximum(others.low[chosen][:, None], mine.low)
                        high = np.minimum(others.high[chosen][:, None], mine.high)
                        good &= low <= high + SETTING_TOLERANCE_MM / 2
        self._in_windows(good, rows, slot)
        if self.problem.coupling is not None:
            self._in_travel(good, rows, slot)
        return good

    def _in_windows(self, good: NDArray[np.bool_], rows: Rows, slot: int) -> None:
        """Clear what widens the spread of a belt's own centre distances beyond its window."""
        here = self.ticks[slot]
        for belt, over in here.over.items():
            window = self.stages[belt].belt.window_mm
            low, high = np.full(len(rows), inf), np.full(len(rows), -inf)
            for before in range(slot):
                there = self.ticks[before].over.get(belt)
                if there is not None:
                    low = np.minimum(low, there.centre_mm[rows[:, before]])
                    high = np.maximum(high, there.centre_mm[rows[:, before]])
            if np.isfinite(low).all():
                spread = np.maximum(high[:, None], over.centre_mm) - np.minimum(low[:, None], over.centre_mm)
                good &= spread <= window + CLOSE_MM

    def _in_travel(self, good: NDArray[np.bool_], rows: Rows, slot: int) -> None:
        """Clear what takes the shared mount farther than a belt may be moved."""
        coupling = self.problem.coupling
        assert coupling is not None
        tensioned = [shared for shared in coupling.belts if shared.moves]
        if len(tensioned) < 2:
            return
        near, far = np.full(good.shape, inf), np.full(good.shape, -inf)
        for number, ticks in enumerate(self.ticks[: slot + 1]):
            for over in ticks.over.values():
                place = np.arange(len(ticks))[None, :] if number == slot else rows[:, number][:, None]
                near, far = np.minimum(near, over.inward[place]), np.maximum(far, over.outward[place])
        for shared in tensioned:
            most = shared.travel_mm + self.stages[shared.stage].belt.forgives_mm
            moved = shared.path.centre_mm(far) - shared.path.centre_mm(near)
            good &= ~(moved > most + SETTING_TOLERANCE_MM / 2)

    def _in_order(self, good: NDArray[np.bool_], before: tuple[Ticks, Rows], here: Ticks) -> None:
        """Clear choices that run against the order of their cones, or of the levels' speeds."""
        there, chosen = before
        if there.belts != here.belts:
            return
        way, next_to = (1.0, here.level - there.level == 1) if here.level > there.level else (-1.0, False)
        next_to |= there.level - here.level == 1
        for column, cone in enumerate(self.cones[n] for n in here.cones):
            if cone.ordered:
                rise = way * cone.sign * (here.size_mm[:, column] - there.size_mm[chosen, column][:, None])
                least = max(cone.rise_mm, CLOSE_MM) - CLOSE_MM if next_to else -CLOSE_MM
                good &= (np.abs(rise) <= CLOSE_MM) | (rise >= least)
        for belt, over in here.over.items():
            sign = -way if self.problem.shared and belt == 1 else way
            good &= sign * (over.ratio - there.over[belt].ratio[chosen][:, None]) >= -CLOSE

    def _runs(self, rows: Rows) -> NDArray[np.bool_]:
        """Tell which designs keep belts, rims and shafts within their speeds."""
        first, second = self.problem.stages
        entering = np.log(self.problem.motor_rpm * first.gain)
        levels = self.problem.levels[0]
        ratios = [self._ratio(rows, 0, level) for level in range(levels)]
        middle = entering + ratios[-1]
        last = middle + np.log(second.gain) + self._ratio(rows, 1, self.problem.fastest[1])
        good = np.ones(len(rows), dtype=bool)
        for slot, ticks in enumerate(self.ticks):
            barred = self.problem.shared and ticks.level == levels - 1
            own = entering + ratios[-2] if barred else middle
            for over in ticks.over.values():
                mine = over.pick(rows[:, slot])
                good &= (middle <= mine.middle_most) & (own <= mine.own_most) & (last <= mine.last_most)
        return good
