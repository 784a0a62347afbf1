"""Every choice of pairs for the positions of one stage that keeps belt, cone and boxes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.search.bound import Boxes
from optimizer.search.carrying import StageCarrying
from optimizer.search.fit import Prospect
from optimizer.search.index import PairIndex, spread_ranges
from optimizer.search.limits import Meter
from optimizer.search.stock import StageStock

__all__ = ["Ceiling", "Promise", "StageRules", "Tuples", "stage_tuples"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
TOLERANCE_MM = 1e-9
TOLERANCE_LOG = 1e-12
BLOCK = 100_000
"""Rows that one step may spread to before it is split, so that memory stays bounded."""
FIRST_BLOCK = 6_000
"""Rows that the first of the blocks may spread to; each further one twice as many."""


@dataclass
class Ceiling:
    """What designs must not pass any more, lowered as better ones are found."""

    j: float = np.inf
    timber_mm3: float = np.inf


@dataclass(frozen=True)
class StageRules:
    """What ties the positions of one stage together."""

    stage: int
    offsets: tuple[int, ...]
    driver_cone: bool
    driven_cone: bool
    driver_rise_mm: float
    driven_rise_mm: float
    entering: float = -np.inf
    """ln of a speed [rpm] that the driver shaft reaches at its fastest at least."""
    leaving: float = -np.inf
    """ln of a speed [rpm] that the driven shaft reaches at its fastest position at least."""
    timber_most: float = np.inf
    """Greatest timber of all positions together."""
    slowest: float = np.inf
    """ln of a speed [rpm] that the driven shaft never passes at its slowest."""
    carrying: StageCarrying | None = None
    """What limits of grip ask; nothing where grip is no limit."""
    stock: StageStock | None = None
    """What is used of what is in hand; nothing where nothing is scarce."""


class Promise(NamedTuple):
    """What the last of the stages is told of J while its choices are made."""

    prospect: Prospect
    ceiling: Ceiling


@dataclass(frozen=True)
class Tuples:
    """One row for every choice of pairs; columns of `rows` are positions, slowest first."""

    rows: Ints
    """Rows of the stage's pairs."""
    ratio_low: Floats
    ratio_high: Floats
    """The span of ln φ within which the stage's spread is no more than the boxes allow."""

    def __len__(self) -> int:
        return int(self.rows.shape[0])

    def take(self, chosen: NDArray[np.intp] | NDArray[np.bool_] | slice) -> Tuples:
        """Return the chosen rows."""
        return Tuples(self.rows[chosen], self.ratio_low[chosen], self.ratio_high[chosen])


@dataclass(frozen=True)
class _Partial:
    """Choices for some of the positions: `rows` has a column for each of `chosen`."""

    chosen: tuple[int, ...]
    rows: Ints
    ratio_low: Floats
    ratio_high: Floats
    centre_high: Floats
    """Least of the far ends of the pairs' centre distances."""
    centre_low: Floats
    """Greatest of their near ends."""
    least_j: Floats
    """No design with these choices has a J below this."""

    def take(self, chosen: NDArray[np.intp] | NDArray[np.bool_] | slice) -> _Partial:
        return _Partial(
            self.chosen,
            self.rows[chosen],
            self.ratio_low[chosen],
            self.ratio_high[chosen],
            self.centre_high[chosen],
            self.centre_low[chosen],
            self.least_j[chosen],
        )


def stage_tuples(
    index: PairIndex, rules: StageRules, boxes: Boxes, meter: Meter, promise: Promise | None = None
) -> Iterator[Tuples]:
    """Yield, in blocks, every choice of one pair a position that the boxes and the stage's rules allow.

    With a promise those of the least lower bound of J come first; those beyond its ceiling are left out.

    The outermost positions come first, then the one that halves the widest gap, so that every later position is
    confined by chords of the ones before it.
    """
    pairs = index.pairs
    near, far = boxes.stages[rules.stage].place[0]
    within = (pairs.log_ratio >= near - TOLERANCE_LOG) & (pairs.log_ratio <= far + TOLERANCE_LOG)
    rows = np.flatnonzero(within & _allowed(index, rules, 0)).astype(np.int64)
    low, high = boxes.ratio
    start = _Partial(
        (0,),
        rows[:, None],
        np.full(rows.size, low),
        np.full(rows.size, high),
        pairs.centre_high[rows],
        pairs.centre_low[rows],
        np.zeros(rows.size),
    )
    order = _build_order(rules.offsets)
    allowed = {p: _allowed(index, rules, p) for p in order}
    yield from _extend(_Step(index, rules, boxes, allowed, meter, promise), start, order)


def _allowed(index: PairIndex, rules: StageRules, position: int) -> NDArray[np.bool_]:
    """Tell for every pair whether it may stand at a position, by the speeds there are and where kept steps sit."""
    pairs = index.pairs
    fits = (pairs.leaving >= rules.leaving - 1e-9) & (pairs.entering >= rules.entering - 1e-9)
    fits &= (pairs.place < 0) | (pairs.place == position)
    if rules.stock is not None:
        fits &= (rules.stock.uses <= rules.stock.limit).all(axis=1)
    if rules.carrying is not None:
        fits &= rules.carrying.may_stand(position)
        if position == 0 and not rules.carrying.fixed:
            # the slower the driven shaft, the slower the driver before this pair
            fits &= rules.carrying.slow[0][0] <= rules.slowest - pairs.log_ratio + 1e-9
    return np.asarray(fits)


def _build_order(offsets: tuple[int, ...]) -> list[int]:
    """Return the positions after the first in the order in which they are chosen.

    Examples
    --------
    >>> _build_order((0, 1, 2, 3, 4))
    [4, 2, 1, 3]
    """
    if len(offsets) == 1:
        return []
    order = [0, len(offsets) - 1]
    while len(order) < len(offsets):
        known = sorted(order)
        gaps = [(b - a, -a) for a, b in pairwise(known) if b - a > 1]
        width, start = max(gaps)
        order.append(-start + width // 2)
    return order[1:]


@dataclass(frozen=True)
class _Step:
    """What stays the same while choices are extended."""

    index: PairIndex
    rules: StageRules
    boxes: Boxes
    allowed: dict[int, NDArray[np.bool_]]
    meter: Meter
    promise: Promise | None

    @property
    def spread(self) -> float:
        """Greatest spread of the stage that a design worth having can still have."""
        if self.promise is None or self.promise.prospect.series.weights[1] <= 0:
            return self.boxes.spread
        return min(self.boxes.spread, 2 * self.promise.ceiling.j / self.promise.prospect.series.weights[1])


def _extend(step: _Step, partial: _Partial, order: list[int]) -> Iterator[Tuples]:
    if not order:
        if partial.rows.shape[0]:
            by_place = np.argsort(partial.chosen)
            yield Tuples(partial.rows[:, by_place], partial.ratio_low, partial.ratio_high)
        return
    position, rest = order[0], order[1:]
    for block in _blocks(step, partial, position):
        wider = _promising(step, _add(step, block[0], position, block[1]))
        if wider.rows.shape[0]:
            yield from _extend(step, wider, rest)


def _promising(step: _Step, partial: _Partial) -> _Partial:
    """Return the choices that can still lead to a design worth having, the most promising first."""
    if step.promise is None or not partial.rows.shape[0]:
        return partial
    offsets = tuple(step.rules.offsets[p] for p in partial.chosen)
    least = step.promise.prospect.least_j(offsets, step.index.pairs.log_ratio[partial.rows])
    order = np.argsort(np.round(least, 12), kind="stable")
    order = order[least[order] <= min(step.boxes.most, step.promise.ceiling.j) + TOLERANCE_LOG]
    return replace(partial.take(order), least_j=least[order])


def _blocks(step: _Step, partial: _Partial, position: int) -> Iterator[tuple[_Partial, tuple[Ints, Ints, Ints]]]:
    """Yield parts of the choices with the ranges that may extend them, each of a bounded size."""
    if not partial.rows.shape[0]:
        return
    ranges = step.index.ranges(*_query(step, partial, position))
    counts = np.bincount(ranges[0], weights=ranges[2] - ranges[1], minlength=partial.rows.shape[0])
    reached = np.flatnonzero(counts)
    if not reached.size:
        return
    ends = np.cumsum(counts[reached])
    cuts = np.searchsorted(ends, _block_ends(int(ends[-1])), side="left") + 1
    begin = 0
    for cut in np.unique(np.minimum(cuts, reached.size)):
        chosen = reached[begin:cut]
        begin = int(cut)
        if step.promise is not None:
            chosen = chosen[partial.least_j[chosen] <= step.promise.ceiling.j + TOLERANCE_LOG]
        if not chosen.size:
            continue
        new_number = np.full(partial.rows.shape[0], -1, dtype=np.int64)
        new_number[chosen] = np.arange(chosen.size)
        asked = new_number[ranges[0]]
        inside = asked >= 0
        yield partial.take(chosen), (asked[inside], ranges[1][inside], ranges[2][inside])


def _block_ends(total: int) -> Floats:
    """Return where the blocks end that so many rows are cut into: short ones first."""
    ends, rows = [float(FIRST_BLOCK)], FIRST_BLOCK
    while ends[-1] < total:
        rows = min(BLOCK, 2 * rows)
        ends.append(ends[-1] + rows)
    return np.array(ends)


def _query(step: _Step, partial: _Partial, position: int) -> tuple[Ints, tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Return group, span of centre distance and span of log ratio that an extension must touch."""
    pairs, offsets, boxes = step.index.pairs, step.rules.offsets, step.boxes
    low, high = (np.full(partial.rows.shape[0], limit) for limit in boxes.stages[step.rules.stage].place[position])
    spread = step.spread + TOLERANCE_LOG
    for column, other in enumerate(partial.chosen):
        known = pairs.log_ratio[partial.rows[:, column]]
        away = offsets[position] - offsets[other]
        near, far = (partial.ratio_low, partial.ratio_high) if away > 0 else (partial.ratio_high, partial.ratio_low)
        low = np.maximum(low, known + away * near - spread)
        high = np.minimum(high, known + away * far + spread)
    first = pairs.log_ratio[partial.rows[:, 0]]
    rise = boxes.stages[step.rules.stage].rise[position]
    low, high = np.maximum(low, first + rise[0]), np.minimum(high, first + rise[1])
    window = pairs.window_mm[partial.rows[:, 0]]
    centre = (partial.centre_low - window, partial.centre_high + window)
    return step.index.group[partial.rows[:, 0]], centre, (low, high)


def _add(step: _Step, partial: _Partial, position: int, ranges: tuple[Ints, Ints, Ints]) -> _Partial:
    """Return the choices extended by every pair in their ranges that keeps the rules."""
    asked, rows = spread_ranges(*ranges)
    step.meter.spend(rows.size)
    pairs = step.index.pairs
    allowed = step.allowed[position]
    if not allowed.all():
        fits = allowed[rows]
        asked, rows = asked[fits], rows[fits]
    high = np.minimum(partial.centre_high[asked], pairs.centre_high[rows])
    low = np.maximum(partial.centre_low[asked], pairs.centre_low[rows])
    fits = low - high <= pairs.window_mm[rows] + TOLERANCE_MM
    asked, rows, low, high = asked[fits], rows[fits], low[fits], high[fits]
    ratio_low, ratio_high = partial.ratio_low[asked], partial.ratio_high[asked]
    fits = np.ones(rows.size, dtype=bool)
    spread = step.spread + TOLERANCE_LOG
    rims = bool(step.index.leaving_least < np.inf)
    for column, other in enumerate(partial.chosen):
        known = partial.rows[asked, column]
        away = step.rules.offsets[position] - step.rules.offsets[other]
        rise = (pairs.log_ratio[rows] - pairs.log_ratio[known]) * np.sign(away)
        fits &= rise > TOLERANCE_LOG
        ratio_low = np.maximum(ratio_low, (rise - spread) / abs(away))
        ratio_high = np.minimum(ratio_high, (rise + spread) / abs(away))
        fits &= _cone_holds(step, known, rows, away > 0)
        if rims and other == len(step.rules.offsets) - 1:
            fits &= _rims_hold(step, rows, known)
        elif rims and position == len(step.rules.offsets) - 1:
            fits &= _rims_hold(step, known, rows)
    fits &= ratio_low <= ratio_high + TOLERANCE_LOG
    if step.rules.stock is not None:
        fits &= step.rules.stock.reaches(partial.rows, asked, rows)
    if step.rules.timber_most < np.inf:
        timber = pairs.timber_mm3[partial.rows].sum(axis=1)[asked] + pairs.timber_mm3[rows]
        fits &= timber <= step.rules.timber_most
    return _Partial(
        (*partial.chosen, position),
        np.column_stack([partial.rows[asked[fits]], rows[fits]]),
        ratio_low[fits],
        ratio_high[fits],
        high[fits],
        low[fits],
        partial.least_j[asked[fits]],
    )


def _cone_holds(step: _Step, known: Ints, rows: Ints, upward: bool) -> NDArray[np.bool_]:
    """Tell for which pairs the cones can run the right way at some scales of their rays; listed alike they stay so."""
    pairs, rules = step.index.pairs, step.rules
    slower, faster = (known, rows) if upward else (rows, known)
    holds = np.ones(rows.size, dtype=bool)
    for cone, sizes, (small, large), rise_mm in (
        (rules.driver_cone, pairs.driver_mm, (slower, faster), rules.driver_rise_mm),
        (rules.driven_cone, pairs.driven_mm, (faster, slower), rules.driven_rise_mm),
    ):
        if cone:
            most = sizes[large] * pairs.scale_high[large] - sizes[small] * pairs.scale_low[small]
            alike = np.abs(sizes[large] - sizes[small]) <= TOLERANCE_MM
            holds &= alike | (most >= max(rise_mm - TOLERANCE_MM, 0.0))
    return holds


def _rims_hold(step: _Step, rows: Ints, last: Ints) -> NDArray[np.bool_]:
    """Tell whether driven steps stand the speed of their shaft when the belt is on the last position."""
    pairs = step.index.pairs
    return np.asarray(pairs.leaving[rows] >= step.rules.entering + pairs.log_ratio[last] - 1e-9)
