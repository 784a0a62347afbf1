"""The figures of a design, worked out by hand for machines of few steps."""

from __future__ import annotations

from math import exp, log, pi

import pytest

from optimizer.records import BandTarget, BeltChoice, Layout, PositionSizes, Problem, StageSizes, Targets
from optimizer.scoring import Score, advised_most, j_of, score
from tests.unit.search.machines import stage_of

BELT = BeltChoice(section="A", marking="A 1250", length_mm=1250, window_mm=5)
BANDS = (
    BandTarget(name="slow", low_rpm=400, high_rpm=1000, want=1),
    BandTarget(name="fast", low_rpm=1000, high_rpm=3000, top=True, want=2),
)


def problem_of(**changes: object) -> Problem:
    """Return three positions behind a motor of 1000 rpm, wanted from 500 to 2000 rpm."""
    targets = Targets(bands=BANDS, lo_rpm=500, hi_rpm=2000, end_weight=2.0, unevenness_weight=3.0)
    return Problem(
        layout=Layout(positions=(3,), offsets=((0, 1, 2),)),
        motor_rpm=1000,
        stages=(stage_of(0, (75.0, 210.0, 15.0), (1250.0,), 5.0),),
        targets=targets.model_copy(update=changes),
    )


def sizes_of(*pairs: tuple[float, float], turned: str = "driver, driven") -> list[StageSizes]:
    """Return a stage of pairs of driver and driven, on sides that are turned or else bought."""
    sources = ["turned" if side in turned.split(", ") else "ready" for side in ("driver", "driven")]
    return [
        StageSizes(
            belt=BELT,
            positions=tuple(
                PositionSizes.model_validate(
                    {
                        "driver_mm": driver,
                        "driven_mm": driven,
                        "centre_mm": 300,
                        "driver_source": sources[0],
                        "driven_source": sources[1],
                    }
                )
                for driver, driven in pairs
            ),
        )
    ]


def test_the_figures_of_three_speeds() -> None:
    """Ratios 1/2, 1.2, 2.2 of 1000 rpm give 500, 1200 and 2200 rpm against 500 to 2000 rpm.

    The end miss is ln 1.1; the middle lies ln(1.2/sqrt(1.1)) above the chord of the ends, half of which is the
    unevenness, and the series starts that much above ln 500; one speed counts as slow, two as fast.
    """
    found = score(problem_of(), sizes_of((100, 200), (120, 100), (220, 100)))
    half = log(1.2 / 1.1**0.5) / 2
    assert found.speeds_rpm == pytest.approx((500, 1200, 2200))
    assert found.logs == pytest.approx((log(500), log(1200), log(2200)))
    assert found.end_miss == pytest.approx(log(1.1))
    assert found.unevenness == pytest.approx(half)
    assert found.start == pytest.approx(log(500) + half)
    assert found.log_ratio == pytest.approx(log(4.4) / 2)
    assert found.ratio == pytest.approx(4.4**0.5)
    assert found.j == pytest.approx(2 * log(1.1) + 3 * half)
    assert found.widest_gap == pytest.approx(log(1200 / 500))
    assert found.band_counts == (1, 2)


def test_timber_and_discs_of_turned_steps() -> None:
    """A pitch diameter and 6.6 mm to its rim and 4 mm for truing make the disc; each is 30 mm wide."""
    found = score(problem_of(), sizes_of((100, 200), (120, 100), (220, 100)))
    discs = [size + 10.6 for size in (100, 120, 220, 200, 100, 100)]
    assert found.turned_steps == 6
    assert found.timber_mm3 == pytest.approx(pi / 4 * 30 * sum(disc**2 for disc in discs))
    assert found.largest_disc_mm == pytest.approx(230.6)


@pytest.mark.parametrize(("turned", "steps", "disc"), [("driver", 3, 230.6), ("driven", 3, 210.6), ("none", 0, 0.0)])
def test_bought_pulleys_take_no_timber(turned: str, steps: int, disc: float) -> None:
    """Only the side that is turned is counted, and with none there is no disc."""
    found = score(problem_of(), sizes_of((100, 200), (120, 100), (220, 100), turned=turned))
    assert found.turned_steps == steps
    assert found.largest_disc_mm == pytest.approx(disc)
    assert (found.timber_mm3 > 0) == (steps > 0)


def test_the_widest_gap_is_that_of_neighbours_in_speed() -> None:
    """Speeds of 1200, 500, 2200 rpm in this order of the series: neighbours in speed are 500 and 1200."""
    found = score(problem_of(), sizes_of((120, 100), (100, 200), (220, 100)))
    assert found.widest_gap == pytest.approx(log(2.4))


def test_a_single_speed_has_no_gap() -> None:
    """One position: no neighbours, no ratio, the middle of the bands is 1000 rpm and it is met."""
    problem = problem_of().model_copy(update={"layout": Layout(positions=(1,), offsets=((0,),))})
    found = score(problem, sizes_of((100, 100)))
    assert (found.widest_gap, found.log_ratio, found.unevenness) == (0.0, 0.0, 0.0)
    assert found.end_miss == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("last_mm", "advised"), [(102.9, True), (103.2, False)])
def test_ends_are_advised_up_to_three_in_a_hundred(last_mm: float, advised: bool) -> None:
    """Driven 100 by a driver of twice the size, 2.9 % and 3.2 % more: ln is 0.0286 and 0.0315 beside 0.03."""
    found = score(problem_of(), sizes_of((100, 200), (last_mm**0.5, 10), (2 * last_mm, 100)))
    assert found.ends_advised == advised


@pytest.mark.parametrize(("above", "advised"), [(0.19, True), (0.21, False)])
def test_evenness_is_advised_up_to_a_tenth_of_the_step(above: float, advised: bool) -> None:
    """A ratio of 2 is a step of 1, so that 0.1 is advised; the middle lies 0.19 or 0.21 too high, half remains."""
    found = score(problem_of(), sizes_of((100, 200), (100 * exp(above), 100), (200, 100)))
    assert found.unevenness == pytest.approx(above / 2)
    assert (found.evenness_advised, found.advised) == (advised, advised)


def test_designs_within_what_is_advised_rank_first() -> None:
    """Advised: by steps, belt moves, J; others behind all of them, by J alone."""
    good = score(problem_of(), sizes_of((100, 200), (100, 100), (200, 100)))
    uneven = good.model_copy(update={"evenness_advised": False, "j": 0.5})
    missed = good.model_copy(update={"ends_advised": False, "j": 0.4})
    assert good.advised and not uneven.advised and not missed.advised
    assert good.rank == (0, 6, good.belt_moves, good.j)
    assert missed.rank == (1, 0, 0, 0.4)
    assert sorted([uneven, missed, good], key=lambda found: found.rank) == [good, missed, uneven]


def test_one_belt_is_moved_once_from_speed_to_speed() -> None:
    """Three positions of one stage: the belt moves twice on the way up."""
    assert score(problem_of(), sizes_of((100, 200), (100, 100), (200, 100))).belt_moves == 2


def test_no_advised_design_passes_the_most() -> None:
    """Bands 500 to 2000 rpm, limits 0.1 each way: φ is at most (4·e^0.4)^(1/2), so J at most 2·0.03 + 3·0.1·(φ − 1).

    A single speed has no interval: the exponent is then 1.
    """
    reach = log(4) + 2 * (0.1 + 0.1)
    assert advised_most(problem_of()) == pytest.approx(2 * 0.03 + 3 * 0.10 * (exp(reach / 2) - 1))
    single = problem_of().model_copy(update={"layout": Layout(positions=(1,), offsets=((0,),))})
    assert advised_most(single) == pytest.approx(2 * 0.03 + 3 * 0.10 * (exp(reach) - 1))
    other = problem_of(end_miss_most=0.05, unevenness_most=0.2)
    assert advised_most(other) == pytest.approx(2 * 0.03 + 3 * 0.10 * (exp((log(4) + 0.5) / 2) - 1))


def test_j_weighs_ends_and_evenness() -> None:
    """Logarithms 0.1 above the low end, level in the middle: 2·0.1 of end miss, 3 times a quarter of 0.1."""
    targets = problem_of().targets
    assert j_of(targets, [log(500) + 0.1, log(1000), log(2000)]) == pytest.approx(2 * 0.1 + 3 * 0.025)


def test_the_least_ratio_of_the_series_counts() -> None:
    """Two equal speeds of 1000 rpm against a ratio of at least e^0.3: the line misses each by 0.15."""
    problem = problem_of(ratio_least=exp(0.3)).model_copy(update={"layout": Layout(positions=(2,), offsets=((0, 1),))})
    found = score(problem, sizes_of((100, 100), (100, 100)))
    assert [found.unevenness, found.log_ratio] == pytest.approx([0.15, 0.3])
    assert j_of(problem.targets, list(found.logs)) == pytest.approx(found.j)
    assert isinstance(found, Score)
