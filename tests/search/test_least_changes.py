"""Least changes held against the whole search: a design at the value told, none a tick short of it.

Nothing that the changes were worked out with is asked again: the value told is written into the maker's file, which is
read, laid out and searched anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from optimizer.changes import Known, changes_for_none, changes_for_one
from optimizer.checks.design import check_design
from optimizer.checks.stated import read_machine
from optimizer.errors import NoDesignError, ScenarioError
from optimizer.layouts import layouts_of, problem_for
from optimizer.pipeline.design import design
from optimizer.pipeline.job import built_machine
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Change, Changes, Setting, Together
from optimizer.scenario import Scenario, load_scenario
from optimizer.search import search
from tests.sampled import named
from tests.unit.changes.machines import INCH, KEPT, TWO_STAGES, broken_at_random, edited, with_settings

SEEDS = (1, 2, 6, 7, 8, 9, 10, 11, 16, 19)
"""Those whose searches are short."""
SCENARIOS = Path(__file__).parents[2] / "scenarios"


def shipped(name: str) -> str:
    """Return the text of a shipped scenario."""
    return (SCENARIOS / f"{name}.toml").read_text(encoding="utf-8")


BROKEN = {
    **{f"seed {seed}, {name}": text for seed in SEEDS for name, text in [broken_at_random(seed)]},
    "inches, blank": edited(INCH, {"making.largest_blank": 6, "stage[0].driver.free[1]": 6}),
    "inches, want": edited(INCH, {"band[0].want": 4}),
    "kept cone, band": edited(KEPT, {"band[0].to": 4000}),
    "kept cone, centres": edited(KEPT, {"stage[0].centres": [200, 205]}),
    "two stages, room": edited(TWO_STAGES, {"shaft[1].room": 60}),
    "two stages, both": edited(TWO_STAGES, {"shaft[1].room": 60, "stage[0].travel": 40}),
    "drill, travel": edited(shipped("bench-drill"), {"stage[0].travel": 40, "making.grid": 20}),
    "engraver, belts": edited(shipped("kept-cone-engraver"), {"stage[0].belt.lengths": [1000], "making.turn_to": 2}),
    "polishing head, want": edited(shipped("polishing-head"), {"band[0].want": 3}),
    "drum sander, grip": shipped("drum-sander").replace("[[band]]", "[series]\nleast_grip = 1.5\n\n[[band]]", 1),
    "drum sander of one belt, grip": edited(
        shipped("drum-sander").replace("[[band]]", "[series]\nleast_grip = 1.5\n\n[[band]]", 1),
        {"stage[1].positions": 3, "stage[1].belt.lengths": ["1250 mm"]},
    ),
    "grindstone, centres": edited(shipped("grindstone"), {"stage[0].centres": [140, 150]}),
}
SLOW = ("drum sander, grip", "inches, blank", "seed 2, blank", "seed 7, bottom", "seed 9, smallest", "seed 16, rim")
"""Those that take longest of the kinds of which there are several."""
SOUND = {"inches": INCH, "kept cone": KEPT}


def candidates(text: str) -> Iterator[tuple[Scenario, Candidate]]:
    """Yield the best design of every layout of a file; where there is none, that must be proved or plain to see."""
    scenario = load_scenario(text, "machine.toml")
    for layout in layouts_of(scenario):
        try:
            problem = problem_for(scenario, layout)
        except NoDesignError:
            continue
        found = search(problem)
        assert found.proof.status in ("proved", "no design")
        if found.candidate is not None:
            yield scenario, found.candidate


def has_design(text: str) -> bool:
    """Tell whether a file has a design that the independent checks accept."""
    for scenario, candidate in candidates(text):
        checks = check_design(read_machine(scenario, built_machine(candidate.problem.stages, candidate.stages)))
        failed = [check for check in checks if not check.passed and check.kind != "advice"]
        assert not failed
        return True
    return False


def has_none(text: str) -> bool:
    """Tell whether a file has no design; one that is refused has none."""
    try:
        return not has_design(text)
    except ScenarioError:
        return True


def known(text: str) -> tuple[Scenario, list[Known]]:
    """Return a scenario with the search of each layout."""
    scenario = load_scenario(text, "machine.toml")
    entries = []
    for layout in layouts_of(scenario):
        try:
            entries.append(Known(layout, search(problem_for(scenario, layout))))
        except NoDesignError:
            entries.append(Known(layout, None))
    return scenario, entries


@cache
def changes_of(name: str) -> Changes:
    """Return the least changes of a broken machine."""
    return changes_for_none(*known(BROKEN[name]))


def ticked(settings: tuple[Setting, ...]) -> bool:
    """Tell whether there is a tick short of every value."""
    return all(setting.short is not None for setting in settings)


@pytest.mark.parametrize("name", named(BROKEN, slow=SLOW))
def test_least_changes_give_a_design_and_a_tick_less_gives_none(name: str) -> None:
    """Every change told has a design that the checks accept; every one said to be the least has none a tick short."""
    text = BROKEN[name]
    assert has_none(text), "the case is to have no design"
    changes = changes_of(name)
    told: list[Change | Together] = [*changes.least, *([changes.together] if changes.together else [])]
    for change in told:
        assert has_design(with_settings(text, change.settings)), change
        if change.proved and ticked(change.settings):
            assert has_none(with_settings(text, change.settings, short=True)), change


@pytest.mark.parametrize("name", SOUND)
def test_spare_is_what_can_be_given_up(name: str) -> None:
    """At the tightest value told there is still a design, and none a tick beyond where it is said to be lost."""
    text = SOUND[name]
    scenario, entries = known(text)
    candidate = next(found.candidate for _, found in entries if found is not None and found.candidate is not None)
    changes = changes_for_one(scenario, entries, candidate)
    assert changes.spare
    for spare in changes.spare:
        assert has_design(with_settings(text, spare.settings)), spare
        if spare.lost and spare.proved:
            assert has_none(with_settings(text, spare.settings, short=True)), spare


@pytest.mark.parametrize("name", ["grindstone, centres", "kept cone, centres", "drill, travel", "seed 11, room"])
def test_machines_changed_as_told_are_designed_to_the_end(name: str) -> None:
    """With what is told written into the file, a design comes out whose sizes lie on ticks and pass every check."""
    text = BROKEN[name]
    changes = changes_of(name)
    assert changes.least
    for change in changes.least:
        assert change.turned
        made = design(load_scenario(with_settings(text, change.settings), "machine.toml"))
        assert not made.failed


def test_value_whose_design_fits_on_no_ticks_is_not_told() -> None:
    """Locked shafts leave a design at 171 mm that fits on no ticks: 172 mm is told, and not said to be the least."""
    changes = changes_of("grindstone, centres")
    (centres,) = (change for change in changes.least if change.kind == "centre distance")
    assert [(s.value, s.short) for s in centres.settings] == [(172.0, 171.0)]
    assert not centres.proved
    assert has_design(with_settings(BROKEN["grindstone, centres"], centres.settings, short=True))
