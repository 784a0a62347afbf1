"""Gaps and movements across the shafts that can be read off a drawing."""

from __future__ import annotations

from math import isnan, sqrt

import numpy as np
import pytest

from optimizer.geometry.plane import gap_of_cores_mm, slide_to, strands_of, turn_to, turned_about

ORIGIN = np.array([0.0, 0.0])
SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])


def gap(one: object, other: object) -> float:
    """Return the gap of two cores given as lists of points."""
    return float(gap_of_cores_mm(np.array(one, float), np.array(other, float)))


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        pytest.param([(0, 0)], [(3, 4)], 5.0, id="two points, 3-4-5"),
        pytest.param([(-3, 4)], [(0, 0), (10, 0)], 5.0, id="point beyond the end of a line"),
        pytest.param([(0, 0), (10, 10)], [(0, 10), (10, 0)], 0.0, id="lines that cross"),
        pytest.param([(0, 0), (10, 0)], [(0, 2), (10, 2)], 2.0, id="lines side by side"),
        pytest.param([(0, 0), (10, 0)], [(12, 0), (20, 0)], 2.0, id="lines on one line"),
        pytest.param([(0, 0), (0.1, 0)], [(0.05, 0.02), (0.05, 0.1)], 0.02, id="a short line before another"),
        pytest.param([(0, 0), (0, 0)], [(6, 8)], 10.0, id="a line of no length"),
        pytest.param([(5, 5)], SQUARE, 0.0, id="point within"),
        pytest.param([(0.5, 0.5)], SQUARE / 10, 0.0, id="point within a small square"),
        pytest.param([(0.5, 0.5)], SQUARE[::-1] / 10, 0.0, id="point within one turned the other way round"),
        pytest.param([(0.2, 0.05)], SQUARE / 100, 0.1, id="point beside a very small square"),
        pytest.param([(13, 14)], SQUARE, 5.0, id="point off a corner"),
        pytest.param([(5, 4)], [(0, 0), (10, 0), (5, 10)], 0.0, id="point within a triangle"),
        pytest.param([(9, 7)], [(0, 0), (10, 0), (5, 10)], sqrt(5), id="point off the slope of a triangle"),
        pytest.param([(-5, 5), (15, 5)], SQUARE, 0.0, id="line right through"),
        pytest.param([(12, -5), (12, 15)], SQUARE, 2.0, id="line past a side"),
        pytest.param(SQUARE / 4 + 2, SQUARE, 0.0, id="square within a square"),
        pytest.param(SQUARE[::-1] + 13, SQUARE, 3 * sqrt(2), id="squares corner to corner, turned the other way round"),
    ],
)
def test_gaps(one: object, other: object, expected: float) -> None:
    """The gap is the one on the drawing, in either order."""
    assert gap(one, other) == pytest.approx(expected, abs=1e-9)
    assert gap(other, one) == pytest.approx(expected, abs=1e-9)


def test_open_strands_lean_toward_the_smaller_pulley() -> None:
    """Radii 80 and 30, 130 apart: cos a = 50/130, so the upper strand leaves (80·5/13, 80·12/13) and is 120 long."""
    upper, lower = strands_of(ORIGIN, np.array([130.0, 0.0]), np.array(160.0), np.array(60.0), False)
    assert upper[0] == pytest.approx((80 * 5 / 13, 80 * 12 / 13))
    assert np.hypot(*(upper[1] - upper[0])) == pytest.approx(120.0)
    assert lower == pytest.approx(upper * (1, -1))


def test_crossed_strands_meet_on_the_line_of_centres() -> None:
    """Equal pulleys of radius 30, 100 apart: the strands are sqrt(100² − 60²) = 80 long and cross half-way."""
    one, other = strands_of(ORIGIN, np.array([100.0, 0.0]), np.array(60.0), np.array(60.0), True)
    assert np.hypot(*(one[1] - one[0])) == pytest.approx(80.0)
    assert gap(one, other) == 0.0
    assert one.mean(axis=0) == pytest.approx((50.0, 0.0))


def test_one_shaft_inside_the_others_circle_gives_figures_all_the_same() -> None:
    """Where no belt can run, at no distance or too small a one, the strands are still points."""
    for apart in (0.0, 10.0):
        for driver, driven in ((160.0, 60.0), (60.0, 160.0)):
            found = strands_of(ORIGIN, np.array([apart, 0.0]), np.array(driver), np.array(driven), False)
            assert np.isfinite(found).all()


def test_a_slide_takes_the_nearer_of_two_places() -> None:
    """Seen 30 above a line, 50 away means 40 left or right; from 35 it moves 5 on, from −1 39 back."""
    right = np.array([1.0, 0.0])
    assert float(slide_to(np.array([35.0, 30.0]), ORIGIN, right, np.float64(50.0))) == pytest.approx(5.0)
    assert float(slide_to(np.array([-1.0, 30.0]), ORIGIN, right, np.float64(50.0))) == pytest.approx(-39.0)
    assert isnan(float(slide_to(np.array([35.0, 30.0]), ORIGIN, right, np.float64(29.0))))
    assert isnan(float(slide_to(np.array([35.0, 30.0]), ORIGIN, right, np.float64(29.99))))
    # just 30 away is below the point itself
    assert float(slide_to(np.array([35.0, 30.0]), ORIGIN, right, np.float64(30.0))) == -35.0


def test_a_hinge_turns_the_nearer_way_or_not_at_all() -> None:
    """Arms of 30 and 40 reach from 10 to 70; 50 is a right angle, to either side."""
    pivot, other = ORIGIN, np.array([40.0, 0.0])
    for start_deg, turn_deg in ((80.0, 10.0), (-80.0, -10.0), (100.0, -10.0)):
        moved = turned_about(np.array([30.0, 0.0]), pivot, np.radians(start_deg))
        assert float(np.degrees(turn_to(moved, other, pivot, np.float64(50.0)))) == pytest.approx(turn_deg)
    stretched = turned_about(np.array([30.0, 0.0]), pivot, np.radians(170.0))
    assert float(np.degrees(turn_to(stretched, other, pivot, np.float64(70.0)))) == pytest.approx(10.0)
    for out_of_reach in (9.0, 71.0):
        assert isnan(float(turn_to(np.array([30.0, 0.0]), other, pivot, np.float64(out_of_reach))))


def test_a_shaft_in_its_own_hinge_cannot_be_moved() -> None:
    """An arm of no length is no number, not an error."""
    assert isnan(float(turn_to(ORIGIN, np.array([40.0, 0.0]), ORIGIN, np.float64(50.0))))
