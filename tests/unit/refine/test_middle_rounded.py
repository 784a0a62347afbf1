"""Rounding a machine with a middle shaft to whole ticks, against every choice of ticks near its sizes."""

from __future__ import annotations

from functools import cache
from itertools import product
from math import inf, log

import numpy as np
import pytest

from optimizer.geometry.settings import Slide
from optimizer.records.candidate import PositionSizes, StageSizes
from optimizer.records.coupling import Coupling, SharedBelt
from optimizer.records.middle import MiddleCandidate, MiddleProblem, broken_middle_rules
from optimizer.records.problem import SideSizes
from optimizer.records.refined import RefinedMiddle
from optimizer.refine.middle import refine_middle
from optimizer.refine.middle.refine import EVEN_SLACK
from optimizer.search.middle import round_middle
from tests.oracle import middle as truth
from tests.oracle.plain import centre_mm
from tests.sampled import sampled
from tests.unit.refine.middle_machines import (
    as_design,
    bench,
    candidate_of,
    refined_tiny,
    turned_middle,
    turned_steps,
)

REACH = 2
"""Ticks on either side of a size that looking at everything moves it."""
KINDS = ((True, False), (True, True), (False, False), (False, True))
Pair = tuple[StageSizes, StageSizes]


def _refined(problem: MiddleProblem) -> RefinedMiddle:
    candidate = candidate_of(problem)
    assert candidate is not None
    return refine_middle(candidate, 0.0, round_middle)


def _on_a_slide(problem: MiddleProblem, forgives_mm: float) -> MiddleProblem:
    """Return the machine with the middle shaft on one slide past both others, with little play."""
    stages = tuple(
        stage.model_copy(
            update={"belts": tuple(b.model_copy(update={"forgives_mm": forgives_mm}) for b in stage.belts)}
        )
        for stage in problem.stages
    )
    belts = (
        SharedBelt(stage=0, path=Slide(along_mm=220.0, across_mm=60.0), travel_mm=30.0),
        SharedBelt(stage=1, path=Slide(along_mm=196.0, across_mm=120.0)),
    )
    coupling = Coupling(key="shaft[0]", shaft="middle", belts=belts)
    return problem.model_copy(update={"stages": stages, "coupling": coupling})


def _near(side: SideSizes, size_mm: float, reach: int = REACH) -> list[float]:
    assert side.turned_mm is not None
    middle = round((size_mm - side.given_shift_mm) / side.tick_mm)
    ticks = [(middle + step) * side.tick_mm + side.given_shift_mm for step in range(-reach, reach + 1)]
    return [size for size in ticks if side.turned_mm[0] <= size <= side.turned_mm[1]]


@cache
def _own_centre_mm(driver_mm: float, driven_mm: float, length_mm: float) -> float | None:
    return centre_mm(driver_mm, driven_mm, length_mm)


def _built(problem: MiddleProblem, stages: Pair, cones: list[tuple[float, ...]]) -> Pair | None:
    """Return the sizes of every cone as stages."""
    pairs = (cones[0], cones[1]), (cones[1], cones[2]) if problem.shared else (cones[2], cones[3])
    found = []
    for sizes, (drivers, drivens) in zip(stages, pairs, strict=True):
        positions = []
        for driver, driven in zip(drivers, drivens, strict=True):
            centre = _own_centre_mm(driver, driven, sizes.belt.length_mm)
            if centre is None:
                return None
            positions.append(PositionSizes(driver_mm=driver, driven_mm=driven, centre_mm=centre))
        found.append(StageSizes(belt=sizes.belt, positions=tuple(positions)))
    return found[0], found[1]


def _least_of_all(problem: MiddleProblem, stages: Pair) -> float:
    """Return the least F of every choice of ticks near the sizes that breaks no rule; infinity where there is none."""
    first, second = stages
    rows = [
        (problem.stages[0].driver, [p.driver_mm for p in first.positions]),
        (problem.stages[0].driven, [p.driven_mm for p in first.positions]),
        (problem.stages[1].driver, [p.driver_mm for p in second.positions]),
        (problem.stages[1].driven, [p.driven_mm for p in second.positions]),
    ]
    if problem.shared:
        del rows[2]
    listed = [_near(side, size) for side, sizes in rows for size in sizes]
    every = np.array(list(product(*listed)))
    ends = np.cumsum([len(sizes) for _, sizes in rows])
    cones = np.split(every, ends[:-1], axis=1)
    middle, last = (cones[1], cones[2]) if problem.shared else (cones[2], cones[3])
    slips = [log(1 - stage.slip) for stage in problem.stages]
    one, other = np.log(cones[0] / cones[1]) + slips[0], np.log(middle / last) + slips[1]
    logs = np.sort(np.stack([one[:, i] + other[:, j] for i, j in problem.positions]) + log(problem.motor_rpm), axis=0)
    targets = problem.targets
    miss = np.maximum(np.abs(logs[0] - log(targets.lo_rpm)), np.abs(logs[-1] - log(targets.hi_rpm)))
    f = targets.end_weight * miss + targets.unevenness_weight * np.diff(logs, axis=0).max(axis=0)
    for row in np.argsort(f, kind="stable"):
        built = _built(problem, stages, [tuple(map(float, cone[row])) for cone in cones])
        if built is not None and not broken_middle_rules(problem, built):
            return float(f[row])
    return inf


MACHINES = {
    "shared": bench((2, 2), ends_rpm=(900.0, 2200.0)),
    "shared, 1 mm": bench((2, 2), ends_rpm=(900.0, 2200.0), tick_mm=1.0, window_mm=1.0),
    "shared, locked": bench((2, 2), ends_rpm=(900.0, 2200.0), window_mm=0.2),
    "shared, on a slide": _on_a_slide(bench((2, 2), ends_rpm=(900.0, 2200.0), window_mm=9.0), 1.0),
    "separate": bench((1, 2), ends_rpm=(900.0, 1800.0), shared=False),
    "separate, locked": bench((1, 2), ends_rpm=(900.0, 1800.0), shared=False, window_mm=0.2),
}


@pytest.mark.parametrize("name", MACHINES)
def test_no_choice_of_ticks_near_the_refined_sizes_is_better(name: str) -> None:
    """Looking at every choice within two ticks finds none that keeps the rules and has a lower F."""
    refined = _refined(MACHINES[name])
    assert refined.rounded_f <= _least_of_all(MACHINES[name], refined.smooth) + 1e-12


@pytest.mark.parametrize(("shared", "coupled"), KINDS)
@pytest.mark.parametrize("seed", sampled(range(40), every=4))
def test_rounded_sizes_keep_every_rule_on_whole_ticks(seed: int, shared: bool, coupled: bool) -> None:
    """They build a candidate and keep the rules written anew; F is no more than of nearest ticks."""
    problem = turned_middle(seed, shared=shared, coupled=coupled)
    refined = refined_tiny(seed, shared, coupled)
    if refined is None or refined.rounded is None:
        assert refined is None or refined.rounded_f == refined.nearest_f == inf
        return
    MiddleCandidate(problem=problem, stages=refined.rounded)
    assert truth.keeps_middle_rules(problem, as_design(refined.rounded))
    assert refined.rounded_f == pytest.approx(truth.f_of(problem, as_design(refined.rounded)), abs=1e-12)
    assert refined.rounded_f <= refined.nearest_f + 1e-12
    for side, size_mm in turned_steps(problem, refined.rounded):
        ticks = (size_mm - side.given_shift_mm) / side.tick_mm
        assert ticks == pytest.approx(round(ticks), abs=1e-9)


def test_nearest_ticks_are_seldom_enough() -> None:
    """Rounding jointly is better than each size by itself more often than not, or does where that breaks a rule."""
    found = [refined_tiny(seed, *kind) for kind in KINDS for seed in sampled(range(40), every=4)]
    rounded = [each for each in found if each is not None and each.rounded is not None]
    assert sum(each.rounded_f < each.nearest_f - 1e-9 for each in rounded) > len(rounded) / 2


@pytest.mark.parametrize("shared", [True, False])
def test_three_levels_are_rounded_in_a_narrow_window(shared: bool) -> None:
    """Locked shafts leave ticks of half a millimetre on three levels, within 5 % of the refined F."""
    problem = bench((3, 3), shared=shared, window_mm=0.2)
    refined = _refined(problem)
    assert refined.rounded is not None
    assert refined.rounded_f <= 1.05 * refined.smooth_f
    for sizes in refined.rounded:
        centres = [centre_mm(p.driver_mm, p.driven_mm, sizes.belt.length_mm) or inf for p in sizes.positions]
        assert max(centres) - min(centres) <= 0.2 + 1e-6


@pytest.mark.parametrize("shared", [True, False])
def test_four_levels_are_rounded_near_the_refined_sizes(shared: bool) -> None:
    """Twelve speeds of a shared cone, or sixteen of two, cost less than 4 % of F to round to half a millimetre."""
    problem = bench((4, 4), shared=shared, ends_rpm=(600.0, 2600.0), window_mm=1.0 if shared else 12.0)
    refined = _refined(problem)
    assert refined.rounded is not None
    assert truth.keeps_middle_rules(problem, as_design(refined.rounded))
    assert refined.rounded_f <= 1.04 * refined.smooth_f


def test_finer_ticks_come_nearer_to_the_refined_sizes() -> None:
    """With ticks of a hundredth of a millimetre rounding costs less than a thousandth of F."""
    refined = _refined(bench((3, 3), tick_mm=0.01, window_mm=0.5))
    assert refined.smooth_f - EVEN_SLACK <= refined.rounded_f <= 1.001 * refined.smooth_f


def test_there_is_no_rounding_without_a_tick() -> None:
    """Where no whole tick lies between the smallest and the largest size, nothing is said to be rounded."""
    refined = _refined(bench((2, 2), ends_rpm=(900.0, 2200.0), tick_mm=160.0))
    assert refined.rounded is None
    assert refined.rounded_f == refined.nearest_f == inf


def test_there_is_no_rounding_that_breaks_a_window() -> None:
    """Coarse ticks of which no four near the refined sizes keep a belt's window and the ends give no rounding."""
    problem = bench((1, 2), shared=False, ends_rpm=(900.0, 1800.0), tick_mm=4.0, window_mm=0.001)
    first, second = problem.stages
    # else a driver and a driven size could change places
    second = second.model_copy(update={"driver": second.driver.model_copy(update={"given_shift_mm": 1.3})})
    problem = problem.model_copy(update={"stages": (first, second)})
    refined = _refined(problem)
    sizes = refined.smooth[1]
    slow, fast = (
        [
            (log(a / b), centre_mm(a, b, sizes.belt.length_mm) or inf)
            for a, b in product(_near(second.driver, p.driver_mm, 4), _near(second.driven, p.driven_mm, 4))
        ]
        for p in sizes.positions
    )
    # both ends may be missed by 10 %
    meeting = [abs(c - d) for (x, c), (y, d) in product(slow, fast) if y - x >= log(1800 / 900) - 0.2]
    assert min(meeting) > 0.002
    assert refined.rounded is None


def test_the_same_sizes_give_the_same_rounding() -> None:
    """Two roundings of one machine give the same bytes."""
    problem = bench((3, 3), window_mm=0.5)
    one, other = (_refined(problem).model_dump_json() for _ in range(2))
    assert one == other


def test_sizes_on_ticks_are_not_made_worse() -> None:
    """Rounding what is rounded already gives no higher F."""
    problem = bench((3, 3), window_mm=0.5)
    refined = _refined(problem)
    assert refined.rounded is not None
    again = round_middle(problem, (refined.rounded,))
    assert again.f <= refined.rounded_f
    assert again.nearest_f == refined.rounded_f
