"""Loads of belts in hand-made machines."""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.checks.carrying import BeltLoad, carrying_checks, loads, torque_nm
from optimizer.checks.stated import read_machine
from optimizer.mechanics.carrying import carried_kw
from optimizer.records.built import BuiltStage
from optimizer.scenario import Scenario
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


PLAIN = """
title = "Pattern mill with one cone"
units = "{units}"
[motor]
speed = 1400
power = "{power}"
[[shaft]]
name = "motor"
diameter = {d}
mount = "slide"
[[shaft]]
name = "spindle"
[[stage]]
from = "motor"
to = "spindle"
positions = {steps}
centres = [{a}, {b}]
travel = {c}
slip = 0
belt = {{ section = "A", lengths = [{e}], measured = "datum" }}
driver = {{ free = [{f}, {g}] }}
driven = {{ free = [{f}, {g}] }}
"""
SIZES_MM = {"a": 250, "b": 400, "c": 70, "d": 26, "e": 1120, "f": 80, "g": 200}


def plain(
    units: str = "mm",
    size: float = 1.0,
    power: str = "0.75 kW",
    steps: int = 3,
    edits: tuple[tuple[str, str], ...] = (),
) -> Scenario:
    """Return the hand-made machine with its lengths written in other units."""
    values = {key: mm / size for key, mm in SIZES_MM.items()}
    return scenario(PLAIN.format(units=units, power=power, steps=steps, **values), *edits)


def figures(found: Iterable[BeltLoad]) -> list[float]:
    """Return all that is told of belts as numbers."""
    said = []
    for load in found:
        said += [load.speed_m_s, load.wrap_deg, load.carries_kw, load.must_kw, load.bends_per_s, load.grip or 0.0]
        said += list(load.pull or ())
    return said


@pytest.mark.parametrize(("units", "size"), [("in", 25.4), ("cm", 10.0)])
@pytest.mark.parametrize("power", ["0.75 kW", "750 W", "1.005766567196271 hp"])
def test_units_change_nothing(units: str, size: float, power: str) -> None:
    """The same machine in other units of length and power carries, pulls and grips the same."""
    first = figures(loads(read_machine(plain(), machine())))
    other = figures(loads(read_machine(plain(units, size, power), machine())))
    assert len(first) > 30
    assert other == pytest.approx(first, rel=1e-9)


ODD = [
    pytest.param("20 W", (), built((90, 125, 160), (160, 125, 90)), id="motor of 20 W"),
    pytest.param(
        "0.75 kW", (("diameter = 26.0", "diameter = 100"),), built((90, 125, 160), (160, 125, 90)), id="shaft"
    ),
    pytest.param("0.75 kW", (("speed = 1400", "speed = 6000"),), built((90, 125, 160), (160, 125, 90)), id="too fast"),
    pytest.param(
        "0.75 kW", (("speed = 1400", "speed = 60000"),), built((90, 125, 160), (160, 125, 90)), id="far too fast"
    ),
    pytest.param("0.75 kW", (("speed = 1400", "speed = 0.01"),), built((90, 125, 160), (160, 125, 90)), id="creeping"),
    pytest.param("1000 kW", (), built((90, 125, 160), (160, 125, 90)), id="motor of 1 MW"),
    pytest.param("0.75 kW", (), built((20, 30, 40), (300, 290, 280)), id="hardly any wrap"),
    pytest.param("0.75 kW", (), built((10, 30, 40), (550, 290, 280)), id="belt that does not go round"),
]


@pytest.mark.parametrize(("power", "edits", "stage"), ODD)
def test_odd_machines_get_answers(power: str, edits: tuple[tuple[str, str], ...], stage: BuiltStage) -> None:
    """Whatever is stated, every figure is a number and no belt carries less than nothing."""
    text = plain(power=power, edits=edits)
    stated = read_machine(text, machine(stage))
    found = loads(stated)
    assert all(isfinite(figure) for figure in figures(found))
    assert all(load.carries_kw >= 0 for load in found)
    for number in range(1, len(stated.speeds) + 1):
        told = torque_nm(stated, number, found)
        assert told is None or (isfinite(told[0]) and told[0] >= 0)
    assert list(carrying_checks(stated))


def test_a_cone_of_one_step_is_told_too() -> None:
    """A single speed has its one belt, its grip and its torque."""
    (load,) = loads(read_machine(plain(steps=1), machine(built((100,), (150,)))))
    assert load.grip is not None
    assert load.grip > 0


@given(st.floats(85.0, 200.0), st.floats(85.0, 200.0), st.floats(1.0, 30.0))
def test_a_larger_pair_of_the_same_ratio_never_grips_less(driver: float, driven: float, more: float) -> None:
    """On the same motor, larger pulleys with the same wrap and ratio run the belt faster, below its best speed."""
    share = 1 + more / 100
    ratings = ratings_of(section("A"))
    speed, small = pi * driver * 1400 / 60_000, min(driver, driven)
    ratio = max(driver, driven) / small
    first = float(carried_kw(ratings, speed, small, ratio, 170.0, 1120.0))
    assert float(carried_kw(ratings, speed * share, small * share, ratio, 170.0, 1120.0)) >= first
