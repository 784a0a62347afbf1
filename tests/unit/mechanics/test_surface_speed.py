"""Surface speeds, forth and back."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from optimizer.mechanics.surface_speed import suited_mm, surface_speed_m_s, wanted_rpm, wood_turning_m_s


def test_speed_is_turns_times_girth() -> None:
    """1000/π mm have a girth of 1 m: at 60 rpm 1 m/s; arrays give arrays."""
    assert surface_speed_m_s([1000 / pi, 2000 / pi], [60, 60]) == pytest.approx([1.0, 2.0])


def test_diameters_bring_back_the_speeds_they_came_from() -> None:
    """What suits a speed at 3 to 7 m/s runs at 3 and 7 m/s there."""
    rpm = np.array([1.0, 350.0, 2850.0, 60_000.0])
    least, most = suited_mm(rpm, 3.0, 7.0)
    assert surface_speed_m_s(least, rpm) == pytest.approx(3.0)
    assert surface_speed_m_s(most, rpm) == pytest.approx(7.0)


def test_the_turners_rule_is_one_speed_at_any_size() -> None:
    """6000 and 9000 rpm·in come to about 8 and 12 m/s (common practice, no source)."""
    assert [round(speed) for speed in wood_turning_m_s()] == [8, 12]


def test_the_largest_turns_slowest_and_the_smallest_fastest() -> None:
    """A girth of 1 m at 1 m/s turns 60 times a minute, one of 0.5 m at 2 m/s 240 times."""
    assert wanted_rpm((500 / pi, 1000 / pi), (1.0, 2.0)) == pytest.approx((60.0, 240.0))
    assert wanted_rpm((1000 / pi, 1000 / pi), (1.0, 1.0)) == pytest.approx((60.0, 60.0))


def test_what_is_wanted_is_what_runs() -> None:
    """At the slowest speed the largest runs at the least wanted, at the fastest the smallest at the greatest."""
    slowest, fastest = wanted_rpm((37.0, 421.0), (0.3, 7.7))
    assert (surface_speed_m_s(421.0, slowest), surface_speed_m_s(37.0, fastest)) == pytest.approx((0.3, 7.7))
