"""A design among fewer sizes and belts is one of the whole machine."""

from __future__ import annotations

import pytest

from optimizer.clock import Clock
from optimizer.layouts import layouts_of, problem_for
from optimizer.pipeline.choose import MOST_BELTS, MOST_LISTED, coarser, with_any_design
from optimizer.records.candidate import Candidate
from optimizer.records.proof import Found, Proof
from optimizer.scenario import load_scenario
from optimizer.search import Searched, search
from tests.machines import GRINDER, MIXER

FINE = GRINDER.replace("[making]", "[making]\ngrid = 0.5\nturn_to = 0.1", 1)


@pytest.mark.parametrize("text", [FINE, MIXER])
def test_a_design_of_fewer_sizes_is_one_of_all(text: str) -> None:
    """It keeps every rule of the whole problem; no side lists more than it may; its J is near the best."""
    scenario = load_scenario(text, "m.toml")
    problem = problem_for(scenario, layouts_of(scenario)[-1])
    few = coarser(problem)
    for stage in few.stages:
        assert len(stage.belts) <= MOST_BELTS
        assert all(
            len(sizes) <= MOST_LISTED for s in (stage.driver, stage.driven) for sizes in (s.listed_mm, s.ready_mm)
        )
    found, best = search(few), search(problem)
    assert found.candidate is not None
    assert Candidate(problem=problem, stages=found.candidate.stages)
    assert best.proof.listed <= found.proof.listed + 0.01


def test_a_search_that_was_ended_gets_a_design_with_its_own_bound_and_reason() -> None:
    """Bound and reason are those of the search that was ended; after an interrupt nothing more is looked for."""
    scenario = load_scenario(FINE, "m.toml")
    problem = problem_for(scenario, layouts_of(scenario)[0])
    ended = Searched(Found(proof=Proof(status="not proved", reason="time", bound=0.0001)))
    some = with_any_design(problem, ended, Clock(-0.2)).found
    assert some.candidate is not None and some.candidate.problem == problem
    assert (some.proof.status, some.proof.reason, some.proof.bound) == ("not proved", "time", 0.0001)
    clock = Clock()
    clock.interrupt()
    assert with_any_design(problem, ended, clock) is ended
