"""R. S. Khurmi, J. K. Gupta, A Textbook of Machine Design, chapters 13 and 14 (examples recalled, from memory).

Printed diameters are rounded up to the next size that shops keep; the ones here stand before that rounding.
"""

from math import cos, pi, radians

import pytest

from optimizer.mechanics.keys import key_length_mm, key_stresses_mpa
from optimizer.mechanics.shafts import bearing_loads_n, greatest_moment_nm, needed_diameter_mm, torque_nm


def test_bending_with_torsion() -> None:
    """3000 N·m of bending and 10 000 N·m of torsion at 500/6 MPa need 86 mm by greatest shear (from memory)."""
    assert float(needed_diameter_mm(3000, 10_000, 500 / 6, 1.0, 1.0)) == pytest.approx(86, abs=0.5)


def test_a_gear_midway_between_bearings() -> None:
    """7.5 kW at 300 rpm on a gear of 150 mm, 20°, midway between bearings 200 mm apart, at 45 MPa (from memory).

    The book: torque 238.7 N·m, pull 3182.7 N along, 3387 N in all, moment 169.4 N·m, diameter 32 mm, say 35.
    """
    torque = float(torque_nm(7.5, 300))
    assert torque == pytest.approx(238.7, abs=0.05)
    along = torque / 0.075
    assert along == pytest.approx(3182.7, abs=1)
    pull = along / cos(radians(20))
    assert pull == pytest.approx(3387, abs=1)
    moment = greatest_moment_nm([100], [[pull, 0]], (0, 200))
    assert moment == pytest.approx(169.4, abs=0.1)
    assert float(needed_diameter_mm(moment, torque, 45, 1.0, 1.0)) == pytest.approx(32, abs=0.5)


def test_two_pulleys_between_bearings() -> None:
    """100 kW at 300 rpm, pulleys of 1500 N one metre from either end of a shaft of 3 m, at 60 MPa (from memory).

    The book: torque 3183 N·m, 1500 N on each bearing, moment 1500 N·m, diameter 66.8 mm, say 70.
    """
    torque = float(torque_nm(100, 300))
    assert torque == pytest.approx(3183, abs=0.5)
    first, second = bearing_loads_n([1000, 2000], [[1500, 0], [1500, 0]], (0, 3000))
    assert (first[0], second[0]) == pytest.approx((1500, 1500))
    moment = greatest_moment_nm([1000, 2000], [[1500, 0], [1500, 0]], (0, 3000))
    assert moment == pytest.approx(1500)
    assert float(needed_diameter_mm(moment, torque, 60, 1.0, 1.0)) == pytest.approx(66.8, abs=0.1)


def test_the_length_of_a_key() -> None:
    """A key of 16 by 10 mm as strong as a shaft of 50 mm at 42 MPa in shear, 70 MPa in crushing (from memory).

    The book: 61.31 mm for shear, 117.7 mm for crushing, from a torque rounded to 1030 N·m.
    """
    torque = pi / 16 * 42 * 50**3 / 1000
    assert torque == pytest.approx(1030, abs=1)
    assert key_length_mm(1030, 50, 16, 10, (42, 1e9)) == pytest.approx(61.31, abs=0.01)
    assert key_length_mm(1030, 50, 16, 10, (42, 70)) == pytest.approx(117.7, abs=0.05)
    assert key_stresses_mpa(1030, 50, 16, 10, 117.714)[1] == pytest.approx(70, abs=0.01)
