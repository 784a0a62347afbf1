"""Refinement of a machine with a middle shaft to real diameters."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import combinations_with_replacement, product
from math import exp, log, pi

import numpy as np
import pytest

from optimizer.geometry.settings import Path, Slide, Swing
from optimizer.records.coupling import Coupling, SharedBelt
from optimizer.records.middle import MiddleCandidate, MiddleProblem, broken_middle_rules, f_of, middle_logs
from optimizer.records.problem import BandTarget
from optimizer.refine.middle import refine_middle
from optimizer.refine.middle.refine import EVEN_SLACK, patterns
from optimizer.refine.middle.stated import stated_middle
from optimizer.search.middle import round_middle
from tests.oracle import middle as truth
from tests.sampled import sampled
from tests.search.middle_drill import drill
from tests.unit.refine.middle_machines import as_design, bench, candidate_of, refined_tiny, turned_middle, with_sides

SPAN = log(2200 / 900)
KINDS = ((True, False), (True, True), (False, False), (False, True))
PATHS: dict[str, tuple[Path, Path]] = {
    "slide": (Slide(along_mm=220.0, across_mm=60.0), Slide(along_mm=200.0, across_mm=90.0)),
    "hinge": (Swing(300.0, 280.0, 1.1, 300.0), Swing(300.0, 310.0, 0.95, 300.0)),
    "against each other": (Slide(along_mm=220.0, across_mm=60.0), Slide(along_mm=-200.0, across_mm=90.0)),
}


def _candidate(problem: MiddleProblem) -> MiddleCandidate:
    candidate = candidate_of(problem)
    assert candidate is not None
    return candidate


def _on(path: str, problem: MiddleProblem) -> MiddleCandidate:
    """Return the machine's design with the middle shaft on one movement, given so much play that it still does."""
    free = _candidate(problem)
    stages, belts = [], []
    for number, (stage, sizes) in enumerate(zip(problem.stages, free.stages, strict=True)):
        moves = path != "against each other" or number == 0
        play = {"forgives_mm": 8.0, "inward_mm": 4.0, "outward_mm": 3.0}
        chosen = sizes.belt.model_copy(update=play)
        stages.append(stage.model_copy(update={"belts": (chosen,)}))
        own = PATHS[path][number]
        at = float(own.setting_mm(sizes.positions[0].centre_mm))
        moved = (
            Slide(own.along_mm + at, own.across_mm)
            if isinstance(own, Slide)
            else Swing(own.arm_mm, own.other_mm, own.angle_rad + at / own.radius_mm, own.radius_mm)
        )
        belts.append(SharedBelt(stage=number, path=moved, travel_mm=30.0 if moves else 0.0))
    coupling = Coupling(key="shaft[0]", shaft="middle", belts=tuple(belts))
    coupled = problem.model_copy(update={"stages": tuple(stages), "coupling": coupling})
    on = [each.model_copy(update={"belt": stage.belts[0]}) for each, stage in zip(free.stages, stages, strict=True)]
    return MiddleCandidate(problem=coupled, stages=(on[0], on[1]))


WANTS = (
    BandTarget(name="slow", low_rpm=776, high_rpm=1400, want=2),
    BandTarget(name="fast", low_rpm=1400, high_rpm=2472, top=True, want=2),
)
CANDIDATES: dict[str, Callable[[], MiddleCandidate]] = {
    "shared": lambda: _candidate(bench()),
    "separate": lambda: _candidate(bench((2, 3), shared=False)),
    "without order": lambda: _candidate(with_sides(bench((2, 2)), cone=False)),
    "rims": lambda: _candidate(with_sides(bench((2, 3), shared=False), rim_speed_m_s=30.0)),
    "wanting": lambda: _candidate(bench(bands=WANTS)),
    **{path: partial(_on, path, bench()) for path in PATHS},
}


@pytest.mark.parametrize("kind", CANDIDATES)
def test_gradients_are_exact(kind: str) -> None:
    """Gradients of all rows agree with finite differences, on one movement and on two."""
    smooth = stated_middle(CANDIDATES[kind](), every_group=True)
    rows = smooth.program.least
    vector = smooth.start + 1e-3 * np.sin(np.arange(smooth.start.size))
    gradients = rows.gradients(vector)
    assert len(smooth.limits.limits) == len(gradients)
    for place, step in enumerate(1e-6 * np.eye(vector.size)):
        slope = (rows.values(vector + step) - rows.values(vector - step)) / 2e-6
        assert slope == pytest.approx(gradients[:, place], abs=1e-6)


@pytest.mark.parametrize("kind", CANDIDATES)
def test_the_candidate_keeps_the_rows(kind: str) -> None:
    """Sizes that keep every hard rule pass no row by more than the margin that the solver is asked to keep."""
    smooth = stated_middle(CANDIDATES[kind](), every_group=True)
    values = smooth.program.least.values(smooth.start)
    assert values.min() > -1e-7, smooth.limits.limits[int(np.argmin(values))]


@pytest.mark.parametrize("path", PATHS)
def test_one_movement_fits_both_belts_of_refined_sizes(path: str) -> None:
    """Refined sizes on one movement are the solver's own, keep every rule, and are better."""
    candidate = _on(path, bench())
    refined = refine_middle(candidate, 0.0, round_middle)
    assert refined.kept == "refined"
    assert refined.smooth_f < refined.candidate_f
    assert broken_middle_rules(candidate.problem, refined.smooth) == []


@pytest.mark.parametrize(("shared", "coupled"), KINDS)
@pytest.mark.parametrize("seed", sampled(range(40), every=4))
def test_refined_sizes_keep_every_rule_and_are_no_worse(seed: int, shared: bool, coupled: bool) -> None:
    """F is no more than the candidate's, on sizes that build a candidate again; a shared step is one size."""
    problem = turned_middle(seed, shared=shared, coupled=coupled)
    refined = refined_tiny(seed, shared, coupled)
    if refined is None:
        return
    assert refined.smooth_f <= refined.candidate_f + 1e-9
    assert refined.smooth_f == pytest.approx(truth.f_of(problem, as_design(refined.smooth)), abs=1e-12)
    assert broken_middle_rules(problem, refined.smooth) == []
    if shared:
        first, second = refined.smooth
        assert [p.driven_mm for p in first.positions] == [p.driver_mm for p in second.positions]


def test_most_tiny_machines_are_refined() -> None:
    """Of the seeds asked, a sixth or more have a design, and of those nearly all go on refined."""
    found = [refined_tiny(seed, *kind) for kind in KINDS for seed in sampled(range(40), every=4)]
    refined = [each for each in found if each is not None]
    assert len(refined) >= len(found) / 6
    assert sum(each.kept == "refined" for each in refined) >= 0.9 * len(refined)


@pytest.mark.parametrize(
    ("levels", "shared", "least"),
    [
        ((2, 2), True, SPAN - 0.1),
        ((2, 2), False, SPAN / 3),
        ((3, 3), True, SPAN / 4),
        ((2, 3), False, SPAN / 5),
    ],
)
def test_f_comes_down_to_what_the_speeds_allow(levels: tuple[int, int], shared: bool, least: float) -> None:
    """With room to spare F is what can be worked out by hand.

    Two cones on the middle shaft make a geometric series; three levels of a shared cone span four gaps at most, as the
    two upper speeds between the ends together lie the whole span above the two lower ones. Two speeds have one gap,
    of which missing both ends takes off twice what it costs, up to the limit of 10 %. For an even plate F may rise by
    its slack.
    """
    problem = bench(levels, shared=shared, window_mm=12.0, ends_rpm=(900.0, 2200.0))
    refined = refine_middle(_candidate(problem), 0.0, round_middle)
    assert least - 1e-6 <= refined.smooth_f <= least + EVEN_SLACK + 1e-6


@pytest.mark.parametrize("shared", [True, False])
def test_rims_and_belts_run_no_faster_than_they_may(shared: bool) -> None:
    """With limits just above the candidate's own speeds, refined and rounded sizes keep them, worked out by hand."""
    free = bench((3, 3), shared=shared, window_mm=12.0)
    rim, belt = (max(speeds) * 1.002 for speeds in _surface_m_s(_candidate(free)))
    stages = tuple(stage.model_copy(update={"belt_speed_m_s": belt}) for stage in free.stages)
    problem = with_sides(free.model_copy(update={"stages": stages}), rim_speed_m_s=rim)
    refined = refine_middle(MiddleCandidate(problem=problem, stages=_candidate(free).stages), 0.0, round_middle)
    assert refined.kept == "refined"
    for sizes in (refined.smooth, refined.rounded):
        assert sizes is not None
        speeds = _surface_m_s(MiddleCandidate.model_construct(problem=problem, stages=sizes))
        assert max(speeds[0]) <= rim * (1 + 1e-9)
        assert max(speeds[1]) <= belt * (1 + 1e-9)


def _surface_m_s(candidate: MiddleCandidate) -> tuple[list[float], list[float]]:
    """Return the speeds of all rims, and of both belts, with every shaft at the fastest that it runs with them."""
    one, other = candidate.stages
    motor, slip, shift = 1720.0, 0.99, 6.6
    middle = [motor * p.driver_mm / p.driven_mm * slip for p in one.positions]
    last = [
        middle[i] * q.driver_mm / q.driven_mm * slip
        for i, j in candidate.problem.positions
        for q in (other.positions[j],)
    ]
    rims = [(p.driver_mm, motor) for p in one.positions] + [(p.driven_mm, max(middle)) for p in one.positions]
    rims += [(q.driver_mm, max(middle)) for q in other.positions] + [(q.driven_mm, max(last)) for q in other.positions]
    belts = [(p.driver_mm, motor) for p in one.positions]
    belts += [(other.positions[j].driver_mm, middle[i]) for i, j in candidate.problem.positions]
    found = [[pi * (size + add) / 1000 * rpm / 60 for size, rpm in row] for add, row in ((shift, rims), (0.0, belts))]
    return found[0], found[1]


def test_speeds_are_put_in_an_order_in_which_they_lie_more_evenly() -> None:
    """A coarse list finds a shared cone of four levels in an order with gaps of a fifth of the span; six are reached.

    The span is that from 500 to 3000 rpm; on whole steps of the largest gap there are orders of up to eleven.
    """
    candidate = _candidate(drill(20.0, window_mm=6.0))
    refined = refine_middle(candidate, 0.0, round_middle)
    assert refined.candidate_f > log(3000 / 500) / 5
    assert refined.smooth_f <= log(3000 / 500) / 6 + 1e-6


@pytest.mark.parametrize(("levels", "steps"), [((3, 3), 4), ((3, 3), 3), ((2, 2), 1), ((4, 4), 9)])
def test_patterns_leave_no_step_without_a_speed(levels: tuple[int, int], steps: int) -> None:
    """Every way to lay a shared cone's levels on whole steps, found by looking at all, is among the patterns."""
    positions = bench(levels).positions
    rises = [(0, *rest) for rest in combinations_with_replacement(range(steps + 1), levels[0] - 1)]
    found = set()
    for first, second in product(rises, rises):
        row = tuple(first[i] + second[levels[1] - 1 - j] for i, j in positions)
        if max(row) == first[-1] + second[-1] == steps and set(row) == set(range(steps + 1)):
            found.add(row)
    assert found
    assert {tuple(row) for row in patterns(positions, steps, second_falls=True).tolist()} == found


def test_a_met_bound_leaves_nothing_to_name() -> None:
    """Where F is the bound itself, no limit is said to bind."""
    problem = bench((2, 2), window_mm=12.0, ends_rpm=(900.0, 2200.0))
    refined = refine_middle(_candidate(problem), SPAN - 0.1, round_middle)
    assert refined.reaches_bound
    assert refined.binding == ()


def test_the_price_of_a_window_is_what_a_wider_one_gains() -> None:
    """F falls by the price that is told for every millimetre by which the window of a belt is let out."""
    problem = bench((4, 4), window_mm=0.4, ends_rpm=(600.0, 2600.0))
    refined = refine_middle(_candidate(problem), 0.0, round_middle)
    told = {binding.limit: binding for binding in refined.binding}
    let_out_mm = 0.01
    for number in (0, 1):
        stages = list(problem.stages)
        belt = stages[number].belts[0]
        wider = belt.model_copy(update={"window_mm": belt.window_mm + let_out_mm})
        stages[number] = stages[number].model_copy(update={"belts": (wider,)})
        sizes = list(refined.smooth)
        sizes[number] = sizes[number].model_copy(update={"belt": wider})
        eased = problem.model_copy(update={"stages": tuple(stages)})
        again = refine_middle(MiddleCandidate(problem=eased, stages=(sizes[0], sizes[1])), 0.0, round_middle)
        price = told[f"stage[{number}]: travel left for the levels' own centre distances"].falls
        assert price is not None
        assert (refined.smooth_f - again.smooth_f) / let_out_mm == pytest.approx(price, rel=0.02)


def test_speeds_that_a_band_wants_stay_in_it() -> None:
    """What bands want they still have after refinement, counted apart from near-equals."""
    problem = bench(bands=WANTS)
    refined = refine_middle(_candidate(problem), 0.0, round_middle)
    rpm = [exp(value) for value in sorted(middle_logs(problem, refined.smooth))]
    distinct = [rpm[0]]
    for speed in rpm[1:]:
        if speed >= distinct[-1] * 1.04 * (1 - 1e-9):
            distinct.append(speed)
    assert sum(776 <= speed < 1400 for speed in distinct) >= 2
    assert sum(1400 <= speed <= 2472 for speed in distinct) >= 2


def test_a_machine_with_nothing_to_turn_stays_as_it_is() -> None:
    """Where all sizes are given the candidate stands, and is its own rounding."""
    problem = bench((2, 2), window_mm=12.0)
    given = _candidate(with_sides(problem, turned_mm=None, listed_mm=(), ready_mm=tuple(np.arange(50.0, 151.0, 12.5))))
    refined = refine_middle(given, 0.0, round_middle)
    assert (refined.kept, refined.why) == ("candidate", "nothing is turned")
    assert refined.rounded == refined.smooth == given.stages
    assert refined.rounded_f == refined.nearest_f == f_of(given.problem, given.stages)


def test_equal_neighbours_stay_equal() -> None:
    """Neighbouring steps of one size are one size after refinement too."""
    problem = bench((3, 3), window_mm=12.0, ends_rpm=(900.0, 2200.0))
    candidate = _candidate(problem)
    first, second = candidate.stages
    step = first.positions[1].driver_mm
    tied = [p.model_copy(update={"driver_mm": step}) if n == 0 else p for n, p in enumerate(first.positions)]
    smooth = stated_middle(
        MiddleCandidate.model_construct(
            problem=problem, stages=(first.model_copy(update={"positions": tuple(tied)}), second)
        )
    )
    assert smooth.variables.places[0][0] == smooth.variables.places[0][1]
    assert smooth.variables.turned == stated_middle(candidate).variables.turned - 1
    sizes = smooth.variables.stages(smooth.start + 0.01)[0].positions
    assert sizes[0].driver_mm == sizes[1].driver_mm
