"""Shafts, keys, the motor's frame and starting in hand-made machines."""

from __future__ import annotations

from math import pi, sqrt

import pytest

from optimizer.checks.carrying import loads
from optimizer.checks.motor import run_ups
from optimizer.checks.shafts import key_seats, shaft_loads
from optimizer.checks.stated import read_machine
from optimizer.checks.turning import turnings
from tests.unit.checks.machines import BASE, TWO_STAGES, built, machine, named, scenario, skipped

POWER = ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\n')
BORNE = (
    ('name = "spindle"\ndiameter = 25', 'name = "spindle"\ndiameter = 25\nbearings = [0, 200]'),
    ("driven = { free = [80, 200] }", "driven = { free = [80, 200], along = 60 }"),
)


def test_bending_and_torsion_of_a_shaft_between_its_bearings() -> None:
    """The hardest speed's pull at its place along the shaft, and its torque, give moment, loads, diameter by hand."""
    stated = read_machine(scenario(BASE, POWER, *BORNE), machine())
    (load,), missing = shaft_loads(stated)
    assert [item.where for item in missing] == ["motor"]
    assert load.shaft == "spindle"
    best = 0.0
    for each in loads(stated):
        assert each.pull is not None
        place = 60 + (each.position - 1) * (13.27 + 8)  # about one step pitch further
        pull = sqrt(each.pull.tight_n**2 + each.pull.slack_n**2)  # never below this for a wrap of a quarter and more
        best = max(best, pull * min(place, 200 - place) / 1000 / 2)
    assert load.moment_nm > best
    torque = 9549.3 * 0.75 / load.rpm
    assert load.torque_nm == pytest.approx(torque, rel=1e-4)
    together = sqrt((2.0 * load.moment_nm) ** 2 + (1.5 * load.torque_nm) ** 2)
    assert load.needed_mm == pytest.approx((16 / (pi * 41) * together * 1000) ** (1 / 3))


def test_a_thin_shaft_fails() -> None:
    """A spindle of 8 mm is too thin, and the check says what bends and twists it."""
    thin = scenario(
        BASE,
        POWER,
        ("diameter = 25", "diameter = 8"),
        *((o.replace("= 25", "= 8"), n.replace("= 25", "= 8")) for o, n in BORNE),
    )
    (check,) = named(thin, machine(), "shaft strength")
    assert (check.kind, check.passed, check.where) == ("limit", False, "spindle")
    assert "bending" in check.note and "torsion" in check.note


def test_a_countershaft_takes_both_pulls() -> None:
    """Where nobody says how the shafts stand, the worst way of two pulls counts, and that is said."""
    text = TWO_STAGES.replace('name = "countershaft"', 'name = "countershaft"\nbearings = [0, 250]')
    text = text.replace("driven = { free = [80, 200] }", "driven = { free = [80, 200], along = 60 }", 1)
    head, tail = text.rsplit("driver = { free = [80, 200] }", 1)
    text = head + "driver = { free = [80, 200], along = 180 }" + tail
    stages = built((90, 125), (160, 125)), built((90, 125, 160), (160, 125, 90), key="stage[1]")
    found, _ = shaft_loads(read_machine(scenario(text, POWER), machine(*stages)))
    load = next(each for each in found if each.shaft == "countershaft")
    assert not load.directions_known
    assert min(load.bearings_n) > 0


def test_keys_by_the_maker_s_units() -> None:
    """Shafts of 24 and 25 mm take 8 by 7 keys; an inch file gets sizes over inch seats."""
    seats = key_seats(read_machine(scenario(BASE, POWER), machine()))
    assert [(seat.key.width_mm, seat.key.height_mm) for seat in seats] == [(8, 7), (8, 7)]
    assert all(seat.length_mm is not None and seat.length_mm > 0 for seat in seats)


def test_a_motor_frame_speaks_of_its_shaft_its_height_its_length() -> None:
    """On an IEC 71 a pulley of 83 mm radius reaches below the feet, and three steps are longer than 30 mm of shaft."""
    small = scenario(BASE, ("speed = 1400", 'speed = 1400\nframe = "IEC 71"'))
    (shaft,) = named(small, machine(), "motor shaft as its frame")
    assert not shaft.passed
    assert shaft.value == pytest.approx(10)
    (height,) = named(small, machine(), "pulley above the feet")
    assert not height.passed
    assert height.value == pytest.approx(83.3)
    (long,) = named(small, machine(), "cone on the motor's shaft")
    assert not long.passed
    large = scenario(BASE, ("speed = 1400", 'speed = 1400\nframe = "IEC 90"'))
    assert named(large, machine(), "pulley above the feet")[0].passed


def test_run_up_is_by_the_weaker_of_motor_and_belts() -> None:
    """J·ω/T with the motor's full-load torque; a motor that starts with 0.4 of it takes 2.5 times as long."""
    heavy = scenario(BASE, POWER, ("[series]", '[work]\ninertia = "0.2 kg m2"\n[series]'))
    slow = run_ups(read_machine(heavy, machine()))[0]
    omega = slow.rpm * pi / 30
    assert slow.seconds == pytest.approx(0.2 * omega / (750 / omega))
    weak = scenario(
        BASE,
        ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\ntorque_class = "permanent capacitor"\n'),
        ("[series]", '[work]\ninertia = "0.2 kg m2"\n[series]'),
    )
    assert run_ups(read_machine(weak, machine()))[0].seconds == pytest.approx(2.5 * slow.seconds)
    (start,) = named(weak, machine(), "starting torque")
    assert (start.kind, start.passed) == ("advice", False)
    long = scenario(BASE, POWER, ("[series]", '[work]\ninertia = "50 kg m2"\n[series]'))
    assert not named(long, machine(), "run-up time")[0].passed


def test_turning_tells_balance_and_stress() -> None:
    """The driven cone's 166.6 mm rim at 2488.9 rpm runs 21.7 m/s: 1 g·m may be left, 12 g at the rim."""
    driven = turnings(read_machine(scenario(BASE), machine()))[1]
    speed = pi * 0.1666 * 2488.889 / 60
    assert driven.rim_m_s == pytest.approx(speed)
    assert driven.unbalance_g_m == 1
    assert driven.at_rim_g == pytest.approx(1 / 0.0833)
    assert driven.stress_mpa == pytest.approx(3.3 / 4 * 710 * speed**2 * (1 + 0.7 / 3.3 * (25 / 166.6) ** 2) / 1e6)


@pytest.mark.parametrize("power", ["20 W", "500 kW"])
@pytest.mark.parametrize("diameter", ["1", "100"])
def test_extremes_give_figures(power: str, diameter: str) -> None:
    """Motors of 20 W and 500 kW, shafts of 1 and 100 mm: every figure is a number, or nothing is said."""
    text = scenario(
        BASE,
        ("speed = 1400\n", f'speed = 1400\npower = "{power}"\n'),
        *((old, new.replace("diameter = 25", f"diameter = {diameter}")) for old, new in BORNE),
    )
    stated = read_machine(text, machine())
    for load in shaft_loads(stated)[0]:
        assert 0 < load.needed_mm < 10_000
    for seat in key_seats(stated):
        assert 1 < seat.diameter_mm <= 110
    assert all(turning.stress_mpa >= 0 for turning in turnings(stated))


def test_what_is_missing_is_said() -> None:
    """Without bearings, frame, class and inertia there is no check, and each place is named."""
    where = skipped(scenario(BASE), machine())
    assert where["shaft strength"] == {"motor", "spindle"}
    assert where["motor frame"] == {"motor.frame"}
    assert where["starting torque"] == {"motor.torque_class"}
    assert where["run-up time"] == {"work.inertia"}
