"""Timber and disc made least within a slack of J."""

from __future__ import annotations

from itertools import product

import pytest

from optimizer.geometry.belts import centre_for_length_mm
from optimizer.records import Problem
from optimizer.records.candidate import PositionSizes, StageSizes
from optimizer.records.refined import Goal
from optimizer.records.rules import broken_rules
from optimizer.records.speeds import log_speeds
from optimizer.refine import amount, refine
from optimizer.scoring import j_of
from optimizer.search import round_sizes, search
from tests.unit.search.machines import two_stage_machine
from tests.unit.search.test_rounding import machine


@pytest.mark.parametrize("window_mm", [0.2, 5.0])
@pytest.mark.parametrize("goal", ["timber", "disc"])
def test_what_is_preferred_falls_within_the_slack(goal: Goal, window_mm: float) -> None:
    """From the design of least J, refinement takes less of what is preferred, and J stays within what is allowed."""
    problem = _with_width(two_stage_machine(window_mm=window_mm))
    found = search(problem)
    assert found.candidate is not None
    most_j = found.proof.listed + 0.005
    refined = refine(found.candidate, found.proof.structural, goal, most_j)
    assert refined.kept == "refined"
    assert refined.goal == goal
    assert amount(goal, problem, refined.smooth) < amount(goal, problem, found.candidate.stages) * 0.999
    assert refined.smooth_j <= most_j + 1e-9


@pytest.mark.parametrize("goal", ["timber", "disc"])
def test_no_sizes_near_take_less(goal: Goal) -> None:
    """No product of sizes within a millimetre, in steps of a third, takes less within the slack than the answer."""
    problem = machine((2,), ((0, 1),), 8.0)
    found = search(problem)
    assert found.candidate is not None
    most_j = found.proof.listed + 0.01
    stages = refine(found.candidate, 0.0, goal, most_j).smooth
    least = amount(goal, problem, stages)
    steps = [number / 3 for number in range(-3, 4)]
    positions, belt = stages[0].positions, stages[0].belt
    for away in product(steps, repeat=4):
        moved = []
        for p, (left, right) in zip(positions, (away[:2], away[2:]), strict=True):
            a, b = p.driver_mm + left, p.driven_mm + right
            moved.append(PositionSizes(driver_mm=a, driven_mm=b, centre_mm=centre_for_length_mm(a, b, belt.length_mm)))
        sizes = (StageSizes(belt=belt, positions=tuple(moved)),)
        if (
            amount(goal, problem, sizes) < least * (1 - 1e-6)
            and j_of(problem.targets, log_speeds(problem, sizes)) < most_j
        ):
            assert broken_rules(problem, sizes), away


def test_set_discs_are_counted_as_they_are_bought() -> None:
    """Where discs come in set sizes an answer that saves no disc is not called less timber."""
    problem = machine((3,), ((0, 1, 2),), 8.0)
    stage = problem.stages[0]
    sides = {
        name: getattr(stage, name).model_copy(update={"discs_mm": (120.0, 160.0, 220.0), "truing_mm": 4.0})
        for name in ("driver", "driven")
    }
    problem = problem.model_copy(update={"stages": (stage.model_copy(update=sides),)})
    found = search(problem)
    assert found.candidate is not None
    refined = refine(found.candidate, 0.0, "timber", found.proof.listed + 0.005)
    before, after = (amount("timber", problem, sizes) for sizes in (found.candidate.stages, refined.smooth))
    assert after <= before * (1 + 1e-9)
    rounded = round_sizes(problem, refined.smooth, "timber", found.proof.listed + 0.005)
    assert rounded.stages is not None
    assert amount("timber", problem, rounded.stages) <= before * (1 + 1e-9)


def _with_width(problem: Problem) -> Problem:
    stages = []
    for stage in problem.stages:
        sides = {name: getattr(stage, name).model_copy(update={"width_mm": 20.0}) for name in ("driver", "driven")}
        stages.append(stage.model_copy(update=sides))
    return problem.model_copy(update={"stages": tuple(stages)})
