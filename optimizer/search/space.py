"""A problem made ready to be searched: its pairs, indexed, with the rules of its series."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf, log

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from optimizer.clock import ENDLESS, Clock
from optimizer.records import Candidate, Problem, StageSizes
from optimizer.search.bound import Boxes, narrowed
from optimizer.search.carrying import Carrying, Link
from optimizer.search.chains import Chain, Designs, Joined, joined, tabulated
from optimizer.search.coupled import Aims, Coupled
from optimizer.search.fit import Prospect, SeriesRules
from optimizer.search.index import PairIndex, Shelf
from optimizer.search.limits import Meter, refuse_to_hold
from optimizer.search.pairs import settings
from optimizer.search.reach import Reach
from optimizer.search.stock import Stock
from optimizer.search.trim import trimmed
from optimizer.search.tuples import Ceiling, Promise, StageRules, Tuples, stage_tuples
from optimizer.series import least_spread

__all__ = ["Space"]


@dataclass(frozen=True)
class Space:
    """A problem with its pairs, ready to be searched."""

    problem: Problem
    rules: SeriesRules
    indexes: tuple[PairIndex, ...]
    """Of every link of the chain: the switches, then the belt stages."""
    entering: tuple[float, ...]
    """ln of every link's driver speed [rpm] at unit ratios before it."""

    @classmethod
    def of(cls, problem: Problem, *, ticks: bool = False, shelf: Shelf | None = None, clock: Clock = ENDLESS) -> Space:
        """Lay the belts of every stage over its sizes, or take what the shelf has of them."""
        shelf = shelf or Shelf()
        entering = []
        speed = log(problem.motor_rpm)
        for stage in problem.stages:
            speed += log(stage.gain)
            entering.append(speed)
        indexes = [
            shelf.index(stage, positions=positions, ticks=ticks, entering=None if number else entering[0], clock=clock)
            for number, (stage, positions) in enumerate(zip(problem.stages, problem.layout.positions, strict=True))
        ]
        switches = [PairIndex.of(settings(switch.shares)) for switch in problem.switches]
        entering = [log(problem.motor_rpm)] * len(switches) + entering
        return cls(problem, SeriesRules.of(problem), (*switches, *indexes), tuple(entering))

    @property
    def switches(self) -> int:
        """How many of the links are switches."""
        return len(self.problem.switches)

    @property
    def stages(self) -> tuple[PairIndex, ...]:
        """The pairs of the belt stages."""
        return self.indexes[self.switches :]

    @cached_property
    def carrying(self) -> Carrying | None:
        """What limits of grip ask of the pairs; nothing where grip is no limit."""
        return Carrying.of(self.problem, self.rules, self.indexes, self.entering)

    @cached_property
    def stock(self) -> Stock | None:
        """What the pairs use of what is in hand; nothing where nothing is scarce."""
        return Stock.of(self.problem, self.indexes)

    @cached_property
    def coupled(self) -> Coupled | None:
        """What mounts ask whose one setting must fit several belts; nothing where there are none."""
        return Coupled.of(self.problem, self.stages)

    @property
    def held_bytes(self) -> int:
        """Memory that the pairs take."""
        return sum(index.held_bytes for index in self.indexes)

    @property
    def spans(self) -> list[tuple[float, float]]:
        """Least and greatest log ratio of each stage's pairs."""
        return [index.reach for index in self.indexes]

    @property
    def reach(self) -> Reach:
        """How far the log ratios of the stages go on one belt within its window, rims and belts within their speeds."""
        return Reach.of_pairs(self.indexes, self.entering, self.carrying)

    def restricted(self, disc_most_mm: float) -> Space:
        """Return the space with only the pairs that need no larger disc."""
        indexes = tuple(PairIndex.of(i.pairs.take(i.pairs.disc_mm <= disc_most_mm)) for i in self.indexes)
        return Space(self.problem, self.rules, indexes, self.entering)

    def combinations(self) -> int:
        """Return how many ways there are to choose pairs for all positions, belt by belt."""
        total = 1
        for index, offsets in zip(self.indexes, self.rules.offsets, strict=True):
            total *= index.choices(len(offsets))
        return total

    def designs(self, boxes: Boxes, meter: Meter, timber_most: float, ceiling: Ceiling) -> Iterator[Designs]:
        """Yield, in blocks, the designs that the boxes allow and that do not pass the ceiling as it then is."""
        least = [
            float(i.pairs.timber_mm3.min(initial=inf)) * len(o)
            for i, o in zip(self.indexes, self.rules.offsets, strict=True)
        ]
        lists: list[Tuples] = []
        spans = self.spans
        before = 0.0
        for number, index in enumerate(self.indexes):
            rest = sum(least) - least[number] if timber_most < inf else 0.0
            rules = self._stage_rules(number, timber_most - rest, self.entering[number] + before)
            if number == len(self.indexes) - 1:
                rules = replace(rules, leaving=boxes.last[0] - log(self.problem.gain_out))
                late = Link.of(self.problem, len(self.stages) - 1).late
                slowest = boxes.first[1] - log(self.problem.gain_out) - late
                rules = replace(rules, slowest=slowest)
                limits = (self.carrying, self.stock, self.coupled)
                join = Joined(self.indexes, self.rules, self.entering, timber_most, ceiling, *limits)
                chains = tabulated(join, lists)
                meter.hold(self.held_bytes + chains.held_bytes)
                promise = Promise(self._prospect(chains, number), ceiling)
                yield from joined(join, chains, stage_tuples(index, rules, boxes, meter, promise), boxes, meter)
                return
            table = _gathered(stage_tuples(index, rules, boxes, meter), len(rules.offsets))
            if not len(table):
                return
            ratios = index.pairs.log_ratio[table.rows]
            spans[number] = (float(ratios.min()), float(ratios.max()))
            before += float(ratios[:, -1].min())
            boxes = self._left_by(table, ratios, spans, boxes, number)
            if boxes.empty:
                return
            lists.append(table)

    def _prospect(self, chains: Chain, stages: int) -> Prospect:
        """Return what the choices of the first so many stages leave J to be."""
        places = sum(float(offsets[-1]) for offsets in self.rules.offsets[:stages])
        first, last, rise = (_span(values) for values in (chains.first, chains.last, chains.last - chains.first))
        return Prospect(self.rules, first, last, rise, places)

    def _left_by(
        self, table: Tuples, ratios: NDArray[np.float64], spans: list[tuple[float, float]], boxes: Boxes, number: int
    ) -> Boxes:
        """Return what the choices of one stage leave to those after it."""
        offsets = self.rules.offsets[number]
        free = least_spread([ratios], [offsets])[1]
        level = ratios - np.clip(free, *boxes.ratio)[:, None] * offsets
        spread = max(0.0, float(np.ptp(level, axis=1).min()) - 1e-12)
        ratio = (float(table.ratio_low.min()), float(table.ratio_high.max()))
        return narrowed(self.rules, spans, boxes, spread, ratio)

    def _stage_rules(self, number: int, timber_most: float, entering: float) -> StageRules:
        offsets = self.problem.layout.rows[number]
        if number < self.switches:
            return StageRules(number, offsets, False, False, 0.0, 0.0)
        stage = self.problem.stages[number - self.switches]
        return StageRules(
            number,
            offsets,
            stage.driver.cone,
            stage.driven.cone,
            stage.driver.rise_mm,
            stage.driven.rise_mm,
            entering=entering,
            timber_most=timber_most,
            carrying=self.carrying.stages[number - self.switches] if self.carrying else None,
            stock=self.stock.stages[number - self.switches] if self.stock else None,
        )

    def candidate(self, rows: list[NDArray[np.int64]]) -> Candidate | None:
        """Return the design with its rays trimmed, or nothing where no scales fit."""
        unaimed: Aims = [None] * len(self.stages)
        aims = self.coupled.aims(rows[self.switches :]) if self.coupled else (unaimed,)
        return next((found for found in (self._trimmed(rows, aim) for aim in aims) if found is not None), None)

    def _trimmed(self, rows: list[NDArray[np.int64]], aims: Aims) -> Candidate | None:
        """Return the design with its rays trimmed into spans of own centre distances, where there are such."""
        stages: list[StageSizes] = []
        before, rays = 0.0, False
        scales = self.carrying.scales(rows) if self.carrying else [(-inf, inf)] * len(self.stages)
        if scales is None:
            return None
        for number, (index, chosen) in enumerate(zip(self.stages, rows[self.switches :], strict=True)):
            pairs = index.pairs
            entering = self.entering[self.switches + number] + before
            sizes = trimmed(self.problem.stages[number], pairs, chosen, entering, scales[number], aims[number])
            if sizes is None:
                return None
            stages.append(sizes)
            rays = rays or bool((pairs.scale_high[chosen] > pairs.scale_low[chosen]).any())
            before += float(pairs.log_ratio[chosen[-1]])
        try:
            return Candidate(problem=self.problem, stages=tuple(stages))
        except ValidationError:
            if rays or self.problem.pieces:
                # a limit so narrow that scales solved in floating point miss it; or pieces that do not go round
                return None
            raise


def _span(values: NDArray[np.float64]) -> tuple[float, float]:
    return float(values.min(initial=inf)), float(values.max(initial=-inf))


def _gathered(stream: Iterator[Tuples], positions: int) -> Tuples:
    parts: list[Tuples] = []
    held = 0
    for part in stream:
        held += len(part)
        refuse_to_hold(held)
        parts.append(part)
    if not parts:
        none = np.empty(0)
        return Tuples(np.empty((0, positions), dtype=np.int64), none, none)
    return Tuples(
        np.concatenate([p.rows for p in parts]),
        np.concatenate([p.ratio_low for p in parts]),
        np.concatenate([p.ratio_high for p in parts]),
    )
