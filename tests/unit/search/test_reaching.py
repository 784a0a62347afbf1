"""What series can be within the reach of the stages: against trying first ratios, sums and series one by one."""

from __future__ import annotations

from itertools import product
from math import inf, log, pi
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from optimizer.records import BandTarget, Layout, Problem, SideSizes
from optimizer.search.bound import SeriesProgram
from optimizer.search.carrying import Link
from optimizer.search.fit import SeriesRules
from optimizer.search.reach import SAMPLES, Cut, Reach, _bounded, _places, _series, _sums_fit, ideal_series_fits
from tests.unit.search.machines import two_stage_machine


def rules_of(positions: tuple[int, ...], offsets: tuple[tuple[int, ...], ...], **targets: object) -> SeriesRules:
    """Return the rules of a layout, wanted from 250 to 1900 rpm, without bands."""
    problem = two_stage_machine()
    layout = Layout(positions=positions, offsets=offsets)
    stages = tuple(problem.stages[0] for _ in positions)
    wanted = problem.targets.model_copy(update={"bands": (), **targets})
    return SeriesRules.of(problem.model_copy(update={"layout": layout, "stages": stages, "targets": wanted}))


LAYOUTS: list[tuple[tuple[int, ...], tuple[tuple[int, ...], ...]]] = [
    ((2, 3), ((0, 3), (0, 1, 2))),
    ((3, 2), ((0, 1, 2), (0, 3))),
    ((4,), ((0, 1, 2, 3),)),
]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_first_ratios_are_those_at_which_spans_and_cuts_hold(
    layout: tuple[tuple[int, ...], tuple[tuple[int, ...], ...]],
) -> None:
    """A first ratio lies in the span just where every stage's ends keep their spans and all cuts, one by one."""
    rng = np.random.default_rng(12)
    rules = rules_of(*layout)
    count = len(layout[0])
    held = missed = 0
    for _ in range(30):
        spans = [
            (float(low), float(low + wide))
            for low, wide in zip(rng.uniform(-1.5, 0, 2), rng.uniform(1, 3, 2), strict=True)
        ]
        cuts = []
        for _ in range(3):
            first, last, before = rng.choice([-1.0, 0.0, 0.5, 1.0, 2.0], 3).tolist()
            slowest, most = float(rng.choice([0.0, 0.0, 1.0, -1.0])), float(rng.uniform(0, 2.5))
            cuts.append(Cut(int(rng.integers(count)), first, last, before, most, slowest))
        starting, step = rules.base + rng.uniform(-1.5, 0.5, 6), rng.uniform(0.05, 0.4, 6)
        low, high = _places(rules, Reach(spans[:count], cuts), starting, step)
        for n in range(6):
            total = float(starting[n]) - rules.base
            for t in [total] if count == 1 else rng.uniform(-2, 2, 12).tolist():
                starts = [t] if count == 1 else [t, total - t]
                ends = [start + float(step[n]) * offsets[-1] for start, offsets in zip(starts, layout[1], strict=True)]
                holds = all(a <= x and y <= b for (a, b), x, y in zip(spans[:count], starts, ends, strict=True))
                for cut in cuts:
                    before = sum(ends[: cut.stage]) if cut.stage else 0.0
                    slowest = sum(starts[: cut.stage]) if cut.stage else 0.0
                    lies = cut.first * starts[cut.stage] + cut.last * ends[cut.stage]
                    holds &= lies + cut.before * before + cut.slowest * slowest <= cut.most
                assert bool(low[n] <= t <= high[n]) is holds
                held, missed = held + holds, missed + (not holds)
    assert held > 15 and missed > 15


@pytest.mark.parametrize(
    ("slope", "most", "span"),
    [
        (2.0, 1.0, (-3.0, 0.5)),
        (2.0, 9.0, (-3.0, 4.0)),
        (-2.0, 1.0, (-0.5, 4.0)),
        (-2.0, 9.0, (-3.0, 4.0)),
        (0.0, 0.0, (-3.0, 4.0)),
        (0.0, 1.0, (-3.0, 4.0)),
        (0.0, -1.0, (inf, 4.0)),
        (0.5, -1.0, (-3.0, -2.0)),
    ],
)
def test_a_span_is_cut_on_the_side_that_the_slope_says(slope: float, most: float, span: tuple[float, float]) -> None:
    """Of -3 to 4: what is left where slope times t is at most so much, by hand."""
    low, high = _bounded((np.array([-3.0]), np.array([4.0])), slope, np.array([most]))
    assert (float(low[0]), float(high[0])) == span


def test_three_stages_share_the_first_speed() -> None:
    """On a grid of eighths some starts of three stages add up to the first speed just where the sums say so."""
    rng = np.random.default_rng(7)
    rules = rules_of((2, 2, 2), ((0, 4), (0, 2), (0, 1)))
    fitting = 0
    for _ in range(150):
        lows = rng.integers(-8, 4, 3)
        spans = [
            (low / 8, (low + wide) / 8)
            for low, wide in zip(lows.tolist(), rng.integers(3, 16, 3).tolist(), strict=True)
        ]
        step, total = float(rng.integers(1, 4)) / 8, float(rng.integers(-20, 20)) / 8
        ends = [step * offsets[-1] for offsets in rules.offsets]
        starts = [
            [low + n / 8 for n in range(100) if low + n / 8 + end <= high]
            for (low, high), end in zip(spans, ends, strict=True)
        ]
        expected = any(sum(chosen) == total for chosen in product(*starts))
        fitting += expected
        assert _sums_fit(rules, Reach(spans, []), np.array([rules.base + total]), np.array([step])) is expected
    assert 20 < fitting < 130


def test_one_series_of_several_is_enough() -> None:
    """Of two series the first lies beyond the sums; ranges too narrow for the step do for none."""
    rules = rules_of((2, 2, 2), ((0, 4), (0, 2), (0, 1)))
    first, step = rules.base + np.array([9.0, 0.0]), np.array([0.1, 0.1])
    wide = [(-1.0, 1.0)] * 3
    assert _sums_fit(rules, Reach(wide, []), first, step)
    assert not _sums_fit(rules, Reach([(-1.0, -0.7), *wide[1:]], []), first, step)
    assert not _sums_fit(rules, Reach(wide, []), first[:1], step[:1])


def test_series_that_may_be_ideal() -> None:
    """One speed: the middle. Ends that count: from end to end. Else ends on a grid, up to a cap or half beyond them."""
    one = rules_of((1,), ((0,),), lo_rpm=400.0, hi_rpm=900.0)
    assert [values.tolist() for values in _series(one)] == [[pytest.approx(log(600))], [0.0]]
    first, step = _series(rules_of((2, 3), ((0, 3), (0, 1, 2))))
    assert first.tolist() == [pytest.approx(log(250))]
    assert step.tolist() == [pytest.approx(log(1900 / 250) / 5)]
    for miss, wide, limits, ends in (
        (0.1, 0.1, {}, (log(250) - 0.1, log(1900) + 0.1)),
        (9.0, 0.5, {}, (log(250) - 0.5, log(1900) + 0.5)),
        (0.4, 0.4, {"never_below_rpm": 240.0, "never_above_rpm": 2000.0}, (log(240), log(2000))),
    ):
        free = rules_of((2, 3), ((0, 3), (0, 1, 2)), end_weight=0.0, end_miss_most=miss, **limits)
        first, step = _series(free)
        last = first + 5 * step
        assert wide <= 0.5 and first.size == SAMPLES * (SAMPLES - 1) / 2
        assert (float(first.min()), float(last.max())) == pytest.approx(ends)
        grid = np.linspace(*ends, SAMPLES)
        pairs = {(round(a, 9), round(b, 9)) for a, b in product(grid.tolist(), grid.tolist()) if b > a}
        assert {(round(a, 9), round(b, 9)) for a, b in zip(first.tolist(), last.tolist(), strict=True)} == pairs


@pytest.mark.parametrize("layout", [*LAYOUTS[:2], ((1, 3), ((0,), (0, 1, 2)))])
def test_of_one_or_two_stages_an_ideal_series_fits_just_where_the_least_j_is_nothing(
    layout: tuple[tuple[int, ...], tuple[tuple[int, ...], ...]],
) -> None:
    """Where the ends count one series has no miss: it fits where the linear program says so, and only there."""
    rng = np.random.default_rng(2)
    rules = rules_of(*layout)
    fitting = 0
    for _ in range(7):
        spans = [
            (float(a), float(a + wide))
            for a, wide in zip(rng.uniform(-1.4, -0.4, 2), rng.uniform(1.4, 2.8, 2), strict=True)
        ]
        cuts = [Cut(1, 1.0, 1.0, float(rng.choice([0.0, 1.0])), float(rng.uniform(-1.0, 1.5)))]
        for reach in (Reach(spans, []), Reach(spans, cuts)):
            expected = SeriesProgram(rules, reach).least_j < 1e-7
            fitting += expected
            assert ideal_series_fits(rules, reach) is bool(expected)
    assert 1 < fitting < 13


def test_wants_and_least_ratio_decide_of_an_ideal_series_too() -> None:
    """From 250 to 1900 rpm in six speeds 1.5 apart three lie below 600: 250, 375, 563; with more wanted none fits."""
    ratio = (1900 / 250) ** (1 / 5)
    for want, least, fits in ((3, 1.0, True), (4, 1.0, False), (3, ratio - 1e-6, True), (3, ratio + 1e-6, False)):
        bands = (BandTarget(name="slow", low_rpm=250.0, high_rpm=600.0, want=want),)
        rules = rules_of((2, 3), ((0, 3), (0, 1, 2)), bands=bands, ratio_least=least)
        assert ideal_series_fits(rules, None) is fits
        assert ideal_series_fits(rules, Reach([(-9.0, 9.0)] * 2, [])) is fits
    free = rules_of((2, 3), ((0, 3), (0, 1, 2)), end_weight=0.0, ratio_least=ratio + 1e-6)
    assert ideal_series_fits(free, None)
    three = rules_of((2, 2, 2), ((0, 4), (0, 2), (0, 1)))
    assert ideal_series_fits(three, Reach([(-9.0, 9.0)] * 3, []))
    assert not ideal_series_fits(three, Reach([(-9.0, 9.0)] * 3, [Cut(0, 1.0, 0.0, 0.0, 9.0)]))
    assert not ideal_series_fits(three, Reach([(-9.0, 9.0), (0.0, 0.1), (-9.0, 9.0)], []))


def limited(**changes: object) -> Problem:
    """Return two stages that lose speed and are geared, with limits of rims and belts on the second."""
    problem = two_stage_machine()
    first, second = problem.stages
    sizes = {"turned_mm": None, "listed_mm": ()}
    driver = SideSizes(key="stage[1].driver", ready_mm=(90.0, 160.0), rim_speed_m_s=9.0)
    driven = second.driven.model_copy(update={**sizes, "ready_mm": (80.0, 200.0), "rim_speed_m_s": 12.0})
    second = second.model_copy(
        update={"driver": driver, "driven": driven, "slip": 0.02, "gain": 0.5, "belt_speed_m_s": 10.0, **changes}
    )
    first = first.model_copy(update={"gain": 1.3, "belt_speed_m_s": inf})
    return problem.model_copy(update={"stages": (first, second)})


def test_limits_of_speed_count_slip_and_gears() -> None:
    """Its driver at 1420·1.3·0.5 = 923 rpm times what is before: belt 10 and rim 9 m/s, on drivens of 80 mm at least.

    The driven rim of 12 m/s: a driver of 90 mm at least, a share of 0.98 of the speed kept.
    """
    speed = log(1420 * 1.3 * 0.5)
    rims, belt = Reach.of_limits(limited()).cuts
    assert rims[:4] == (1, -1.0, 1.0, 1.0) and belt[:4] == (1, 0.0, 1.0, 1.0)
    assert rims.most == pytest.approx(log(12 * 60_000 / pi / 90 / 0.98) - speed)
    assert belt.most == pytest.approx(log(9 * 60_000 / pi / 80 * 0.98) - speed)
    shaft = Reach.of_limits(limited(driven_rpm=900.0)).cuts[-1]
    assert shaft[:4] == (1, 0.0, 1.0, 1.0) and shaft.most == pytest.approx(log(900) - speed)
    assert len(Reach.of_limits(limited()).cuts) == 2
    # just beyond, so that rounding rules nothing out
    assert 0 < belt.most - (log(9 * 60_000 / pi / 80 * 0.98) - speed) < 1e-8
    assert Reach.of_limits(limited()).spans[1] == pytest.approx((log(90 / 200 * 0.98), log(160 / 80 * 0.98)))


def stage_carrying(ratios: list[float], may: list[list[bool]], *, fixed: bool) -> Any:
    """Return what of a stage's pairs may stand at its positions."""
    pairs = SimpleNamespace(log_ratio=np.array(ratios))
    whole = (np.full(len(ratios), 5.0), np.full(len(ratios), 6.0))
    return SimpleNamespace(
        pairs=pairs,
        most_kw=(0.0,) * len(may),
        may_stand=lambda position: np.array(may[position]),
        fixed=fixed,
        slow=[whole] * len(may),
        fast=[whole] * len(may),
    )


LINKS = (Link(0, (), 0.0), Link(1, (0,), 0.0))
"""Two belts and no switch."""


def test_pairs_that_carry_too_little_at_a_position_do_not_count_for_the_reach() -> None:
    """First the second and third pair may stand, last the third and fourth: the spans and two cuts are theirs."""
    empty: Any = SimpleNamespace(pairs=[], reach=(-3.0, 3.0))
    no, yes = False, True
    one = stage_carrying(
        [-0.9, -0.5, 0.2, 0.7], [[no, yes, yes, no], [yes, yes, yes, yes], [no, no, yes, yes]], fixed=True
    )
    ends = stage_carrying([-0.9, -0.5, 0.2, 0.7], [[no, yes, yes, no], [no, no, yes, no]], fixed=True)
    reach = Reach.of_pairs((empty, empty), (7.0, 7.0), cast(Any, SimpleNamespace(stages=(one, ends), links=LINKS)))
    assert reach.spans == [(-0.9, 0.7), (-0.5, 0.2)]
    lows, highs = reach.cuts[::2], reach.cuts[1::2]
    assert [cut[:4] for cut in lows] == [(0, -1.0, 0.0, 0.0), (1, -1.0, 0.0, 0.0)]
    assert [cut[:4] for cut in highs] == [(0, 0.0, 1.0, 0.0), (1, 0.0, 1.0, 0.0)]
    assert [cut.most for cut in lows] == pytest.approx([0.5, 0.5]) and all(cut.most > 0.5 for cut in lows)
    assert [cut.most for cut in highs] == pytest.approx([0.7, 0.2]) and all(
        cut.most > x for cut, x in zip(highs, (0.7, 0.2), strict=True)
    )
    moving = stage_carrying([-0.9, -0.5], [[yes, yes], [yes, yes]], fixed=False)
    reach = Reach.of_pairs((empty,), (7.0,), cast(Any, SimpleNamespace(stages=(moving,), links=LINKS[:1])))
    assert len(reach.cuts) == 2 + 16
    none = stage_carrying([-0.9, -0.5], [[yes, yes], [no, no]], fixed=True)
    reach = Reach.of_pairs((empty, empty), (7.0, 7.0), cast(Any, SimpleNamespace(stages=(none, one), links=LINKS)))
    # a cut that nothing keeps
    assert reach.cuts == [Cut(0, 0.0, 0.0, 0.0, -1.0)]
