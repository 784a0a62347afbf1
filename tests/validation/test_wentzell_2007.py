"""T. H. Wentzell, Machine Design (2007), example 14.2, p. 310.

Data and printed answers as reworked in a public companion notebook to the numbered example; inches.
"""

from math import pi

import pytest

from optimizer.geometry.belts import belt_length_mm, centre_for_length_mm, small_wrap_deg

BELT_IN, SHEAVES_IN = 54.0, (4.0, 6.0)


def test_the_centre_distance_is_the_printed_one() -> None:
    """Sheaves of 4 and 6 in with a belt of 54 in stand 19.12 in apart, 19.119862 in exactly."""
    centre_in = centre_for_length_mm(*SHEAVES_IN, BELT_IN)
    assert centre_in == pytest.approx(19.12, abs=0.005)
    assert centre_in == pytest.approx(19.119862, abs=5e-7)
    assert belt_length_mm(*SHEAVES_IN, centre_in) == pytest.approx(BELT_IN, abs=1e-12)


def test_the_wrap_of_the_smaller_sheave_is_the_one_worked_out() -> None:
    """The arc of contact on the 4 in sheave is 174.004 degrees."""
    assert small_wrap_deg(*SHEAVES_IN, 19.119862) == pytest.approx(174.0040, abs=1e-4)


def test_the_belt_speed_is_the_one_worked_out() -> None:
    """A 4 in sheave at 1800 rpm moves the belt at 1884.96 ft/min."""
    assert pi * SHEAVES_IN[0] * 1800 / 12 == pytest.approx(1884.96, abs=0.005)
