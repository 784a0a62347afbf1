"""The search against looking at every combination of a tiny catalogue."""

from __future__ import annotations

import pytest

from optimizer.records.rules import broken_rules
from optimizer.search import search
from tests.oracle.brute import best_by_brute_force, every_design, keeps_the_rules, stages_of
from tests.oracle.clear_cut import clear_cut
from tests.oracle.instances import tiny_problem
from tests.oracle.milp import best_by_milp
from tests.sampled import sampled

SEEDS = tuple(seed for seed in range(132) if seed != 114)  # 114 takes brute force most of a second
ABOUT_DESIGNS = 60


@pytest.mark.parametrize("seed", sampled(SEEDS, every=3))
def test_search_finds_what_looking_at_everything_finds(seed: int) -> None:
    """The least J is that of the best of all combinations, and there is none only where none keeps the rules."""
    problem = tiny_problem(seed)
    truth = best_by_brute_force(problem)
    found = search(problem)
    if truth is None:
        assert (found.proof.status, found.candidate) == ("no design", None)
        return
    assert found.proof.status == "proved"
    assert found.proof.listed == pytest.approx(truth[0], abs=1e-9)
    assert found.candidate is not None


def test_the_seeds_hold_enough_of_both_answers() -> None:
    """At least a quarter of the tiny problems have a design, at least a quarter have none, all are clear-cut."""
    problems = [tiny_problem(seed) for seed in SEEDS]
    assert all(map(clear_cut, problems))
    solved = sum(best_by_brute_force(problem) is not None for problem in problems)
    assert len(SEEDS) / 4 <= solved <= 3 * len(SEEDS) / 4


@pytest.mark.parametrize("seed", sampled(range(0, 120, 2), every=3))
def test_two_readings_of_the_rules_agree(seed: int) -> None:
    """A combination keeps the rules as written for looking at everything just when no rule of the records is broken."""
    problem = tiny_problem(seed)
    designs = list(every_design(problem))
    for design in designs[:: max(1, len(designs) // ABOUT_DESIGNS)]:
        assert keeps_the_rules(problem, design) == (broken_rules(problem, stages_of(design)) == [])


@pytest.mark.parametrize("seed", sampled(range(1, 60, 2), every=2))
def test_the_two_truths_agree(seed: int) -> None:
    """A general solver and looking at everything find the same least J."""
    problem = tiny_problem(seed)
    one, other = best_by_brute_force(problem), best_by_milp(problem)
    assert (one is None) == (other is None)
    if one is not None and other is not None:
        assert other.j == pytest.approx(one[0], abs=1e-9)
