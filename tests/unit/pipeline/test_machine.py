"""A built machine described in full."""

from __future__ import annotations

import pytest

from optimizer.pipeline.known import tell_known
from optimizer.scenario import load_scenario
from tests.machines import OLD_SAW

CROSSED = OLD_SAW.replace("travel = 80\n", 'travel = 80\nrun = "crossed"\n').replace('"A"', '"round 8"')


def test_speeds_follow_from_the_datum_diameters() -> None:
    """Speeds are 1420·d/D·0.99 for the three pairs of datum diameters (1 % slip), slowest first."""
    machine = tell_known(load_scenario(OLD_SAW, "saw.toml")).machine
    expected = [1420 * d / big * 0.99 for d, big in ((80, 172), (110, 145.5), (140, 114.5))]
    assert [s.rpm for s in machine.speeds] == pytest.approx(expected)
    assert [s.positions for s in machine.speeds] == [(1,), (2,), (3,)]
    assert [shaft.shaft for shaft in machine.speeds[0].shafts] == ["motor", "spindle"]


def test_crossed_belt_turns_the_spindle_round() -> None:
    """An open belt keeps the motor's direction, a crossed one reverses it."""
    straight = tell_known(load_scenario(OLD_SAW, "saw.toml")).machine
    crossed = tell_known(load_scenario(CROSSED, "saw.toml")).machine
    assert (straight.turns, crossed.turns) == ("anticlockwise", "clockwise")


def test_belt_on_and_worn_out_stand_outside_the_running_centres() -> None:
    """The mount goes inward by half the tolerance and the climb, outward by half the tolerance and the stretch."""
    centres = tell_known(load_scenario(OLD_SAW, "saw.toml")).machine.stages[0].centres
    assert centres.running_mm is not None
    tolerance, stretch, climb = (line.amount_mm for line in centres.budget)
    assert centres.belt_on_mm == pytest.approx(centres.running_mm[0] - tolerance / 2 - climb)
    assert centres.worn_out_mm == pytest.approx(centres.running_mm[1] + tolerance / 2 + stretch)


def test_belt_that_does_not_go_round_is_told_not_hidden() -> None:
    """A belt too short for the pulleys leaves centre distance and wrap empty, and fails a check."""
    known = tell_known(load_scenario(OLD_SAW.replace("[1120]", "[400]"), "saw.toml"))
    assert known.machine.stages[0].centres.running_mm is None
    assert [p.centre_mm for p in known.machine.stages[0].positions] == [None, None, None]
    assert any(check.kind == "impossible" for check in known.failed)


def test_groove_follows_the_diameter() -> None:
    """On an A cone the 80 and 110 mm steps are cut at 34°, the 140 mm step at 36° (GOST 20889-88, read)."""
    stage = tell_known(load_scenario(OLD_SAW, "saw.toml")).machine.stages[0]
    assert [p.driver.groove_deg for p in stage.positions] == [34.0, 34.0, 36.0]
