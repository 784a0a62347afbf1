"""What several searches have in common, worked out once: pairs of a stage, and what the wants leave."""

from __future__ import annotations

from collections import OrderedDict

from optimizer.clock import ENDLESS, Clock
from optimizer.records import Problem, StageProblem
from optimizer.search.bound import lower_bound
from optimizer.search.fit import SeriesRules
from optimizer.search.index import PairIndex
from optimizer.search.pairs import lay_belts

__all__ = ["Shelf"]

MOST_PAIRS = 2_000_000
"""Pairs kept at once, some 250 MB; beyond that those used longest ago are given up."""


class Shelf:
    """Keeps the pairs of stages, as many as memory should hold.

    Layouts of one machine differ in numbers of positions and in order, seldom in the sizes and belts of a stage.
    """

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[object, ...], PairIndex] = OrderedDict()
        self._ideal: dict[tuple[object, ...], float] = {}

    def ideal(self, problem: Problem, rules: SeriesRules, clock: Clock) -> float:
        """Return the least J that the wants leave to any ratios at all, whatever sizes and belts there are."""
        key = (problem.layout, problem.targets, rules.base)
        if key not in self._ideal:
            self._ideal[key] = lower_bound(rules, 0.0, None, clock)[0]
        return self._ideal[key]

    def index(
        self, stage: StageProblem, *, positions: int, ticks: bool, entering: float | None, clock: Clock = ENDLESS
    ) -> PairIndex:
        """Return the pairs of a stage, ready for range queries.

        Parameters
        ----------
        stage
            What the stage may be.
        positions
            Its number of positions; it matters only where a cone stands.
        ticks
            Whether turned sizes are all those on ticks, not the listed ones.
        entering
            ln of the driver's speed [rpm], where it is known: pairs that it is too fast for are left out.
        clock
            Asked for the memory that they take.
        """
        standing = bool(stage.driver.standing_mm or stage.driven.standing_mm)
        key = (stage, positions if standing else 0, ticks, entering)
        index = self._kept.get(key)
        if index is None:
            pairs = lay_belts(stage, positions=positions, ticks=ticks, clock=clock)
            slow = None if entering is None else pairs.entering >= entering - 1e-9
            if slow is not None and not slow.all():
                pairs = pairs.take(slow)
            index = self._kept[key] = PairIndex.of(pairs)
        self._kept.move_to_end(key)
        while len(self._kept) > 1 and sum(len(each.pairs) for each in self._kept.values()) > MOST_PAIRS:
            self._kept.popitem(last=False)
        return index
