"""A hundredth of a millimetre is a difference, a rounding error is none."""

from __future__ import annotations

import pytest

from optimizer.checks.along import seats_of
from optimizer.checks.stated import read_machine
from tests.unit.checks.machines import BASE, built, machine, named, scenario, skipped

FREE = "driver = { free = [80, 200] }"
KEPT = (FREE, "driver = { kept = [90, 125, 160], pitch = 25 }")


@pytest.mark.parametrize(("off", "passed"), [(0.01, False), (1e-7, True)])
def test_a_kept_cone_is_held_to_its_stated_sizes(off: float, passed: bool) -> None:
    """Its middle step 0.01 mm larger than stated is another cone, 1e-7 mm is how figures come out."""
    stages = machine(built((90, 125 + off, 160), (160, 125, 90), turned=False))
    (check,) = named(scenario(BASE, KEPT), stages, "kept cone as stated")
    assert check.passed is passed
    assert check.margin == pytest.approx(-off, rel=1e-3)


@pytest.mark.parametrize(("off", "passed"), [(0.01, False), (1e-7, True)])
def test_a_ready_pulley_is_held_to_its_stated_size(off: float, passed: bool) -> None:
    """Of pulleys of 90, 125, 160 mm the step that is farthest from any counts."""
    stages = machine(built((90, 125, 160 + off), (160, 125, 90), turned=False))
    (check, *_) = named(
        scenario(BASE, (FREE, "driver = { ready = [90, 125, 160] }")), stages, "ready pulleys as stated"
    )
    assert (check.where, check.passed) == ("stage[0].driver", passed)
    assert check.margin == pytest.approx(-off, rel=1e-3)


@pytest.mark.parametrize(("off", "steps"), [(0.01, 3), (1e-7, 4)])
def test_a_step_that_no_position_uses_is_that_of_the_same_cone(off: float, steps: int) -> None:
    """Three of four kept steps are used; where a size is another one, nobody knows where the fourth stands."""
    text = scenario(BASE, (FREE, "driver = { kept = [90, 125, 160, 200], pitch = 25, along = 0 }"))
    (pair,) = read_machine(text, machine(built((90, 125 + off, 160), (160, 125, 90), turned=False))).pairs
    seats = seats_of(pair.driver, pair, text.making)
    assert len(seats) == steps
    assert [seat.place_mm for seat in seats[:3]] == [0, 25, 50]
    assert [(seat.position, seat.place_mm, seat.outside_mm) for seat in seats[3:]] == [(None, 75, 206.6)][: steps - 3]


@pytest.mark.parametrize(
    ("span", "off"), [("shortest = 1130, longest = 1200", 10), ("shortest = 900, longest = 1100", 20), ("", 0)]
)
def test_a_belt_of_any_length_lies_between_the_shortest_and_the_longest(span: str, off: float) -> None:
    """The belt of 1120 mm is 10 mm too short for 1130 and on, 20 mm too long for 1100 at most."""
    belt = f'lengths = "any", {span or "shortest = 900, longest = 1200"}'
    (check,) = named(scenario(BASE, ("lengths = [1120]", belt)), machine(), "belt can be had")
    assert check.value == pytest.approx(off)
    assert check.passed is (off == 0)


def test_work_of_a_band_without_a_speed_is_skipped() -> None:
    """A band from 790 to 795 rpm has work but none of 787.5, 1400, 2488.9 rpm."""
    band = '[[band]]\nname = "narrow"\nfrom = 790\nto = 795\nwork = 150\n[series]'
    text = scenario(BASE, ("[series]", band))
    assert skipped(text, machine())["surface speed of the work"] == {"band[1]"}
