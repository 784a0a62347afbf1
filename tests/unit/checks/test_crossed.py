"""Crossed belts."""

from __future__ import annotations

from math import pi

import pytest

from optimizer.checks.stated import read_machine
from optimizer.pipeline.machine import machine_sheet
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.scenario import Scenario, load_scenario
from tests.unit.checks.machines import named, skipped

CROSSED = """
title = "Polisher with a crossed belt"
units = "mm"
[motor]
speed = 1400
turns = "clockwise"
[[shaft]]
name = "spindle"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
centres = [300, 900]
travel = 200
run = "crossed"
belt = { section = "flat 3x40", lengths = "any" }
driver = { free = [80, 300] }
driven = { free = [80, 300] }
"""


def crossed(*edits: tuple[str, str]) -> Scenario:
    """Return the machine with a crossed belt, changed."""
    text = CROSSED
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    return load_scenario(text, "crossed.toml")


def stage(length_mm: float, section: str = "flat 3x40", thick_mm: float = 3.0) -> BuiltMachine:
    """Return pitch diameters of 100 and 200 mm on a belt with that length along its middle."""
    inner = length_mm - (pi * 3 if section.startswith("flat") else 0.0)
    return BuiltMachine(
        stages=(
            BuiltStage(
                key="stage[0]",
                section=section,
                marking=section,
                datum_length_mm=inner,
                driver_outside_mm=(100 - thick_mm,),
                driven_outside_mm=(200 - thick_mm,),
                driver_turned=(True,),
                driven_turned=(True,),
            ),
        )
    )


def test_a_wide_crossed_belt_wants_long_centres() -> None:
    """C = 750 mm: 2·sqrt(750² − 150²) + 150·(π + 2·asin 0.2) = 1469.69 + 531.65 = 2001.34 mm; 20 · 40 is more."""
    (check,) = named(crossed(), stage(2001.34), "centres of a crossed belt")
    assert check.value == pytest.approx(750, abs=0.01)
    assert (check.limit, check.kind, check.passed) == (800.0, "advice", False)
    assert check.source == "common practice, no source: 20 belt widths"


def test_a_narrow_one_does_not_mind() -> None:
    """At the same centre distance a belt 30 mm wide asks for 600 mm only."""
    narrow = crossed(("flat 3x40", "flat 3x30"))
    (check,) = named(narrow, stage(2001.34, "flat 3x30"), "centres of a crossed belt")
    assert (check.limit, check.passed) == (600.0, True)


def test_round_and_open_belts_have_no_such_rule() -> None:
    """A round belt has no width to twist; an open one does not cross."""
    rounded = crossed(("flat 3x40", "round 8"))
    assert not named(rounded, stage(2001.34, "round 8", 0.0), "centres of a crossed belt")
    assert not named(crossed(("crossed", "open")), stage(2001.34), "centres of a crossed belt")


def test_a_belt_that_does_not_go_round_is_not_checked() -> None:
    """Too short a belt has no centre distance."""
    assert skipped(crossed(), stage(600.0))["centres of a crossed belt"] == {"stage[0]"}


def test_a_crossed_belt_turns_the_spindle_round() -> None:
    """The spindle turns against the motor, and both pulleys have more than half a turn of wrap."""
    assert machine_sheet(read_machine(crossed(), stage(2001.34))).turns == "anticlockwise"
    assert read_machine(crossed(), stage(2001.34)).pairs[0].crossed
