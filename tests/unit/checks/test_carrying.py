"""Loads of belts in hand-made machines."""

from __future__ import annotations

from math import pi

import pytest

from optimizer.checks.carrying import loads, torque_nm
from optimizer.checks.stated import read_machine
from tests.unit.checks.machines import BASE, TWO_STAGES, built, machine, named, scenario, skipped

POWER = ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\n')


def test_motor_power_must_be_carried_at_every_speed() -> None:
    """With nothing else stated every belt must carry the motor's power, and grip is what it carries over that."""
    stated = read_machine(scenario(BASE.replace(*POWER)), machine())
    found = loads(stated)
    assert [load.number for load in found] == [1, 2, 3]
    for load in found:
        assert load.must_kw == pytest.approx(0.75)
        assert load.grip == pytest.approx(load.carries_kw / 0.75)
        assert load.entering_rpm == 1400
    middle = found[1]
    assert middle.speed_m_s == pytest.approx(pi * 0.125 * 1400 / 60)
    assert middle.wrap_deg == pytest.approx(180)


def test_a_band_may_ask_for_less_than_the_motor_gives() -> None:
    """The work of a band, times the duty factor, is what its speeds ask for."""
    text = BASE.replace(*POWER).replace("want = 3", 'want = 3\nwork_power = "0.3 kW"') + "[work]\nduty = 1.2\n"
    for load in loads(read_machine(scenario(text), machine())):
        assert load.must_kw == pytest.approx(0.36)


def test_pulls_carry_the_power() -> None:
    """Tight less slack side, times the belt's speed, is the power that is carried; duty only tightens the belt."""
    text = BASE.replace(*POWER) + "[work]\nduty = 1.2\n"
    plain = loads(read_machine(scenario(BASE.replace(*POWER)), machine()))
    dutiful = loads(read_machine(scenario(text), machine()))
    for one, other in zip(plain, dutiful, strict=True):
        assert one.pull is not None and other.pull is not None
        for load in (one, other):
            assert load.pull is not None
            carried = min(load.must_kw, load.carries_kw) / (1.2 if load is other else 1.0)
            assert (load.pull.tight_n - load.pull.slack_n) * load.speed_m_s / 1000 == pytest.approx(carried)
        assert other.pull.pretension_n >= one.pull.pretension_n - 1e-9


def test_torque_is_the_least_of_motor_and_belts() -> None:
    """A strong belt leaves the motor's torque, P/omega; without a motor's power the belt is what is known."""
    stated = read_machine(scenario(BASE.replace("speed = 1400\n", 'speed = 1400\npower = "50 W"\n')), machine())
    told = torque_nm(stated, 1, loads(stated))
    assert told is not None
    assert told[0] == pytest.approx(50 * 60 / (2 * pi * 787.5))
    assert told[1] == "motor"
    bare = read_machine(scenario(BASE), machine())
    told = torque_nm(bare, 1, loads(bare))
    assert told is not None
    assert told[1] == "stage[0]"


def test_the_second_belt_of_a_chain_runs_as_fast_as_the_first_leaves_its_shaft() -> None:
    """The driver of the second stage turns with the position of the first."""
    stages = built((90, 125), (160, 125)), built((90, 125, 160), (160, 125, 90), key="stage[1]")
    stated = read_machine(scenario(TWO_STAGES.replace(*POWER)), machine(*stages))
    for load in loads(stated):
        if load.stage == 1:
            position = stated.speeds[load.number - 1][1][0]
            assert load.entering_rpm == pytest.approx(1400 * stated.pairs[0].ratios[position])


def test_a_belt_that_carries_less_than_it_must_is_a_warning() -> None:
    """Without a limit of the maker's, too little grip is advice; with one it fails."""
    weak = BASE.replace("speed = 1400\n", 'speed = 1400\npower = "3 kW"\n')
    (check,) = named(scenario(weak), machine(), "belt carries")
    assert (check.kind, check.passed) == ("advice", False)
    assert check.limit == pytest.approx(3.0)
    held = weak.replace("[series]\n", "[series]\nleast_grip = 1\n")
    (check,) = named(scenario(held), machine(), "grip")
    assert (check.kind, check.passed) == ("limit", False)


def test_what_is_not_known_is_said() -> None:
    """Without any power there is no grip, and the place says what to state."""
    assert skipped(scenario(BASE), machine())["grip, pulls, torque"] == {"motor.power"}


def test_a_short_belt_on_a_fast_shaft_bends_too_often() -> None:
    """2 v / L above 40 a second is a warning: 160 mm at 3000 rpm round 1120 mm make 44.9."""
    fast = scenario(BASE, ("speed = 1400", "speed = 3000"), ("never_above = 3000", "never_above = 6000"))
    (check,) = named(fast, machine(), "bends of the belt")
    assert (check.kind, check.passed) == ("advice", False)
    assert check.value == pytest.approx(2 * pi * 0.160 * 3000 / 60 / 1.120)
