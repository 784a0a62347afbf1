"""Cuts that touch what they bound, cells that hold just what is asked for."""

from __future__ import annotations

from math import inf, log, pi
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from optimizer.search.chains import Chain, _Table
from optimizer.search.index import PairIndex
from optimizer.search.pairs import lay_belts
from optimizer.search.reach import Cut, Reach, _carrying_cuts, _pair_cuts
from optimizer.search.tuples import _build_order, _cone_holds
from tests.unit.search.machines import stage_of, two_stage_machine
from tests.unit.search.sorted_table import sorted_chain


def held(cut: Cut, first: float, last: float, before: float, slowest: float = 0.0) -> float:
    """Return how much a cut leaves, 0 where it is just met."""
    return cut.most - cut.first * first - cut.last * last - cut.before * before - cut.slowest * slowest


def test_limits_of_speed_cut_as_worked_out_by_hand() -> None:
    """Motor 1420 rpm, cones 75 to 210 mm, belts at most 10 m/s, rims 12 m/s on the driven, shafts 4000 rpm.

    The smallest driven of 75 mm lets the last ratio reach that of the largest driver that the belt's speed allows,
    10·60000/(π·1420) = 134.5 mm: ln(134.5/75). The driven shaft at 4000 rpm has ln(4000/1420). A driven step as large
    as the first driver of 75 mm over the first ratio keeps π·b·n <= 12 m/s: ln(12·60000/(π·75·1420)).
    """
    problem = two_stage_machine()
    stage = problem.stages[0]
    driven = stage.driven.model_copy(update={"rim_speed_m_s": 12.0})
    stage = stage.model_copy(update={"belt_speed_m_s": 10.0, "driven_rpm": 4000.0, "driven": driven})
    cuts = Reach.of_limits(problem.model_copy(update={"stages": (stage, problem.stages[1])})).cuts
    first = [cut for cut in cuts if cut.stage == 0]
    rims, belt, shaft = first
    assert (rims.first, rims.last, rims.before) == (-1.0, 1.0, 1.0)
    assert rims.most == pytest.approx(log(12 * 60_000 / (pi * 75 * 1420)))
    assert (belt.first, belt.last, belt.before) == (0.0, 1.0, 1.0)
    assert belt.most == pytest.approx(log(10 * 60_000 / (pi * 1420) / 75))
    assert (shaft.first, shaft.last, shaft.before) == (0.0, 1.0, 1.0)
    assert shaft.most == pytest.approx(log(4000 / 1420))
    # belts of 30 m/s, as the second stage has them
    (second,) = [cut for cut in cuts if cut.stage == 1]
    assert second.most == pytest.approx(log(30 * 60_000 / (pi * 1420) / 75))


def test_rims_that_lie_inside_the_pitch_line_cut_less() -> None:
    """Rims under a flat belt of 3 mm run 3 mm inside the pitch line on diameters: least steps of 75 mm at 72 mm.

    The pitch line of a driven rim held to 12 m/s may run at 12·75/72 m/s, the driver's, held to 10 m/s, at 10·75/72;
    rims that lie outside run faster than the pitch line, by an unknown share of their size, and cut as they did.
    """
    problem = two_stage_machine()
    stage = problem.stages[0]
    for shift_mm, share in ((-3.0, 75 / 72), (3.0, 1.0)):
        driven = stage.driven.model_copy(update={"rim_speed_m_s": 12.0, "outside_shift_mm": shift_mm})
        driver = stage.driver.model_copy(update={"rim_speed_m_s": 10.0, "outside_shift_mm": shift_mm})
        made = stage.model_copy(update={"driver": driver, "driven": driven, "driven_rpm": inf})
        cuts = Reach.of_limits(problem.model_copy(update={"stages": (made, problem.stages[1])})).cuts
        least, most = (cut for cut in cuts if cut.stage == 0)
        assert least.most == pytest.approx(log(12 * share * 60_000 / (pi * 75 * 1420)))
        assert most.most == pytest.approx(log(10 * share * 60_000 / (pi * 1420) / 75))


def test_cuts_of_pairs_touch_the_pairs() -> None:
    """Each cut of belts and rims holds for all pairs at the greatest speed they stand, and is just met by one."""
    stage = stage_of(0, (75.0, 210.0, 15.0), (1120.0, 1250.0), 5.0)
    driven = stage.driven.model_copy(update={"rim_speed_m_s": 20.0})
    index = PairIndex.of(lay_belts(stage.model_copy(update={"belt_speed_m_s": 12.0, "driven": driven}), positions=3))
    pairs, entering = index.pairs, 7.0
    speeds = [cut for cut in _pair_cuts(index, 0, entering) if cut.before]
    assert len(speeds) == 6
    for cut in speeds:
        if cut.last == cut.before and cut.first == -1.0:
            # the shaft it drives as fast as the pair stands: before + last is what is left of it
            left = [held(cut, x, out - entering, 0.0) for x, out in zip(pairs.log_ratio, pairs.leaving, strict=True)]
        else:
            left = [held(cut, 0.0, x, into - entering) for x, into in zip(pairs.log_ratio, pairs.entering, strict=True)]
        assert min(left) == pytest.approx(0.0, abs=2e-9)


def test_ties_of_first_and_last_positions_touch_some_two_pairs() -> None:
    """The tie of one factor is met by two pairs of a belt near enough to stand together, within a cell's breadth."""
    index = PairIndex.of(lay_belts(stage_of(0, (75.0, 210.0, 15.0), (1120.0,), 5.0), positions=3))
    pairs = index.pairs
    for factor, most in index.ties((0.5, 1.0, 2.0)).items():
        values = pairs.log_ratio[None, :] - factor * pairs.log_ratio[:, None]
        apart = np.maximum(
            pairs.centre_low[:, None] - pairs.centre_high[None, :],
            pairs.centre_low[None, :] - pairs.centre_high[:, None],
        )
        assert float(values[apart <= 5.0].max()) <= most + 1e-9
        assert most <= float(values.max()) + 1e-9


@pytest.mark.parametrize("late", [0.0, 0.7])
def test_cuts_of_carrying_touch_what_pairs_carry(late: float) -> None:
    """Cuts of grip hold for every pair anywhere in its span of speeds, and one pair meets each of them at an end.

    What is switched before the stage makes its driver's slowest speed `late` lower in logarithms.
    """
    rng = np.random.default_rng(8)
    ratios = rng.uniform(-1, 1, 12)
    low = rng.uniform(5, 6, 12)
    spans = (low, low + rng.uniform(0.1, 1.5, 12))
    stage = cast(
        Any, SimpleNamespace(pairs=SimpleNamespace(log_ratio=ratios), slow=[spans, spans], fast=[spans, spans])
    )
    cuts = list(_carrying_cuts(stage, 0, (5.5 - late, 5.5)))
    assert len(cuts) == 16
    for cut in cuts:
        left = []
        for x, *ends in zip(ratios, *spans, strict=True):
            for speed in ends:
                slow = cut.slowest != 0
                change = speed - 5.5 + (late if slow else 0.0)
                left.append(held(cut, x, x, 0.0 if slow else change, change if slow else 0.0))
        assert min(left) == pytest.approx(0.0, abs=2e-9)


def test_nothing_that_carries_gives_no_cut() -> None:
    """Spans the wrong way round hold nothing; spans without ends cut nothing."""
    ratios = np.zeros(2)
    for spans in ((np.full(2, inf), np.full(2, -inf)), (np.full(2, -inf), np.full(2, inf))):
        carrying = SimpleNamespace(pairs=SimpleNamespace(log_ratio=ratios), slow=[spans], fast=[spans])
        assert list(_carrying_cuts(cast(Any, carrying), 0, (5.5, 5.5))) == []


def random_chain(count: int) -> Chain:
    """Return choices of many first ratios and spans of ln φ."""
    rng = np.random.default_rng(6)
    low = rng.uniform(0.1, 0.6, count)
    zeros = np.zeros(count)
    return Chain(
        rows=(np.arange(count)[:, None],),
        first=rng.uniform(-1, 1, count),
        last=zeros,
        ratio_low=low,
        ratio_high=low + rng.uniform(0, 0.05, count),
        timber_mm3=zeros,
        entering=zeros,
        leaving=zeros,
    )


def test_a_table_gives_all_that_is_asked_for_and_none_of_another_first_ratio() -> None:
    """Rows in a query's ranges have its first ratios, and none whose ln φ touches it is missing, none comes twice."""
    table = _Table.of(random_chain(400))
    chain = sorted_chain(table)
    rng = np.random.default_rng(7)
    first, ratio = rng.uniform(-1.2, 1, 60), rng.uniform(0.15, 0.5, 60)
    asked, start, stop = table.ranges((first, first + 0.2), (ratio, ratio + 0.03))
    for query in range(60):
        rows = [row for k in np.flatnonzero(asked == query) for row in range(start[k], stop[k])]
        assert len(rows) == len(set(rows))
        inside = (chain.first >= first[query]) & (chain.first <= first[query] + 0.2)
        touching = (chain.ratio_low <= ratio[query] + 0.03) & (chain.ratio_high >= ratio[query])
        assert set(np.flatnonzero(inside & touching)) <= set(rows) <= set(np.flatnonzero(inside))
        near = np.abs((chain.ratio_low + chain.ratio_high) / 2 - ratio[query] - 0.015) <= 0.015 + 2 * table.width
        assert set(rows) <= set(np.flatnonzero(inside & near))


def test_a_table_of_nothing_answers_nothing() -> None:
    """Without choices every query has no range."""
    asked, start, stop = _Table.of(random_chain(0)).ranges((np.zeros(3), np.ones(3)), (np.zeros(3), np.ones(3)))
    assert (asked.size, start.size, stop.size) == (0, 0, 0)


@pytest.mark.parametrize(
    ("driver", "driven", "holds"),
    [
        ((100, 110), (160, 150), True),
        ((100, 100), (160, 150), True),
        ((100, 101.5), (160, 150), False),
        ((100, 90), (160, 150), False),
        ((100, 110), (160, 160), True),
        ((100, 110), (160, 158.5), False),
        ((100, 110), (160, 170), False),
    ],
)
def test_cones_rise_by_nothing_or_enough(driver: tuple[float, float], driven: tuple[float, float], holds: bool) -> None:
    """Steps of a driver rise, those of a driven fall, by nothing or by 2 mm; either side alone may break it."""
    ones = np.ones(2)
    pairs = SimpleNamespace(
        driver_mm=np.array(driver, float), driven_mm=np.array(driven, float), scale_low=ones, scale_high=ones
    )
    for cones in ((True, True), (True, False), (False, True)):
        rules = SimpleNamespace(driver_cone=cones[0], driven_cone=cones[1], driver_rise_mm=2.0, driven_rise_mm=2.0)
        step = cast(Any, SimpleNamespace(index=SimpleNamespace(pairs=pairs), rules=rules))
        slow, fast = np.array([0]), np.array([1])
        expected = [
            not asked or difference == 0 or difference >= 2
            for asked, difference in zip(cones, (driver[1] - driver[0], driven[0] - driven[1]), strict=True)
        ]
        assert bool(_cone_holds(step, slow, fast, True)[0]) is all(expected)
        assert bool(_cone_holds(step, fast, slow, False)[0]) is all(expected)
        if cones == (True, True):
            assert all(expected) is holds


@pytest.mark.parametrize(
    ("listed", "reach", "holds"),
    [((57, 58), 0.02, False), ((57, 58), 0.06, True), ((57, 57), 0.0, True), ((57, 56), 0.01, False)],
)
def test_cones_that_fall_only_as_their_rays_are_scaled_are_kept(
    listed: tuple[float, float], reach: float, holds: bool
) -> None:
    """A driven step of 57 mm before a ray listed at 58: scaled down by 6 % that is 54.52, which falls by 2 mm."""
    pairs = SimpleNamespace(
        driver_mm=np.array([20.0, 30.0]),
        driven_mm=np.array(listed, float),
        scale_low=np.array([1.0, 1 - reach]),
        scale_high=np.array([1.0, 1 + reach]),
    )
    rules = SimpleNamespace(driver_cone=True, driven_cone=True, driver_rise_mm=2.0, driven_rise_mm=2.0)
    step = cast(Any, SimpleNamespace(index=SimpleNamespace(pairs=pairs), rules=rules))
    assert bool(_cone_holds(step, np.array([0]), np.array([1]), True)[0]) is holds


@pytest.mark.parametrize(
    ("offsets", "order"), [((0,), []), ((0, 1), [1]), ((0, 1, 2), [2, 1]), ((0, 1, 2, 3), [3, 1, 2])]
)
def test_positions_are_chosen_from_the_outermost_inward(offsets: tuple[int, ...], order: list[int]) -> None:
    """After the first comes the last, then the one that halves the widest gap."""
    assert _build_order(offsets) == order
