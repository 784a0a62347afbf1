"""What turning does to a pulley: stress, unbalance."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["disc_stress_mpa", "ring_stress_mpa", "unbalance_pull_n"]

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


def unbalance_pull_n(unbalance_g_m: ArrayLike, rpm: ArrayLike) -> Array:
    """Return the pull on the shaft of an unbalance [N], ``m·r·ω²``.

    Examples
    --------
    3 g·m at 1420 rpm:

    >>> round(float(unbalance_pull_n(3, 1420)), 1)
    66.3
    """
    return np.asarray(np.multiply(unbalance_g_m, 1e-3) * np.square(np.multiply(rpm, np.pi / 30)))
