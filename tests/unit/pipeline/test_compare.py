"""The layouts of a scenario side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

import pytest

import optimizer.pipeline.compare
import optimizer.pipeline.no_design
from optimizer.changes import Known
from optimizer.clock import Clock
from optimizer.documents.data import record_json
from optimizer.errors import NoDesignError, ScenarioError
from optimizer.layouts import layouts_of, problem_for
from optimizer.pipeline.compare import CompareOptions, compare
from optimizer.pipeline.design import design
from optimizer.pipeline.finish import Finished, finish
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Changes
from optimizer.records.comparison import Comparison
from optimizer.records.design import Design
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Found, Proof
from optimizer.scenario import Scenario, load_scenario
from optimizer.search import Searched, search
from tests.machines import GRINDER, MIXER, OLD_SAW

LAYOUTS, ORDERS, EXTREMES = CompareOptions(), CompareOptions(orders=True), CompareOptions(extremes=True)
UNEVEN = MIXER.replace("positions = [1, 2]", "positions = 2").replace("want = 3", "want = 2")
"""The mixer without layouts of one range."""


@cache
def compared(text: str, options: CompareOptions = LAYOUTS) -> Comparison:
    """Return the comparison of a scenario, made once."""
    return compare(load_scenario(text, "machine.toml"), options)


@cache
def designed(text: str) -> Design:
    """Return the design of a scenario, made once."""
    return design(load_scenario(text, "machine.toml"))


@pytest.mark.parametrize(("text", "options"), [(GRINDER, LAYOUTS), (MIXER, LAYOUTS), (MIXER, ORDERS), (UNEVEN, ORDERS)])
def test_the_row_proposed_is_what_design_takes(text: str, options: CompareOptions) -> None:
    """The one row called the proposal has layout, order and proof of the design, which may better it at the end."""
    (row,) = (row for row in compared(text, options).rows if row.proposed)
    made = designed(text)
    assert (row.name, row.order, row.offsets) == (made.layout.name, made.layout.order, made.layout.offsets)
    assert row.turned_steps == made.layout.turned_steps
    assert row.proof.structural == made.proof.structural
    assert row.proof.listed == made.proof.listed
    assert made.series.j <= row.j + 1e-9
    if made.closing.status == "none better":
        assert row.j == pytest.approx(made.series.j, abs=1e-9)


def test_every_layout_is_a_row_or_has_a_reason() -> None:
    """With all orders shown, rows and reasons together name every layout once."""
    titles = [row.title for row in compared(MIXER, ORDERS).rows]
    titles += [title for entry in compared(MIXER, ORDERS).without for title in entry.layouts]
    assert sorted(titles) == sorted(layout.title for layout in layouts_of(load_scenario(MIXER, "mixer.toml")))
    assert all(entry.reason for entry in compared(MIXER, ORDERS).without)


def test_a_layout_stands_there_in_one_order() -> None:
    """Without orders there is one row a layout, and it is the first row that the layout has with them."""
    names = [row.name for row in compared(MIXER).rows]
    assert len(names) == len(set(names))
    for row in compared(MIXER).rows:
        first = next(other for other in compared(MIXER, ORDERS).rows if other.name == row.name)
        assert first.offsets == row.offsets


def test_rows_are_proved_best_over_the_listed_sizes() -> None:
    """What a row says of its search is what a search of that layout alone says."""
    scenario = load_scenario(MIXER, "mixer.toml")
    for row in compared(MIXER).rows:
        layout = next(one for one in layouts_of(scenario) if one.title == row.title)
        proof = search(problem_for(scenario, layout)).proof
        assert row.proof.status == proof.status == "proved"
        assert row.proof.listed == pytest.approx(proof.listed, abs=1e-9)
        assert row.proof.gap == 0.0
        assert row.proof.combinations == proof.combinations
        assert 0 < row.proof.examined < proof.combinations
        assert row.proof.structural <= row.j + 1e-12
        assert row.proof.end_to_end_gap == pytest.approx(row.j - row.proof.structural)


@pytest.mark.parametrize("text", [GRINDER, MIXER])
def test_every_row_meets_every_want(text: str) -> None:
    """As many speeds count in every band as are wanted; that checks pass is what makes a row."""
    for row in compared(text).rows:
        assert all(count >= band.want for count, band in zip(row.band_counts, compared(text).bands, strict=True))


def test_one_row_is_the_best_of_each_number_of_speeds() -> None:
    """Rows stand by number of speeds, the first of each number is called its best."""
    rows = compared(MIXER, ORDERS).rows
    counts = [len(row.speeds_rpm) for row in rows]
    assert counts == sorted(counts)
    assert [row.number for row in rows] == list(range(1, len(rows) + 1))
    assert [row.best_of_speeds for row in rows] == [count not in counts[:n] for n, count in enumerate(counts)]


def test_extremes_are_rows_only_where_they_are_better() -> None:
    """Each extreme beats its layout's best design at what it was made for, within the slack of the listed J."""
    best, *extremes = compared(GRINDER, EXTREMES).rows
    assert best.made_for == ("least J",)
    assert extremes
    for row in extremes:
        assert row.offsets == best.offsets
        assert not (row.proposed or row.best_of_speeds)
        assert row.proof.listed <= best.proof.listed + 0.005 + 1e-9
        if "least timber" in row.made_for:
            assert row.timber_mm3 < best.timber_mm3
        if "smallest largest disc" in row.made_for:
            assert row.largest_disc_mm < best.largest_disc_mm


def test_layouts_that_no_rounding_gives_are_told_with_the_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where an order cannot be turned the next best one stands for its layout, and the reason is told."""
    scenario = load_scenario(MIXER, "mixer.toml")
    barred = next(row.title for row in compared(MIXER).rows if row.name == "2x4")

    def refusing(candidate: Candidate, *rest: object, **options: object) -> Finished:
        if candidate.problem.layout.title == barred:
            raise NoDesignError("none of them on steps of 1 mm")
        return finish(candidate, *rest, **options)  # type: ignore[arg-type]  # handed on as it came

    monkeypatch.setattr(optimizer.pipeline.compare, "finish", refusing)
    result = compare(scenario)
    assert barred not in [row.title for row in result.rows]
    assert "2x4" in [row.name for row in result.rows]
    assert (barred,) in [e.layouts for e in result.without if e.reason == "none of them on steps of 1 mm"]


def test_no_design_says_what_design_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no layout has a design the reasons and the changes asked for are those that design tells."""
    asked: list[list[Layout]] = []

    def changes(scenario: Scenario, known: list[Known], _: Clock) -> Changes:
        asked.append([entry.layout for entry in known])
        return Changes(searches=7)

    monkeypatch.setattr(optimizer.pipeline.no_design, "changes_for_none", changes)
    scenario = load_scenario(GRINDER.replace("to = 1700", "to = 2600"), "grinder.toml")
    with pytest.raises(NoLayoutError) as by_design:
        design(scenario)
    with pytest.raises(NoLayoutError) as by_compare:
        compare(scenario)
    assert by_compare.value.told == by_design.value.told
    assert by_compare.value.told.changes == Changes(searches=7)
    assert asked[0] == asked[1]


def test_ended_searches_are_told_from_proofs(monkeypatch: pytest.MonkeyPatch) -> None:
    """A layout whose search was ended is listed as stopped, not as one without a design."""
    ended = Searched(Found(proof=Proof(status="not proved", reason="enough for today")))
    searches = optimizer.pipeline.compare._searched

    def ending(problems: Sequence[Problem], clock: Clock) -> Iterator[Searched]:
        for problem, searched in zip(problems, searches(problems, clock), strict=True):
            yield ended if problem.layout.name == "2x4" else searched

    monkeypatch.setattr(optimizer.pipeline.compare, "_searched", ending)
    monkeypatch.setattr(optimizer.pipeline.compare, "with_any_design", lambda problem, searched, clock: searched)
    result = compare(load_scenario(MIXER, "mixer.toml"))
    assert [row.name for row in result.rows] == ["2x3"]
    (stopped,) = (entry for entry in result.without if entry.outcome == "stopped")
    assert {title.split(",")[0] for title in stopped.layouts} == {"2x4"}
    assert stopped.reason == "the search was ended before it found a design: enough for today"


def test_nothing_is_proposed_after_a_search_that_was_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where every search was ended, and no design at all is met, nobody is told what would help."""
    monkeypatch.setattr(optimizer.pipeline.compare, "with_any_design", lambda problem, searched, clock: searched)
    with pytest.raises(NoLayoutError) as caught:
        compare(load_scenario(GRINDER, "grinder.toml"), clock=Clock(most=0))
    assert caught.value.told.changes is None


def test_a_scenario_without_bands_is_refused() -> None:
    """With no band stated there is nothing to compare for."""
    with pytest.raises(ScenarioError, match="no band is stated"):
        compare(load_scenario(OLD_SAW, "saw.toml"))


def test_same_scenario_gives_the_same_bytes() -> None:
    """A second comparison is the first one, letter by letter."""
    again = compare(load_scenario(MIXER, "machine.toml"))
    assert record_json(again) == record_json(compared(MIXER))
