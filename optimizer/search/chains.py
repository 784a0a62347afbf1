"""Choices of all stages joined into designs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from optimizer.search.bound import Boxes
from optimizer.search.carrying import Carrying
from optimizer.search.coupled import Coupled, Meeting
from optimizer.search.fit import SeriesRules
from optimizer.search.index import PairIndex, spread_ranges
from optimizer.search.limits import Meter, refuse_to_hold
from optimizer.search.stock import Stock
from optimizer.search.tuples import Ceiling, Tuples

__all__ = ["Chain", "Designs", "Joined", "joined", "tabulated"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Places = Ints | NDArray[np.intp] | tuple[slice, None] | tuple[None, slice]
DOWN, ACROSS = (slice(None), None), (None, slice(None))
"""Places of two lists of which every two choices stand together, a row of the table for each of the first list's."""
BLOCK = 100_000
"""Designs looked at together, so that memory stays bounded."""
MOST_CELLS = 4096
"""Cells of ln φ at the most."""
TOLERANCE_LOG = 1e-9
TOLERANCE_MM = 1e-9


@dataclass(frozen=True)
class Designs:
    """Designs that keep every rule of the series: for every stage the rows of its pairs, and J."""

    rows: tuple[Ints, ...]
    """For every stage an array (designs, positions)."""
    j: Floats

    def __len__(self) -> int:
        return self.j.size


@dataclass(frozen=True)
class Chain:
    """Choices of the first few stages together."""

    rows: tuple[Ints, ...]
    first: Floats
    """Sum of the log ratios of their first positions."""
    last: Floats
    """Sum of the log ratios of their last positions: the fastest the next shaft turns."""
    ratio_low: Floats
    ratio_high: Floats
    timber_mm3: Floats
    entering: Floats
    """ln of the greatest speed [rpm] of the driver shaft of the last of these stages."""
    leaving: Floats
    """ln of the greatest speed [rpm] of the shaft it drives."""
    carrying: tuple[Floats, ...] = ()
    """What the slowest and the fastest speed of the last driver must lie between, where grip is a limit."""
    meeting: Meeting = ()
    """Between which settings shared mounts fit all positions, where there are such mounts."""

    def __len__(self) -> int:
        return self.first.size

    @property
    def held_bytes(self) -> int:
        """Memory that the arrays take."""
        several = ("rows", "carrying", "meeting")
        columns = (getattr(self, field.name) for field in fields(self) if field.name not in several)
        return sum(column.nbytes for column in (*self.rows, *self.carrying, *self.meeting, *columns))


@dataclass(frozen=True)
class Joined:
    """What joins stages: their pairs, the rules of the series, the gains, the motor."""

    indexes: tuple[PairIndex, ...]
    series: SeriesRules
    entering: tuple[float, ...]
    """ln of the driver speed [rpm] of every stage at unit ratios before it."""
    timber_most: float
    ceiling: Ceiling
    carrying: Carrying | None = None
    """What limits of grip ask; nothing where grip is no limit."""
    stock: Stock | None = None
    """What is used of what is in hand; nothing where nothing is scarce."""
    coupled: Coupled | None = None
    """What mounts ask whose one setting must fit several belts; nothing where there are none."""

    @property
    def switches(self) -> int:
        """How many links come before the belt stages."""
        return 0 if self.coupled is None else len(self.indexes) - len(self.coupled.indexes)

    def meeting(self, link: int, rows: Ints) -> Meeting:
        """Return between which settings choices of a link are fitted."""
        if self.coupled is None:
            return ()
        return self.coupled.meeting(link - self.switches, rows)

    def asked(self, link: int, rows: Ints) -> tuple[Floats, ...]:
        """Return what choices of a link ask of the speeds of its driver; nothing of the first link, and of a switch."""
        if self.carrying is None or link == 0:
            return ()
        stages = self.carrying.stages
        stage = link - (len(self.indexes) - len(stages))
        return stages[stage].asked(rows) if stage >= 0 else ()

    def late(self, link: int) -> float:
        """Return ln of what the slowest settings of switches behind a link make of a speed; here they come first."""
        if self.carrying is None:
            return 0.0
        return self.carrying.links[link - (len(self.indexes) - len(self.carrying.stages))].late


def tabulated(join: Joined, lists: list[Tuples]) -> Chain:
    """Return every combination of the choices of the first stages that may stand together."""
    return reduce(lambda chain, s: _product(join, chain, _chain(join, s, lists[s])), range(len(lists)), _nothing(join))


def joined(join: Joined, table: Chain, blocks: Iterator[Tuples], boxes: Boxes, meter: Meter) -> Iterator[Designs]:
    """Yield, in blocks, the designs that the boxes allow.

    The combinations of all stages but the last are sorted by the log ratio of their first positions; the choices of
    the last stage stream through in `blocks`, and for each the table is asked for the span that the first speed
    leaves.
    """
    ready = _Table.of(table)
    stage = len(join.indexes) - 1
    for block in blocks:
        chain = _chain(join, stage, block)
        low = boxes.first[0] - join.series.base - chain.first
        high = boxes.first[1] - join.series.base - chain.first
        span = ready.ranges((low - TOLERANCE_LOG, high + TOLERANCE_LOG), (chain.ratio_low, chain.ratio_high))
        yield from _matches(join, (ready, chain), span, boxes, meter)


@dataclass(frozen=True)
class _Table:
    """Tabulated choices by cell of ln φ, then by the log ratio of their first positions.

    They stay where they are, as most of them match nothing: only the keys are sorted.
    """

    chain: Chain
    order: NDArray[np.intp]
    """Which choice each key is of."""
    key: Floats
    least: float
    span: float
    ratio: float
    """Where the first cell of ln φ begins."""
    width: float
    """Width of a cell: that of the widest span of ln φ in the table."""
    cells: int

    @classmethod
    def of(cls, chain: Chain) -> _Table:
        wide = float((chain.ratio_high - chain.ratio_low).max(initial=0.0))
        bounded = np.isfinite(wide) and len(chain)
        middle = (chain.ratio_low + chain.ratio_high) / 2 if bounded else np.zeros(len(chain))
        wide = wide if bounded else 1.0
        nearest = float(middle.min(initial=np.inf)) if len(chain) else 0.0
        reach = float(middle.max(initial=-np.inf)) - nearest if len(chain) else 0.0
        wide = max(wide, reach / MOST_CELLS, 1e-12)
        number = ((middle - nearest) / wide).astype(np.int64)
        order = np.lexsort((chain.first, number))
        least = float(chain.first.min(initial=np.inf)) if len(chain) else 0.0
        span = float(chain.first.max(initial=-np.inf)) - least + 1.0 if len(chain) else 1.0
        key = (number * span + (chain.first - least + 0.25))[order]
        return cls(chain, order, key, least, span, nearest, wide, int(number.max(initial=0)) + 1)

    def ranges(self, first: tuple[Floats, Floats], ratio: tuple[Floats, Floats]) -> tuple[Ints, Ints, Ints]:
        """Return for queries the ranges of rows that touch a span of first ratio and a span of ln φ."""
        low = np.clip(first[0] - self.least + 0.25, 0, self.span)
        high = np.clip(first[1] - self.least + 0.25, 0, self.span)
        begin, end = self._cell(ratio[0] - self.width / 2), self._cell(ratio[1] + self.width / 2)
        asked, start, stop = [], [], []
        for step in range(int((end - begin).max(initial=-1)) + 1):
            here = np.flatnonzero((begin + step <= end) & (low <= high))
            base = (begin[here] + step) * self.span
            left = np.searchsorted(self.key, base + low[here], side="left")
            right = np.searchsorted(self.key, base + high[here], side="right")
            some = left < right
            asked.append(here[some])
            start.append(left[some])
            stop.append(right[some])
        none = np.empty(0, dtype=np.int64)
        return (
            np.concatenate([none, *asked]),
            np.concatenate([none, *start]),
            np.concatenate([none, *stop]),
        )

    def _cell(self, ratio: Floats) -> Ints:
        cell = np.clip((ratio - self.ratio) / self.width, -1, self.cells)
        return np.clip(np.floor(cell), 0, self.cells - 1).astype(np.int64)


def _nothing(join: Joined) -> Chain:
    zero, inf = np.zeros(1), np.full(1, np.inf)
    meeting = join.coupled.nothing(1) if join.coupled else ()
    return Chain((), zero, zero, -inf, inf, zero, inf, inf, meeting=meeting)


def _chain(join: Joined, stage: int, choices: Tuples) -> Chain:
    pairs = join.indexes[stage].pairs
    ratios = pairs.log_ratio
    return Chain(
        (choices.rows,),
        ratios[choices.rows[:, 0]],
        ratios[choices.rows[:, -1]],
        choices.ratio_low,
        choices.ratio_high,
        pairs.timber_mm3[choices.rows].sum(axis=1),
        pairs.entering[choices.rows].min(axis=1),
        pairs.leaving[choices.rows].min(axis=1),
        join.asked(stage, choices.rows),
        join.meeting(stage, choices.rows),
    )


def _product(join: Joined, left: Chain, right: Chain) -> Chain:
    """Return every pair of a left and a right choice that may stand together."""
    refuse_to_hold(len(left) * len(right))
    return _merge(join, (left, DOWN), (right, ACROSS))


def _merge(join: Joined, left: tuple[Chain, Places], right: tuple[Chain, Places]) -> Chain:
    """Return two lists of choices side by side, only the rows that keep ratio, speed and timber limits.

    Each list comes with its choices' places in it, or with `DOWN` and `ACROSS` where every two of them stand together.
    """
    (one, a), (other, b) = left, right
    entering = join.entering[len(one.rows)]
    keep = np.maximum(one.ratio_low[a], other.ratio_low[b]) <= (
        np.minimum(one.ratio_high[a], other.ratio_high[b]) + TOLERANCE_LOG
    )
    before = one.last[a]
    keep &= entering + before <= other.entering[b] + TOLERANCE_LOG
    keep &= entering + before + other.last[b] <= other.leaving[b] + TOLERANCE_LOG
    if other.carrying:
        slow_low, slow_high, fast_low, fast_high = (column[b] for column in other.carrying)
        slowest, fastest = entering + one.first[a] - join.late(len(one.rows)), entering + before
        keep &= (slowest >= slow_low - TOLERANCE_LOG) & (slowest <= slow_high + TOLERANCE_LOG)
        keep &= (fastest >= fast_low - TOLERANCE_LOG) & (fastest <= fast_high + TOLERANCE_LOG)
    meeting: list[Floats] = []
    if other.meeting:
        here, there = [c[a] for c in one.meeting], [c[b] for c in other.meeting]
        for low in range(0, len(there), 2):
            keep &= (here[low] <= there[low + 1] + TOLERANCE_MM) & (there[low] <= here[low + 1] + TOLERANCE_MM)
            meeting += [np.maximum(here[low], there[low]), np.minimum(here[low + 1], there[low + 1])]
    timber_most = min(join.timber_most, join.ceiling.timber_mm3)
    if timber_most < np.inf:
        keep &= one.timber_mm3[a] + other.timber_mm3[b] <= timber_most
    a, b = (a[keep], b[keep]) if isinstance(a, np.ndarray) and isinstance(b, np.ndarray) else np.nonzero(keep)
    return Chain(
        (*(rows[a] for rows in one.rows), other.rows[0][b]),
        one.first[a] + other.first[b],
        one.last[a] + other.last[b],
        np.maximum(one.ratio_low[a], other.ratio_low[b]),
        np.minimum(one.ratio_high[a], other.ratio_high[b]),
        one.timber_mm3[a] + other.timber_mm3[b],
        other.entering[b],
        other.leaving[b],
        meeting=tuple(column[keep] for column in meeting),
    )


def _matches(
    join: Joined, sides: tuple[_Table, Chain], span: tuple[Ints, Ints, Ints], boxes: Boxes, meter: Meter
) -> Iterator[Designs]:
    table, chain = sides
    asked, start, stop = span
    ends = np.cumsum(stop - start)
    begin, taken = 0, 0
    while begin < asked.size:
        cut = max(begin + 1, int(np.searchsorted(ends, taken + BLOCK, side="right")))
        part = slice(begin, cut)
        numbers, rows = spread_ranges(asked[part], start[part], stop[part])
        begin, taken = cut, int(ends[cut - 1])
        meter.spend(rows.size)
        yield _judged(join, (table.chain, table.order[rows]), (chain, numbers), boxes)


def _judged(join: Joined, left: tuple[Chain, Ints], right: tuple[Chain, Ints], boxes: Boxes) -> Designs:
    last = join.series.base + left[0].last[left[1]] + right[0].last[right[1]]
    fits = (last >= boxes.last[0] - TOLERANCE_LOG) & (last <= boxes.last[1] + TOLERANCE_LOG)
    merged = _merge(join, (left[0], left[1][fits]), (right[0], right[1][fits]))
    parts = [index.pairs.log_ratio[rows] for index, rows in zip(join.indexes, merged.rows, strict=True)]
    chosen, j = join.series.judge(parts, min(boxes.most, join.ceiling.j))
    rows = tuple(rows[chosen] for rows in merged.rows)
    if join.coupled:
        holds = join.coupled.holds(rows[join.switches :])
        rows, j = tuple(part[holds] for part in rows), j[holds]
    if join.carrying:
        holds = join.carrying.holds(rows)
        rows, j = tuple(part[holds] for part in rows), j[holds]
    if join.stock:
        holds = join.stock.holds(rows)
        rows, j = tuple(part[holds] for part in rows), j[holds]
    return Designs(rows, j)
