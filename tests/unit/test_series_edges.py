"""Series that rise late, fall, or have a single step; every preferred number."""

from __future__ import annotations

import pytest

from optimizer.series import Evenness, preferred_numbers, series_ratio, unevenness


def test_two_speeds_are_their_own_series() -> None:
    """Logarithms 1.0 and 1.5 lie on the series that starts at 1.0 and rises by 0.5, with no rest."""
    assert unevenness([1.0, 1.5]) == Evenness(0.0, 1.0, 0.5)


def test_one_speed_starts_its_series() -> None:
    """A single logarithm 1.3 is the series' first term; of the ratio nothing is known but its least, ln 1."""
    assert unevenness([1.3]) == Evenness(0.0, 1.3, 0.0)


def test_speeds_that_fall_are_not_even() -> None:
    """A series may not fall: the level line half-way between 1.0 and 0.5 misses each by 0.25."""
    assert unevenness([1.0, 0.5]) == pytest.approx((0.25, 0.75, 0.0))


def test_the_best_slope_may_be_that_of_a_later_chord() -> None:
    """Of 0, 1.3, 0.1, 1.5 the second and fourth give the slope 0.1: rests 0, 1.2, -0.1, 1.2, half their spread 0.65.

    The chords of all other pairs give more, by hand: slopes 0.05: 0.675, 0.5: 0.85, 1.4: 1.4, 1.3: 1.3.
    """
    assert unevenness([0.0, 1.3, 0.1, 1.5]) == pytest.approx((0.65, 0.55, 0.1))


def test_two_terms_have_the_ratio_of_one_to_the_other() -> None:
    """From 100 to 800 in one step is a ratio of 8."""
    assert series_ratio(100, 800, 2) == pytest.approx(8)


@pytest.mark.parametrize(("series", "root"), [("R40", 40), ("R20", 20), ("R10", 10), ("R5", 5)])
def test_every_preferred_number_is_near_its_power_of_ten(series: str, root: int) -> None:
    """Term k of a decade lies within 1.27 % of 10^(k/root), which is all that ISO 3 rounds by (from memory)."""
    found = preferred_numbers(series, 100, count=root + 1)
    assert found == pytest.approx([100 * 10 ** (k / root) for k in range(root + 1)], rel=0.0127)


def test_numbers_a_rounding_error_outside_the_limits_are_taken() -> None:
    """A limit of 100 that comes out of arithmetic as 100 + 1e-11, or 99.99999999999, still holds 100."""
    assert preferred_numbers("R5", 100 * (1 + 1e-13), 160 * (1 - 1e-13)) == (100.0, 160.0)


def test_small_numbers_are_written_with_their_three_digits() -> None:
    """A hundredth of 1.06, 1.12, 1.18 is 0.0106, 0.0112, 0.0118 with nothing behind."""
    assert preferred_numbers("R40", 0.0106, 0.0118) == (0.0106, 0.0112, 0.0118)
