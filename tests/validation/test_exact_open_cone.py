"""A four-step cone worked out with the exact open-belt length, solved twice by different means; computed."""

import numpy as np
import pytest

from optimizer.geometry.belts import belt_length_mm, centre_for_length_mm, small_wrap_deg
from optimizer.geometry.cones import mate_for_ratio_mm
from optimizer.series import geometric, unevenness

CENTRE_MM, BELT_MM, MOTOR_RPM = 300.0, 885.745846357, 1440.0
SPINDLE_RPM = np.array([720.0, 1018.2338, 1440.0, 2036.4675])
DRIVER_MM = np.array([60.0, 75.137289803, 90.955727831, 106.260174280])
DRIVEN_MM = np.array([120.0, 106.260174280, 90.955727831, 75.137289803])


def test_the_diameters_follow_from_the_speeds() -> None:
    """720 to 2036 rpm in steps of the root of 2 from 1440 rpm give the diameters to nine decimals."""
    ratios = geometric(0.5, np.sqrt(2), 4)
    driver, driven = mate_for_ratio_mm(ratios, BELT_MM, CENTRE_MM)
    assert driver == pytest.approx(DRIVER_MM, abs=2e-9)
    assert driven == pytest.approx(DRIVEN_MM, abs=2e-9)


def test_the_speeds_follow_from_the_diameters() -> None:
    """The diameters give back the four speeds, which form an exact geometric series."""
    speeds = MOTOR_RPM * DRIVER_MM / DRIVEN_MM
    assert speeds == pytest.approx(SPINDLE_RPM, abs=5e-5)
    assert unevenness(np.log(speeds)).delta < 1e-9


def test_every_pair_takes_the_belt() -> None:
    """The belt is 885.745846 mm at 300 mm on every pair, and 300 mm is the centre distance of every pair."""
    assert belt_length_mm(DRIVER_MM, DRIVEN_MM, CENTRE_MM) == pytest.approx([BELT_MM] * 4, abs=2e-9)
    assert centre_for_length_mm(DRIVER_MM, DRIVEN_MM, BELT_MM) == pytest.approx([CENTRE_MM] * 4, abs=2e-9)


def test_every_pair_has_the_wrap() -> None:
    """The smaller arcs of contact are 168.521659, 174.053298, 180 and 174.053298 degrees."""
    wraps = small_wrap_deg(DRIVER_MM, DRIVEN_MM, CENTRE_MM)
    assert wraps == pytest.approx([168.521659, 174.053298, 180.0, 174.053298], abs=5e-7)
