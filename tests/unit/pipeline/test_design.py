"""The whole way from a scenario to a design."""

from __future__ import annotations

from functools import cache
from typing import Literal

import pytest

import optimizer.pipeline.design
from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.layouts import layouts_of, problem_for
from optimizer.pipeline.design import design
from optimizer.pipeline.finish import Finished, finish, on_ticks
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.pipeline.options import DesignOptions
from optimizer.records.candidate import Candidate
from optimizer.records.design import Design
from optimizer.scenario import load_scenario
from optimizer.search import search
from tests.machines import GRINDER, MIXER

Prefer = Literal["evenness", "timber", "disc"]


@cache
def designed(text: str, prefer: Prefer = "evenness") -> Design:
    """Return the design of a scenario, made once."""
    return design(load_scenario(text, "machine.toml"), DesignOptions(prefer=prefer))


@pytest.mark.parametrize("text", [GRINDER, MIXER])
def test_design_passes_its_independent_checks(text: str) -> None:
    """No check of what is impossible, and of no limit, fails."""
    assert designed(text).failed == ()


@pytest.mark.parametrize("text", [GRINDER, MIXER])
def test_four_figures_keep_their_order(text: str) -> None:
    """Ideal is not above structural, structural not above listed nor final; the gaps are their differences."""
    proof = designed(text).proof
    assert proof.status == "proved"
    assert 0 <= proof.ideal <= proof.structural <= min(proof.listed, proof.final) + 1e-12
    assert proof.gap == 0.0
    assert proof.end_to_end_gap == pytest.approx(proof.final - proof.structural)
    assert proof.ruled_out == proof.combinations - proof.examined


@pytest.mark.parametrize(("text", "tick_mm"), [(GRINDER, 0.5), (MIXER, 25.4 / 32)])
def test_every_turned_size_is_on_a_tick_of_the_makers_line(text: str, tick_mm: float) -> None:
    """Turned sizes are whole steps of what is turned, on the line the maker measures."""
    for stage in designed(text).machine.stages:
        for position in stage.positions:
            for line, step in zip(stage.lines, (position.driver, position.driven), strict=True):
                if step.source == "turned":
                    size = step.outside_mm if line.measured == "outside" else step.datum_mm
                    assert size / tick_mm == pytest.approx(round(size / tick_mm), abs=1e-6)


def test_a_layout_that_cannot_be_turned_makes_way_for_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no sizes on whole steps are found for the layout chosen, the next is proposed, and the reason is told."""
    barred = designed(MIXER).layout

    def refusing(candidate: Candidate, *rest: object, **options: object) -> Finished:
        if (candidate.problem.layout.name, candidate.problem.layout.order) == (barred.name, barred.order):
            raise NoDesignError("none of them on steps of 1 mm")
        return finish(candidate, *rest, **options)  # type: ignore[arg-type]  # handed on as it came

    monkeypatch.setattr(optimizer.pipeline.design, "finish", refusing)
    other = design(load_scenario(MIXER, "machine.toml"), DesignOptions())
    assert (other.layout.name, other.layout.order) != (barred.name, barred.order)
    told = [(entry.outcome, entry.said) for entry in other.tried if entry.said == "none of them on steps of 1 mm"]
    assert told == [("no design", "none of them on steps of 1 mm")]


def test_where_nothing_can_be_turned_that_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no layout has sizes on whole steps, the reason is that of the last one tried."""

    def refusing(*_: object, **__: object) -> Finished:
        raise NoDesignError("none of them on steps of 1 mm")

    monkeypatch.setattr(optimizer.pipeline.design, "finish", refusing)
    with pytest.raises(NoDesignError, match="none of them on steps of 1 mm"):
        design(load_scenario(GRINDER, "machine.toml"), DesignOptions())


def test_wants_are_met() -> None:
    """Every band has at least the speeds wanted in it."""
    for band in (*designed(GRINDER).bands, *designed(MIXER).bands):
        assert len(band.speeds_rpm) >= band.want


def test_closing_proof_leaves_nothing_better_to_turn() -> None:
    """The final J is not above the bound of the closing search."""
    for text in (GRINDER, MIXER):
        made = designed(text)
        assert made.closing.status in ("none better", "better")
        assert made.series.j <= made.closing.bound + 1e-9


@pytest.mark.parametrize(("prefer", "name"), [("timber", "least timber"), ("disc", "smallest largest disc")])
def test_preference_is_followed_within_the_slack(prefer: Prefer, name: str) -> None:
    """What is preferred comes out no worse than with least J, no worse than the extreme, and J within the slack."""
    even, made = designed(GRINDER), designed(GRINDER, prefer)
    extreme = next(e for e in made.extremes if e.best_at == name)

    def value(made: Design) -> float:
        return made.layout.timber_mm3 if prefer == "timber" else made.layout.largest_disc_mm

    assert value(made) <= value(even) + 1e-9
    assert value(made) <= extreme.value * 1.005  # the extreme counts listed sizes, which rays may leave a little
    assert made.series.j <= made.proof.listed + 0.005 + 1e-9
    assert made.refinement.goal == prefer
    assert made.failed == ()
    assert any(remark.startswith(f"Preferred: {name}.") for remark in made.remarks)


def test_listener_hears_every_part() -> None:
    """The parts of the work are named in their order, thresholds only rise within one."""
    heard: list[str] = []

    class Ear:
        def begin(self, stage: str) -> None:
            heard.append(stage)

        def hear(self, threshold: float, examined: int) -> None:
            assert threshold >= 0
            assert examined >= 0

    design(load_scenario(GRINDER, "grinder.toml"), clock=Clock(watch=Ear()))
    assert heard == ["layout 4", "extremes", "refining", "closing proof"]


def test_ended_search_says_so_and_proposes_no_change(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a search was ended before it found anything, and no design is met, nobody is told what would help."""
    monkeypatch.setattr("optimizer.pipeline.choose.with_any_design", lambda problem, searched, clock: searched)
    with pytest.raises(NoDesignError) as caught:
        design(load_scenario(GRINDER, "grinder.toml"), clock=Clock(most=0))
    assert str(caught.value).splitlines() == [
        "layout 4: the search was ended before it found a design: 0 combinations were looked at"
    ]
    assert isinstance(caught.value, NoLayoutError)
    assert caught.value.told.changes is None


def test_no_design_gives_the_reason_and_a_change_that_does() -> None:
    """Where travel is too short for any belt, the reason is told with the least change."""
    text = GRINDER.replace("travel = 90", "travel = 30")
    with pytest.raises(NoLayoutError) as caught:
        design(load_scenario(text, "grinder.toml"))
    assert str(caught.value).startswith("layout 4: ")
    changes = caught.value.told.changes
    assert changes is not None
    assert "stage[0].travel" in {setting.key for change in changes.least for setting in change.settings}


def test_turned_sizes_of_a_point_search_are_on_ticks() -> None:
    """A candidate on whole ticks is told from one that is not."""
    scenario = load_scenario(GRINDER, "grinder.toml")
    candidate = search(problem_for(scenario, layouts_of(scenario)[0])).candidate
    assert candidate is not None
    moved = candidate.stages[0].positions[0].model_copy(update={"driver_mm": 80.3, "driver_source": "turned"})
    stage = candidate.stages[0].model_copy(update={"positions": (moved, *candidate.stages[0].positions[1:])})
    assert not on_ticks(candidate.problem.stages, (stage,))


def test_what_the_search_may_reach_is_what_the_check_allows() -> None:
    """The grinder wants up to 1700 rpm and may never pass 1740: it idles 1500/1420/0.99 = 1.0670 times as fast.

    Under full load that leaves 1740/1.0670 = 1630.7 rpm, which the best design comes within 1 % of and never passes.
    """
    made = design(load_scenario(GRINDER + "\n[series]\nnever_above = 1740\n", "grinder.toml"))
    (check,) = [check for check in made.checks if check.name == "fastest speed"]
    assert check.passed
    assert 0.99 * 1740 <= (check.value or 0) <= 1740
    assert made.machine.speeds[-1].rpm <= 1630.73
