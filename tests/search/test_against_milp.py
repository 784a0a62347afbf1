"""The search against a general mixed-integer solver on seeded problems whose sizes are all points."""

from __future__ import annotations

from math import inf

import pytest

from optimizer.records.problem import Problem, StageProblem
from optimizer.records.rules import broken_rules
from optimizer.scoring import score
from optimizer.search import search
from tests.oracle.clear_cut import clear_cut
from tests.oracle.instances import small_problem
from tests.oracle.milp import best_by_milp
from tests.sampled import sampled

# seeds drawn from 0..399 so that every layout and order comes up, with and without a design
SEEDS = (
    *(0, 3, 5, 6, 9, 10, 11, 12, 14, 15, 16, 17, 20, 21, 23, 24, 25, 26, 29, 30, 31, 35, 38, 39, 40, 45, 46, 47),
    *(51, 58, 61, 68, 74, 76, 77, 94, 95, 103, 110, 115, 120, 125, 131, 145, 151, 154, 168, 172, 173, 180, 186),
    *(189, 199, 211, 227, 241, 242, 253, 291, 312, 331, 344, 399),
)
GATE = sampled(SEEDS, every=3, slow=(110, 253, 291))
WANTS_BIND = (9, 26, 110, 154, 168, 172, 180, 312, 399)
MOVING_BINDS = (15, 21, 35, 94, 115)


def _kept(stage: StageProblem) -> bool:
    return bool(stage.driver.standing_mm or stage.driven.standing_mm)


def _moves(stage: StageProblem) -> bool:
    limits = (stage.belt_speed_m_s, stage.driven_rpm, stage.driver.rim_speed_m_s, stage.driven.rim_speed_m_s)
    return min(limits) < inf


def _without_wants(problem: Problem) -> Problem:
    return problem.model_copy(update={"targets": problem.targets.model_copy(update={"bands": ()})})


@pytest.mark.parametrize("seed", GATE)
def test_search_finds_what_a_general_solver_finds(seed: int) -> None:
    """Both give the same J within 1e-7, or both say that no design exists."""
    problem = small_problem(seed)
    truth = best_by_milp(problem)
    found = search(problem)
    if truth is None:
        assert (found.proof.status, found.candidate) == ("no design", None)
        assert found.proof.reason
        return
    assert found.proof.status == "proved"
    assert found.candidate is not None
    assert found.proof.listed == pytest.approx(truth.j, abs=1e-7)
    assert score(problem, found.candidate.stages).j == pytest.approx(found.proof.listed, abs=1e-12)
    assert found.proof.structural <= truth.j + 1e-9
    assert broken_rules(problem, truth.stages) == []


def test_the_seeds_leave_no_tolerance_to_decide() -> None:
    """No pair and no speed of any of the problems lies so near a limit that 1e-5 mm would matter."""
    assert [seed for seed in GATE if not clear_cut(small_problem(seed))] == []


def test_the_seeds_cover_what_a_machine_may_state() -> None:
    """Among the problems are all shapes, orders, kept and crossed stages, several belts and every kind of limit."""
    problems = [small_problem(seed) for seed in SEEDS]
    stages = [stage for problem in problems for stage in problem.stages]
    shapes = {problem.layout.positions for problem in problems}
    assert shapes >= {(n,) for n in range(1, 6)} | {(1, 2), (2, 1), (2, 4), (3, 3), (3, 4)}
    assert {problem.layout.order.split()[0] for problem in problems} == {"one", "coarse", "fine", "interleaved"}
    windows = [belt.window_mm for stage in stages for belt in stage.belts]
    assert (min(windows) < 1, max(windows) > 20) == (True, True)
    assert sum(map(_kept, stages)) >= 10
    assert sum(bool(stage.driver.standing_mm and stage.driven.standing_mm) for stage in stages) >= 4
    assert sum(stage.crossed for stage in stages) >= 5
    assert sum(len(stage.belts) > 1 for stage in stages) >= 20
    assert sum(map(_moves, stages)) >= 10
    assert {stage.slip for stage in stages} >= {0.0, 0.01}
    assert {stage.gain for stage in stages} >= {0.5, 1.0}


@pytest.mark.parametrize("seed", sampled(WANTS_BIND, every=2, slow=(110,)))
def test_wants_bind_in_some_of_the_problems(seed: int) -> None:
    """Without its wants the problem has a better optimum, so the wants were put to the test."""
    problem = small_problem(seed)
    with_wants, without = search(problem), search(_without_wants(problem))
    assert without.proof.listed < with_wants.proof.listed - 1e-7


@pytest.mark.parametrize("seed", MOVING_BINDS)
def test_limits_on_moving_parts_bind_in_some_of_the_problems(seed: int) -> None:
    """Without limits on belt, rim and shaft speed the problem has a better optimum, or has one at all."""
    problem = small_problem(seed)
    free = tuple(
        stage.model_copy(
            update={
                "belt_speed_m_s": inf,
                "driven_rpm": inf,
                "driver": stage.driver.model_copy(update={"rim_speed_m_s": inf}),
                "driven": stage.driven.model_copy(update={"rim_speed_m_s": inf}),
            }
        )
        for stage in problem.stages
    )
    bound, unbound = search(problem), search(problem.model_copy(update={"stages": free}))
    assert unbound.proof.listed < bound.proof.listed - 1e-7
