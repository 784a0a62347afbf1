"""Pairs by belt, cell of centre distance and ratio: the order, the answers, the ties, each against looking at all."""

from __future__ import annotations

from math import floor, inf

import numpy as np
import pytest

from optimizer.search.index import ROUNDING, PairIndex, spread_ranges
from optimizer.search.pairs import StagePairs
from tests.unit.search.made_up import made_up_pairs


@pytest.mark.parametrize(
    ("windows", "near", "cell"),
    [
        # the widest window and the widest span together
        ((4.0, 6.0), (300.0, 420.0), "windows"),
        # a 400th of what the middles span, where windows are narrow
        ((0.0, 0.0), (300.0, 9300.0), "reach"),
        # a thousandth of a millimetre at the least
        ((0.0, 0.0), (300.0, 300.0), "least"),
    ],
)
def test_pairs_are_sorted_by_belt_cell_and_ratio(
    windows: tuple[float, float], near: tuple[float, float], cell: str
) -> None:
    """Every pair has a key of its own belt, variant and cell, which sorts; nothing of it is lost."""
    rng = np.random.default_rng(1)
    low = rng.uniform(*near, 60)
    wide = rng.uniform(0, 5, 60) if cell == "windows" else np.zeros(60)
    belts = rng.integers(0, 2, 60).astype(np.int16)
    columns = {"belt": belts, "window_mm": np.array(windows)[belts], "centre_low": low, "centre_high": low + wide}
    pairs = made_up_pairs(2, 60, **columns)
    middle = low + wide / 2
    index = PairIndex.of(pairs.take(np.arange(60)))
    breadths = {"windows": max(windows) + float(wide.max()), "reach": float(np.ptp(middle)) / 400, "least": 1e-3}
    assert index.cell_mm == pytest.approx(breadths[cell])
    assert index.half_width_mm == pytest.approx(float(wide.max()) / 2)
    assert index.nearest_mm == float(middle.min())
    assert (index.least, index.span) == pytest.approx((pairs.log_ratio.min(), np.ptp(pairs.log_ratio) + 1))
    assert index.cells == max(1, floor(np.ptp(middle) / index.cell_mm + 1e-12) + 1)

    def place(row: int) -> tuple[int, int, float]:
        number = min(floor((middle[row] - index.nearest_mm) / index.cell_mm), index.cells - 1)
        return int(belts[row] * 2 + pairs.variant[row]), number, float(pairs.log_ratio[row])

    order = sorted(range(60), key=place)
    assert index.pairs.timber_mm3.tolist() == pairs.timber_mm3[order].tolist()
    assert index.group.tolist() == [place(row)[0] for row in order]
    for key, row in zip(index.key, order, strict=True):
        group, number, ratio = place(row)
        assert key == pytest.approx((group * index.cells + number) * index.span + ratio - index.least + 0.25)


@pytest.mark.parametrize("seed", range(4))
def test_ranges_hold_the_cells_asked_for_and_their_ratios_only(seed: int) -> None:
    """A row is in a query's ranges, once, where its group, its cell and its ratio are those asked for."""
    index = PairIndex.of(made_up_pairs(seed, 120))
    pairs, rng = index.pairs, np.random.default_rng(seed)
    group = rng.integers(0, 4, 40)
    near, ratio = rng.uniform(280, 430, 40), rng.uniform(-1.3, 1.1, 40)
    far, most = near + rng.uniform(0, 40, 40), ratio + rng.uniform(-0.02, 0.6, 40)
    ranges = index.ranges(group, (near, far), (ratio, most))
    assert np.all(ranges[1] < ranges[2])
    asked, rows = spread_ranges(*ranges)
    assert len(set(zip(asked.tolist(), rows.tolist(), strict=True))) == rows.size
    middle = (pairs.centre_low + pairs.centre_high) / 2

    def cell(centre_mm: float) -> int:
        return min(max(floor((centre_mm - index.nearest_mm) / index.cell_mm - 1e-9), 0), index.cells - 1)

    for query in range(40):
        first, last = cell(near[query] - index.half_width_mm), cell(far[query] + index.half_width_mm)
        expected = [
            row
            for row in range(len(pairs))
            if index.group[row] == group[query]
            and first <= cell(middle[row] + 1e-6) <= last
            and ratio[query] - ROUNDING <= pairs.log_ratio[row] <= most[query] + ROUNDING
        ]
        assert sorted(rows[asked == query].tolist()) == expected
    assert rows.size > 20


def test_a_ratio_at_the_edge_of_a_query_is_found() -> None:
    """Asked for just its ratio, or a rounding beside it, a pair is there; asked for nothing there is none."""
    index = PairIndex.of(made_up_pairs(7, 30))
    pairs = index.pairs
    centre = (pairs.centre_low, pairs.centre_high)
    for shift, there in ((0.0, True), (0.9e-8, True), (-0.9e-8, True), (3e-8, False), (-3e-8, False)):
        at = pairs.log_ratio + shift
        asked, rows = spread_ranges(*index.ranges(index.group, centre, (at, at)))
        found = set(zip(asked.tolist(), rows.tolist(), strict=True))
        assert all(((row, row) in found) is there for row in range(30))
    reversed_ = (pairs.log_ratio + 3e-8, pairs.log_ratio - 3e-8)
    assert index.ranges(index.group, centre, reversed_)[0].size == 0
    nothing = np.empty(0)
    assert [part.size for part in index.ranges(np.empty(0, int), (nothing, nothing), (nothing, nothing))] == [0, 0, 0]


@pytest.mark.parametrize(("far", "windows"), [(420.0, (4.0, 6.0)), (309.0, (0.5, 0.4)), (9000.0, (6.0, 3.0))])
def test_ties_lie_between_pairs_that_may_and_pairs_that_just_may_not_stand_together(
    far: float, windows: tuple[float, float]
) -> None:
    """No less than of any two pairs of a belt within its window, no more than within two strips beyond the widest.

    A strip is a sixteenth of the widest window and span, or a 4000th of what the distances span.
    """
    factors = (0.0, 0.25, 0.5, 1.0, 2.0, 3.0)
    for seed in range(12):
        rng = np.random.default_rng(seed)
        near, belts = rng.uniform(300, far, 90), rng.integers(0, 2, 90).astype(np.int16)
        wide = rng.uniform(0, max(windows) / 3, 90)
        columns = {"belt": belts, "centre_low": near, "centre_high": near + wide}
        columns |= {"window_mm": np.array(windows)[belts], "variant": np.zeros(90, dtype=np.int16)}
        index = PairIndex.of(made_up_pairs(seed, 90, **columns))
        pairs = index.pairs
        low, high = pairs.centre_low, pairs.centre_high
        gap = np.maximum(low[:, None] - high[None, :], low[None, :] - high[:, None])
        same = index.group[:, None] == index.group[None, :]
        window = max(windows) + 2 * index.half_width_mm
        strip = max(window / 16, float(np.ptp(low)) / 4000)
        begin = np.abs(low[:, None] - low[None, :])
        ties = index.ties(factors)
        assert tuple(ties) == factors
        for factor, most in ties.items():
            values = pairs.log_ratio[:, None] - factor * pairs.log_ratio[None, :]
            assert values[same & (gap <= pairs.window_mm[:, None])].max() <= most
            assert most <= values[same & (begin <= window + 2 * strip)].max() + 2e-9


def test_pairs_all_at_one_distance_tie_belt_by_belt() -> None:
    """With one centre distance and no window the tie is that of each belt by itself; without pairs there is none."""
    columns = {"centre_low": np.full(20, 350.0), "centre_high": np.full(20, 350.0), "window_mm": np.zeros(20)}
    index = PairIndex.of(made_up_pairs(3, 20, **columns))
    ratios = [index.pairs.log_ratio[index.group == group] for group in np.unique(index.group)]
    assert len(ratios) == 4
    assert index.ties((2.0,))[2.0] == pytest.approx(max(float(r.max() - 2 * r.min()) for r in ratios), abs=2e-9)
    assert PairIndex.of(made_up_pairs(3, 0)).ties((1.0,)) == {}


def plain_choices(pairs: StagePairs, positions: int) -> int:
    """Return how many ways there are to fill the positions with pairs of one belt and variant, place by place."""
    total = 0
    for group in {(int(b), int(v)) for b, v in zip(pairs.belt, pairs.variant, strict=True)}:
        own = [
            int(place)
            for b, v, place in zip(pairs.belt, pairs.variant, pairs.place, strict=True)
            if (int(b), int(v)) == group
        ]
        ways = 1
        for position in range(positions):
            ways *= sum(place in (-1, position) for place in own)
        total += ways
    return total


def test_choices_are_counted_place_by_place() -> None:
    """Pairs of kept steps stand at their own place only, all others at any."""
    place = np.random.default_rng(4).integers(-1, 3, 60).astype(np.int16)
    pairs = made_up_pairs(5, 60, place=place)
    index = PairIndex.of(pairs.take(np.arange(60)))
    assert index.choices(3) == plain_choices(pairs, 3) > 0
    assert PairIndex.of(made_up_pairs(5, 0)).choices(3) == 0


def test_what_an_index_says_of_all_its_pairs() -> None:
    """The least speed that any driven shaft stands, the span of ratios, the bytes of all columns and two of its own."""
    pairs = made_up_pairs(6, 30)
    index = PairIndex.of(pairs.take(np.arange(30)))
    assert index.leaving_least == float(pairs.leaving.min())
    assert index.reach == (float(pairs.log_ratio.min()), float(pairs.log_ratio.max()))
    # twelve columns of 8 bytes, two of 1 and three of 2; group and key of 8
    assert index.held_bytes == 30 * (12 * 8 + 2 * 1 + 3 * 2 + 2 * 8)
    empty = PairIndex.of(made_up_pairs(6, 0))
    assert (empty.reach, empty.leaving_least, empty.cells) == ((0.0, 0.0), inf, 1)
