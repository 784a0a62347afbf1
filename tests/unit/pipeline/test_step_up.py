"""Spindles that turn faster than their motor."""

from __future__ import annotations

from functools import cache
from math import pi

import pytest

from optimizer.documents.changes import none_lines
from optimizer.pipeline.design import design
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.records.design import Design
from optimizer.scenario import load_scenario

ARBOR = """
title = "Slitting arbor, stepped up"
units = "mm"
[motor]
speed = 3400
power = "0.75 kW"
[[band]]
name = "thin brass"
from = 5400
to = 6800
want = 2
[[shaft]]
name = "motor"
mount = "slide"
[[shaft]]
name = "spindle"
never_above = 7200
[[stage]]
from = "motor"
to = "spindle"
positions = 2
centres = [220, 380]
travel = 70
belt = { section = "SPZ", lengths = "metric stock" }
driver = { ready = [90, 95, 100, 106, 112, 118, 125, 132, 140, 150, 160, 180] }
driven = { ready = [63, 67, 71, 75, 80, 85, 90] }
"""
# The smallest driven pulley of 63 mm at 6800 rpm makes the belt run at pi · 0.063 · 6800/60 = 22.4 m/s, within the
# 30 m/s of GOST 1284.3-96; at 12 000 rpm it would be 39.6 m/s.


@cache
def arbor() -> Design:
    """Return the design of the arbor."""
    return design(load_scenario(ARBOR, "arbor.toml"))


def test_an_arbor_is_raised_within_the_belts_speed() -> None:
    """From 3400 rpm to 6800 within 3 %, every belt and rim within its limit, every ratio above 1."""
    machine = arbor().machine
    assert machine.speeds[-1].rpm == pytest.approx(6800, rel=0.03)
    (stage,) = machine.stages
    assert all(position.ratio > 1 for position in stage.positions)
    for position in stage.positions:
        assert position.belt_speed_m_s == pytest.approx(pi * position.driver.pitch_mm * 3400 / 60_000)
        assert position.belt_speed_m_s <= 30.0
    assert not arbor().failed


def test_belt_rim_and_bending_are_told() -> None:
    """Belt speed, rim speeds and how often the belt bends stand among the checks of a step-up."""
    checks = {check.name: check for check in arbor().checks}
    assert {"belt speed", "rim speed, metal", "bends of the belt", "shaft speed"} <= checks.keys()
    (stage,) = arbor().machine.stages
    fastest = max(position.belt_speed_m_s for position in stage.positions)
    assert checks["bends of the belt"].value == pytest.approx(2 * fastest / stage.pitch_length_mm * 1000)


def test_what_physics_forbids_has_no_design_but_the_nearest_change() -> None:
    """At 12 000 rpm every driven sheave takes the belt above 30 m/s: the limits are named, and what would do."""
    fast = ARBOR.replace("from = 5400\nto = 6800\nwant = 2", "from = 11000\nto = 12000\nwant = 1")
    fast = fast.replace("never_above = 7200", "never_above = 13000").replace("positions = 2", "positions = 1")
    fast = fast.replace("150, 160, 180]", "180, 200, 212, 224, 236, 250]").replace("[220, 380]", "[220, 480]")
    with pytest.raises(NoLayoutError) as caught:
        design(load_scenario(fast, "fast.toml"))
    told = caught.value.told
    (entry,) = told.reasons
    assert entry.reason.startswith("the limits of rim, belt and shaft speed leave the sizes too little for speeds from")
    assert told.changes is not None
    (change,) = told.changes.least
    assert (change.kind, change.settings[0].key) == ("band edge", "band[0].from")
    assert any(line.startswith("  - band[0].from = ") for line in none_lines(told))
