"""The search of a middle shaft against looking at every design of a tiny machine, and against a general solver."""

from __future__ import annotations

from functools import cache
from itertools import islice

import pytest

from optimizer.records.candidate import PositionSizes, StageSizes
from optimizer.records.middle import MiddleFound, MiddleProblem, broken_middle_rules
from optimizer.search.middle import search_middle
from tests.oracle.middle import Design, best_middle, designs_of, keeps_middle_rules
from tests.oracle.middle_instances import small_middle, tiny_middle
from tests.oracle.middle_milp import least_f_by_milp
from tests.sampled import sampled

SHARED = tuple(range(60))
COUPLED = tuple(seed for seed in range(31) if seed != 16)  # 16 takes brute force over a second
OWN = tuple(range(24))
OWN_COUPLED = (0, 1, 2, 6)
MILP = (0, 1, 2, 3, 4, 5, 6, 7, 8, 10)


def _timber(problem: MiddleProblem, found: MiddleFound) -> float:
    assert found.candidate is not None
    total = 0.0
    for number, (rules, sizes) in enumerate(zip(problem.stages, found.candidate.stages, strict=True)):
        for p in sizes.positions:
            if p.driver_source == "turned" and not (number and problem.shared):
                total += rules.driver.timber_mm3(p.driver_mm)
            if p.driven_source == "turned":
                total += rules.driven.timber_mm3(p.driven_mm)
    return total


@cache
def _found(seed: int, shared: bool = True, coupled: bool = False) -> MiddleFound:
    return search_middle(tiny_middle(seed, shared=shared, coupled=coupled))


def _agree(seed: int, shared: bool = True, coupled: bool = False) -> None:
    problem = tiny_middle(seed, shared=shared, coupled=coupled)
    truth, found = best_middle(problem), _found(seed, shared, coupled)
    if truth is None:
        assert (found.proof.status, found.candidate) == ("no design", None)
        assert found.proof.reason
        return
    assert found.proof.status == "proved"
    assert found.proof.listed == pytest.approx(truth.f, abs=1e-9)
    assert found.distinct == truth.distinct
    assert _timber(problem, found) == pytest.approx(truth.timber_mm3, abs=1e-2)


@pytest.mark.parametrize("seed", sampled(SHARED, every=4))
def test_a_shared_cone_is_searched_as_looking_at_everything_finds(seed: int) -> None:
    """F is least, ties go to more distinct speeds and then to less timber, and there is none only where none is."""
    _agree(seed)


@pytest.mark.parametrize("seed", sampled(COUPLED, every=3))
def test_a_shared_cone_on_one_movement_is_searched_as_looking_at_everything_finds(seed: int) -> None:
    """For every pair of positions one setting fits both belts, and of the designs that keep this the best is found."""
    _agree(seed, coupled=True)


@pytest.mark.parametrize("seed", sampled(OWN, every=3))
def test_two_cones_on_the_middle_shaft_are_searched_as_looking_at_everything_finds(seed: int) -> None:
    """With a cone for either belt all pairs of positions are speeds, and the best design is found."""
    _agree(seed, shared=False)


@pytest.mark.parametrize("seed", OWN_COUPLED)
def test_two_cones_on_one_movement_are_searched_as_looking_at_everything_finds(seed: int) -> None:
    """The same where one movement sets both belts."""
    _agree(seed, shared=False, coupled=True)


def test_the_seeds_hold_enough_of_both_answers() -> None:
    """Of every kind of tiny machine a sixth or more have a design, a sixth or more have none."""
    for every, shared, coupled in ((SHARED, True, False), (COUPLED, True, True), (OWN, False, False)):
        seeds = sampled(every, every=2)
        solved = sum(_found(seed, shared, coupled).candidate is not None for seed in seeds)
        assert len(seeds) / 6 <= solved <= 5 * len(seeds) / 6


@pytest.mark.parametrize("seed", sampled(MILP, every=4))
def test_a_shared_cone_is_searched_as_a_general_solver_finds(seed: int) -> None:
    """HiGHS and the search find the same least F, or both that there is no design."""
    problem = small_middle(seed)
    truth, found = least_f_by_milp(problem), search_middle(problem)
    if truth is None:
        assert found.proof.status == "no design"
    else:
        assert found.proof.status == "proved"
        assert found.proof.listed == pytest.approx(truth, abs=1e-7)


@pytest.mark.parametrize("how", [{}, {"coupled": True}, {"shared": False}], ids=str)
@pytest.mark.parametrize("seed", sampled(range(0, 24, 3), every=3))
def test_two_readings_of_the_rules_agree(seed: int, how: dict[str, bool]) -> None:
    """A design keeps the rules as written for looking at everything just when no rule of the records is broken."""
    problem = tiny_middle(seed, **how)
    for design in islice(designs_of(problem), 0, 600, 15):
        assert keeps_middle_rules(problem, design) == (broken_middle_rules(problem, _stages(design)) == [])


def _stages(design: Design) -> tuple[StageSizes, StageSizes]:
    made = [
        StageSizes(
            belt=belt,
            positions=tuple(
                PositionSizes(
                    driver_mm=p.driver.size_mm,
                    driven_mm=p.driven.size_mm,
                    centre_mm=p.centre_mm,
                    driver_source=p.driver.source,
                    driven_source=p.driven.source,
                )
                for p in levels
            ),
        )
        for belt, levels in zip(design.belts, design.levels, strict=True)
    ]
    return made[0], made[1]
