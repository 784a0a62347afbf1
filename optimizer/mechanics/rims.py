"""What turning does to a pulley: stress, unbalance."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["disc_stress_mpa", "grade_unbalance_g_m", "ring_stress_mpa", "strength_rpm", "unbalance_pull_n"]

Array = NDArray[np.float64]


def ring_stress_mpa(density_kg_m3: ArrayLike, speed_m_s: ArrayLike) -> Array:
    """Return the stress of a thin ring that turns [MPa], ``ρ·v²``.

    Source: any text on strength of materials.

    Examples
    --------
    Birch plywood, 700 kg/m³, at 20 m/s:

    >>> round(float(ring_stress_mpa(700, 20)), 3)
    0.28
    """
    return np.asarray(np.multiply(density_kg_m3, np.square(speed_m_s)) / 1e6)


def disc_stress_mpa(
    density_kg_m3: ArrayLike, speed_m_s: ArrayLike, bore_share: ArrayLike = 0.0, poisson: float = 0.3
) -> Array:
    """Return the greatest stress of a flat disc with a bore [MPa], at the bore.

    ``σ = (3 + ν)/4·ρ·v²·[1 + (1 − ν)/(3 + ν)·(ri/ro)²]``. Valid for a disc of one thickness and one material alike in
    all directions; plywood is not, so take it as the order of size. Source: any text on strength of materials.

    Parameters
    ----------
    density_kg_m3
        Density [kg/m³].
    speed_m_s
        Speed of the rim [m/s].
    bore_share
        Bore over outside diameter, below 1.
    poisson
        Poisson's ratio.

    Examples
    --------
    >>> round(float(disc_stress_mpa(700, 20, 0.1)), 4), round(float(disc_stress_mpa(700, 20, 0.999999)), 4)
    (0.2315, 0.28)
    """
    shape = (3 + poisson) / 4 * (1 + (1 - poisson) / (3 + poisson) * np.square(bore_share))
    return np.asarray(shape * ring_stress_mpa(density_kg_m3, speed_m_s))


def strength_rpm(rpm: ArrayLike, stress_mpa: ArrayLike, strength_mpa: ArrayLike) -> Array:
    """Return the speed at which a stress by the own mass would reach a strength [rpm], ``n·sqrt(strength/stress)``.

    A calculation for sound material alike in all directions, no licence to run so fast.

    Examples
    --------
    0.284 MPa at 1400 rpm, 6.3 MPa of strength:

    >>> round(float(strength_rpm(1400, 0.284, 6.3)))
    6594
    """
    return np.asarray(rpm * np.sqrt(np.divide(strength_mpa, stress_mpa)))


def grade_unbalance_g_m(mass_kg: ArrayLike, rpm: ArrayLike, grade_mm_s: ArrayLike) -> Array:
    """Return the unbalance that a grade of ISO 21940-11 allows [g·m], ``m·G/ω``.

    Examples
    --------
    1.66 kg at 1600 rpm by G16, 1.66·16/167.55:

    >>> round(float(grade_unbalance_g_m(1.66, 1600, 16)), 3)
    0.159
    """
    return np.asarray(np.multiply(mass_kg, grade_mm_s) / np.multiply(rpm, np.pi / 30))


def unbalance_pull_n(unbalance_g_m: ArrayLike, rpm: ArrayLike) -> Array:
    """Return the pull on the shaft of an unbalance [N], ``m·r·ω²``.

    Examples
    --------
    3 g·m at 1420 rpm:

    >>> round(float(unbalance_pull_n(3, 1420)), 1)
    66.3
    """
    return np.asarray(np.multiply(unbalance_g_m, 1e-3) * np.square(np.multiply(rpm, np.pi / 30)))
