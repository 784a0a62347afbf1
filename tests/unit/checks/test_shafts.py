"""Shafts, keys, the motor's frame and starting in hand-made machines."""

from __future__ import annotations

from math import inf, pi, sqrt

import pytest

from optimizer.checks.carrying import loads
from optimizer.checks.motor import run_ups
from optimizer.checks.shafts import ShaftLoad, key_seats, shaft_loads
from optimizer.checks.stated import read_machine
from optimizer.checks.turning import allowed_g_m, turnings
from optimizer.records.built import BuiltStage
from optimizer.scenario import BeltStage
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
    """Shafts of 26 and 25 mm take 8 by 7 keys; an inch file gets sizes over inch seats."""
    seats = key_seats(read_machine(scenario(BASE, POWER), machine()))
    assert [(seat.key.width_mm, seat.key.height_mm) for seat in seats] == [(8, 7), (8, 7)]
    assert all(seat.length_mm is not None and seat.length_mm > 0 for seat in seats)


def test_a_motor_frame_speaks_of_its_shaft_its_height_its_length() -> None:
    """An IEC 71 lies 71 mm high: 66 with 5 mm of gap, a radius of 83.3 is too much; its shaft of 14 mm, not 26, is
    30 mm long, less than three steps; an IEC 100 leaves 95 mm.
    """
    small = scenario(BASE, ("speed = 1400", 'speed = 1400\nframe = "IEC 71"'))
    (shaft,) = named(small, machine(), "motor shaft as its frame")
    assert not shaft.passed
    assert shaft.value == pytest.approx(12)
    (height,) = named(small, machine(), "pulley above the plate")
    assert (height.kind, height.passed, height.limit) == ("limit", False, 66)
    assert height.value == pytest.approx(83.3)
    (long,) = named(small, machine(), "cone on the motor's shaft")
    assert not long.passed
    large = scenario(BASE, ("speed = 1400", 'speed = 1400\nframe = "IEC 100"'))
    assert named(large, machine(), "pulley above the plate")[0].passed


def test_a_frame_is_taken_from_the_motor_s_shaft() -> None:
    """A shaft of 19 mm is that of an IEC 80, 80 mm high: 75 with the gap, for a radius of 83.3; a default says so."""
    told = scenario(BASE, ("diameter = 26", "diameter = 19"))
    assert ("motor.frame", "IEC 80") in [(default.key, default.value) for default in told.defaults]
    (height,) = named(told, machine(), "pulley above the plate")
    assert (height.kind, height.limit, height.passed) == ("limit", 75, False)
    assert height.margin == pytest.approx(75 - 166.6 / 2)
    assert "taken from the motor's shaft" in height.note
    (length,) = named(told, machine(), "cone on the motor's shaft")
    assert length.limit == 40


def test_a_motor_on_blocks_has_all_the_room() -> None:
    """Where nothing reaches under the motor's pulleys the height of its shaft limits none, in check and search."""
    blocks = ("speed = 1400", "speed = 1400\nplate = false")
    told = scenario(BASE, ("diameter = 26", "diameter = 19"), blocks)
    assert named(told, machine(), "pulley above the plate") == []
    assert "pulley above the plate" in skipped(told, machine())
    belt = told.stages[0]
    assert isinstance(belt, BeltStage)
    assert told.motor_swing_mm(belt.driver) == inf
    on_feet = scenario(BASE, ("diameter = 26", "diameter = 19"))
    assert on_feet.motor_swing_mm(belt.driver) == 150


def test_a_cone_that_runs_is_only_warned_of() -> None:
    """A kept cone of 83.3 mm radius on a 19 mm shaft stands as it is: a warning; a failure where a plate is stated."""
    kept = ("driver = { free = [80, 200] }", "driver = { kept = [90, 125, 160], pitch = 21.145 }")
    told = scenario(BASE, ("diameter = 26", "diameter = 19"), kept)
    stands = machine(built((90, 125, 160), (160, 125, 90)).model_copy(update={"driver_turned": (False,) * 3}))
    (check,) = named(told, stands, "pulley above the plate")
    assert (check.kind, check.passed) == ("advice", False)
    plate = scenario(BASE, ("diameter = 26", "diameter = 19"), kept, ("speed = 1400", "speed = 1400\nplate = true"))
    assert named(plate, stands, "pulley above the plate")[0].kind == "limit"


def test_a_flat_stands_in_place_of_a_key() -> None:
    """A NEMA 48 has a flat, 29/64 in over it: no key of its 1/2 in shaft is told, and one that is stated is."""
    flat = scenario(BASE, POWER, ("diameter = 26", "diameter = 12.7"))
    assert flat.motor.frame == "NEMA 48"
    assert [seat.shaft for seat in key_seats(read_machine(flat, machine()))] == ["spindle"]
    assert [check.where for check in named(flat, machine(), "key")] == ["spindle"]
    assert skipped(flat, machine())["key"] == {"motor"}
    keyed = scenario(BASE, POWER, ("diameter = 26", "diameter = 12.7\nkeyed = true"))
    assert [seat.shaft for seat in key_seats(read_machine(keyed, machine()))] == ["motor", "spindle"]


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
    """The driven cone's 166.6 mm rim at 2488.9 rpm (ω = 260.637 rad/s) runs 21.7 m/s: of 1 g·m and m·16/ω the lesser.

    Steps of 13.14 + 2·4 = 21.144 mm, outside 96.6, 131.6, 166.6, bore 25 mm: discs of π/4·52,535 mm²·21.144 mm =
    872,400 mm³. Grooves 13.14 mm wide, 12 mm deep, 34 to 38°: about 108 to 113 mm², centroids 5 mm below the rim:
    2π·(48.3 + 65.8 + 83.3 − 15)·110.5 = 126,600 mm³. Left 745,800 mm³, at 685 kg/m³ 0.511 kg: 0.0314 g·m, 0.377 g at
    83.3 mm. A steel arbor of 25 mm, 63.4 + 100 mm long, weighs 0.630 kg: with a lever of 0.05 mm (from memory) they
    show 0.0570 g·m. The ring's 0.3347 MPa reach 2.1 MPa at 2488.9·sqrt(6.275) = 6235 rpm.
    """
    driven = turnings(read_machine(scenario(BASE), machine()))[1]
    speed = pi * 0.1666 * 2488.889 / 60
    assert driven.rim_m_s == pytest.approx(speed)
    assert driven.mass_kg == pytest.approx(0.511, abs=0.002)
    assert driven.unbalance_g_m == pytest.approx(0.0314, abs=0.0002)
    assert driven.at_rim_g == pytest.approx(0.377, abs=0.002)
    assert driven.shown_g_m == pytest.approx(0.0570, abs=0.0002)
    assert driven.strength_rpm == pytest.approx(6235, abs=1)
    assert driven.stress_mpa == pytest.approx(3.3 / 4 * 710 * speed**2 * (1 + 0.7 / 3.3 * (25 / 166.6) ** 2) / 1e6)
    assert "does not show so little" in driven.balance
    (_, warned) = named(scenario(BASE), machine(), "unbalance that an arbor shows")
    assert (warned.passed, warned.kind) == (False, "advice")
    assert (warned.limit, warned.value) == (0.0313, 0.057)
    slow = scenario(
        BASE, ("speed = 1400\nidle = 1400", "speed = 300"), ("from = 780", "from = 160"), ("to = 2500", "to = 540")
    )
    assert all(check.passed for check in named(slow, machine(), "unbalance that an arbor shows"))


def test_the_lesser_of_standard_and_grade_counts() -> None:
    """A steel cone of 0.509·7850/685 = 5.83 kg at 1400 rpm (146.6 rad/s), 12.2 m/s: the grade's 0.636, not 3 g·m.

    30 times as heavy at 600 rpm (62.83 rad/s), 5.23 m/s, it would keep 44.5 g·m by the grade: the standard's 6 count.
    Without a mass at 4 m/s neither names any.
    """
    steel = ("driver = { free = [80, 200] }", 'driver = { free = [80, 200], material = "steel" }')
    driver = turnings(read_machine(scenario(BASE, steel), machine()))[0]
    assert driver.mass_kg == pytest.approx(0.5088 * 7850 / 685, rel=1e-3)
    assert driver.unbalance_g_m == pytest.approx(0.636, abs=0.002)
    assert allowed_g_m(5.23, 30 * 5.83, 600.0)[0] == 6
    assert allowed_g_m(4.0, None, 600.0)[0] is None


def test_the_mass_of_a_kept_cone_is_said_to_be_unknown() -> None:
    """The standard's 3 g·m counts at 10.4 to 12.2 m/s, and G16 for each kg: 16/146.6/0.0833 = 1.3 g at the rim."""
    kept = ("driver = { free = [80, 200] }", "driver = { kept = [90, 125, 160], pitch = 25 }")
    driver = turnings(read_machine(scenario(BASE, kept), machine()))[0]
    assert (driver.mass_kg, driver.shown_g_m, driver.strength_rpm) == (None, None, None)
    assert (driver.unbalance_g_m, driver.at_rim_g) == (3, None)
    assert "its mass is not known: weigh it, G16 leaves 1.3 g at its rim for each kg" in driver.balance
    assert driver.material == "not stated, taken as steel"


def test_pulls_point_where_the_other_shafts_stand() -> None:
    """With the shafts on one side in a line both pulls of a countershaft go apart; on one side of it they add up."""
    text = TWO_STAGES.replace('name = "countershaft"', 'name = "countershaft"\nat = [0, 0]\nbearings = [0, 250]')
    text = text.replace("driven = { free = [80, 200] }", "driven = { free = [80, 200], along = 125 }", 1)
    head, tail = text.rsplit("driver = { free = [80, 200] }", 1)
    text = head + "driver = { free = [80, 200], along = 125 }" + tail
    stages = built((90, 125), (160, 125)), built((90, 125, 160), (160, 125, 90), key="stage[1]")
    unknown = _countershaft(text, stages)
    apart = _countershaft(_placed(text, motor=(-363.65, 0), spindle=(363.65, 0)), stages)
    across = _countershaft(_placed(text, motor=(-363.65, 0), spindle=(0, 363.65)), stages)
    together = _countershaft(_placed(text, motor=(-363.65, 0), spindle=(-363.65, 1)), stages)
    assert not unknown.directions_known
    assert all(load.directions_known for load in (apart, across, together))
    assert apart.moment_nm < across.moment_nm < together.moment_nm
    assert together.moment_nm == pytest.approx(unknown.moment_nm, rel=0.02)
    assert max(together.bearings_n) <= max(unknown.bearings_n) * 1.000001


def _placed(text: str, motor: tuple[float, float], spindle: tuple[float, float]) -> str:
    """Return the machine with its two other shafts placed; the countershaft slides to the motor, the spindle to it."""
    text = text.replace('name = "spindle"', f'name = "spindle"\nat = {list(spindle)}')
    return text.replace("[[shaft]]", f'[[shaft]]\nname = "motor"\nat = {list(motor)}\n[[shaft]]', 1)


def _countershaft(text: str, stages: tuple[BuiltStage, ...]) -> ShaftLoad:
    found, _ = shaft_loads(read_machine(scenario(text, POWER), machine(*stages)))
    return next(each for each in found if each.shaft == "countershaft")


def test_gears_on_a_shaft_leave_it_unchecked() -> None:
    """What a fixed ratio does to its shafts is not known: both are listed, the one without a cone too."""
    back = BASE.replace('"spindle"', '"back shaft"').replace("diameter = 25", "diameter = 25\nbearings = [0, 200]")
    gear = '[[shaft]]\nname = "spindle"\non = "back shaft"\n'
    gear += '[[stage]]\nfrom = "back shaft"\nto = "spindle"\nratio = 0.5\n'
    text = scenario(back + gear, POWER)
    found, missing = shaft_loads(read_machine(text, machine()))
    assert found == ()
    assert {item.where: "fixed ratio" in item.why for item in missing} == {
        "motor": False,
        "back shaft": True,
        "spindle": True,
    }


def test_a_better_steel_needs_less() -> None:
    """A stress stated in the maker's units counts three quarters with a keyway; d grows as its cube root falls."""
    plain = shaft_loads(read_machine(scenario(BASE, POWER, *BORNE), machine()))[0][0]
    keys = BORNE[0][0], BORNE[0][1] + '\nstress = "80 MPa"'
    better = shaft_loads(read_machine(scenario(BASE, POWER, keys, BORNE[1]), machine()))[0][0]
    assert better.needed_mm == pytest.approx(plain.needed_mm * (41 / 60) ** (1 / 3))
    assert "stated by the maker" in better.source
    whole = keys[0], keys[1] + '\nkeyed = false\nshock = "steady"'
    best = shaft_loads(read_machine(scenario(BASE, POWER, whole, BORNE[1]), machine()))[0][0]
    together = sqrt((1.5 * best.moment_nm) ** 2 + best.torque_nm**2)
    assert best.needed_mm == pytest.approx((16 / (pi * 80) * together * 1000) ** (1 / 3))


def test_a_plate_under_the_motor_is_a_limit() -> None:
    """On a plate, 71 mm below the axis and 5 mm clear, a pulley may have a radius of 66 mm; the gap may be stated."""
    plate = ("speed = 1400", 'speed = 1400\nframe = "IEC 71"\nplate = true')
    (check,) = named(scenario(BASE, plate), machine(), "pulley above the plate")
    assert (check.kind, check.passed, check.limit) == ("limit", False, 66)
    gap = ("[series]", "[around]\nclearance = 1\n[series]")
    assert named(scenario(BASE, plate, gap), machine(), "pulley above the plate")[0].limit == 70


def test_a_frame_tells_the_motor_s_shaft() -> None:
    """Where the motor's shaft is not stated it is that of its frame, with its hub, and a remark says so."""
    bare = ('[[shaft]]\nname = "motor"\ndiameter = 26\nroom = 120\nnever_above = 3000\n', "")
    stated = scenario(BASE, bare, ("speed = 1400", 'speed = 1400\nframe = "IEC 90L"'))
    assert (stated.shaft("motor").diameter_mm, stated.shaft("motor").hub_mm) == (24, 24)
    assert any("IEC 90, 24 mm" in remark for remark in stated.remarks)
    assert scenario(BASE, bare).shaft("motor").diameter_mm is None
    kept = scenario(BASE, ("speed = 1400", 'speed = 1400\nframe = "IEC 80"'))
    assert kept.shaft("motor").diameter_mm == 26
    assert not any("motor.frame" in remark for remark in kept.remarks)


def test_a_key_longer_than_its_cone_is_told() -> None:
    """A slow shaft of 6.5 mm asks for a key longer than three steps; the caution stands beside every length."""
    strong = scenario(BASE, ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\n'))
    assert all(check.passed and "never key plywood alone" in check.note for check in named(strong, machine(), "key"))
    slow = scenario(
        BASE,
        ("speed = 1400\n", 'speed = 100\npower = "0.75 kW"\n'),
        ("from = 780", "from = 55"),
        ("to = 2500", "to = 180"),
        ("diameter = 25", "diameter = 6.5"),
    )
    assert [check.passed for check in named(slow, machine(), "key")] == [True, False]
    loose = scenario(BASE, POWER, ("diameter = 25", "diameter = 25\nkeyed = false"))
    assert [check.where for check in named(loose, machine(), "key")] == ["motor"]
    large = scenario(BASE, POWER, ("diameter = 25", "diameter = 120"))
    assert skipped(large, machine())["key"] == {"spindle"}


def test_sizes_over_the_seats_follow_the_units() -> None:
    """26 mm with t1 = 4.0, t2 = 3.3: 22.0 and 29.3 mm; in an inch file the inch key of 1 1/32 in by geometry."""
    seat = key_seats(read_machine(scenario(BASE), machine()))[0]
    assert seat.seats == pytest.approx((22.0, 29.3))
    inch = scenario(BASE, POWER).model_copy(update={"units": "in"})
    assert key_seats(read_machine(inch, machine()))[0].key.width_mm == pytest.approx(6.35)


def test_a_belt_weaker_than_the_motor_s_start_is_told_with_heavy_work() -> None:
    """A capacitor-start motor gives 2.5 times its torque; a belt that carries less slips while the work is still."""
    heavy = ("[series]", '[work]\ninertia = "0.2 kg m2"\n[series]')
    strong = ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\ntorque_class = "capacitor start"\n')
    (check,) = named(scenario(BASE, strong, heavy), machine(), "belt at the start")
    assert (check.kind, check.limit) == ("advice", 2.5)
    least = min(load.carries_kw for load in loads(read_machine(scenario(BASE, strong, heavy), machine())))
    assert check.value == pytest.approx(least / 0.75)
    assert named(scenario(BASE, strong), machine(), "belt at the start") == []


def test_light_work_lets_a_weak_motor_start() -> None:
    """With 0.2 kW of work on 0.75 kW, 0.27 of full torque is enough, and 0.4 is there."""
    weak = ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\ntorque_class = "permanent capacitor"\n')
    light = ("want = 3", 'want = 3\nwork_power = "0.2 kW"')
    (start,) = named(scenario(BASE, weak, light), machine(), "starting torque")
    assert start.passed
    assert start.limit == pytest.approx(0.2 / 0.75)


def test_balance_is_asked_for_above_5_m_s() -> None:
    """The hand-made machine's cones of 0.51 kg run 12 and 22 m/s at 1400 and 2489 rpm: 0.056 and 0.031 g·m by G16."""
    found = named(scenario(BASE), machine(), "rim speed for static balance")
    assert [(check.passed, check.note.split(";")[0]) for check in found] == [
        (True, "at most 0.056 g m left"),
        (True, "at most 0.031 g m left"),
    ]
    slow = scenario(
        BASE, ("speed = 1400\nidle = 1400", "speed = 300"), ("from = 780", "from = 160"), ("to = 2500", "to = 540")
    )
    assert named(slow, machine(), "rim speed for static balance") == []


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
