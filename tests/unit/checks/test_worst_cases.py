"""Of several speeds, cones, bands a check speaks of the worst, at the place where it is."""

from __future__ import annotations

from math import pi

import pytest

from optimizer.checks import Check, check_design
from optimizer.checks.along import seats_of
from optimizer.checks.hanging import _runs
from optimizer.checks.shafts import key_seats, shaft_loads, torques_nm
from optimizer.checks.stated import read_machine
from optimizer.checks.turning import turnings
from optimizer.records.built import BuiltMachine
from optimizer.scenario import BeltStage, Scenario
from tests.unit.checks.machines import BASE, TWO_STAGES, built, machine, named, scenario, skipped

POWER = ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\n')
BAND = '[[band]]\nname = "all work"\nfrom = 780\nto = 2500\nwant = 3\n'


def test_the_hardest_band_is_what_a_motor_must_start() -> None:
    """Of 0.2 kW at the slow speeds and 0.5 kW at the fast ones it is 0.5 of 0.75 kW."""
    two = (
        '[[band]]\nname = "low"\nfrom = 780\nto = 1300\nwork_power = "0.2 kW"\n'
        '[[band]]\nname = "high"\nfrom = 1300\nto = 2500\nwant = 2\nwork_power = "0.5 kW"\n'
    )
    weak = ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\ntorque_class = "permanent capacitor"\n')
    (start,) = named(scenario(BASE, weak, (BAND, two)), machine(), "starting torque")
    assert start.limit == pytest.approx(0.5 / 0.75)


def test_the_longest_run_up_is_that_of_the_fastest_speed() -> None:
    """J·ω²/P grows with the square of the speed: 2488.9 rpm with 0.2 kg·m² and 0.75 kW takes 18.1 s."""
    heavy = scenario(BASE, POWER, ("[series]", '[work]\ninertia = "0.2 kg m2"\n[series]'))
    (check,) = named(heavy, machine(), "run-up time")
    assert check.where == "speed 3"
    assert check.value == pytest.approx(0.2 * (1400 * 16 / 9 * pi / 30) ** 2 / 750, rel=1e-3)


def test_rims_of_both_cones_are_checked_each_at_its_fastest() -> None:
    """Rims of 166.6 mm on the driver at 1400 rpm and on the driven at 2488.9 rpm: 12.21 and 21.71 m/s."""
    found = named(scenario(BASE), machine(), "rim speed, timber")
    assert [check.where for check in found] == ["stage[0].driver", "stage[0].driven"]
    assert [check.value for check in found] == pytest.approx([12.21, 21.71], abs=0.01)
    assert [check.note for check in found] == ["1400 rpm", "2489 rpm"]


def test_a_kept_cone_of_unknown_material_is_said_to_be_unknown() -> None:
    """A kept driver's rim is not judged below 33.02 m/s, which no material may pass; one of cast iron is.

    Its 166.6 mm rim runs at π·0.1666·1400/60 = 12.2 m/s, at 4000 rpm at 34.9 m/s, 1.9 m/s too fast for any.
    """
    kept = "driver = { kept = [90, 125, 160], pitch = 25 }"
    bought = machine(built((90, 125, 160), (160, 125, 90), turned=False))
    told = scenario(BASE, ("driver = { free = [80, 200] }", kept))
    assert skipped(told, bought)["rim speed"] == {"stage[0].driver"}
    assert any("stage[0].driver.material" in remark for remark in told.remarks)
    assert not any(check.where == "stage[0].driver" for check in _rims(told, bought))
    quick = (("speed = 1400\nidle = 1400", "speed = 4000"), ("= 3000", "= 9000"))
    fast = scenario(BASE, ("driver = { free = [80, 200] }", kept), *quick)
    (check,) = [check for check in _rims(fast, bought) if check.where == "stage[0].driver"]
    assert (check.name, check.passed) == ("rim speed, material not stated", False)
    assert check.margin == pytest.approx(33.02 - pi * 0.1666 * 4000 / 60)
    iron = kept.replace("pitch = 25", 'pitch = 25, material = "cast iron"')
    stated = scenario(BASE, ("driver = { free = [80, 200] }", iron))
    (check,) = named(stated, bought, "rim speed, cast iron")
    assert (check.where, check.limit, check.passed) == ("stage[0].driver", 33.02, True)
    assert not any("material" in remark for remark in stated.remarks)


def test_bought_pulleys_are_of_metal_unless_something_else_is_stated() -> None:
    """Pulleys bought ready are held to the limit of metal, and a default says so; wooden ones to that of timber."""
    ready = ("driver = { free = [80, 200] }", "driver = { ready = [90, 125, 160] }")
    bought = machine(built((90, 125, 160), (160, 125, 90), turned=False))
    told = scenario(BASE, ready)
    assert ("stage[0].driver.material", "metal") in [(default.key, default.value) for default in told.defaults]
    assert "stage[0].driver" in [check.where for check in named(told, bought, "rim speed, metal")]
    wooden = scenario(BASE, (ready[0], 'driver = { ready = [90, 125, 160], material = "timber" }'))
    assert "stage[0].driver" in [check.where for check in named(wooden, bought, "rim speed, timber")]


def _rims(told: Scenario, made: BuiltMachine) -> list[Check]:
    return [check for check in check_design(read_machine(told, made)) if check.name.startswith("rim speed, ")]


def test_a_limit_of_belt_speed_says_whose_it_is() -> None:
    """The belt's own limit comes with the belt's source, another one is the maker's."""
    text = scenario(BASE)
    stage = text.stages[0]
    assert isinstance(stage, BeltStage)
    own = text.model_copy(update={"stages": (stage.model_copy(update={"belt_speed_m_s": 20.0}),)})
    sources = [named(each, machine(), "belt speed")[0].source for each in (text, own)]
    assert sources[0] != "stated by the maker" == sources[1]


def test_torque_is_greatest_at_each_shaft_s_slowest() -> None:
    """P/ω with 0.75 kW: the motor at 1400 rpm 5.116 N·m, the spindle at 787.5 rpm 9.095 N·m."""
    found = torques_nm(read_machine(scenario(BASE, POWER), machine()))
    assert found == pytest.approx({"motor": 750 / (1400 * pi / 30), "spindle": 750 / (787.5 * pi / 30)}, rel=1e-4)


def test_steps_that_follow_inward_stand_a_step_pitch_apart() -> None:
    """From the stated place 100 with kept steps 25 apart: 100, 75, 50 inward; 100, 125, 150 outward."""
    kept = "driver = { kept = [90, 125, 160], pitch = 25, along = 100 }"
    text = scenario(BASE, ("driver = { free = [80, 200] }", kept))
    for onward, places in (("inward", [100, 75, 50]), ("outward", [100, 125, 150])):
        stage = text.stages[0].model_copy(update={"onward": onward})
        (pair,) = read_machine(text.model_copy(update={"stages": (stage,)}), machine()).pairs
        assert [seat.place_mm for seat in seats_of(pair.driver, pair, text.making)] == places


def test_runs_of_neighbouring_places_are_told_by_their_ends() -> None:
    """-3, -2 and 0, 1, 2 and 5 are three runs; nothing is none."""
    assert list(_runs([-3, -2, 0, 1, 2, 5])) == [(-3, -2), (0, 2), (5, 5)]
    assert list(_runs([])) == []


def test_the_closest_neighbours_are_named() -> None:
    """Ratios 9/16, 1, 3/2 rise by 77.8 % and 50 %: the second step is the least, from speed 2 to speed 3."""
    (check,) = named(scenario(BASE), machine(built((90, 125, 150), (160, 125, 100))), "distinct speeds")
    assert check.where == "speeds 2 and 3"
    assert check.value == pytest.approx(50)


def test_positions_of_two_are_named_too() -> None:
    """A belt with two places to run on names them; one with a single place is named by its stage alone."""
    stages = built((90, 125), (160, 125)), built((90, 125, 160), (160, 125, 90), key="stage[1]")
    found = read_machine(scenario(TWO_STAGES), machine(*stages)).pairs
    assert [pair.place(0) for pair in found] == ["stage[0], position 1", "stage[1], position 1"]


def test_the_limit_of_the_spread_says_what_it_is_made_of() -> None:
    """Travel and what the belt forgives, min(0.2, 0.001·1120) mm; a locked pair has no travel."""
    locked = (("travel = 70", 'slackened = "by hand"'), ('mount = "slide"\n', ""))
    for edits, words in (((), "travel left"), (locked, "no travel")):
        (check,) = named(scenario(BASE, *edits), machine(), "spread of the positions' centre distances")
        assert check.note == f"limit: {words} and 0.2 mm that the belt forgives"


def test_a_flat_belt_runs_on_a_line_outside_its_rims() -> None:
    """A belt 3 mm thick on a flat rim of 100 mm: its middle runs on 103 mm."""
    text = scenario(BASE, ('section = "A"', 'section = "flat 3x40"'))
    stage = built((90,), (100,)).model_copy(
        update={"section": "flat 3x40", "driver_outside_mm": (100.0,), "driven_outside_mm": (120.0,)}
    )
    (pair,) = read_machine(text, machine(stage)).pairs
    assert (pair.driver.pitch_mm, pair.driven.pitch_mm) == ((103.0,), (123.0,))


@pytest.mark.parametrize("lengths", ["[1000, 1120]", "[1120, 1250]"])
def test_one_belt_of_those_listed_is_enough(lengths: str) -> None:
    """A belt of 1120 mm is one of two that the maker lists, whichever the other is."""
    (check,) = named(scenario(BASE, ("lengths = [1120]", f"lengths = {lengths}")), machine(), "belt can be had")
    assert (check.passed, check.value) == (True, 0)


def test_a_key_is_as_long_as_shear_and_crushing_ask_for() -> None:
    """9.095 N·m on 25 mm with a key of 8 by 7: 2T/(d·w·41) = 2.218 mm, 4T/(d·h·82) = 2.535 mm, the longer counts.

    The stresses of mild steel are from memory, as in the code.
    """
    seats = {seat.shaft: seat for seat in key_seats(read_machine(scenario(BASE, POWER), machine()))}
    torque = 750 / (787.5 * pi / 30) * 1000
    assert seats["spindle"].length_mm == pytest.approx(4 * torque / (25 * 7 * 82))
    assert seats["spindle"].length_mm == pytest.approx(2.535, abs=1e-3)


def test_a_shaft_is_judged_at_its_hardest_speed() -> None:
    """The slowest speed twists most and pulls most: a spindle between bearings is judged at 787.5 rpm."""
    borne = (
        ('name = "spindle"\ndiameter = 25', 'name = "spindle"\ndiameter = 25\nbearings = [0, 200]'),
        ("driven = { free = [80, 200] }", "driven = { free = [80, 200], along = 60 }"),
    )
    (load,), _ = shaft_loads(read_machine(scenario(BASE, POWER, *borne), machine()))
    assert load.rpm == pytest.approx(787.5)


def test_speeds_beyond_the_last_band_do_not_count() -> None:
    """Of 787.5, 1400, 2488.9 rpm two count up to 2000 rpm and its three in a hundred, all up to 2417 and those."""
    for top, count in ((2000, 2), (2416, 2), (2417, 3)):
        (check,) = named(scenario(BASE, ("to = 2500", f"to = {top}")), machine(), "speeds in the band")
        assert check.value == count


def test_balance_is_told_in_words_by_the_speed_of_the_rim() -> None:
    """At 1400 rpm rims run 12 and 22 m/s; at 300 rpm 2.6 and 4.7 m/s, below the 5 m/s from which it is asked for."""
    slow = scenario(
        BASE, ("speed = 1400\nidle = 1400", "speed = 300"), ("from = 780", "from = 160"), ("to = 2500", "to = 540")
    )
    told = [
        [turning.balance.split("; ")[0] for turning in turnings(read_machine(text, machine()))]
        for text in (scenario(BASE), slow)
    ]
    assert told == [["static balance"] * 2, ["the pulley standard asks for none at 5 m/s and below"] * 2]


def test_long_fast_cones_are_balanced_in_two_planes() -> None:
    """Half of 166.6 mm is 83.3 mm: three steps of 30 mm are longer, of 27 mm shorter; above 1000 rpm that counts.

    Common practice, no source. At 700 rpm the driver turns at 700, the driven cone at 700·160/90 = 1244 rpm.
    """
    slow = ("speed = 1400\nidle = 1400", "speed = 700\nidle = 700")
    for pitch, edits, expected in (
        (30, (), [True, True]),
        (27, (), [False, False]),
        (30, (slow,), [False, True]),
    ):
        text = scenario(BASE, ("largest_blank = 200", f"largest_blank = 200\nstep_pitch = {pitch}"), *edits)
        found = turnings(read_machine(text, machine()))
        assert [turning.two_planes for turning in found] == expected
        assert ["two planes" in turning.balance for turning in found] == expected


def test_a_key_bears_the_motors_torque_whatever_is_known_of_the_belt() -> None:
    """A belt that no source rates passes on 0.75 kW all the same: 750·60/(2π·1400) = 5.12 N·m on the motor."""
    unrated = scenario(BASE, POWER, ('section = "A"', 'section = "PJ 6"'))
    made = machine(built((90, 125, 160), (160, 125, 90)).model_copy(update={"section": "PJ 6"}))
    assert torques_nm(read_machine(unrated, made))["motor"] == pytest.approx(5.116, abs=5e-4)
    assert {check.where for check in named(unrated, made, "key")} == {"motor", "spindle"}
