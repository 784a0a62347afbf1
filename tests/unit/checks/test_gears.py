"""Fixed stages: the speed into them, the torque out of them, what they lose."""

from __future__ import annotations

import pytest

from optimizer.checks.carrying import loads, torque_nm
from optimizer.checks.motor import run_ups
from optimizer.checks.shafts import gear_loads
from optimizer.checks.stated import Machine, read_machine
from optimizer.scenario import FixedStage, Scenario
from tests.unit.checks.machines import BASE, machine, named, scenario, skipped

# The hand-made machine runs at 787.5, 1400, 2488.889 rpm; 20:1 behind it leaves 39.375, 70, 124.444 rpm.
GEARED = (
    BASE.replace('name = "spindle"', 'name = "worm shaft"')
    .replace('to = "spindle"', 'to = "worm shaft"')
    .replace("from = 780\nto = 2500", "from = 39\nto = 125")
    .replace("never_above = 2600\n", "")
    .replace('mount = "slide"\n', "")
    .replace('name = "motor"\n', 'name = "motor"\nmount = "slide"\n')
    + """
[[stage]]
from = "worm shaft"
to = "spindle"
ratio = "20:1"
"""
)


def geared(keys: str, power: str = "", more: str = "") -> Scenario:
    """Return the machine with a reducer of 20:1, its keys, the motor's power."""
    text = GEARED + keys + more
    return scenario(text, ("speed = 1400\n", f'speed = 1400\npower = "{power}"\n')) if power else scenario(text)


def gear(stated: Scenario) -> FixedStage:
    """Return the reducer."""
    stage = stated.chain[-1]
    assert isinstance(stage, FixedStage)
    return stage


def test_the_fastest_speed_into_a_gear_is_held_to_its_limit() -> None:
    """2488.9 rpm is above 1800, and below 2500."""
    (check,) = named(geared("input_speed = 1800\n"), machine(), "speed into the gear")
    assert (check.where, check.kind, check.passed) == ("stage[1]", "limit", False)
    assert check.value == pytest.approx(1400 * 16 / 9)
    (check,) = named(geared('input_speed = "2500 rpm"\n'), machine(), "speed into the gear")
    assert check.passed


def test_torque_out_of_a_gear_is_that_of_the_power_less_its_losses() -> None:
    """0.2 kW times 0.8 at 39.375, 70, 124.444 rpm are 38.80, 21.83, 12.28 N·m: 30 N·m are passed at the slowest."""
    stated = geared('efficiency = "80 %"\ntorque = "30 N m"\n', "0.2 kW")
    found = gear_loads(read_machine(stated, machine()), gear(stated))
    assert [load.torque_nm for load in found] == pytest.approx([38.80, 21.83, 12.28], abs=5e-3)
    assert [load.breakdown_nm for load in found] == pytest.approx([116.41, 65.48, 36.83], abs=1e-2), "3 times"
    (check,) = named(stated, machine(), "torque out of the gear")
    assert (check.where, check.kind, check.passed) == ("stage[1] at 39 rpm", "limit", False)
    assert check.value == pytest.approx(38.80, abs=5e-3)
    assert check.limit == 30.0
    assert check.note == (
        "at the motor's rated power; shocks and the gear maker's own service factor are not counted; above what the "
        "gear permits at 39 rpm of the spindle: take a smaller motor or a stronger gear"
    )
    (check,) = named(geared("efficiency = 0.8\ntorque = 39\n", "0.2 kW"), machine(), "torque out of the gear")
    assert check.passed


def test_no_belt_saves_a_gear() -> None:
    """A rating is no fuse: 3 kW come through a belt rated for less, 3 · 0.8 kW at 39.375 rpm are 582.05 N·m."""
    stated = geared("efficiency = 0.8\ntorque = 500\n", "3 kW")
    known = read_machine(stated, machine())
    assert all(belt.carries_kw < 3 for belt in loads(known))
    (check,) = named(stated, machine(), "torque out of the gear")
    assert check.value == pytest.approx(582.05, abs=5e-3)
    assert not check.passed


def test_a_jam_is_told_with_what_helps() -> None:
    """Breakdown is 3 times the rated torque unless stated: 3 · 38.80 N·m against 2 · 39, or the gear maker's figure."""
    name = "torque out of the gear in a jam"
    (jam,) = named(geared("efficiency = 0.8\ntorque = 39\n", "0.2 kW"), machine(), name)
    assert (jam.kind, jam.passed, jam.limit) == ("advice", False, 78.0)
    assert jam.value == pytest.approx(116.41, abs=0.01)
    assert "shear pin or a torque limiter" in jam.note
    (jam,) = named(geared("efficiency = 0.8\ntorque = 39\npeak_torque = 120\n", "0.2 kW"), machine(), name)
    assert jam.passed
    stated = geared("efficiency = 0.8\ntorque = 39\n", '0.2 kW"\nbreakdown = "2')
    (jam,) = named(stated, machine(), name)
    assert jam.passed, "77.6 of 78 N m"


def test_a_gear_before_the_belt_is_held_to_the_motor_too() -> None:
    """Before the belt, the reducer passes on 0.9 of 30 kW at 1400 rpm, 184.2 N·m, whatever the belt behind takes."""
    text = BASE.replace("speed = 1400\nidle = 1400", 'speed = 2800\nidle = 2800\npower = "30 kW"').replace(
        'from = "motor"\nto = "spindle"', 'from = "gear shaft"\nto = "spindle"'
    )
    text = text.replace('name = "motor"', 'name = "gear shaft"')
    text += '[[stage]]\nfrom = "motor"\nto = "gear shaft"\nratio = 0.5\nefficiency = 0.9\ntorque = "60 N m"\n'
    stated = scenario(text)
    stage = stated.chain[0]
    assert isinstance(stage, FixedStage)
    for load in gear_loads(read_machine(stated, machine()), stage):
        assert load.driven_rpm == pytest.approx(1400)
        assert load.torque_nm == pytest.approx(184.2, abs=0.05)


def test_losses_come_off_the_spindles_torque() -> None:
    """The same machine with gears that pass on 70 % has 70 % of the torque, and takes longer to run up."""
    more = '[work]\ninertia = "2 kg m2"\n'
    whole, lossy = (geared(keys, "0.2 kW", more) for keys in ("", "efficiency = 0.7\n"))
    for number in (1, 2, 3):
        told = [torque_nm(known, number, loads(known)) for known in map(_read, (whole, lossy))]
        assert told[0] is not None and told[1] is not None
        assert told[1][0] / told[0][0] == pytest.approx(0.7)
    times = [[run.seconds for run in run_ups(_read(stated))] for stated in (whole, lossy)]
    assert times[0] == pytest.approx([0.7 * seconds for seconds in times[1]])


def _read(stated: Scenario) -> Machine:
    return read_machine(stated, machine())


def test_a_belt_must_bring_what_the_gear_loses() -> None:
    """0.3 kW of work behind a gear that passes on 60 % ask 0.5 kW of the belt before it; the motor's power stays."""
    stated = scenario(GEARED + "efficiency = 0.6\n", ("want = 3", 'want = 3\nwork_power = "0.3 kW"'))
    assert [load.must_kw for load in loads(_read(stated))] == pytest.approx([0.5] * 3)
    assert [load.must_kw for load in loads(_read(geared("efficiency = 0.6\n", "0.75 kW")))] == pytest.approx([0.75] * 3)


def test_what_is_not_stated_of_a_gear_is_said() -> None:
    """A gear without limits is not checked, which is said; a direct coupling needs none."""
    for name in ("speed into the gear", "torque out of the gear"):
        assert skipped(geared(""), machine())[name] == {"stage[1]"}
    assert skipped(geared("torque = 40\n"), machine()).keys() >= {"speed into the gear"}
    direct = scenario(GEARED, ('ratio = "20:1"', "ratio = 1"), ("from = 39\nto = 125", "from = 780\nto = 2500"))
    assert not {"speed into the gear", "torque out of the gear"} & skipped(direct, machine()).keys()
