"""One setting for all belts of a mount, on a machine whose figures are worked out by hand.

The countershaft slides up halfway between motor and spindle, 480 mm apart on one level, from 270 mm above them: across
240 mm. Belt A 1120 on 125 and 125 mm is taut at (1120 − π·125)/2 = 363.650 mm, on 90 and 160 mm at 361.957 mm (worked
out in `machines.py`), so at sqrt(363.650² − 240²) − 270 = +3.206 mm and sqrt(361.957² − 240²) − 270 = +0.948 mm. A fit
of 0.2 mm of centre distance, half of it either way, is 0.1·363.650/273.205 = 0.1331 mm of the slide, or 0.1336 mm.
"""

from __future__ import annotations

import pytest

from optimizer.checks import check_design
from optimizer.checks.coupled import movements_of
from optimizer.checks.stands import followers, stands_of
from optimizer.checks.stated import read_machine
from optimizer.pipeline.machine import machine_sheet
from optimizer.records.built import BuiltMachine
from tests.unit.checks.machines import built, scenario, skipped

ROOF = """
title = "Buffing head under a sliding countershaft"
units = "mm"
[motor]
speed = 1400
[[shaft]]
name = "motor"
at = [0, 0]
[[shaft]]
name = "countershaft"
mount = "slide"
direction = 90
at = [240, 270]
[[shaft]]
name = "spindle"
at = [480, 0]
[[stage]]
from = "motor"
to = "countershaft"
centres = [330, 400]
travel = 70
slip = 0
belt = { section = "A", lengths = [1120] }
driver = { free = [80, 200] }
driven = { free = [80, 200] }
[[stage]]
from = "countershaft"
to = "spindle"
positions = 2
centres = [330, 400]
slip = 0
belt = { section = "A", lengths = "any" }
driver = { free = [80, 200] }
driven = { free = [80, 200] }
"""
EVEN, ODD = +3.206, +0.948


def roof(second: tuple[float, float] = (90, 160)) -> BuiltMachine:
    """Return the machine with 125 on 125 mm at all positions but the first of the second stage."""
    one, other = second
    return BuiltMachine(
        stages=(built((125,), (125,)), built((one, 125), (other, 125), key="stage[1]")),
    )


def test_settings_are_those_of_the_triangle() -> None:
    """Positions have the settings of their triangles, and those on one and the same sizes have one in common."""
    (movement,) = movements_of(read_machine(scenario(ROOF), roof()))
    near, same = movement.meetings
    assert near.settings_mm == pytest.approx((EVEN, ODD), abs=2e-3)
    assert same.settings_mm == pytest.approx((EVEN, EVEN), abs=2e-3)
    assert near.forgiven_mm == pytest.approx(0.1331 + 0.1336, abs=1e-3)
    assert same.common_mm[1] - same.common_mm[0] == pytest.approx(2 * 0.1331, abs=1e-3)


def test_positions_without_a_common_setting_fail() -> None:
    """2.26 mm of the slide between two positions are more than belts forgive; equal sizes pass."""
    checks = [c for c in check_design(read_machine(scenario(ROOF), roof())) if c.name == "one setting of the mount"]
    assert [(c.where, c.passed) for c in checks] == [
        ("stage[0], with stage[1], position 1", False),
        ("stage[0], with stage[1], position 2", True),
    ]
    assert checks[0].value == pytest.approx(EVEN - ODD, abs=2e-3)


def test_a_belt_that_follows_is_made_up_to_length() -> None:
    """The slide follows the belt of the set length; what takes up the other's is said."""
    where = skipped(scenario(ROOF), roof())["length tolerance and stretch on a shared mount"]
    assert where == {"stage[0]", "stage[1]"}


def test_two_belts_of_set_lengths_must_forgive_their_own_stretch() -> None:
    """Of 0.5 mm that a belt forgives, 0.1 and 0.2 mm for tolerance and stretch leave 0.2 mm between positions."""
    stock = (
        ('"any"', "[1120]"),
        ("centres = [330, 400]", "centres = [330, 400]\nfit = 0.5\nbudget = { tolerance = 0.1, stretch = 0.2 }"),
        ("slip = 0\nbelt", "slip = 0\ntravel = 70\nbelt"),
        ("travel = 70\nslip = 0\ntravel = 70", "travel = 70\nslip = 0"),
    )
    text = scenario(ROOF, *stock)
    (movement,) = movements_of(read_machine(text, roof((125, 125))))
    assert movement.forgives_mm == pytest.approx((0.2, 0.2))
    checks = {c.where: c for c in check_design(read_machine(text, roof((125, 125)))) if "on a shared mount" in c.name}
    assert [(c.value, c.limit) for c in checks.values()] == [pytest.approx((0.3, 0.5))] * 2


def test_the_sheet_tells_the_range_of_settings() -> None:
    """Belt on at 342.770 mm and worn out at 394.450 mm (worked out in `test_around.py`) are -25.27 and +43.04 mm."""
    (shared,) = machine_sheet(read_machine(scenario(ROOF), roof((125, 125)))).shared
    assert (shared.kind, shared.way, shared.stages) == ("slide", "along its direction", ("stage[0]", "stage[1]"))
    assert shared.belt_on_mm == pytest.approx(-25.273, abs=0.01)
    assert shared.worn_out_mm == pytest.approx(43.035, abs=0.01)
    assert shared.running_mm == pytest.approx((EVEN, EVEN), abs=2e-3)
    assert shared.common_mm == pytest.approx(0.2662, abs=1e-3)


def test_shafts_stand_where_the_shared_mount_puts_them() -> None:
    """Running, the countershaft stands 273.205 mm above the two others, and both belts know of it."""
    machine = read_machine(scenario(ROOF), roof((125, 125)))
    assert followers(machine) == {"stage[1]": "countershaft"}
    stands = stands_of(machine, ("running",))
    assert not isinstance(stands, str)
    assert stands.unknown == {}
    place = stands.shaft(machine.scenario.shaft("countershaft"))
    assert place.tolist() == [pytest.approx((240, 273.205), abs=2e-3)] * 2


def test_a_belt_that_is_put_on_moves_the_shared_mount_too() -> None:
    """With the second belt stretched as far as it will go the countershaft stands where that belt needs it.

    Made to length, it has no tolerance: 363.650 + 28 mm at the end of its life, so at sqrt(391.650² - 240²) = 309.495.
    """
    text = scenario(
        ROOF, ("slip = 0\nbelt", "slip = 0\ntravel = 70\nbelt"), ("travel = 70\nslip = 0\ntravel", "travel")
    )
    machine = read_machine(text, roof((125, 125)))
    stands = stands_of(machine)
    assert not isinstance(stands, str)
    place = stands.shaft(machine.scenario.shaft("countershaft"))
    heights = {
        (one.when, other.when): float(y) for (one, other), (_, y) in zip(stands.states, place.tolist(), strict=True)
    }
    assert heights["running", "worn out"] == pytest.approx(309.495, abs=0.01)
    assert heights["worn out", "running"] == pytest.approx(313.035, abs=0.01)
    assert heights["running", "running"] == pytest.approx(273.205, abs=0.01)
