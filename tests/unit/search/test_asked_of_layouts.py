"""What a search of a layout says beside its design: status, reason, bound, figures; each case on its own."""

from __future__ import annotations

from importlib import import_module
from math import inf

import pytest

from optimizer.clock import ENDLESS, Clock
from optimizer.records import Problem
from optimizer.search import Shelf, look, search, some_design
from optimizer.search.search import belts_leave_too_little, exhausted, out_of_reach, too_fast, wants_unmet
from optimizer.search.space import Space
from optimizer.search.threshold import greatest_j
from tests.clocks import Ear
from tests.unit.search.machines import two_stage_machine


def machine(**targets: object) -> Problem:
    """Return a coarse machine of two stages with other targets."""
    problem = two_stage_machine(grid_mm=27.0, window_mm=20.0)
    return problem.model_copy(update={"targets": problem.targets.model_copy(update=targets)})


def test_a_search_for_designs_up_to_a_j_is_set_aside_where_there_are_none() -> None:
    """Below the best J nothing is listed, which is no proof that there is no design; just at it there is."""
    whole = look(machine())
    best = whole.found.proof.listed
    assert whole.found.proof.status == "proved" and best < inf
    less = look(machine(), most=best / 2).found
    assert (less.candidate, less.proof.status) == (None, "set aside")
    assert less.proof.reason == f"no listed design has a J up to {best / 2:.2%}"
    assert (less.proof.listed, less.proof.bound) == (inf, best / 2)
    enough = look(machine(), most=best + 1e-9).found
    assert (enough.proof.status, enough.proof.reason, enough.candidate) == ("proved", "", whole.found.candidate)
    assert whole.terms is not None and look(machine(), most=best / 2).terms is None
    assert whole.greatest_grip() is None
    space = Space.of(machine())
    assert whole.found.proof.combinations == space.combinations() > 0
    assert whole.found.proof.pairs == tuple(len(index.pairs) for index in space.indexes)
    assert whole.found.proof.examined > 0
    assert whole.found.proof.bound == best
    assert greatest_j(space) > best


def test_the_greatest_grip_is_sought_within_its_own_slack(monkeypatch: pytest.MonkeyPatch) -> None:
    """From the bound up to the best J and a twentieth; extremes are those of timber and disc, with grip where asked."""
    asked: list[tuple[object, ...]] = []
    module = import_module("optimizer.search.search")
    monkeypatch.setattr(module, "greatest_grip", lambda *terms: asked.append(terms))
    monkeypatch.setattr(module, "extremes_of", lambda *terms: ("of timber",))
    monkeypatch.setattr(module, "best_grip", lambda *terms: ("of grip",))
    searched = look(machine(grip_slack=0.05))
    assert searched.greatest_grip() is None and searched.terms is not None
    ((space, bound, best, most, clock),) = asked
    assert (space, bound, best, clock) == (searched.terms.space, searched.terms.bound, searched.terms.best, ENDLESS)
    assert most == pytest.approx(searched.found.proof.listed + 0.05)
    assert [str(told) for told in searched.with_extremes().extremes] == ["of timber"]
    assert [str(told) for told in searched.with_extremes(grip=True).extremes] == ["of timber", "of grip"]


def test_a_search_without_a_design_says_all_was_looked_at() -> None:
    """Ends within a millionth of a thousandth: the sizes reach, but no listed combination does."""
    problem = machine(end_miss_most=1e-9, unevenness_most=1e-9)
    found = search(problem)
    assert (found.candidate, found.proof.status, found.proof.reason) == (None, "no design", exhausted(problem))
    some = some_design(problem)
    assert (some.proof.status, some.proof.reason, some.proof.bound) == ("no design", exhausted(problem), inf)
    assert some.proof.listed == inf


def test_some_design_is_told_as_not_proved() -> None:
    """Any design has a J no less than the best; it says that it need not be the best, and what bounds it."""
    best, shelf = search(machine()), Shelf()
    found = some_design(machine(), shelf=shelf)
    assert found.candidate is not None
    assert (found.proof.status, found.proof.reason) == ("not proved", "any design was asked for, not the best")
    assert best.proof.listed <= found.proof.listed < inf
    assert found.proof.bound <= best.proof.listed
    assert found.proof.examined > 0
    stopped = some_design(machine(), Clock(most=0))
    halted = search(machine(), Clock(most=0))
    for ended in (stopped, halted):
        assert (ended.candidate, ended.proof.status) == (None, "not proved")
        assert ended.proof.reason == "0 combinations were looked at"


def test_a_watch_hears_of_every_threshold() -> None:
    """Thresholds rise from just above the bound to where the design is found, none twice."""
    ear = Ear()
    found = search(machine(), Clock(watch=ear))
    thresholds = [threshold for threshold, _ in ear.heard]
    assert thresholds and thresholds == sorted(set(thresholds))
    assert found.proof.listed <= thresholds[-1]
    assert all(threshold < found.proof.listed for threshold in thresholds[:-1])


@pytest.mark.parametrize(
    ("targets", "stage", "reason"),
    [
        ({"hi_rpm": 99_000.0, "bands": ()}, {}, out_of_reach),
        ({"never_above_rpm": 1000.0}, {}, wants_unmet),
        ({}, {"driven_rpm": 300.0}, too_fast),
        ({}, {"centre_mm": (400.0, 400.5)}, belts_leave_too_little),
    ],
)
def test_the_first_thing_that_rules_a_layout_out_is_told(
    targets: dict[str, object], stage: dict[str, object], reason: object
) -> None:
    """What no sizes could reach, no speeds meet, limits of speed or belts forbid: bounded by infinity, nothing laid."""
    problem = machine(**targets)
    first, second = problem.stages
    problem = problem.model_copy(update={"stages": (first, second.model_copy(update=stage))})
    found = search(problem)
    assert (found.candidate, found.proof.status, found.proof.bound) == (None, "no design", inf)
    assert found.proof.reason == reason(problem)  # type: ignore[operator]
    laid = reason is belts_leave_too_little
    assert (found.proof.structural < inf) is laid
    assert bool(found.proof.pairs) is laid
    assert (found.proof.ideal == inf) is (reason is wants_unmet)
