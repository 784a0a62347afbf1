"""A problem made ready to be searched: the rows of its levels, belts of like lengths taken together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from math import log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records.middle import MiddleProblem
from optimizer.search.middle.choices import BeltOver, Choices, Run, runs_of
from optimizer.search.middle.rows import own_rows, shared_rows
from optimizer.search.middle.table import Table

__all__ = ["Slot", "Space", "overs_of", "spaces_of"]

Floats = NDArray[np.float64]
LOOSE_SHARE = 0.5
"""Belts are taken together while that widens no interval by more than this share of the widest one's width."""


class Slot(NamedTuple):
    """One row to be chosen."""

    table: int
    level: int


@dataclass(frozen=True)
class Space:
    """Rows of one run of the standing cones on some belts, ready to be searched.

    F does not depend on the belts, so that belts of like lengths are searched as one: a row's place then spans what any
    of them makes of it, and which belts a design really fits is looked at when it is found.
    """

    problem: MiddleProblem
    belts: tuple[tuple[int, ...], tuple[int, ...]]
    """Those of either stage that are searched together."""
    over: tuple[BeltOver, BeltOver]
    tables: tuple[Table, ...]
    """One where the middle cone is shared, else one for either belt."""
    base: float
    """ln of the spindle speed [rpm] at unit ratios."""

    @property
    def outer(self) -> tuple[Slot, ...]:
        """The slots of the slowest and fastest speeds."""
        slots: list[Slot] = []
        for table, count in enumerate(self._counts):
            slots += dict.fromkeys((Slot(table, 0), Slot(table, count - 1)))
        return tuple(slots)

    @property
    def inner(self) -> tuple[Slot, ...]:
        """All other slots, in the order they are filled."""
        return tuple(Slot(table, k) for table, count in enumerate(self._counts) for k in range(1, count - 1))

    @property
    def slots(self) -> tuple[Slot, ...]:
        """All slots, in the order of the levels."""
        return tuple(Slot(table, k) for table, count in enumerate(self._counts) for k in range(count))

    @property
    def _counts(self) -> tuple[int, ...]:
        return self.problem.levels[:1] if self.problem.shared else self.problem.levels

    @property
    def combinations(self) -> int:
        """Number of ways to fill all slots, rules between them aside."""
        total = 1
        for slot in self.slots:
            total *= len(self.tables[slot.table])
        return total

    def thinned(self, most: int) -> Space:
        """Return the space with fewer sizes, so that no table has more than about so many rows."""
        return replace(self, tables=tuple(table.thinned(most) for table in self.tables))

    @property
    def held_bytes(self) -> int:
        """Memory that the rows take."""
        return sum(table.held_bytes for table in self.tables)

    def speeds(self, slot: Slot, others: tuple[Slot, ...]) -> list[tuple[Slot, Slot]]:
        """Return the positions that a slot adds to those among others, each as the slots of first and second belt."""
        if self.problem.shared:
            return [pair for other in others for pair in ((slot, other), (other, slot))]
        mine = [other for other in others if other.table != slot.table]
        return [(slot, other) if slot.table == 0 else (other, slot) for other in mine]

    def order(self, slot: Slot) -> tuple[float, ...]:
        """Return for every side of a row 1 where its sizes rise with the level, -1 where they fall, 0 for no cone."""
        first, second = self.problem.stages
        if self.problem.shared:
            sides = ((first.driver, 1), (first.driven, -1), (second.driver, -1), (second.driven, 1))
            signs = [sign if side.cone else 0 for side, sign in sides]
            return (signs[0], min(signs[1], signs[2]), signs[3])
        stage = self.problem.stages[slot.table]
        return (float(stage.driver.cone), -float(stage.driven.cone))

    def rises(self, slot: Slot) -> tuple[float, ...]:
        """Return for every side of a row the least difference of neighbouring steps that are not equal [mm]."""
        first, second = self.problem.stages
        if self.problem.shared:
            middle = max(side.rise_mm if side.cone else 0.0 for side in (first.driven, second.driver))
            return (first.driver.rise_mm, middle, second.driven.rise_mm)
        stage = self.problem.stages[slot.table]
        return (stage.driver.rise_mm, stage.driven.rise_mm)

    @property
    def second_falls(self) -> bool:
        """Whether the second belt's ratio falls along the levels."""
        return self.problem.shared


def overs_of(problem: MiddleProblem) -> tuple[BeltOver, BeltOver]:
    """Return how the belts of either stage lie over every choice of sizes."""
    first, second = problem.stages
    sides = [Choices.of(side) for side in (first.driver, first.driven, second.driver, second.driven)]
    if problem.shared:
        sides[2] = sides[1]
    return BeltOver.of(first, sides[0], sides[1]), BeltOver.of(second, sides[2], sides[3])


def spaces_of(problem: MiddleProblem, over: tuple[BeltOver, BeltOver] | None = None) -> list[Space]:
    """Return the spaces that together hold every choice of belts, of runs of standing cones, and of sizes.

    Parameters
    ----------
    problem
        The machine.
    over
        How its belts lie, where that is known.
    """
    first, second = problem.stages
    over = overs_of(problem) if over is None else over
    if problem.shared:
        runs = [((a, b), (b, c)) for a, b, c in runs_of([first.driver, first.driven, second.driven], problem.levels[0])]
    else:
        mine = [
            runs_of([stage.driver, stage.driven], n) for stage, n in zip(problem.stages, problem.levels, strict=True)
        ]
        runs = [((a, b), (c, d)) for (a, b), (c, d) in product(*mine)]
    found = []
    for run in runs:
        for belts in product(*(_groups(problem, stage) for stage in over)):
            space = _space(problem, over, (belts[0], belts[1]), run)
            if all(len(table) for table in space.tables):
                found.append(space)
    return found


def _groups(problem: MiddleProblem, over: BeltOver) -> list[tuple[int, ...]]:
    """Return the belts of a stage in groups searched together; with a coupling each is by itself."""
    if problem.coupling is not None:
        return [(number,) for number in range(len(over.stage.belts))]
    halves = np.array([belt.window_mm for belt in over.stage.belts]) / 2
    lengths = np.array([belt.length_mm for belt in over.stage.belts])
    low = over.near_mm - (lengths / 2 + halves)[:, None, None]
    high = over.far_mm - (lengths / 2 - halves)[:, None, None]
    groups: list[list[int]] = []
    for belt in np.argsort(lengths, kind="stable"):
        if np.isnan(low[belt]).all():
            continue
        if groups and _loosened(low, high, [*groups[-1], int(belt)]) <= LOOSE_SHARE:
            groups[-1].append(int(belt))
        else:
            groups.append([int(belt)])
    return [tuple(group) for group in groups]


def _loosened(low: Floats, high: Floats, group: list[int]) -> float:
    """Return by how much taking belts together widens an interval at most, as a share of the widest of one belt."""
    with np.errstate(invalid="ignore"):
        own = np.nanmax(high[group] - low[group])
        union = np.fmax.reduce(high[group]) - np.fmin.reduce(low[group])
        widest = np.fmax.reduce(high[group] - low[group])
    return float(np.nanmax(union - widest) / max(own, 1e-9))


def _space(
    problem: MiddleProblem,
    over: tuple[BeltOver, BeltOver],
    belts: tuple[tuple[int, ...], tuple[int, ...]],
    runs: tuple[tuple[Run, Run], tuple[Run, Run]],
) -> Space:
    first, second = problem.stages
    base = log(problem.motor_rpm * first.gain * second.gain * problem.gain_out)
    if problem.shared:
        tables = [shared_rows(problem, over, belts, (*runs[0], runs[1][1]))]
    else:
        tables = [own_rows(problem, number, over[number], belts[number], runs[number]) for number in (0, 1)]
    return Space(problem, belts, over, tuple(tables), base)
