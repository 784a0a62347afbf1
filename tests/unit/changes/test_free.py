"""What would have to change for a machine with free speeds that has no design."""

from __future__ import annotations

import pytest

from optimizer.changes import Known, changes_for_none
from optimizer.changes.limit import changed
from optimizer.changes.limits import let_out
from optimizer.clock import Clock
from optimizer.layouts import layouts_of
from optimizer.layouts.free import middle_problem
from optimizer.records.changes import Setting, Value
from optimizer.scenario import Scenario, load_scenario
from optimizer.search.middle import search_middle
from tests.sampled import EVERYTHING

TIGHT = """
title = "Spotting drill"
units = "mm"
[motor]
speed = 1420
[[band]]
name = "all"
from = 500
to = 2150
want = 4
[making]
largest_blank = 112
grid = 10
[[shaft]]
name = "motor"
mount = "slide"
[[shaft]]
name = "middle"
diameter = 15
mount = "slide"
[[stage]]
from = "motor"
to = "middle"
positions = 3
centres = [200, 215]
travel = 52
belt = { section = "Z", lengths = [630, 670] }
driver = { free = [60, 150] }
driven = { free = [60, 150] }
[[stage]]
from = "middle"
to = "spindle"
centres = [200, 215]
travel = 52
belt = { section = "Z", lengths = [630, 670] }
driver = { shared = true }
driven = { free = [60, 150] }
"""


def _has_design(scenario: Scenario) -> bool:
    (layout,) = layouts_of(scenario)
    return search_middle(middle_problem(scenario, layout)).candidate is not None


def _values(settings: tuple[Setting, ...], which: str) -> dict[str, Value]:
    return {setting.key: getattr(setting, which) for setting in settings if getattr(setting, which) is not None}


def test_every_change_told_gives_a_design_and_a_tick_less_gives_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a change there is no design, with any one of those told there is one, where proved none short of it."""
    if not EVERYTHING:
        few = [limit for limit in let_out(load_scenario(TIGHT, "")) if limit.kind in ("centre distance", "want")]
        monkeypatch.setattr("optimizer.changes.tell.let_out", lambda _: few[:2] + few[-1:])
    scenario = load_scenario(TIGHT, "tight.toml")
    assert not _has_design(scenario)
    found = changes_for_none(scenario, [Known(layout, None) for layout in layouts_of(scenario)])
    assert "centre distance" in {change.kind for change in found.least}
    for change in found.least:
        assert _has_design(changed(scenario, _values(change.settings, "value"))), change
        short = _values(change.settings, "short")
        if change.proved and short:
            assert not _has_design(changed(scenario, short)), change
    assert any(change.proved for change in found.least)
    assert not {"unevenness", "grip"} & {entry.kind for entry in found.unmoved}


def test_a_shared_cone_is_changed_for_both_belts() -> None:
    """The second belt's driver is what the first one's driven cone has become."""
    scenario = load_scenario(TIGHT, "tight.toml")
    grown = changed(scenario, {"stage[0].driven.free[1]": 171.0})
    sides = [problem.driver for problem in middle_problem(grown, layouts_of(grown)[0]).stages]
    assert sides[1].turned_mm == middle_problem(grown, layouts_of(grown)[0]).stages[0].driven.turned_mm
    assert grown.stages[1].driver.free_mm == (60.0, 171.0)  # type: ignore[union-attr]


def test_asking_that_is_ended_leaves_all_open() -> None:
    """Where time is up before the first question nothing is told, and nothing is said to be proved."""
    scenario = load_scenario(TIGHT, "tight.toml")
    found = changes_for_none(scenario, [Known(layout, None) for layout in layouts_of(scenario)], Clock(-1.0))
    assert not found.least
    assert found.searches == 0
    assert not any(entry.proved for entry in found.unmoved)
