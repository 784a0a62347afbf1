"""ISO 3, preferred numbers: the derived series R20/2, from an examination question; read."""

import numpy as np
import pytest

from optimizer.series import geometric, preferred_numbers, series_ratio, unevenness

STANDARD_RPM = (160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000)


def test_twelve_speeds_have_the_ratio_worked_out() -> None:
    """Twelve speeds from 160 to 2000 rpm have the ratio 1.258111, which is near the tenth root of 10."""
    assert series_ratio(160, 2000, 12) == pytest.approx(1.258111, abs=5e-7)
    assert series_ratio(160, 2000, 12) == pytest.approx(10**0.1, rel=1e-3)


def test_the_standard_speeds_are_every_second_of_the_series() -> None:
    """R20/2 from 160 to 2000 holds 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000."""
    assert preferred_numbers("R20/2", 160, 2000) == STANDARD_RPM


def test_the_standard_speeds_are_rounded_from_tenth_roots_of_ten() -> None:
    """No standard speed lies further than 1.26 % from its power of ten, which is all ISO 3 rounds by (from memory)."""
    exact = 10 ** (2.2 + 0.1 * np.arange(12))
    assert np.abs(np.array(STANDARD_RPM) / exact - 1).max() < 0.0126
    assert unevenness(np.log(STANDARD_RPM)).delta < 0.0126


def test_the_question_and_the_standard_differ_by_what_is_rounded() -> None:
    """From 160 to 2000 rpm exactly, the third and fourth speed are 253 and 319 rpm where the standard has 250, 315."""
    exact = geometric(160, 2000, 12)
    assert exact[2:4].round().tolist() == [253, 319]
    assert STANDARD_RPM[2:4] == (250, 315)
