"""What bursts by speed is judged at the speed without load, by the checks as by the search."""

from __future__ import annotations

from math import pi

import pytest

from optimizer.checks.stated import Machine, read_machine
from optimizer.layouts.orders import layouts_of
from optimizer.layouts.problem import problem_for
from optimizer.scenario import Scenario
from tests.unit.checks.machines import BASE, machine, named, scenario, skipped

SLIPPING = (("slip = 0\n", "slip = 0.02\n"), ("idle = 1400\n", ""))
"""The hand-made machine with a motor of 1400 rpm, a field of 1500 rpm, 2 % slip: 2439.1 rpm at the most, idling 2666.7.

1400·160/90·0.98 = 2439.11; without load the field's 1500·160/90 = 2666.67 rpm.
"""
TWO_SPEEDS = (*SLIPPING, ("speed = 1400\n", "speed = 1400\nslower = [690]\n"), ("from = 780", "from = 380"))
"""The same with a second setting of 690 rpm, which gains more: 750/690 = 1.0870 in place of 1500/1400 = 1.0714."""


def _read(stated: Scenario) -> Machine:
    return read_machine(stated, machine())


def test_shafts_rims_and_the_spindle_are_held_at_the_speed_without_load() -> None:
    """The spindle idles at 2666.67 rpm, its rim of 166.6 mm at π·0.1666·2666.67/60 = 23.26 m/s; the motor at 1500."""
    stated = scenario(BASE, *SLIPPING, ("never_above = 2600", "never_above = 2660"))
    (fastest,) = named(stated, machine(), "fastest speed")
    assert fastest.value == pytest.approx(2666.67, abs=0.005)
    assert not fastest.passed
    assert fastest.note == "2667 rpm without load, 2439 rpm under full load"
    assert [c.value for c in named(stated, machine(), "shaft speed")] == pytest.approx([1500, 2666.67], abs=0.005)
    assert [c.value for c in named(stated, machine(), "rim speed, timber")] == pytest.approx(
        [pi * 0.1666 * 1500 / 60, 23.26], abs=0.01
    )
    above = scenario(BASE, *SLIPPING, ("never_above = 2600", "never_above = 2667"))
    assert named(above, machine(), "fastest speed")[0].passed


def test_every_setting_of_a_motor_idles_as_fast_as_its_own_field() -> None:
    """2439.11 rpm of the fast setting idle at 2666.67; 690·16/9·0.98 = 1202.13 of the slow one at 1333.33."""
    known = _read(scenario(BASE, *TWO_SPEEDS))
    idle = {round(speed.rpm, 2): known.idle(speed) for speed in known.speeds}
    assert (idle[2439.11], idle[1202.13]) == pytest.approx((2666.67, 1333.33), abs=0.005)
    (fastest,) = named(scenario(BASE, *TWO_SPEEDS), machine(), "fastest speed")
    assert fastest.value == pytest.approx(2666.67, abs=0.005)


def test_a_wheel_of_a_slow_setting_is_held_to_what_that_gains() -> None:
    """1202.13 rpm idle at 1333.33: 150 mm run π·0.15·1333.33 = 628.3 m/min, above 620, below 640.

    The band ends where the setting that gains most keeps 640 m/min: 1358.1 rpm · 690/750 · 0.98 = 1224.5 rpm.
    """
    wheel = 'to = 1300\nwork = 150\nof = "wheel"\nsurface_limit = "640 m/min"\n'
    stated = scenario(BASE, *TWO_SPEEDS, ("to = 2500\n", wheel))
    assert stated.bands[0].to_rpm == pytest.approx(1224.5, abs=0.05)
    (check,) = named(stated, machine(), "marked surface speed")
    assert check.value == pytest.approx(628.3, abs=0.05)
    assert check.passed
    assert check.note.startswith("1333 rpm without load, 1202 rpm under full load")
    (warned,) = named(stated, machine(), "marked surface speed, any speed")
    assert warned.note.startswith("2667 rpm without load, 2439 rpm under full load")


@pytest.mark.parametrize("edits", [SLIPPING, TWO_SPEEDS])
def test_the_search_holds_what_the_checks_hold(edits: tuple[tuple[str, str], ...]) -> None:
    """A design at the search's own limit of speed, of a shaft, of a rim, stands at the limit of the check.

    The fastest spindle speed idles 1500/1400/0.98 times as fast: 2600 rpm leave 2378.1, a shaft's 3000 rpm 2744,
    a rim's 25 m/s 23.333 behind the motor alone, 22.867 behind the belt.
    """
    stated = scenario(BASE, *edits)
    problem = problem_for(stated, layouts_of(stated)[0])
    (stage,) = problem.stages
    assert problem.targets.never_above_rpm == pytest.approx(2378.13, abs=0.01)
    assert stage.driven_rpm == pytest.approx(2744.0)
    assert stage.driver.rim_speed_m_s == pytest.approx(25 * 1400 / 1500)
    assert stage.driven.rim_speed_m_s == pytest.approx(22.8667, abs=1e-4)
    known = _read(stated)
    gain = known.idle_rpm[-1][1] / known.fastest_rpm[-1][1]
    assert problem.targets.never_above_rpm * gain == pytest.approx(2600)
    assert stage.driven_rpm * gain == pytest.approx(3000)
    assert stage.driven.rim_speed_m_s * gain == pytest.approx(25)


def test_a_motor_of_no_known_field_is_said_to_be_held_at_full_load() -> None:
    """No field of 50 or 60 Hz turns faster than 3600 rpm: of 4000 rpm it is asked for, and counts once stated."""
    quick = (("never_above = 3000", "never_above = 9000"), ("never_above = 2600", "never_above = 9000"))
    unknown = scenario(BASE, ("speed = 1400\nidle = 1400", "speed = 4000"), *quick)
    assert any(remark.startswith("motor.idle: no induction motor") for remark in unknown.remarks)
    assert skipped(unknown, machine())["speed without load"] == {"motor.idle"}
    stated = scenario(BASE, ("speed = 1400\nidle = 1400", "speed = 4000\nidle = 6000"), *quick)
    assert "speed without load" not in skipped(stated, machine())
    (motor, _) = named(stated, machine(), "shaft speed")
    assert motor.value == 6000
