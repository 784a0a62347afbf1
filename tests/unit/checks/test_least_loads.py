"""Of many loads the checks speak of the one that is nearest to its limit."""

from __future__ import annotations

import pytest

from optimizer.checks.carrying import loads
from optimizer.checks.stated import read_machine
from tests.unit.checks.machines import BASE, machine, named, scenario

POWER = ("speed = 1400\n", 'speed = 1400\npower = "0.75 kW"\n')


def test_the_belt_is_told_where_its_grip_is_least() -> None:
    """The same power at every speed: the small driver of the slowest runs slowest and carries least."""
    text = scenario(BASE, POWER)
    found = loads(read_machine(text, machine()))
    grips = [load.carries_kw / 0.75 for load in found]
    assert grips[0] < min(grips[1:])
    (check,) = named(text, machine(), "belt carries")
    assert check.value / check.limit == pytest.approx(grips[0])
    assert check.where == "stage[0], position 1 at 788 rpm"


def test_a_limit_of_grip_is_told_where_it_is_nearest() -> None:
    """A least grip of 0.5 is a limit of 0.375 kW at every speed, nearest at the slowest."""
    text = scenario(BASE, POWER, ("never_above = 2600", "never_above = 2600\nleast_grip = 0.5"))
    (check,) = named(text, machine(), "grip")
    assert check.limit == pytest.approx(0.375)
    assert check.where == "stage[0], position 1 at 788 rpm"


def test_without_a_power_there_is_no_grip() -> None:
    """Where nobody says what the belt must carry, what it carries is told and no grip."""
    found = loads(read_machine(scenario(BASE), machine()))
    assert [load.grip for load in found] == [None, None, None]
    assert all(load.carries_kw > 0 for load in found)


def test_a_band_whose_work_must_be_carried_makes_it_a_limit() -> None:
    """0.3 kW of work that belts must carry is a limit of 0.3 kW; a least grip of 1.5 makes it 0.45 kW."""
    carried = ("want = 3", 'want = 3\nwork_power = "0.3 kW"\ncarry = "limit"')
    for edits, limit in (((), 0.3), ((("never_above = 2600", "never_above = 2600\nleast_grip = 1.5"),), 0.45)):
        (check,) = named(scenario(BASE, POWER, carried, *edits), machine(), "grip")
        assert check.limit == pytest.approx(limit)
