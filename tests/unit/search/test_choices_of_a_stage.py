"""Choices of pairs for the positions of one stage, against every combination of a few pairs looked at one by one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations, pairwise, product
from math import inf
from typing import Any, cast

import numpy as np
import pytest

from optimizer.search.bound import Boxes, StageBoxes
from optimizer.search.fit import Prospect
from optimizer.search.index import PairIndex
from optimizer.search.limits import Meter
from optimizer.search.pairs import StagePairs
from optimizer.search.stock import StageStock
from optimizer.search.tuples import (
    Ceiling,
    Promise,
    StageRules,
    _allowed,
    _block_ends,
    _blocks,
    _build_order,
    _Partial,
    _rims_hold,
    _Step,
    stage_tuples,
)


@dataclass(frozen=True)
class Case:
    """A few pairs with what ties them."""

    index: PairIndex
    rules: StageRules
    boxes: Boxes


def few_pairs(rng: np.random.Generator, count: int, *, places: int = 0) -> StagePairs:
    """Return pairs of two belts and sizes on a grid, so that many of them may stand together."""
    driver, driven = rng.choice(np.arange(80.0, 141, 10), count), rng.choice(np.arange(100.0, 161, 10), count)
    near = rng.choice(np.arange(300.0, 306), count)
    belt = rng.integers(0, 2, count).astype(np.int16)
    ones, zeros = np.ones(count), np.zeros(count, dtype=np.int8)
    place = rng.integers(-1, places, count) if places else np.full(count, -1)
    return StagePairs(
        driver_mm=driver,
        driven_mm=driven,
        driver_source=zeros,
        driven_source=zeros,
        place=place.astype(np.int16),
        variant=(rng.integers(0, 2, count) if places else np.zeros(count)).astype(np.int16),
        belt=belt,
        window_mm=np.array([2.0, 3.0])[belt],
        scale_low=ones,
        scale_high=ones,
        centre_low=near,
        centre_high=near + rng.choice([0.0, 1.0], count),
        log_ratio=np.log(driver / driven) + rng.choice([0.0, 0.01], count),
        entering=rng.uniform(6.0, 8.0, count),
        leaving=rng.uniform(6.5, 8.5, count),
        disc_mm=driver,
        timber_mm3=driver * 100,
    )


def a_case(seed: int, offsets: tuple[int, ...]) -> Case:
    """Return a drawn case; each of the rules is there in some of them."""
    rng = np.random.default_rng(seed)
    places = bool(rng.random() < 0.3)
    count = len(offsets)
    many = 14 if count > 2 else 26
    index = PairIndex.of(few_pairs(rng, many, places=count if places else 0))
    middle = np.linspace(-0.4, 0.3, count)
    place = np.column_stack([middle - rng.uniform(0.1, 0.5, count), middle + rng.uniform(0.1, 0.5, count)])
    rise = np.column_stack([np.zeros(count), 0.15 * np.array(offsets) + 0.5])
    ratio = (float(rng.uniform(0.0, 0.1)), float(rng.uniform(0.2, 0.4)))
    boxes = Boxes(inf, float(rng.choice([0.1, 0.25, 0.6])), ratio, (-9.0, 9.0), (-9.0, 9.0), (StageBoxes(place, rise),))
    uses = rng.integers(0, 2, (many, 2))
    rules = StageRules(
        0,
        offsets,
        bool(rng.random() < 0.5),
        bool(rng.random() < 0.5),
        float(rng.choice([0.0, 10.0, 20.0])),
        float(rng.choice([0.0, 10.0, 20.0])),
        entering=float(rng.choice([-inf, 6.3, 7.0])),
        leaving=float(rng.choice([-inf, 6.8])),
        timber_most=float(rng.choice([inf, 10_500.0 * count])),
        stock=StageStock(uses, np.array([1, count])) if rng.random() < 0.3 else None,
    )
    return Case(index, rules, boxes)


def is_kept(case: Case, rows: tuple[int, ...]) -> bool:
    """Tell whether pairs, slowest position first, keep every rule of the stage and lie within the boxes."""
    if not stands_together(case.index.pairs, rows) or not runs_as_a_cone(case, rows):
        return False
    low, high = span_of(case, rows)
    return low <= high and lies_in_the_boxes(case, rows) and keeps_the_limits(case, rows)


def stands_together(pairs: StagePairs, rows: tuple[int, ...]) -> bool:
    """Tell whether pairs are of one belt and run, within its window, where they must stand, the ratios rising."""
    if len({(int(pairs.belt[r]), int(pairs.variant[r])) for r in rows}) > 1:
        return False
    if any(pairs.place[r] not in (-1, n) for n, r in enumerate(rows)):
        return False
    apart = max(pairs.centre_low[r] for r in rows) - min(pairs.centre_high[r] for r in rows)
    rising = all(pairs.log_ratio[b] > pairs.log_ratio[a] + 1e-9 for a, b in pairwise(rows))
    return bool(apart <= pairs.window_mm[rows[0]] and rising)


def runs_as_a_cone(case: Case, rows: tuple[int, ...]) -> bool:
    """Tell whether the sizes of a cone are equal or rise by enough, any two of them."""
    pairs, rules = case.index.pairs, case.rules
    for asked, sizes, rise in (
        (rules.driver_cone, [pairs.driver_mm[r] for r in rows], rules.driver_rise_mm),
        (rules.driven_cone, [-pairs.driven_mm[r] for r in rows], rules.driven_rise_mm),
    ):
        if asked and any(b != a and b - a < max(rise, 1e-9) for a, b in combinations(sizes, 2)):
            return False
    return True


def lies_in_the_boxes(case: Case, rows: tuple[int, ...]) -> bool:
    """Tell whether every ratio, and its rise over the first, lies within its span."""
    (boxes,) = case.boxes.stages
    x = [float(case.index.pairs.log_ratio[r]) for r in rows]
    spans = zip(x, boxes.place.tolist(), boxes.rise.tolist(), strict=True)
    return all(low <= at <= high and least <= at - x[0] <= most for at, (low, high), (least, most) in spans)


def keeps_the_limits(case: Case, rows: tuple[int, ...]) -> bool:
    """Tell whether rims stand the speeds, and timber and what is in hand go round."""
    pairs, rules = case.index.pairs, case.rules
    if any(pairs.leaving[r] < rules.leaving or pairs.entering[r] < rules.entering for r in rows):
        return False
    if any(pairs.leaving[r] < rules.entering + pairs.log_ratio[rows[-1]] for r in rows[:-1]):
        return False
    if len(rows) > 1 and sum(pairs.timber_mm3[r] for r in rows) > rules.timber_most:
        return False
    return rules.stock is None or bool((rules.stock.uses[list(rows)].sum(axis=0) <= rules.stock.limit).all())


def span_of(case: Case, rows: tuple[int, ...], spread: float | None = None) -> tuple[float, float]:
    """Return the span of ln φ at which no two positions are farther off than the spread."""
    offsets, boxes = case.rules.offsets, case.boxes
    spread = boxes.spread if spread is None else spread
    low, high = boxes.ratio
    for a, b in combinations(range(len(rows)), 2):
        rise = float(case.index.pairs.log_ratio[rows[b]] - case.index.pairs.log_ratio[rows[a]])
        away = offsets[b] - offsets[a]
        low, high = max(low, (rise - spread) / away), min(high, (rise + spread) / away)
    return low, high


def everything() -> Boxes:
    """Return boxes of two positions that leave nothing out."""
    spans = np.full((2, 2), [-9.0, 9.0])
    return Boxes(inf, 9.0, (0.0, 9.0), (-9.0, 9.0), (-9.0, 9.0), (StageBoxes(spans, spans),))


def told(case: Case, promise: Promise | None = None) -> dict[tuple[int, ...], tuple[float, float]]:
    """Return the choices that are told, each with its span of ln φ."""
    found: dict[tuple[int, ...], tuple[float, float]] = {}
    for block in stage_tuples(case.index, case.rules, case.boxes, Meter(), promise):
        assert len(block)
        for rows, low, high in zip(block.rows.tolist(), block.ratio_low, block.ratio_high, strict=True):
            assert tuple(rows) not in found
            found[tuple(rows)] = (float(low), float(high))
    return found


OFFSETS: list[tuple[int, ...]] = [(0,), (0, 1), (0, 1, 2), (0, 3), (0, 2, 4)]


@pytest.mark.parametrize("seed", range(30))
def test_choices_are_all_those_that_keep_the_rules(seed: int) -> None:
    """Of a few pairs just those choices are told that keep belt, cone, boxes and limits, with their spans of ln φ."""
    case = a_case(seed, OFFSETS[seed % 5])
    every = product(range(len(case.index.pairs)), repeat=len(case.rules.offsets))
    expected = {rows: span_of(case, rows) for rows in every if is_kept(case, rows)}
    found = told(case)
    assert set(found) == set(expected)
    for rows, span in found.items():
        assert span == pytest.approx(expected[rows], abs=1e-11)


def test_enough_choices_are_told_and_enough_are_not() -> None:
    """Of the cases above most have choices."""
    assert sum(bool(told(a_case(seed, OFFSETS[seed % 5]))) for seed in range(0, 30, 3)) >= 4


@pytest.mark.parametrize("seed", range(8))
def test_a_promise_leaves_out_what_is_beyond_its_ceiling_and_tells_the_rest_in_order(seed: int) -> None:
    """The spread of a design worth having is twice J over its weight; what is left is told, the best bound first."""
    case = a_case(100 + seed, ((0, 1, 2), (0, 3))[seed % 2])
    weights = ((1.0, 1.0), (0.5, 2.0), (1.0, 0.0))[seed % 3]
    series = cast(Any, _Series(weights))
    prospect = Prospect(series, (0.0, 0.1), (0.2, 0.3), (0.15, 0.2), 2.0)
    ceiling = 0.5
    most = inf if seed % 4 else 0.4
    offsets = case.rules.offsets
    boxes = replace(
        case.boxes, most=most, spread=1.2, stages=(StageBoxes(*[np.full((len(offsets), 2), [-9.0, 9.0])] * 2),)
    )
    case = Case(case.index, StageRules(0, offsets, False, False, 0.0, 0.0), boxes)
    spread = min(case.boxes.spread, 2 * ceiling / weights[1]) if weights[1] else case.boxes.spread
    narrow = replace(case, boxes=replace(case.boxes, spread=spread))
    expected = {}
    for rows in product(range(len(case.index.pairs)), repeat=len(case.rules.offsets)):
        if is_kept(narrow, rows):
            least = float(prospect.least_j(case.rules.offsets, case.index.pairs.log_ratio[[rows]])[0])
            if least <= min(ceiling, most):
                expected[rows] = least
    found = told(case, Promise(prospect, Ceiling(ceiling)))
    assert set(found) == set(expected)
    values = [expected[rows] for rows in found]
    # of more positions what has fewer of them comes in this order
    assert values == sorted(values) or len(case.rules.offsets) > 2
    assert seed == 2 or len(values) > 4


class _Series:
    """What a promise asks of the rules of a series."""

    def __init__(self, weights: tuple[float, float]) -> None:
        self.weights, self.speeds, self.low, self.high, self.base = weights, 9, -0.3, 0.7, 0.0


@pytest.mark.parametrize("seed", range(6))
def test_blocks_make_no_difference_to_the_choices(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cut into blocks of a row, of a few, the same choices are told; one block spreads to no more than it may."""
    case = a_case(seed, (0, 1, 2))
    whole = told(case)
    for first, most in ((1, 1), (2, 9), (5, 5)):
        monkeypatch.setattr("optimizer.search.tuples.FIRST_BLOCK", first)
        monkeypatch.setattr("optimizer.search.tuples.BLOCK", most)
        assert told(case) == whole


def test_blocks_are_short_first_and_hold_every_range_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of 8 and more choices each comes in one block; blocks end with the choice that passes 4, 12, 20, 28 rows."""
    monkeypatch.setattr("optimizer.search.tuples.FIRST_BLOCK", 4)
    monkeypatch.setattr("optimizer.search.tuples.BLOCK", 8)
    assert _block_ends(25).tolist() == [4, 12, 20, 28]
    assert _block_ends(4).tolist() == [4] and _block_ends(5).tolist() == [4, 12]
    rng = np.random.default_rng(3)
    pairs = few_pairs(rng, 60)
    index = PairIndex.of(pairs)
    wide = everything()
    step = _Step(index, StageRules(0, (0, 1), False, False, 0.0, 0.0), wide, {}, Meter(), None)
    count = 60
    rows = np.arange(count)
    held = index.pairs
    partial = _Partial(
        (0,), rows[:, None], np.zeros(count), np.full(count, 9.0), held.centre_high, held.centre_low, np.zeros(count)
    )
    ranges = index.ranges(
        index.group,
        (held.centre_low - held.window_mm, held.centre_high + held.window_mm),
        (np.full(count, -9.0), np.full(count, 9.0)),
    )
    counts = np.bincount(ranges[0], weights=ranges[2] - ranges[1], minlength=count)
    seen: list[int] = []
    ends = _block_ends(int(counts.sum()))
    done = 0.0
    for number, (part, (asked, start, stop)) in enumerate(_blocks(step, partial, 1)):
        own = part.rows[:, 0].tolist()
        seen += own
        spread = np.bincount(asked, weights=stop - start, minlength=len(own))
        assert spread.tolist() == [counts[row] for row in own]
        done += float(spread.sum())
        before = done - float(counts[own[-1]])
        # the block ends with the choice whose rows pass the next end
        assert any(before < end <= done for end in ends) or done == counts.sum()
        assert number or before < 4 <= done
    assert seen == np.flatnonzero(counts).tolist()
    assert done == counts.sum()
    # a choice with no more than the ceiling to come is not looked at again
    promise = Promise(Prospect(cast(Any, _Series((1.0, 0.0))), (0, 0), (0, 0), (0, 0), 0.0), Ceiling(0.5))
    some = replace(partial, least_j=np.where(rows % 2 == 0, 0.5, 0.6))
    kept = [row for part, _ in _blocks(replace(step, promise=promise), some, 1) for row in part.rows[:, 0].tolist()]
    assert kept == [row for row in seen if row % 2 == 0]


def test_every_row_that_is_looked_at_is_counted() -> None:
    """Of two positions: the rows of all ranges that are asked for, whatever becomes of them."""
    index = PairIndex.of(few_pairs(np.random.default_rng(8), 26))
    rules = StageRules(0, (0, 1), False, False, 0.0, 0.0)
    wide = everything()
    held = index.pairs
    asked = index.ranges(
        index.group,
        (held.centre_low - held.window_mm, held.centre_high + held.window_mm),
        (held.log_ratio - 9.0, held.log_ratio + 9.0),
    )
    meter = Meter()
    list(stage_tuples(index, rules, wide, meter))
    assert meter.examined == int((asked[2] - asked[1]).sum()) > 26


@pytest.mark.parametrize(
    ("offsets", "order"),
    [
        ((0, 1, 2, 3, 4, 5), [5, 2, 3, 1, 4]),
        ((0, 4, 8), [2, 1]),
        ((0, 1, 2, 3, 4, 5, 6), [6, 3, 1, 4, 2, 5]),
        ((0, 1, 2, 3, 4, 5, 6, 7, 8), [8, 4, 2, 6, 1, 3, 5, 7]),
    ],
)
def test_the_widest_gap_is_halved_first_the_slowest_of_equal_ones(offsets: tuple[int, ...], order: list[int]) -> None:
    """The last, then the middle of the widest gap between positions chosen already, by hand."""
    assert _build_order(offsets) == order


def test_limits_just_met_let_a_pair_stand() -> None:
    """Speeds of exactly what is asked, the position it is kept for, enough in hand, the slowest that is there."""
    pairs = replace(
        few_pairs(np.random.default_rng(1), 4),
        leaving=np.array([7.0, 7.0, 7.1, 6.9]),
        entering=np.array([6.0, 6.1, 6.0, 6.5]),
        place=np.array([-1, 0, 1, 0], dtype=np.int16),
        log_ratio=np.array([-0.4, -0.2, -0.1, 0.0]),
        belt=np.zeros(4, dtype=np.int16),
    )
    index = cast(Any, _Index(pairs))
    plain = StageRules(0, (0, 1), False, False, 0.0, 0.0)
    assert _allowed(index, plain, 0).tolist() == [True, True, False, True]
    assert _allowed(index, plain, 1).tolist() == [True, False, True, False]
    assert _allowed(index, replace(plain, leaving=7.0), 0).tolist() == [True, True, False, False]
    assert _allowed(index, replace(plain, leaving=7.0 + 1e-6), 0).tolist() == [False] * 4
    assert _allowed(index, replace(plain, leaving=6.9), 0).tolist() == [True, True, False, True]
    assert _allowed(index, replace(plain, entering=6.0), 0).tolist() == [True, True, False, True]
    assert _allowed(index, replace(plain, entering=6.0 + 1e-6), 0).tolist() == [False, True, False, True]
    assert _allowed(index, replace(plain, entering=6.5), 0).tolist() == [False, False, False, True]
    stock = StageStock(np.array([[0, 2], [1, 1], [0, 0], [2, 0]]), np.array([1, 1]))
    assert _allowed(index, replace(plain, stock=stock), 0).tolist() == [False, True, False, False]
    for fixed, expected in ((False, [True, True, False, False]), (True, [True, True, False, True])):
        # drivers that must turn at 6.4, 6.2, 6.1, 6.01 at least before shafts of which the slowest is 6.0
        carrying = _Carrying(np.array([6.4, 6.2, 6.1, 6.01]), fixed)
        rules = replace(plain, slowest=6.0, carrying=cast(Any, carrying))
        assert _allowed(index, rules, 0).tolist() == expected
        # of the second position only what may stand there
        assert _allowed(index, rules, 1).tolist() == [False, False, True, False]


class _Index:
    """Pairs alone."""

    def __init__(self, pairs: StagePairs) -> None:
        self.pairs = pairs


class _Carrying:
    """Least speeds of the driver at which pairs carry what they must at the first position."""

    def __init__(self, least: Any, fixed: bool) -> None:
        self.slow, self.fixed = [(least, least + 1)], fixed

    def may_stand(self, position: int) -> Any:
        return np.array([position == 0, True, True, True])


def test_rims_stand_the_speed_of_the_fastest_position() -> None:
    """A shaft that enters at 6.5 turns at 6.5 plus the last ratio: rims for just that do, others do not."""
    pairs = replace(
        few_pairs(np.random.default_rng(1), 3), leaving=np.array([7.0, 6.9, 7.1]), log_ratio=np.array([0.1, 0.5, 0.6])
    )
    step = cast(
        Any,
        _Step(
            cast(Any, _Index(pairs)),
            StageRules(0, (0, 1), False, False, 0.0, 0.0, entering=6.5),
            *[cast(Any, None)] * 4,
        ),
    )
    assert _rims_hold(step, np.array([0, 1, 2]), np.array([1, 1, 1])).tolist() == [True, False, True]
    assert _rims_hold(step, np.array([0, 2, 2]), np.array([2, 2, 0])).tolist() == [False, True, True]
