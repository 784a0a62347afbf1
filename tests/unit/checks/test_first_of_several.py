"""What is not asked of one shaft, stage or band is still asked of the next."""

from __future__ import annotations

import pytest

from optimizer.checks.along import step_pitch_mm
from optimizer.checks.carrying import loads
from optimizer.checks.hanging import Span
from optimizer.checks.shafts import key_seats
from optimizer.checks.stated import read_machine
from tests.unit.checks.machines import BASE, TWO_STAGES, built, machine, named, scenario, skipped

POWER = ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\n')


@pytest.mark.parametrize("motor", ["diameter = 26\nkeyed = false", "", "diameter = 5"])
def test_a_shaft_without_a_key_leaves_the_next_its_own(motor: str) -> None:
    """The motor has no key, no diameter, or one of no row; the spindle of 25 mm takes its 8 by 7 key and its check."""
    text = scenario(BASE, POWER, ('name = "motor"\ndiameter = 26', f'name = "motor"\n{motor}'))
    assert [seat.shaft for seat in key_seats(read_machine(text, machine()))] == ["spindle"]
    assert [check.where for check in named(text, machine(), "key")] == ["spindle"]
    assert skipped(text, machine()).get("key", set()) == (set() if "keyed" in motor else {"motor"})


def test_a_cone_of_two_steps_has_an_order() -> None:
    """Both cones of the first stage, of two steps each, are checked, and both of the second."""
    stages = built((90, 125), (160, 125)), built((90, 125, 160), (160, 125, 90), key="stage[1]")
    found = [check.where for check in named(scenario(TWO_STAGES), machine(*stages), "order of the steps")]
    assert found == [f"stage[{n}].{side}" for n in (0, 1) for side in ("driver", "driven")]


def test_without_a_power_a_motor_must_start_its_full_load() -> None:
    """What the work asks for is not known, so it is the full-load torque, once."""
    text = scenario(BASE, ("speed = 1400\n", 'speed = 1400\ntorque_class = "permanent capacitor"\n'))
    (check,) = named(text, machine(), "starting torque")
    assert check.limit == 1.0


def test_bands_that_overlap_ask_for_the_most_of_theirs() -> None:
    """1400 rpm lies in a band of 0.2 kW and in one of 0.5 kW, 787.5 in the first, 2488.9 in the second alone."""
    two = (
        '[[band]]\nname = "low"\nfrom = 780\nto = 1500\nwork_power = "0.2 kW"\n'
        '[[band]]\nname = "high"\nfrom = 1300\nto = 2500\nwant = 2\nwork_power = "0.5 kW"\n'
    )
    text = scenario(BASE, POWER, ('[[band]]\nname = "all work"\nfrom = 780\nto = 2500\nwant = 3\n', two))
    assert [load.must_kw for load in loads(read_machine(text, machine()))] == pytest.approx([0.2, 0.5, 0.5])


def test_layers_count_only_where_steps_are_made_of_whole_ones() -> None:
    """Steps of just groove and walls, 13.145 + 8 mm, stay so beside plywood of 17.7 mm."""
    text = scenario(BASE, ("[making]", '[making]\nlayer = 17.7\nstep_pitch = "faced"'))
    assert step_pitch_mm(read_machine(text, machine()).pairs[0], text.making) == pytest.approx(21.145, abs=1e-3)


def test_the_room_of_a_step_is_that_of_what_it_is() -> None:
    """Two kept cones need no more than belt A's 13 mm (GOST 1284.1-89); two bought pulleys need their rims of 20 mm."""
    stages = machine(built((90, 125, 160), (160, 125, 90), turned=False))
    kept = (
        ("driver = { free = [80, 200] }", "driver = { kept = [90, 125, 160], pitch = 25 }"),
        ("driven = { free = [80, 200] }", "driven = { kept = [160, 125, 90], pitch = 25 }"),
    )
    ready = (("{ free = [80, 200] }", "{ ready = [90, 125, 160] }"),)
    for edits, needed in ((kept, 13.0), (ready, 20.0)):
        (check,) = named(scenario(BASE, *edits), stages, "step pitch")
        assert check.limit == pytest.approx(needed)


def test_the_largest_of_several_wheels_is_held_to_its_mark() -> None:
    """150 mm, not 100 mm, at 2488.889 rpm runs 19.548 m/s."""
    text = scenario(BASE, ("want = 3", 'want = 3\nwork = [100, 150]\nsurface_limit = "19 m/s"'))
    (check,) = named(text, machine(), "marked surface speed")
    assert check.value == pytest.approx(19.548, abs=1e-3)


def test_a_span_holds_something_where_its_least_does_not_pass_its_most() -> None:
    """From 1 to 2 is some, 2 alone is some, from 2 to 1 is none."""
    assert [Span(1, 2).some, Span(2, 2).some, Span(2, 1).some] == [True, True, False]
