"""The rising threshold: all designs with J up to T, for a T that grows until there is one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.records import Candidate, Problem, StageSizes
from optimizer.search.bound import SeriesProgram
from optimizer.search.boxes import Boxes, boxes_at, boxes_by_program
from optimizer.search.chains import Designs, Joined, joined
from optimizer.search.fit import SeriesRules
from optimizer.search.index import PairIndex
from optimizer.search.limits import Meter
from optimizer.search.pairs import StagePairs, lay_belts
from optimizer.search.trim import trimmed
from optimizer.search.tuples import StageRules, Tuples, stage_tuples

__all__ = ["Best", "Space", "rise"]

FIRST_STEP = 1e-5
GROWTH = 4.0
KEPT = 4096
"""Designs kept in order of J while a threshold is searched; only trimming can need more than one."""
SAME = 1e-12
"""Values of J closer than this are a tie."""


@dataclass(frozen=True)
class Space:
    """A problem with its pairs, ready to be searched."""

    problem: Problem
    rules: SeriesRules
    indexes: tuple[PairIndex, ...]
    entering: tuple[float, ...]
    """ln of every stage's driver speed [rpm] at unit ratios before it."""

    @classmethod
    def of(cls, problem: Problem, *, ticks: bool = False) -> Space:
        """Lay the belts of every stage over its sizes."""
        entering = []
        speed = log(problem.motor_rpm)
        for stage in problem.stages:
            speed += log(stage.gain)
            entering.append(speed)
        indexes = []
        for number, stage in enumerate(problem.stages):
            pairs = lay_belts(stage, positions=len(problem.layout.offsets[number]), ticks=ticks)
            if number == 0:
                pairs = pairs.take(pairs.entering >= entering[0] - 1e-9)
            indexes.append(PairIndex.of(pairs))
        return cls(problem, SeriesRules.of(problem), tuple(indexes), tuple(entering))

    @property
    def spans(self) -> list[tuple[float, float]]:
        """Least and greatest log ratio of each stage's pairs."""
        return [
            (float(i.pairs.log_ratio.min(initial=0.0)), float(i.pairs.log_ratio.max(initial=0.0)))
            if len(i.pairs)
            else (0.0, 0.0)
            for i in self.indexes
        ]

    def restricted(self, keep: Callable[[StagePairs], NDArray[np.bool_]]) -> Space:
        """Return the space with only the pairs that pass."""
        indexes = tuple(PairIndex.of(i.pairs.take(keep(i.pairs))) for i in self.indexes)
        return Space(self.problem, self.rules, indexes, self.entering)

    def combinations(self) -> int:
        """Return how many ways there are to choose pairs for all positions, belt by belt."""
        total = 1
        for index, offsets in zip(self.indexes, self.rules.offsets, strict=True):
            total *= sum(self._choices(index, group, len(offsets)) for group in np.unique(index.group))
        return total

    @staticmethod
    def _choices(index: PairIndex, group: int, positions: int) -> int:
        places = index.pairs.place[index.group == group]
        free = int((places < 0).sum())
        product = 1
        for position in range(positions):
            product *= free + int((places == position).sum())
        return product

    def designs(self, boxes: Boxes, meter: Meter, timber_most: float = inf) -> Iterator[Designs]:
        """Yield, in blocks, the designs that the boxes allow."""
        least = [float(i.pairs.timber_mm3.min(initial=inf)) * len(o) for i, o in zip(self.indexes, self.rules.offsets, strict=True)]
        streams = []
        for number, index in enumerate(self.indexes):
            rest = sum(least) - least[number] if timber_most < inf else 0.0
            streams.append(stage_tuples(index, self._stage_rules(number, timber_most - rest), boxes, meter))
        lists = [_gathered(stream, len(o)) for stream, o in zip(streams[:-1], self.rules.offsets, strict=False)]
        if any(not len(table) for table in lists):
            return
        join = Joined(self.indexes, self.rules, self.entering, timber_most)
        yield from joined(join, lists, streams[-1], boxes, meter)

    def _stage_rules(self, number: int, timber_most: float) -> StageRules:
        stage = self.problem.stages[number]
        return StageRules(
            number,
            self.problem.layout.offsets[number],
            stage.driver.cone,
            stage.driven.cone,
            stage.driver.rise_mm,
            stage.driven.rise_mm,
            timber_most,
        )

    def candidate(self, rows: list[NDArray[np.int64]]) -> Candidate | None:
        """Return the design with its rays trimmed, or nothing where no scales fit."""
        stages: list[StageSizes] = []
        before = 0.0
        for number, chosen in enumerate(rows):
            pairs = self.indexes[number].pairs
            sizes = trimmed(self.problem.stages[number], pairs, chosen, self.entering[number] + before)
            if sizes is None:
                return None
            stages.append(sizes)
            before += float(pairs.log_ratio[chosen[-1]])
        return Candidate(problem=self.problem, stages=tuple(stages))


def _gathered(stream: Iterator[Tuples], positions: int) -> Tuples:
    parts = list(stream)
    if not parts:
        none = np.empty(0)
        return Tuples(np.empty((0, positions), dtype=np.int64), none, none)
    return Tuples(
        np.concatenate([p.rows for p in parts]),
        np.concatenate([p.ratio_low for p in parts]),
        np.concatenate([p.ratio_high for p in parts]),
    )


@dataclass(frozen=True)
class Best:
    """The best design of a space, or the bound at which the search stood."""

    rows: tuple[NDArray[np.int64], ...] | None
    candidate: Candidate | None
    j: float
    bound: float
    """No design of the space has a J below this."""
    complete: bool
    """Whether the bound is where the limits end: nothing is left to search."""


def rise(space: Space, program: SeriesProgram, start: float, most: float, meter: Meter, timber_most: float = inf) -> Iterator[Best]:
    """Yield the state after every threshold; the last one has the best design or is complete.

    Parameters
    ----------
    space
        What to search.
    program
        The linear program whose boxes are used where `start` is above 0.
    start
        A lower bound of J.
    most
        The last threshold.
    meter
        Counts combinations and may stop the search.
    timber_most
        Greatest timber of a design [mm³].
    """
    step = FIRST_STEP
    threshold = min(start + step, most)
    while True:
        meter.tell(threshold)
        boxes = _boxes(space, program, start, threshold)
        found = _least(space, boxes, meter, timber_most) if not boxes.empty else None
        if found is not None:
            yield found
            return
        complete = threshold >= most
        yield Best(None, None, inf, threshold, complete)
        if complete:
            return
        step *= GROWTH
        threshold = min(start + step, most)


def _boxes(space: Space, program: SeriesProgram, start: float, threshold: float) -> Boxes:
    if start > 0:
        return boxes_by_program(program, space.spans, threshold)
    return boxes_at(space.rules, space.spans, threshold)


def _least(space: Space, boxes: Boxes, meter: Meter, timber_most: float) -> Best | None:
    """Return the design of least J in the boxes that can be trimmed, or nothing."""
    pool: list[tuple[float, tuple[NDArray[np.int64], ...]]] = []
    for designs in space.designs(boxes, meter, timber_most):
        if not len(designs):
            continue
        order = np.argsort(designs.j, kind="stable")[:KEPT]
        pool += [(float(designs.j[i]), tuple(rows[i] for rows in designs.rows)) for i in order]
        pool.sort(key=lambda entry: _rank(space, entry))
        del pool[KEPT:]
    for j, rows in pool:
        candidate = space.candidate(list(rows))
        if candidate is not None:
            return Best(rows, candidate, j, j, True)
    return None


def _rank(space: Space, entry: tuple[float, tuple[NDArray[np.int64], ...]]) -> tuple[float, ...]:
    """Return J to within a tie, then timber, then the sizes themselves: a total order."""
    j, chosen = entry
    parts = [(index.pairs, rows) for index, rows in zip(space.indexes, chosen, strict=True)]
    timber = sum(float(pairs.timber_mm3[rows].sum()) for pairs, rows in parts)
    sizes = [float(v) for pairs, rows in parts for column in (pairs.belt, pairs.driver_mm, pairs.driven_mm) for v in column[rows]]
    return (round(j / SAME) * SAME, round(timber, 3), *sizes)
