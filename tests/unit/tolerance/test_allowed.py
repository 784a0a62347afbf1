"""Demands and the errors they allow, worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from math import inf, log, pi

import numpy as np
import pytest

from optimizer.tolerance.chance import alone, by_chance, shares, together
from optimizer.tolerance.turning import BELT, EVENNESS, SIZES, SPEEDS, rows_of
from tests.unit.tolerance.machines import equal_stage, held

# Two positions of 100 mm on 100 mm: each millimetre of any of the four sizes moves a centre distance by π/4 mm.
SLOPE = pi / 4


def test_belt_fit_holds_sizes_by_window_and_ends() -> None:
    """Window 0.5 mm: one size may be off 0.5/(π/4) mm; with 0.3 mm to the least centre distance, 0.3/(π/4) larger."""
    rows = rows_of(held(equal_stage(2, 0.5, (299.7, 310))))
    found = alone(rows)
    assert found.down_mm == pytest.approx(np.full(4, 0.5 / SLOPE))
    assert found.up_mm == pytest.approx(np.full(4, 0.3 / SLOPE))
    assert {int(rows.part[row]) for row in (*found.down_row, *found.up_row)} == {BELT}


def test_all_at_once_share_what_there_is() -> None:
    """Four sizes share the window: 0.5/π mm each at worst, 0.5/(π/2) mm by chance."""
    rows, accuracy = rows_of(held(equal_stage(2))), np.full(4, 0.2)
    assert together(rows, accuracy).up_mm == pytest.approx(np.full(4, 0.5 / pi))
    assert by_chance(rows, accuracy).down_mm == pytest.approx(np.full(4, 0.5 / (pi / 2)))


def test_what_is_measured_less_well_gets_more() -> None:
    """Of what two pairs share, a size with thrice the accuracy stated gets thrice as much: 0.5 = π/4·(3+1+1+1)·t."""
    found = together(rows_of(held(equal_stage(2))), np.array([0.3, 0.1, 0.1, 0.1]))
    least = 0.5 / (6 * SLOPE)
    assert found.up_mm == pytest.approx([3 * least, least, least, least])


def test_share_is_accuracy_over_what_is_allowed() -> None:
    """0.2 mm of 0.5/(π/4) mm; limits of size do not count."""
    rows = rows_of(held(equal_stage(2), limits_mm=(0.0, 0.0)))
    assert shares(rows, np.full(4, 0.2)) == pytest.approx(np.full(4, 0.2 * SLOPE / 0.5))


def test_speeds_hold_sizes_by_logarithms() -> None:
    """Within 1 %: a driver of 100 mm may be 100·ln 1.01 mm larger to first order, 100·(−ln 0.99) mm smaller."""
    found = alone(rows_of(held(equal_stage(1, 50.0), speed_within=0.01)))
    assert found.up_mm == pytest.approx([100 * log(1.01), -100 * log(0.99)])
    assert found.down_mm == pytest.approx([-100 * log(0.99), 100 * log(1.01)])


def test_a_speed_is_never_above_the_one_stated() -> None:
    """With 1000 rpm and never above 1003 rpm, the driver may be 100·ln 1.003 mm larger."""
    found = alone(rows_of(held(equal_stage(1, 50.0), speed_within=0.01, fastest_rpm=1003)))
    assert found.up_mm[0] == pytest.approx(100 * log(1.003))


def test_evenness_holds_the_middle_speed_half() -> None:
    """Three speeds in line: the middle one may be off twice the unevenness allowed, an outer one four times."""
    stage = equal_stage(3, 500.0)
    driver = np.array([80.0, 100.0, 125.0])
    stage = replace(stage, driver_mm=driver)
    rows = rows_of(held(stage, unevenness_most=0.002))
    found = alone(rows)
    assert found.up_mm[:3] == pytest.approx([80 * 0.008, 100 * 0.004, 125 * 0.008])
    assert int(rows.part[found.up_row[1]]) == EVENNESS


def test_evenness_of_four_speeds_is_that_of_any_three() -> None:
    """The rows give 0.1 for logarithms 0, 1.2, 2, and for any number of speeds what trying every chord gives."""
    draw = np.random.default_rng(5)
    for count in (3, 4, 7):
        logs = np.sort(draw.normal(0, 1, count))
        stage = equal_stage(count, 1e3)
        stage = replace(stage, driver_mm=100 * np.exp(logs))
        rows = rows_of(held(stage, unevenness_most=5.0))
        worst = 5.0 - float(np.min(rows.left[rows.part == EVENNESS]))
        chords = [(logs[k] - logs[i]) / (k - i) for i in range(count) for k in range(i + 1, count)]
        assert worst == pytest.approx(min(np.ptp(logs - slope * np.arange(count)) / 2 for slope in chords))


def test_limits_of_size_hold_each_by_itself() -> None:
    """0.1 mm smaller, any amount larger."""
    rows = rows_of(held(equal_stage(1, 50.0), limits_mm=(0.1, inf)))
    found = alone(rows)
    assert found.down_mm == pytest.approx([0.1, 0.1])
    assert {int(rows.part[row]) for row in found.down_row} == {SIZES}
    assert {int(rows.part[row]) for row in found.up_row} == {SPEEDS}
