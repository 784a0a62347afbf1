"""What turning does to rims."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from optimizer.mechanics.rims import disc_stress_mpa, ring_stress_mpa, unbalance_pull_n
from optimizer.mechanics.starting import run_up_s


def test_a_ring_holds_its_own_half() -> None:
    """Two sections of a ring hold the pull of half its mass about the axis: 2·σ·A = m·v²·2/(π·r) with m = ρ·A·π·r."""
    density, speed, radius, area = 710.0, 20.0, 0.1, 1e-4
    pull = density * area * pi * radius * speed**2 / radius * 2 / pi
    assert float(ring_stress_mpa(density, speed)) * 1e6 * 2 * area == pytest.approx(pull)


def test_a_disc_lies_between_solid_and_ring() -> None:
    """A pinhole leaves (3 + ν)/4 of the ring's stress, twice that of a solid disc; a wide bore comes to the ring's."""
    shares = np.linspace(0, 1, 20)
    stresses = disc_stress_mpa(7850.0, 33.0, shares)
    ring = float(ring_stress_mpa(7850.0, 33.0))
    assert stresses[0] == pytest.approx(0.825 * ring)
    assert stresses[-1] == pytest.approx(ring)
    assert np.all(np.diff(stresses) > 0)


def test_stress_grows_with_the_square_of_speed() -> None:
    """Twice as fast, four times the stress and the pull of an unbalance."""
    assert float(ring_stress_mpa(700, 40)) == pytest.approx(4 * float(ring_stress_mpa(700, 20)))
    assert float(unbalance_pull_n(3, 2840)) == pytest.approx(4 * float(unbalance_pull_n(3, 1420)))


def test_run_up_stores_the_energy() -> None:
    """Half of the torque times the angle run through in the time is the energy of turning, J·ω²/2."""
    inertia, rpm, torque = 0.5, 700.0, 10.0
    omega = rpm * pi / 30
    seconds = float(run_up_s(inertia, rpm, torque))
    assert torque * omega / 2 * seconds == pytest.approx(inertia * omega**2 / 2)
    assert run_up_s(inertia, rpm, np.array([0.0, 10.0])).tolist() == [np.inf, seconds]
