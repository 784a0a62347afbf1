"""Many layouts in one call, and the question whether any design exists."""

from __future__ import annotations

import pytest

from optimizer.clock import Clock
from optimizer.layouts.orders import orders
from optimizer.search import Shelf, look, look_all, search, some_design
from optimizer.search import index as shelves
from tests.oracle.instances import small_problem
from tests.sampled import sampled
from tests.unit.search.machines import two_stage_machine


def test_layouts_searched_together_come_out_as_they_do_alone() -> None:
    """Pairs laid once for all layouts give each the same result, to the last figure, as a search of its own."""
    machine = two_stage_machine()
    layouts = [layout for positions in ((2, 3), (3, 2), (2, 2), (1, 4)) for layout in orders(positions)]
    problems = [machine.model_copy(update={"layout": layout}) for layout in layouts]
    together = [searched.found for searched in look_all(problems)]
    assert together == [look(problem).found for problem in problems]
    assert any(found.candidate for found in together)


def test_a_shelf_gives_up_what_was_used_longest_ago(monkeypatch: pytest.MonkeyPatch) -> None:
    """No more pairs are kept than may be, yet those in use always are."""
    monkeypatch.setattr(shelves, "MOST_PAIRS", 1)
    machine, shelf = two_stage_machine(), Shelf()
    first, second = machine.stages
    one = shelf.index(first, positions=2, ticks=False, entering=None)
    assert shelf.index(first, positions=3, ticks=False, entering=None) is one
    shelf.index(second, positions=3, ticks=False, entering=None)
    assert shelf.index(first, positions=2, ticks=False, entering=None) is not one


@pytest.mark.parametrize("seed", sampled(range(80), every=4, slow=(68,)))
def test_some_design_exists_where_the_best_one_does(seed: int) -> None:
    """Asked for any design, the search finds one that keeps the rules exactly where the full search finds the best."""
    problem = small_problem(seed)
    best, some = search(problem), some_design(problem)
    assert (some.candidate is None) == (best.candidate is None)
    if some.candidate is None:
        assert some.proof.status == "no design"
        assert some.proof.reason == best.proof.reason
    else:
        assert some.proof.status == "not proved"
        assert some.proof.listed >= best.proof.listed - 1e-12


def test_a_search_for_any_design_says_when_it_was_ended() -> None:
    """Ended by its limit with nothing found, it claims neither a design nor that there is none."""
    found = some_design(two_stage_machine(grid_mm=5.0), Clock(most=-1))
    assert found.candidate is None
    assert (found.proof.status, found.proof.reason) == ("not proved", "-1 combinations were looked at")


def test_memory_held_is_told() -> None:
    """The proof says how much the pairs and tabulated choices took, no less than the pairs alone."""
    proof = search(two_stage_machine()).proof
    assert proof.held_bytes >= 100 * sum(proof.pairs)


def test_what_only_limits_of_speed_rule_out_is_not_laid_to_the_sizes() -> None:
    """Slow rims rule a machine out that could be made otherwise, and the reason says so."""
    machine = two_stage_machine()
    driven = machine.stages[1].driven.model_copy(update={"rim_speed_m_s": 4.0})
    slow = machine.model_copy(
        update={"stages": (machine.stages[0], machine.stages[1].model_copy(update={"driven": driven}))}
    )
    assert search(machine).proof.status == "proved"
    proof = search(slow).proof
    assert proof.status == "no design"
    assert proof.reason.startswith(
        "the limits of rim, belt and shaft speed leave the sizes too little for speeds from 250"
    )
