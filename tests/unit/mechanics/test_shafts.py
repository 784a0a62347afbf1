"""Bending, torsion and bearing loads of shafts, against statics done another way."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from optimizer.mechanics.shafts import (
    allowed_shear_mpa,
    bearing_loads_n,
    greatest_moment_nm,
    needed_diameter_mm,
    torque_nm,
)


def test_bearings_hold_every_pull() -> None:
    """Loads of the bearings are as large as the pulls together, and their moments about any place are those of them."""
    rng = np.random.default_rng(3)
    for _ in range(50):
        places, pulls = rng.uniform(-300, 600, 4), rng.uniform(-500, 500, (4, 2))
        bearings = (float(rng.uniform(-100, 0)), float(rng.uniform(50, 300)))
        first, second = bearing_loads_n(places, pulls, bearings)
        assert first + second == pytest.approx(pulls.sum(axis=0))
        about = rng.uniform(-1000, 1000)
        held = first * (bearings[0] - about) + second * (bearings[1] - about)
        assert held == pytest.approx((pulls * (places - about)[:, None]).sum(axis=0), abs=1e-6)


def test_the_greatest_moment_is_that_along_the_whole_shaft() -> None:
    """No place along the shaft has a greater moment, looked at millimetre by millimetre from either end."""
    rng = np.random.default_rng(5)
    for _ in range(20):
        places, pulls = np.round(rng.uniform(-100, 400, 3)), rng.uniform(-500, 500, (3, 2))
        bearings = (0.0, 250.0)
        loads = bearing_loads_n(places, pulls, bearings)
        where = np.concatenate([places, bearings])
        forces = np.vstack([pulls, -loads[0], -loads[1]])
        from_the_end = [
            np.hypot(*(forces[where > at] * (where[where > at] - at)[:, None]).sum(axis=0)) for at in range(-100, 401)
        ]
        assert greatest_moment_nm(places, pulls, bearings) == pytest.approx(max(from_the_end) / 1000, rel=1e-9)


def test_turning_the_machine_changes_nothing() -> None:
    """Moment and loads stay when all pulls are turned together, and when the shaft is counted from its other end."""
    places, pulls = [60.0, 180.0], np.array([[300.0, 50.0], [-100.0, 400.0]])
    bearings = (0.0, 140.0)
    moment = greatest_moment_nm(places, pulls, bearings)
    turn = np.array([[np.cos(1.1), -np.sin(1.1)], [np.sin(1.1), np.cos(1.1)]])
    assert greatest_moment_nm(places, pulls @ turn.T, bearings) == pytest.approx(moment)
    other = [500 - place for place in places]
    assert greatest_moment_nm(other, pulls, (500.0, 360.0)) == pytest.approx(moment)


def test_no_pull_asks_for_nothing() -> None:
    """A shaft that nobody pulls or turns needs no diameter; figures stay finite."""
    assert greatest_moment_nm([10.0], [[0.0, 0.0]], (0.0, 100.0)) == 0
    assert float(needed_diameter_mm(0, 0, 41, 2, 1.5)) == 0


def test_bearings_at_one_place_are_refused() -> None:
    """Nothing can be said of a shaft whose bearings stand at one place."""
    with pytest.raises(ValueError, match="at one place"):
        bearing_loads_n([10.0], [[1.0, 0.0]], (50.0, 50.0))


def test_many_at_once() -> None:
    """Diameters, torques, stresses of arrays are those of their entries."""
    moments, torsions = np.array([0.0, 20.0, 45.0]), np.array([10.0, 20.0, 0.0])
    together = needed_diameter_mm(moments, torsions, 41, 2.0, 1.5)
    assert together.tolist() == [
        float(needed_diameter_mm(m, t, 41, 2.0, 1.5)) for m, t in zip(moments, torsions, strict=True)
    ]
    assert torque_nm([0.02, 0.75], [1400, 1420]) == pytest.approx([30 / pi * 20 / 1400, 30 / pi * 750 / 1420])
    assert allowed_shear_mpa([300.0, 500.0], [600.0, 550.0], keyed=False) == pytest.approx([90.0, 99.0])
