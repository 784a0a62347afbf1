"""The code for transmission shafting, as handbooks reprint it (from memory); balance by GOST 20889-88 (read).

Bearing loads and moments are plain statics, computed by hand.
"""

from math import pi

import pytest

from optimizer.catalogue.parts import shafting
from optimizer.mechanics.shafts import bearing_loads_n, greatest_moment_nm, needed_diameter_mm, torque_nm


def test_torque_of_motors_by_their_plates() -> None:
    """T = 9549 P/n: 0.75 kW at 1420 rpm is 5.04 N·m, 1 hp at 1750 rpm is 3.00 lbf·ft (5252/1750)."""
    assert float(torque_nm(0.75, 1420)) == pytest.approx(9549 * 0.75 / 1420, abs=1e-3)
    assert float(torque_nm(0.7457, 1750)) / 1.355818 == pytest.approx(5252 / 1750, abs=2e-3)


def test_stresses_and_shock_factors() -> None:
    """Plain steel 55, keyed 41 MPa; steady 1.5 and 1.0, minor shock 2.0 and 1.5 (from memory)."""
    assert shafting(keyed=False, shock="steady")[:3] == (55, 1.5, 1.0)
    assert shafting(keyed=True, shock="minor shock")[:3] == (41, 2.0, 1.5)


def test_pure_torsion_and_pure_bending() -> None:
    """With one of both the rule is 16 T/(π d³) = τ, and 16 M/(π d³) = τ."""
    for moment, torsion in ((0.0, 40.0), (40.0, 0.0)):
        d = float(needed_diameter_mm(moment, torsion, 41.0, 1.0, 1.0))
        assert 16 * 40_000 / (pi * d**3) == pytest.approx(41.0)


def test_an_overhung_pulley() -> None:
    """300 N at 60 mm outside bearings 150 mm apart: 120 N the other way, 420 N, and 18 N·m at the near bearing."""
    far, near = bearing_loads_n([210], [[0, 300]], (0, 150))
    assert far.tolist() == [0.0, pytest.approx(-120)]
    assert near.tolist() == [0.0, pytest.approx(420)]
    assert greatest_moment_nm([210], [[0, 300]], (0, 150)) == pytest.approx(18.0)


def test_two_pulls_between_bearings() -> None:
    """400 N at 100 and 200 N at 200 mm between bearings 300 mm apart: 333.3 N, 266.7 N, 33.3 N·m under the first."""
    first, second = bearing_loads_n([100, 200], [[400, 0], [200, 0]], (0, 300))
    assert first[0] == pytest.approx(1000 / 3)
    assert second[0] == pytest.approx(800 / 3)
    assert greatest_moment_nm([100, 200], [[400, 0], [200, 0]], (0, 300)) == pytest.approx(100 / 3)
