"""Refinement to real diameters, by scipy with exact gradients."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import approx_fprime

from optimizer.geometry.belts import belt_length_mm, centre_for_length_mm
from optimizer.records import (
    BandTarget,
    BeltChoice,
    Candidate,
    Layout,
    PositionSizes,
    Problem,
    SideSizes,
    StageProblem,
    StageSizes,
    Targets,
)
from optimizer.records.refined import Goal
from optimizer.records.speeds import log_speeds, speeds_rpm
from optimizer.refine import refine
from optimizer.refine.program import Objective
from optimizer.refine.stated import stated
from optimizer.scoring import j_of
from optimizer.search import round_sizes, search
from optimizer.series import unevenness
from tests.unit.search.machines import stage_of, two_stage_machine

Floats = NDArray[np.float64]

# Computed with the exact open-belt length: motor 1440 rpm, 300 mm centres, spindle 720 to 2036.4675 rpm.
GOLDEN_RPM = [720.0, 1018.2338, 1440.0, 2036.4675]
GOLDEN_DRIVER = [60.0, 75.137289803, 90.955727831, 106.260174280]
GOLDEN_DRIVEN = [120.0, 106.260174280, 90.955727831, 75.137289803]
GOLDEN_BELT = 885.745846357


def _golden(window_mm: float, errors: tuple[float, ...], turned: tuple[float, float] = (50.0, 160.0)) -> Candidate:
    """Return the golden cone with errors on its driver, each position at its own centre distance."""
    sides = [
        SideSizes(key=f"stage[0].{name}", turned_mm=turned, rise_mm=0.5, tick_mm=0.5) for name in ("driver", "driven")
    ]
    belt = BeltChoice(section="A", marking="A", length_mm=GOLDEN_BELT, window_mm=window_mm)
    stage = StageProblem(
        key="stage[0]", driver=sides[0], driven=sides[1], belts=(belt,), centre_mm=(290, 310), clearance_mm=5
    )
    bands = (BandTarget(name="all", low_rpm=700, high_rpm=2100, top=True, want=4),)
    problem = Problem(
        layout=Layout(positions=(4,), offsets=((0, 1, 2, 3),)),
        motor_rpm=1440,
        stages=(stage,),
        targets=Targets(bands=bands, lo_rpm=720, hi_rpm=GOLDEN_RPM[-1]),
    )
    positions = tuple(
        PositionSizes(driver_mm=a + error, driven_mm=b, centre_mm=centre_for_length_mm(a + error, b, GOLDEN_BELT))
        for a, b, error in zip(GOLDEN_DRIVER, GOLDEN_DRIVEN, errors, strict=True)
    )
    return Candidate(problem=problem, stages=(StageSizes(belt=belt, positions=positions),))


def test_a_disturbed_cone_is_mended() -> None:
    """From diameters up to 0.3 mm off, the refined cone is even to 1e-6, in place of the golden speeds."""
    candidate = _golden(1.0, (0.3, -0.2, 0.1, -0.3))
    refined = refine(candidate, 0.0)
    assert refined.kept == "refined"
    assert refined.smooth_j < 1e-6
    assert refined.reaches_bound
    assert refined.binding == ()
    assert refined.solver.message
    assert speeds_rpm(candidate.problem, refined.smooth) == pytest.approx(GOLDEN_RPM, rel=1e-5)


def test_a_locked_stage_has_one_centre_distance() -> None:
    """With a window no wider than the fit all positions stand at one centre distance, belts equal to 1e-6 mm."""
    refined = refine(_golden(0.2, (0.05, -0.05, 0.05, -0.05)), 0.0)
    positions = refined.smooth[0].positions
    assert refined.kept == "refined"
    assert len({p.centre_mm for p in positions}) == 1
    for p in positions:
        assert belt_length_mm(p.driver_mm, p.driven_mm, p.centre_mm) == pytest.approx(GOLDEN_BELT, abs=1e-6)


def test_refinement_stays_near_the_candidate() -> None:
    """Among equally good answers the nearest is taken: no size wanders by more than a millimetre."""
    candidate = _golden(5.0, (0.3, -0.2, 0.1, -0.3))
    for old, new in zip(candidate.stages[0].positions, refine(candidate, 0.0).smooth[0].positions, strict=True):
        assert abs(new.driver_mm - old.driver_mm) < 1
        assert abs(new.driven_mm - old.driven_mm) < 1


def test_a_binding_diameter_is_named() -> None:
    """Where a smallest diameter keeps the ends from being met, the sentence names side and step."""
    candidate = _golden(1.0, (0.6, 0.0, 0.0, 0.0), turned=(60.5, 120.0))
    refined = refine(candidate, 0.0)
    assert refined.smooth_j > 1e-4
    named = [binding for binding in refined.binding if binding.limit == "stage[0].driver: the smallest diameter"]
    assert [binding.places for binding in named] == [("step 1",)]


@pytest.mark.parametrize("let_out_mm", [0.1, -0.1])
def test_a_limits_cost_is_what_letting_it_out_brings(let_out_mm: float) -> None:
    """Costs agree with a difference: the limit moved by 0.1 mm, refined again, J compared."""
    before = refine(_golden(1.0, (0.6, 0.0, 0.0, 0.0), turned=(60.5, 120.0)), 0.0)
    after = refine(_golden(1.0, (0.6, 0.0, 0.0, 0.0), turned=(60.5 - let_out_mm, 120.0)), 0.0)
    cost = next(b.falls for b in before.binding if b.limit == "stage[0].driver: the smallest diameter")
    assert cost is not None
    assert (before.smooth_j - after.smooth_j) / let_out_mm == pytest.approx(cost, rel=0.02)


def test_the_window_costs_what_a_wider_one_brings() -> None:
    """The travel's cost counts every pair of positions that stands at it, as letting it out does."""
    ready = SideSizes(key="stage[0].driver", ready_mm=(60.0, 77.0, 90.0, 107.0))
    candidates = []
    for window_mm in (0.5, 0.6):
        problem = _golden(window_mm, (0.0, 0.0, 0.0, 0.0)).problem
        stage = problem.stages[0].model_copy(update={"driver": ready})
        candidate = search(problem.model_copy(update={"stages": (stage,)})).candidate
        assert candidate is not None
        candidates.append(candidate)
    narrow, wide = (refine(candidate, 0.0) for candidate in candidates)
    cost = next(b.falls for b in narrow.binding if "travel left" in b.limit)
    assert cost is not None
    assert (narrow.smooth_j - wide.smooth_j) / 0.1 == pytest.approx(cost, rel=0.05)


def _least(objective: Objective, vector: Floats) -> float:
    return objective(vector)[0]


def _one(values: Callable[[Floats], Floats], number: int, vector: Floats) -> float:
    return float(values(vector)[number])


@pytest.mark.parametrize("window_mm", [0.2, 5.0])
@pytest.mark.parametrize("goal", ["j", "timber", "disc"])
def test_gradients_are_exact(goal: Goal, window_mm: float) -> None:
    """Gradients of every row and objective agree with finite differences, shafts locked or not."""
    candidate = search(two_stage_machine(window_mm=window_mm)).candidate
    assert candidate is not None
    smooth = stated(candidate, goal, most_j=0.1)
    vector = smooth.start + 1e-3 * np.sin(np.arange(smooth.start.size))
    for rows in (smooth.program.equal, smooth.program.least):
        gradients = rows.gradients(vector)
        for number in range(rows.values(vector).size):
            slope = approx_fprime(vector, partial(_one, rows.values, number), 1e-7)
            assert np.abs(slope - gradients[number]).max() < 1e-5, number
    slope = approx_fprime(vector, partial(_least, smooth.program.objective), 1e-7)
    assert np.abs(slope - smooth.program.objective(vector)[1]).max() < 1e-5


def test_refined_is_never_worse() -> None:
    """Refinement of searched candidates never raises J, and reaches the bound where nothing binds."""
    for window in (0.2, 5.0):
        problem = two_stage_machine(window_mm=window)
        found = search(problem)
        assert found.candidate is not None
        refined = refine(found.candidate, found.proof.structural)
        assert refined.smooth_j <= found.proof.listed + 1e-9
        assert refined.smooth_j >= found.proof.structural - 1e-9
        assert refined.reaches_bound or refined.binding


def test_ready_and_kept_sizes_do_not_move() -> None:
    """Sizes that are not turned stay as they are while those that face them move."""
    stage = stage_of(0, (75.0, 200.0, 5.0), (1120.0,), 4.0)
    ready = SideSizes(key="stage[0].driver", ready_mm=(80.0, 100.0, 125.0), cone=False)
    problem = Problem(
        layout=Layout(positions=(3,), offsets=((0, 1, 2),)),
        motor_rpm=1420,
        stages=(stage.model_copy(update={"driver": ready}),),
        targets=Targets(
            bands=(BandTarget(name="all", low_rpm=700, high_rpm=2000, top=True, want=2),), lo_rpm=720, hi_rpm=1500
        ),
    )
    candidate = search(problem).candidate
    assert candidate is not None
    refined = refine(candidate, 0.0)
    for old, new in zip(candidate.stages[0].positions, refined.smooth[0].positions, strict=True):
        assert new.driver_mm == old.driver_mm


def test_nothing_turned_is_said() -> None:
    """A machine of bought pulleys is left alone, and the report says why."""
    side = SideSizes(key="stage[0].driver", ready_mm=(100.0,))
    belt = BeltChoice(section="A", marking="A", length_mm=1000.0, window_mm=0.2)
    problem = Problem(
        layout=Layout(positions=(1,), offsets=((0,),)),
        motor_rpm=1000,
        stages=(StageProblem(key="stage[0]", driver=side, driven=side, belts=(belt,), centre_mm=(200, 500)),),
        targets=Targets(bands=(BandTarget(name="one", low_rpm=900, high_rpm=1100, top=True),), lo_rpm=900, hi_rpm=1100),
    )
    candidate = search(problem).candidate
    assert candidate is not None
    refined = refine(candidate, 0.0)
    assert (refined.kept, refined.why) == ("candidate", "nothing is turned")
    assert round_sizes(problem, refined.smooth).stages == candidate.stages


def test_rounded_sizes_lie_on_ticks_and_keep_the_rules() -> None:
    """Rounded sizes are whole ticks, build a candidate again, and their J is that of their own speeds."""
    problem = two_stage_machine()
    found = search(problem)
    assert found.candidate is not None
    rounded = round_sizes(problem, refine(found.candidate, found.proof.structural).smooth)
    assert rounded.stages is not None
    Candidate(problem=problem, stages=rounded.stages)
    assert rounded.j == pytest.approx(j_of(problem.targets, log_speeds(problem, rounded.stages)), abs=1e-15)
    for stage in rounded.stages:
        for p in stage.positions:
            assert p.driver_mm == pytest.approx(round(p.driver_mm), abs=1e-9)
            assert p.driven_mm == pytest.approx(round(p.driven_mm), abs=1e-9)


def test_joint_rounding_beats_nearest_rounding() -> None:
    """Over seeded disturbances joint rounding is never worse than nearest rounding, and mostly better."""
    rng = np.random.default_rng(7)
    better = 0
    for _ in range(8):
        errors = tuple(float(e) for e in rng.uniform(-0.2, 0.2, 4))
        golden = _golden(2.0, errors)
        rounded = round_sizes(golden.problem, refine(golden, 0.0).smooth)
        assert rounded.j <= rounded.nearest_j + 1e-12
        better += rounded.j < rounded.nearest_j - 1e-9
    assert better >= 4


def test_unevenness_of_the_golden_speeds_is_nothing() -> None:
    """The golden diameters give a true geometric series: computed with the exact open-belt length."""
    candidate = _golden(1.0, (0.0, 0.0, 0.0, 0.0))
    assert unevenness(log_speeds(candidate.problem, candidate.stages)).delta < 1e-7
