"""Standard deviations and chances to first order, by the normal distribution's table and by hand."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from optimizer.tolerance.chance import chance_to_spoil, deviations, validity
from optimizer.tolerance.turning import rows_of
from tests.unit.tolerance.machines import equal_stage, held

TWO_SIDES = 0.0455
"""Of normal errors this share is beyond two standard deviations, either way: tables of the normal distribution."""


def test_speed_varies_by_both_diameters() -> None:
    """0.1 mm on each of two pulleys of 100 mm: 0.001·√2."""
    machine = held(equal_stage(1))
    assert deviations(machine, rows_of(machine), np.full(2, 0.1)).speeds == pytest.approx([0.001 * 2**0.5])


def test_chance_of_one_size() -> None:
    """Held to two standard deviations either way: 4.55 %."""
    rows = rows_of(held(equal_stage(1, 500.0), limits_mm=(0.2, 0.2)))
    one = rows.but(np.abs(rows.slope[:, 0]) == 1)
    assert chance_to_spoil(one, np.full(2, 0.1)) == pytest.approx(TWO_SIDES, abs=2e-5)


def test_chance_of_two_sizes() -> None:
    """Each held so: 1 − (1 − 0.0455)²."""
    rows = rows_of(held(equal_stage(1, 500.0), limits_mm=(0.2, 0.2)))
    assert chance_to_spoil(rows, np.full(2, 0.1)) == pytest.approx(1 - (1 - TWO_SIDES) ** 2, rel=0.02)


def test_chance_where_nothing_is_left() -> None:
    """At the limit on one side: a half; where one is passed as drawn, no figure."""
    rows = rows_of(held(equal_stage(1, 500.0), limits_mm=(0.0, 9.0)))
    one = rows.but(rows.slope[:, 0] == -1)
    assert chance_to_spoil(one, np.full(2, 0.1)) == pytest.approx(0.5)
    assert chance_to_spoil(replace(one, left=one.left - 0.1), np.full(2, 0.1)) is None


def test_chance_where_nothing_holds() -> None:
    """Without a row near, 0."""
    assert chance_to_spoil(rows_of(held(equal_stage(1, 500.0))), np.full(2, 0.1)) == 0.0


def test_slopes_are_believed_while_errors_are_small() -> None:
    """At two standard deviations ln(1 + x) is 1 % off x for x = 0.02, 9 % for x = 0.2."""
    machine = held(equal_stage(1, 500.0))
    rows = rows_of(machine)
    assert validity(machine, rows, np.full(2, 1.0)).speeds
    assert not validity(machine, rows, np.full(2, 10.0)).speeds


def test_spread_is_known_where_two_lead() -> None:
    """Centre distances apart by far more than errors move them: √4·π/4 of one; level: not known."""
    sd = np.full(4, 0.1)
    level = held(equal_stage(2))
    assert not validity(level, rows_of(level), sd).spreads[0]
    stage = replace(equal_stage(2, 50.0), driver_mm=np.array([100.0, 101.0]), driven_mm=np.array([100.0, 101.0]))
    machine = held(stage)
    assert validity(machine, rows_of(machine), sd).spreads[0]
    assert deviations(machine, rows_of(machine), sd).spreads_mm[0] == pytest.approx(0.1 * pi / 2)


def test_a_third_in_between_does_not_matter() -> None:
    """It does where it comes near one of the two."""
    sd = np.full(6, 0.05)
    for middle, known in ((101.0, True), (101.95, False)):
        sizes = np.array([100.0, middle, 102.0])
        machine = held(replace(equal_stage(3, 50.0), driver_mm=sizes, driven_mm=sizes))
        assert bool(validity(machine, rows_of(machine), sd).spreads[0]) is known
