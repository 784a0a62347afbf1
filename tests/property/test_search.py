"""What must hold for the search of any machine."""

from __future__ import annotations

from itertools import pairwise
from math import exp, inf, log, pi, prod

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from optimizer.geometry.belts import centre_for_length_mm
from optimizer.records.candidate import PositionSizes, StageSizes
from optimizer.records.layout import Layout
from optimizer.records.problem import BandTarget, BeltChoice, Problem, SideSizes, StageProblem, Targets
from optimizer.records.rules import broken_rules
from optimizer.scoring import score
from optimizer.search import search
from tests.oracle.brute import best_by_brute_force
from tests.oracle.clear_cut import clear_cut
from tests.oracle.instances import tiny_problem
from tests.oracle.plain import belt_mm, centre_mm, end_miss, unevenness

SEEDS = st.integers(min_value=1_000, max_value=1_000_000)
MANY = settings(max_examples=15, deadline=None, derandomize=True)
FEW = settings(max_examples=8, deadline=None, derandomize=True)
J = 1e-9


# Scaling


def _side_times(side: SideSizes, k: float) -> SideSizes:
    return side.model_copy(
        update={
            "turned_mm": side.turned_mm and (side.turned_mm[0] * k, side.turned_mm[1] * k),
            "listed_mm": tuple(size * k for size in side.listed_mm),
            "ready_mm": tuple(size * k for size in side.ready_mm),
            "standing_mm": tuple(step and tuple(size * k for size in step) for step in side.standing_mm),
            "rise_mm": side.rise_mm * k,
            "grid_mm": side.grid_mm * k,
            "tick_mm": side.tick_mm * k,
            "outside_shift_mm": side.outside_shift_mm * k,
            "rim_speed_m_s": side.rim_speed_m_s * k,
        }
    )


def _stage_times(stage: StageProblem, k: float) -> StageProblem:
    return stage.model_copy(
        update={
            "driver": _side_times(stage.driver, k),
            "driven": _side_times(stage.driven, k),
            "belts": tuple(
                belt.model_copy(update={"length_mm": belt.length_mm * k, "window_mm": belt.window_mm * k})
                for belt in stage.belts
            ),
            "centre_mm": (stage.centre_mm[0] * k, stage.centre_mm[1] * k),
            "clearance_mm": stage.clearance_mm * k,
            "belt_speed_m_s": stage.belt_speed_m_s * k,
        }
    )


def _times(problem: Problem, k: float) -> Problem:
    return problem.model_copy(update={"stages": tuple(_stage_times(stage, k) for stage in problem.stages)})


def _sizes_times(problem: Problem, stages: tuple[StageSizes, ...], k: float) -> tuple[StageSizes, ...]:
    """Return the sizes a constant times as large, on the belts of the scaled problem."""
    scaled = []
    for old, new, sizes in zip(stages, _times(problem, k).stages, stages, strict=True):
        belt = next(belt for belt in new.belts if belt.marking == old.belt.marking)
        positions = tuple(
            p.model_copy(
                update={"driver_mm": p.driver_mm * k, "driven_mm": p.driven_mm * k, "centre_mm": p.centre_mm * k}
            )
            for p in sizes.positions
        )
        scaled.append(StageSizes(belt=belt, positions=positions))
    return tuple(scaled)


@given(seed=SEEDS, k=st.floats(min_value=0.5, max_value=30.0))
@MANY
def test_scaling_all_lengths_scales_the_design_and_keeps_j(seed: int, k: float) -> None:
    """A machine k times as large has the same J, and the first design k times as large is a best one of it."""
    problem = tiny_problem(seed)
    assume(clear_cut(problem))
    small, large = search(problem), search(_times(problem, k))
    assert (small.candidate is None) == (large.candidate is None)
    if small.candidate is None:
        return
    assert large.proof.listed == pytest.approx(small.proof.listed, abs=J)
    scaled = _sizes_times(problem, small.candidate.stages, k)
    assert broken_rules(_times(problem, k), scaled) == []
    assert score(problem, scaled).j == pytest.approx(large.proof.listed, abs=J)


# Swapping driver and driven


def _bare(problem: Problem) -> Problem:
    """Return the problem without slip and without limits that tell one side from the other."""
    stages = tuple(
        stage.model_copy(
            update={
                "slip": 0.0,
                "belt_speed_m_s": inf,
                "driven_rpm": inf,
                "driver": stage.driver.model_copy(update={"rim_speed_m_s": inf}),
                "driven": stage.driven.model_copy(update={"rim_speed_m_s": inf}),
            }
        )
        for stage in problem.stages
    )
    return problem.model_copy(update={"stages": stages})


def _mirrored(problem: Problem) -> Problem:
    """Return the problem seen from the other shaft: sides swapped, every speed n become c/n, positions backwards."""
    speed = problem.motor_rpm * problem.gain_out * prod(stage.gain for stage in problem.stages)
    c = speed**2
    targets = problem.targets
    return problem.model_copy(
        update={
            "layout": Layout(
                positions=problem.layout.positions,
                offsets=tuple(tuple(row[-1] - offset for offset in row[::-1]) for row in problem.layout.offsets),
            ),
            "stages": tuple(
                stage.model_copy(update={"driver": stage.driven, "driven": stage.driver}) for stage in problem.stages
            ),
            "targets": targets.model_copy(
                update={
                    "bands": tuple(
                        band.model_copy(update={"low_rpm": c / band.high_rpm, "high_rpm": c / band.low_rpm})
                        for band in targets.bands
                    ),
                    "lo_rpm": c / targets.hi_rpm,
                    "hi_rpm": c / targets.lo_rpm,
                    "never_above_rpm": c / targets.never_below_rpm if targets.never_below_rpm else inf,
                    "never_below_rpm": c / targets.never_above_rpm,
                }
            ),
        }
    )


@given(seed=SEEDS)
@MANY
def test_swapping_driver_and_driven_mirrors_the_speeds_and_keeps_j(seed: int) -> None:
    """With sides swapped and all wanted speeds inverted the least J is the same."""
    problem = _bare(tiny_problem(seed))
    assume(clear_cut(problem))
    one, other = search(problem), search(_mirrored(problem))
    assert (one.candidate is None) == (other.candidate is None)
    assert one.proof.listed == pytest.approx(other.proof.listed, abs=J)


# The same offset on all diameters


@given(seed=SEEDS, offset_mm=st.floats(min_value=-20.0, max_value=40.0))
@FEW
def test_the_same_offset_on_all_diameters_keeps_the_belt_fit(seed: int, offset_mm: float) -> None:
    """An open belt longer by π times the offset runs at the very same centre distances."""
    problem = tiny_problem(seed)
    found = search(problem)
    assume(found.candidate is not None)
    assert found.candidate is not None
    for rules, sizes in zip(problem.stages, found.candidate.stages, strict=True):
        if rules.crossed:
            continue
        for position in sizes.positions:
            centre = centre_for_length_mm(
                position.driver_mm + offset_mm, position.driven_mm + offset_mm, sizes.belt.length_mm + pi * offset_mm
            )
            assert float(centre) == pytest.approx(position.centre_mm, abs=1e-8)


# Looking at everything


@given(seed=SEEDS)
@MANY
def test_search_is_looking_at_everything(seed: int) -> None:
    """On a tiny catalogue the search finds the J of the best combination, and no design only where there is none."""
    problem = tiny_problem(seed)
    assume(clear_cut(problem))
    truth, found = best_by_brute_force(problem), search(problem)
    assert found.proof.status == ("no design" if truth is None else "proved")
    assert found.proof.listed == pytest.approx(inf if truth is None else truth[0], abs=J)


# Built backwards


LAYOUTS = (
    Layout(positions=(3,), offsets=((0, 1, 2),)),
    Layout(positions=(5,), offsets=((0, 1, 2, 3, 4),)),
    Layout(positions=(2, 3), offsets=((0, 3), (0, 1, 2))),
    Layout(positions=(2, 3), offsets=((0, 1), (0, 2, 4))),
    Layout(positions=(2, 4), offsets=((0, 2), (0, 1, 4, 5))),
)
MOTOR_RPM = 1420.0
REACH = 1.15


@st.composite
def _known_machines(draw: st.DrawFn) -> tuple[Problem, tuple[StageSizes, ...]]:
    """Draw a machine that works, and the problem that asks for about what it does, with other sizes beside its own."""
    layout = draw(st.sampled_from(LAYOUTS))
    turned = draw(st.booleans())
    step = draw(st.floats(min_value=0.1, max_value=2 * REACH / max(row[-1] for row in layout.offsets)))
    rules, known = [], []
    for number, offsets in enumerate(layout.offsets):
        total = draw(st.floats(min_value=260, max_value=320))
        middle = draw(st.floats(min_value=-0.1, max_value=0.1)) - step * offsets[-1] / 2
        pairs = []
        for offset in offsets:
            ratio = exp(middle + step * offset + draw(st.floats(min_value=-0.02, max_value=0.02)))
            driven = round(2 * total / (1 + ratio)) / 2
            pairs.append((round(2 * total) / 2 - driven, driven))
        others = [draw(st.lists(st.integers(60, 240), min_size=0, max_size=5)) for _ in range(2)]
        centre = draw(st.floats(min_value=330, max_value=420))
        one, own = _known_stage(f"stage[{number}]", pairs, others, centre)
        rules.append(_with_turned_sides(one) if turned else one)
        known.append(own)
    assume(all(lower < upper for own in known for lower, upper in pairwise(p.driver_mm for p in own.positions)))
    problem = Problem(
        layout=layout,
        motor_rpm=MOTOR_RPM,
        stages=tuple(rules),
        targets=Targets(bands=(), lo_rpm=1, hi_rpm=2, distinct=0.02),
    )
    logs = score(problem, known).logs
    assume(all(upper - lower > 0.03 for lower, upper in pairwise(logs)))
    return _asking(problem, logs, draw(st.integers(0, len(logs)))), tuple(known)


def _known_stage(
    key: str, pairs: list[tuple[float, float]], others: list[list[int]], centre: float
) -> tuple[StageProblem, StageSizes]:
    length = belt_mm(*pairs[0], centre)
    centres = [centre_mm(*pair, length) or 0.0 for pair in pairs]
    belt = BeltChoice(section="A", marking="A", length_mm=length, window_mm=max(centres) - min(centres) + 1e-3)
    sides = [
        SideSizes(key=f"{key}.{name}", ready_mm=tuple(sorted({*own, *map(float, more)})))
        for name, own, more in zip(("driver", "driven"), zip(*pairs, strict=True), others, strict=True)
    ]
    stage = StageProblem(key=key, driver=sides[0], driven=sides[1], belts=(belt,), centre_mm=(250, 500))
    positions = tuple(
        PositionSizes(driver_mm=a, driven_mm=b, centre_mm=c, driver_source="ready", driven_source="ready")
        for (a, b), c in zip(pairs, centres, strict=True)
    )
    return stage, StageSizes(belt=belt, positions=positions)


def _with_turned_sides(stage: StageProblem) -> StageProblem:
    """Return the stage with both cones to be turned, its sizes listed on no grid, so that every pair is a point."""
    sides = {
        name: SideSizes(key=side.key, turned_mm=(side.ready_mm[0], side.ready_mm[-1]), listed_mm=side.ready_mm)
        for name, side in (("driver", stage.driver), ("driven", stage.driven))
    }
    return stage.model_copy(update=sides)


def _asking(problem: Problem, logs: tuple[float, ...], cut: int) -> Problem:
    """Return the problem that wants as many speeds below and above a cut as the machine has there."""
    lo, hi = exp(logs[0]), exp(logs[-1])
    edges = [lo * 0.97, *((lo + hi) / 2 for _ in range(0 < cut < len(logs))), hi * 1.03]
    bands = tuple(
        BandTarget(
            name=f"band {number}",
            low_rpm=low,
            high_rpm=high,
            top=number == len(edges) - 2,
            want=sum(log(low) <= value < log(high) for value in logs),
        )
        for number, (low, high) in enumerate(pairwise(edges))
    )
    targets = problem.targets.model_copy(update={"bands": bands, "lo_rpm": lo, "hi_rpm": hi})
    return problem.model_copy(update={"targets": targets})


@given(machine=_known_machines())
@MANY
def test_a_problem_built_backwards_from_a_machine_finds_it_or_better(
    machine: tuple[Problem, tuple[StageSizes, ...]],
) -> None:
    """Where a machine is known that does what is asked, the search finds one with no greater J."""
    problem, known = machine
    assume(broken_rules(problem, known) == [])
    logs = score(problem, known).logs
    value = end_miss(logs, problem.targets.lo_rpm, problem.targets.hi_rpm) + unevenness(logs)
    found = search(problem)
    assert found.proof.status == "proved"
    assert found.proof.listed <= value + J
    assert found.proof.structural <= found.proof.listed + J
