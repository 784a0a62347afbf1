"""Pairs sorted by belt, by cell of centre distance, by ratio; kept for several searches."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, fields
from functools import cached_property
from math import prod

import numpy as np
from numpy.typing import NDArray

from optimizer.clock import ENDLESS, Clock
from optimizer.records import StageProblem
from optimizer.search.pairs import StagePairs, lay_belts

__all__ = ["PairIndex", "Shelf", "spread_ranges"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
STRIPS = 16
"""Strips of centre distance to a window."""
MOST_STRIPS = 4000
ROUNDING = 1e-8
"""How much wider, in logarithms, a range is asked for than needed; exact filters follow."""


@dataclass(frozen=True)
class PairIndex:
    """The pairs of a stage, rearranged, with a sorted key for each."""

    pairs: StagePairs
    group: Ints
    """Belt and variant of every pair in one number."""
    key: Floats
    cells: int
    """Cells of centre distance in each group."""
    cell_mm: float
    nearest_mm: float
    """Where the first cell begins."""
    half_width_mm: float
    """Half the widest span of centre distance of any pair."""
    least: float
    """Least log ratio."""
    span: float
    """Length of a cell on the key."""

    @classmethod
    def of(cls, pairs: StagePairs) -> PairIndex:
        """Sort pairs by belt and variant, by cell as wide as the window, by log ratio; they are used up."""
        variants = int(pairs.variant.max(initial=0)) + 1
        group = pairs.belt.astype(np.int64) * variants + pairs.variant
        middle = (pairs.centre_low + pairs.centre_high) / 2
        half = float(((pairs.centre_high - pairs.centre_low) / 2).max(initial=0.0))
        nearest = float(middle.min(initial=np.inf)) if len(pairs) else 0.0
        reach = float(middle.max(initial=0.0)) - nearest
        cell = max(float(pairs.window_mm.max(initial=0.0)) + 2 * half, reach / 400, 1e-3)
        cells = max(1, int(reach // cell) + 1)
        number = group * cells + np.minimum(((middle - nearest) / cell).astype(np.int64), cells - 1)
        order = np.lexsort((pairs.log_ratio, number))
        ratios = pairs.log_ratio
        least = float(ratios.min(initial=0.0))
        span = float(ratios.max(initial=0.0)) - least + 1.0
        return cls(
            pairs=pairs.reordered(order),
            group=group[order],
            key=(number * span + (ratios - least + 0.25))[order],
            cells=cells,
            cell_mm=cell,
            nearest_mm=nearest,
            half_width_mm=half,
            least=least,
            span=span,
        )

    @cached_property
    def held_bytes(self) -> int:
        """Memory that the arrays take."""
        columns = [getattr(self.pairs, field.name) for field in fields(self.pairs)]
        return sum(column.nbytes for column in (*columns, self.group, self.key))

    def choices(self, positions: int) -> int:
        """Return how many ways there are to choose pairs of one belt and variant for so many positions."""
        if not len(self.pairs):
            return 0
        places, groups = self.pairs.place.astype(np.int64), int(self.group.max()) + 1
        counts = np.zeros((groups, positions + 1), dtype=np.int64)
        np.add.at(counts, (self.group, places + 1), 1)
        return sum(prod(int(row[0]) + int(at) for at in row[1:]) for row in counts)

    @cached_property
    def leaving_least(self) -> float:
        """Natural logarithm of the least of the greatest speeds [rpm] of the driven shaft that any pair stands."""
        return float(self.pairs.leaving.min(initial=np.inf))

    @property
    def reach(self) -> tuple[float, float]:
        """Least and greatest log ratio; zeros where there are no pairs."""
        ratios = self.pairs.log_ratio
        return (float(ratios.min()), float(ratios.max())) if ratios.size else (0.0, 0.0)

    def ranges(
        self, group: Ints, centre: tuple[Floats, Floats], ratio: tuple[Floats, Floats]
    ) -> tuple[Ints, Ints, Ints]:
        """Return rows ``start`` to ``stop`` that may answer query number ``asked``.

        A query asks for pairs of a group whose span of centre distance touches ``centre`` and whose log ratio
        lies in ``ratio``. Every such pair is in the answer; a few others may be.
        """
        first = self._cell(centre[0] - self.half_width_mm)
        last = self._cell(centre[1] + self.half_width_mm)
        low = np.clip(ratio[0] - ROUNDING - self.least + 0.25, 0, self.span)
        high = np.clip(ratio[1] + ROUNDING - self.least + 0.25, 0, self.span)
        open_ = np.flatnonzero(ratio[0] <= ratio[1] + ROUNDING)
        asked, start, stop = [], [], []
        for step in range(int((last - first).max(initial=-1)) + 1):
            here = open_[first[open_] + step <= last[open_]]
            base = (group[here] * self.cells + first[here] + step) * self.span
            begin = np.searchsorted(self.key, base + low[here], side="left")
            end = np.searchsorted(self.key, base + high[here], side="right")
            some = begin < end
            asked.append(here[some])
            start.append(begin[some])
            stop.append(end[some])
        if not asked:
            none = np.empty(0, dtype=np.int64)
            return none, none, none
        return np.concatenate(asked), np.concatenate(start), np.concatenate(stop)

    def ties(self, factors: tuple[float, ...]) -> dict[float, float]:
        """Return for every factor k an upper bound of ``x_last − k·x_first`` over pairs on one belt in its window.

        Centre distances are cut into strips of a fraction of the window; two pairs whose spans come within it
        begin in strips no farther apart than the window and the widest span together.
        """
        pairs = self.pairs
        if not len(pairs):
            return {}
        window = float(pairs.window_mm.max()) + 2 * self.half_width_mm
        nearest = float(pairs.centre_low.min())
        strip = max(window / STRIPS, (float(pairs.centre_low.max()) - nearest) / MOST_STRIPS, 1e-3)
        first = ((pairs.centre_low - nearest) / strip).astype(np.int64)
        apart = min(int(window / strip), int(first.max())) + 1
        stride = int(first.max()) + 1 + apart
        groups, group = np.unique(self.group, return_inverse=True)
        high, low = np.full(groups.size * stride + apart, -np.inf), np.full(groups.size * stride + apart, np.inf)
        np.maximum.at(high, group * stride + first, pairs.log_ratio)
        np.minimum.at(low, group * stride + first, pairs.log_ratio)
        highs = np.lib.stride_tricks.sliding_window_view(high, apart + 1).max(axis=1)
        lows = np.lib.stride_tricks.sliding_window_view(low, apart + 1).min(axis=1)
        some = np.isfinite(highs)
        return {factor: float((highs[some] - factor * lows[some]).max()) + 1e-9 for factor in factors}

    def _cell(self, centre_mm: Floats) -> Ints:
        inside = np.clip((centre_mm - self.nearest_mm) / self.cell_mm - 1e-9, 0, self.cells - 1)
        return inside.astype(np.int64)


def spread_ranges(asked: Ints, start: Ints, stop: Ints) -> tuple[Ints, Ints]:
    """Return every row of every range, with the query it answers.

    Examples
    --------
    >>> asked, rows = spread_ranges(np.array([7, 9]), np.array([0, 4]), np.array([2, 5]))
    >>> asked.tolist(), rows.tolist()
    ([7, 7, 9], [0, 1, 4])
    """
    counts = stop - start
    total = int(counts.sum())
    before = np.cumsum(counts) - counts
    rows = np.arange(total) + np.repeat(start - before, counts)
    return np.repeat(asked, counts), rows


MOST_PAIRS = 2_000_000
"""Pairs kept at once, some 250 MB; beyond that those used longest ago are given up."""


class Shelf:
    """Keeps the pairs of stages, as many as memory should hold.

    Layouts of one machine differ in numbers of positions and in order, seldom in the sizes and belts of a stage.
    """

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[object, ...], PairIndex] = OrderedDict()
        self.ideal: dict[tuple[object, ...], float] = {}
        """The least J that the wants of a layout leave to any ratios at all."""

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
