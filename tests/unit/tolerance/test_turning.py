"""Exact changes, and their slopes, by hand and by another method."""

from __future__ import annotations

from dataclasses import replace
from math import log, pi

import numpy as np
import pytest

from optimizer.tolerance.turning import NO_BELT_MM, Stage, changes, slopes, spreads_mm
from tests.oracle.turned import centre_mm
from tests.unit.tolerance.machines import EQUAL_MM, equal_stage, held


def test_no_error_changes_nothing() -> None:
    """Without errors the centre distance is that of the drawing, 300 mm, and no ratio changes."""
    machine = held(equal_stage(1))
    assert changes(machine, np.zeros((1, 2))) == pytest.approx(np.zeros((1, 2)), abs=1e-9)
    assert machine.stages[0].drawn_mm[0] == pytest.approx(300)


def test_both_pulleys_larger_bring_the_shafts_nearer() -> None:
    """Both 2 mm larger: 2 π mm of belt more about them, so π mm less on either strand; the ratio stays."""
    found = changes(held(equal_stage(1)), np.array([[2.0, 2.0]]))
    assert found[0] == pytest.approx([-pi, 0.0])


def test_one_pulley_larger_by_another_method() -> None:
    """A driver of 104 mm: the centre distance by Newton's method, the ratio 104/100."""
    found = changes(held(equal_stage(1)), np.array([[4.0, 0.0]]))
    assert found[0, 0] == pytest.approx(float(centre_mm(np.array(104.0), np.array(100.0), EQUAL_MM)) - 300, abs=1e-9)
    assert found[0, 1] == pytest.approx(log(1.04))


def test_a_belt_that_does_not_go_round_is_told_apart() -> None:
    """A driver so large that the belt is too short for it has no centre distance."""
    assert changes(held(equal_stage(1)), np.array([[400.0, 0.0]]))[0, 0] == NO_BELT_MM


def test_slopes_are_those_of_small_errors() -> None:
    """Each slope is what 0.001 mm more, less what 0.001 mm less changes, divided by 0.002 mm; crossed belts too."""
    for crossed in (False, True):
        places = np.array([0, -1], dtype=np.intp)
        stage = Stage(
            np.array([80.0, 120.0]), np.array([210.0, 172.0]), 1300.0, crossed, (0, 1e4), 1.0, places, places + 1
        )
        machine = replace(held(stage), down_mm=np.full(2, 1.0), up_mm=np.full(2, 1.0))
        steps = 1e-3 * np.eye(2)
        expected = (changes(machine, steps) - changes(machine, -steps)).T / 2e-3
        # the second position: its driver is not turned (-1), its driven has column 0
        assert slopes(machine) == pytest.approx(expected, abs=1e-7)


def test_spread_is_between_the_outermost() -> None:
    """With centre distances 300, 300 - π, 300 + π mm the spread is 2 π mm."""
    machine = held(equal_stage(3))
    changed = changes(machine, np.array([[0.0, 2.0, -2.0, 0.0, 2.0, -2.0]]))
    assert spreads_mm(machine, changed)[0, 0] == pytest.approx(2 * pi)
