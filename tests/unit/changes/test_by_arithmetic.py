"""Least changes of machines so plain that the answer is worked out by hand beside them."""

from __future__ import annotations

from math import ceil, log, sqrt
from typing import Any

import pytest

from optimizer.catalogue.lengths import stock_lengths
from optimizer.catalogue.sections import section
from optimizer.changes import Known, changes_for_none
from optimizer.changes.limits import let_out
from optimizer.layouts import layouts_of
from optimizer.records.changes import Changes, LimitKind
from optimizer.scenario import load_scenario
from tests.oracle.plain import belt_mm, centre_mm
from tests.unit.changes.machines import edited

PAIR = """
title = "One pair"
units = "mm"
[motor]
speed = 1000
[[band]]
name = "work"
from = 240
to = 260
[series]
ends = 0
[making]
step_pitch = 30
[[shaft]]
name = "motor"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
slip = 0
centres = [450, 650]
travel = 60
budget = { tolerance = 10, stretch = 20, climb = 15 }
belt = { section = "A", lengths = [1900] }
driver = { ready = [100] }
driven = { free = [200, 500], material = "metal" }
"""
"""A bought pulley of 100 mm on a motor of 1000 rpm, its mate turned: D = 100·1000/n on the datum line."""


def test_blank_is_what_the_slowest_allowed_mate_needs() -> None:
    """At most 251 rpm ask for 398.406 mm, on ticks 398.5; over the rim 405.1, untrued 409.1, in ticks 409.5 mm."""
    changes = changes_of({"band[0].from": 249, "band[0].to": 251, "making.largest_blank": 300})
    assert told(changes, "blank") == [("making.largest_blank", 300.0, 409.5, 409.0)]


def test_blank_takes_the_free_range_along() -> None:
    """With the free range at 398 mm, as large as the blank allows, both keys have to be set."""
    values = {"band[0].from": 249, "band[0].to": 251, "making.largest_blank": 408.6, "stage[0].driven.free[1]": 398}
    changes = changes_of(values)
    assert told(changes, "blank") == [
        ("making.largest_blank", 408.6, 409.5, 409.0),
        ("stage[0].driven.free[1]", 398.0, 398.9, 398.4),
    ]


def test_blank_in_inches_goes_by_sixteenths() -> None:
    """The same machine in inches: 409.1 mm is 257.7 sixteenths, so 258 of them, 409.575 mm or 16 1/8 in."""
    values = {"band[0].from": 249, "band[0].to": 251, "making.largest_blank": "12 in", "making.turn_to": "0.5 mm"}
    changes = changes_of(values, edited(IN_MM, {"units": "in"}))
    assert told(changes, "blank") == [("making.largest_blank", 304.8, 409.575, 407.9875)]


def test_travel_is_what_the_budget_takes() -> None:
    """One pair has no spread, so that its budget is all: 10 + 20 + 15 = 45 mm; 44 mm are too few."""
    assert told(changes_of({"stage[0].travel": 30}), "travel") == [("stage[0].travel", 30.0, 45.0, 44.0)]


def test_room_is_what_sits_on_the_shaft() -> None:
    """One step of 30 mm beside 15.5 mm of other things: 46 mm on ticks."""
    changes = changes_of({"shaft[0].room": 40, "shaft[0].beside": 15.5})
    assert told(changes, "room") == [("shaft[0].room", 40.0, 46.0, 45.0)]


def test_want_goes_down_to_what_a_layout_has() -> None:
    """One pair makes one speed, so that two wanted go down to one."""
    assert told(changes_of({"band[0].want": 2}), "want") == [("band[0].want", 2, 1, 2)]


def test_rim_speed_is_that_of_the_kept_cone() -> None:
    """A timber pulley of 200 mm over the rim at 2000 rpm: π·0.2·2000/60 = 20.944 m/s, 21 on ticks; metal may run so."""
    cone = {"kept": [200], "measured": "outside", "material": "timber"}
    values = {"motor.speed": 2000, "stage[0].driver": cone, "making.rim_speed": 15}
    changes = changes_of(values | {"band[0].from": 900, "band[0].to": 1100})
    assert told(changes, "rim speed") == [
        ("stage[0].driver.material", "timber", "metal", None),
        ("making.rim_speed", 15.0, 21.0, 20.5),
    ]
    classes = [(change.remedy, bool(change.risk)) for change in changes.least if change.kind == "rim speed"]
    assert classes == [("usual", False), ("risky", True)]
    assert [change.remedy for change in changes.least] == sorted((c.remedy for c in changes.least), reverse=True)


def test_no_remedy_passes_the_speed_marked_on_a_wheel() -> None:
    """A wheel of 200 mm marked 25 m/s may run 25·60000/(π·200) = 2387.3 rpm: no edge of its band idles beyond.

    The motor of 950 rpm idles at 1000, and no belt slips: 2387.3 · 950/1000 = 2268.0 rpm under full load.
    Without the mark the same edge would be let out to twice its speed.
    """
    slow = PAIR.replace("speed = 1000", "speed = 950")
    wheel: dict[str, Any] = {"band[0].from": 1000, "band[0].to": 2000, "band[0].work": 200, "band[0].of": "wheel"}
    for mark, most in ({"band[0].surface_limit": "25 m/s"}, 2268.0), ({}, 4000.0):
        told = load_scenario(edited(slow, wheel | mark), "machine.toml")
        ends = [limit.line.at(limit.ticks) for limit in let_out(told) if "band[0].to" in limit.keys(1.0)]
        assert max(ends) == pytest.approx(most, abs=20.0)
        assert max(ends) <= most
    assert all("never_above" not in key for limit in let_out(told) for key in limit.keys(limit.line.at(limit.ticks)))


def test_belt_speed_is_that_of_the_pitch_line() -> None:
    """A pulley of 100 mm at 1000 rpm moves its belt at π·0.1·1000/60 = 5.236 m/s, 5.5 on ticks."""
    changes = changes_of({"stage[0].belt_speed": 4})
    assert told(changes, "belt speed") == [("stage[0].belt_speed", 4.0, 5.5, 5.0)]


def test_centre_distance_is_the_pairs_own() -> None:
    """Pulleys of 100 and 400 mm on 1900 mm of belt stand at their own centre distance, rounded up to whole mm."""
    own = centre_mm(100, 400, 1900) or 0.0
    changes = changes_of({"stage[0].centres": [450, 500], "stage[0].driven": {"ready": [400]}})
    assert told(changes, "centre distance") == [("stage[0].centres[1]", 500.0, float(ceil(own)), float(ceil(own) - 1))]


def test_belt_is_the_nearest_in_stock_that_reaches() -> None:
    """With 500 to 540 mm between 100 and 400 mm only stock lengths between their two belt lengths do."""
    changes = changes_of(
        {
            "stage[0].centres": [500, 540],
            "stage[0].driven": {"ready": [400]},
            "stage[0].belt.lengths": [2240],
        }
    )
    least, most = belt_mm(100, 400, 500), belt_mm(100, 400, 540)
    fits = [b.datum_length_mm for b in stock_lengths(section("A")) if least <= b.datum_length_mm <= most]
    assert told(changes, "belt stock") == [("stage[0].belt.lengths", (2240.0,), (max(fits),), None)]


def test_end_miss_is_that_of_the_only_speed() -> None:
    """250 rpm between 150 and 260 rpm: ln(250/√(150·260)) = 0.2359, 23.6 % on ticks."""
    changes = changes_of({"stage[0].driven": {"ready": [400]}, "band[0].from": 150})
    miss = log(250 / sqrt(150 * 260))
    assert told(changes, "end miss") == [
        ("series.end_miss", 0.1, ceil(miss * 1000) / 1000, (ceil(miss * 1000) - 1) / 1000)
    ]


def test_outermost_edge_moves_where_the_series_ends() -> None:
    """250 rpm above 150 rpm: √(150·to) ≥ 250/e^0.1 asks for 341.1 rpm, so 342 in ticks of 2."""
    changes = changes_of({"stage[0].driven": {"ready": [400]}, "band[0].from": 150, "band[0].to": 200})
    assert ("band[0].to", 200.0, 342.0, 340.0) in told(changes, "band edge")


def test_two_limits_together_by_the_least_common_units() -> None:
    """Travel lacks 15 mm, 3 units; the blank lacks 14.5 mm, as many."""
    values = {"band[0].from": 249, "band[0].to": 251, "making.largest_blank": 395, "stage[0].travel": 30}
    changes = changes_of(values)
    assert changes.least == ()
    assert changes.together is not None
    assert (changes.together.units, changes.together.proved) == (3, True)
    settings = [(s.key, s.now, s.value, s.short) for s in changes.together.settings]
    assert settings == [("making.largest_blank", 395.0, 410.0, 405.0), ("stage[0].travel", 30.0, 45.0, 40.0)]


def test_two_limits_together_may_be_of_different_kinds() -> None:
    """A blank of 385 mm leaves 374 mm, 267.4 rpm: two units of 5 % take the band's end there, travel needs three."""
    values = {"band[0].from": 249, "band[0].to": 251, "making.largest_blank": 385, "stage[0].travel": 30}
    together = changes_of(values).together
    assert together is not None
    assert (together.units, together.proved) == (3, True)
    assert [s.key for s in together.settings] == ["stage[0].travel", "band[0].to"]


def test_three_limits_at_once_have_no_change() -> None:
    """Where blank, travel and belt speed all bind, no single change and no two together are told, with proof."""
    values = {"band[0].from": 249, "band[0].to": 251, "making.largest_blank": 385, "stage[0].travel": 30}
    changes = changes_of(values | {"stage[0].belt_speed": 4})
    assert (changes.least, changes.together) == ((), None)
    assert changes.together_tried and changes.together_proved
    assert all(unmoved.proved for unmoved in changes.unmoved)


def test_machine_with_nothing_to_turn_has_no_blank() -> None:
    """A limit that does not apply is not told: no blank, no timber, no room, no travel, no stock lengths."""
    values = {
        "stage[0].driver": {"ready": [100]},
        "stage[0].driven": {"ready": [125]},
        "stage[0].belt": {"section": "A", "lengths": "any"},
        "stage[0].travel": 0,
    }
    changes = changes_of(values)
    kinds: set[LimitKind] = {change.kind for change in changes.least} | {limit.kind for limit in changes.unmoved}
    assert not kinds & {"blank", "rim speed", "room", "travel", "belt stock", "want"}


def changes_of(values: dict[str, Any], text: str = PAIR) -> Changes:
    """Return the changes of the pair with keys set."""
    scenario = load_scenario(edited(text, values), "pair.toml")
    return changes_for_none(scenario, [Known(layout, None) for layout in layouts_of(scenario)])


def told(changes: Changes, kind: LimitKind) -> list[tuple[str, Any, Any, Any]]:
    """Return the settings of all proved changes of a kind."""
    return [(s.key, s.now, s.value, s.short) for c in changes.least if c.kind == kind and c.proved for s in c.settings]


IN_MM = PAIR.replace("centres = [450, 650]", 'centres = ["450 mm", "650 mm"]')
IN_MM = IN_MM.replace("travel = 60", 'travel = "60 mm"').replace("step_pitch = 30", 'step_pitch = "30 mm"')
IN_MM = IN_MM.replace(
    "tolerance = 10, stretch = 20, climb = 15", 'tolerance = "10 mm", stretch = "20 mm", climb = "15 mm"'
)
IN_MM = (
    IN_MM.replace("[1900]", '["1900 mm"]').replace("[100]", '["100 mm"]').replace("[200, 500]", '["200 mm", "500 mm"]')
)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_units_of_the_file_do_not_change_whether_there_is_a_design(units: str) -> None:
    """The pair as it stands has a design in either unit, so that the cases above break one thing each."""
    scenario = load_scenario(edited(IN_MM, {"units": units, "making.turn_to": "0.5 mm"}), "pair.toml")
    changes = changes_for_none(scenario, [Known(layout, None) for layout in layouts_of(scenario)])
    assert all(change.proved is False or change.settings for change in changes.least)
