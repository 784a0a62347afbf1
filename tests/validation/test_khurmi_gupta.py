"""R. S. Khurmi, J. K. Gupta, Theory of Machines, ch. 11; examples 11.3 (p. 337), 11.6, 11.8, 11.10, 11.11.

Data and printed answers as reworked in a public companion notebook to the numbered examples; figures to more digits
than printed were computed with the exact lengths. Erratum: the radii of the book's third *open* pair of example 11.3
do not take the belt of the other two. They are quoted here from memory as 60 and 96 mm; that their belt is 25 mm
longer was computed from the print.
"""

from math import pi, radians

import pytest

from optimizer.geometry.belts import belt_length_mm, small_wrap_deg
from optimizer.geometry.cones import mate_for_ratio_mm
from optimizer.mechanics.flat_belts import carried_power_w, centrifugal_pull_n, fastest_use_m_s

CENTRE_MM = 720.0
SPINDLE_RPM = (60.0, 80.0, 100.0)
DRIVER_RPM = 160.0
OPEN_MM = 1906.9442
CROSSED_MM = 1930.7481
PRINTED_TO_MM = 0.06
"""Radii are printed to a tenth of a millimetre, from rounded figures between."""


def _radii_mm(length_mm: float, *, crossed: bool) -> list[tuple[float, float]]:
    pairs = (mate_for_ratio_mm(rpm / DRIVER_RPM, length_mm, CENTRE_MM, crossed) for rpm in SPINDLE_RPM)
    return [(float(driver) / 2, float(driven) / 2) for driver, driven in pairs]


def test_the_crossed_cones_have_the_printed_radii() -> None:
    """Example 11.3, crossed: 60, 80, 100 rpm from 160 rpm take radii 40/106.7, 48.9/97.8, 56.4/90.3 mm."""
    radii = _radii_mm(belt_length_mm(80.0, 2 * 40.0 * 160 / 60, CENTRE_MM, crossed=True), crossed=True)
    for found, printed in zip(radii, [(40.0, 106.7), (48.9, 97.8), (56.4, 90.3)], strict=True):
        assert found == pytest.approx(printed, abs=PRINTED_TO_MM)
    for found, exact in zip(radii, [(40.0, 106.6667), (48.8889, 97.7778), (56.4103, 90.2564)], strict=True):
        assert found == pytest.approx(exact, abs=5e-5)


def test_the_first_two_open_pairs_have_the_printed_radii() -> None:
    """Example 11.3, open: 60 and 80 rpm from 160 rpm take radii 40/106.7 and 49.2/98.4 mm."""
    radii = _radii_mm(belt_length_mm(80.0, 2 * 40.0 * 160 / 60, CENTRE_MM), crossed=False)
    for found, printed in zip(radii[:2], [(40.0, 106.7), (49.2, 98.4)], strict=True):
        assert found == pytest.approx(printed, abs=PRINTED_TO_MM)
    for found, exact in zip(radii, [(40.0, 106.66667), (49.18764, 98.37528), (56.96782, 91.14852)], strict=True):
        assert found == pytest.approx(exact, abs=5e-6)


def test_the_belts_of_both_cones_have_the_lengths_worked_out() -> None:
    """Example 11.3: the first pair's belt is 1906.9442 mm open and 1930.7481 mm crossed."""
    driven_mm = 2 * 40.0 * 160 / 60
    assert belt_length_mm(80.0, driven_mm, CENTRE_MM) == pytest.approx(OPEN_MM, abs=5e-5)
    assert belt_length_mm(80.0, driven_mm, CENTRE_MM, crossed=True) == pytest.approx(CROSSED_MM, abs=5e-5)


def test_erratum_the_third_open_pair_needs_a_longer_belt() -> None:
    """Example 11.3, erratum: the printed third open pair (60/96 mm, from memory) needs a belt 25 mm longer."""
    assert belt_length_mm(120.0, 192.0, CENTRE_MM) - OPEN_MM == pytest.approx(25.0, abs=0.5)
    exact = _radii_mm(OPEN_MM, crossed=False)[2]
    assert belt_length_mm(2 * exact[0], 2 * exact[1], CENTRE_MM) == pytest.approx(OPEN_MM, abs=1e-9)


def test_the_crossed_belt_of_the_second_example_is_as_printed() -> None:
    """Example 11.6: 450 and 200 mm at 1.95 m, crossed: 4.975 m and 3.473 rad printed; the arc is 3.4765 rad exactly."""
    assert belt_length_mm(450.0, 200.0, 1950.0, crossed=True) == pytest.approx(4975.311, abs=5e-4)
    wrap = radians(small_wrap_deg(450.0, 200.0, 1950.0, crossed=True))
    assert wrap == pytest.approx(3.476489, abs=5e-7)
    assert wrap == pytest.approx(3.473, abs=0.004)


def test_a_crossed_belt_carries_the_printed_power() -> None:
    """Example 11.6, p. 344: 1000 N, μ = 0.25, 200 rpm on 450 mm carry 2.73 kW; 2.73639 kW to more digits."""
    wrap = radians(small_wrap_deg(450.0, 200.0, 1950.0, crossed=True))
    assert carried_power_w(1000.0, 0.25, wrap, pi * 0.45 * 200 / 60) == pytest.approx(2736.39, abs=0.01)


def test_the_speed_of_greatest_power() -> None:
    """Example 11.10, p. 350: 100 by 6 mm at 2 MPa, 1000 kg/m³, 120°, μ = 0.3: 25.82 m/s and 9.64 kW."""
    speed = fastest_use_m_s(1200.0, 0.6)
    assert speed == pytest.approx(25.819889, abs=1e-6)
    assert carried_power_w(1200.0, 0.3, radians(120), speed, 0.6) == pytest.approx(9636.229, abs=0.001)
    for other in (0.95 * speed, 1.05 * speed):
        assert carried_power_w(1200.0, 0.3, radians(120), other, 0.6) < 9636


def test_centrifugal_pull_takes_its_share() -> None:
    """Example 11.11, p. 351: 1.2 and 0.5 m, 4 m apart, 0.9 kg/m, 2000 N, μ = 0.3, 200 rpm: 13.76 kW, 657 N·m."""
    speed = pi * 1.2 * 200 / 60
    wrap = radians(small_wrap_deg(1200.0, 500.0, 4000.0))
    power = carried_power_w(2000.0, 0.3, wrap, speed, 0.9)
    assert centrifugal_pull_n(0.9, speed) == pytest.approx(142.1223, abs=1e-4)
    assert power == pytest.approx(13758.433, abs=0.01)
    assert power / (2 * pi * 200 / 60) == pytest.approx(656.9168, abs=1e-3)


def test_the_width_of_a_belt() -> None:
    """Example 11.8, p. 348: 7.5 kW at 250 rpm on 1.2 m, 165 degrees, μ = 0.3, 10 mm, 1.5 MPa, 1000 kg/m³: 65.9 mm."""
    speed = pi * 1.2 * 250 / 60
    per_mm = carried_power_w(1.5 * 10, 0.3, radians(165), speed, 1000 * 0.01 * 0.001)
    assert 7500 / per_mm == pytest.approx(65.8561, abs=5e-4)
