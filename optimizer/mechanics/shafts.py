"""How shafts bear the pull of belts: bearing loads, bending, the diameter that stands bending and torsion.

Every function takes plain floats or arrays.
"""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "KEYED_SHARE",
    "allowed_shear_mpa",
    "bearing_loads_n",
    "greatest_moment_nm",
    "needed_diameter_mm",
    "torque_nm",
]

Array = NDArray[np.float64]
KEYED_SHARE = 0.75
"""Share of the stress that a keyway leaves; the code for transmission shafting as handbooks reprint it, from memory."""


def allowed_shear_mpa(yield_mpa: ArrayLike, tensile_mpa: ArrayLike, *, keyed: bool) -> Array:
    """Return the shear stress allowed in a shaft of a known steel [MPa], ``min(0.30·Sy, 0.18·Su)``.

    Three quarters of it where the shaft has a keyway. Source: the code for transmission shafting as handbooks reprint
    it (from memory).

    Parameters
    ----------
    yield_mpa, tensile_mpa
        Yield point and tensile strength of the steel [MPa].
    keyed
        Whether the shaft has a keyway.

    Examples
    --------
    A plain carbon steel of 310 and 565 MPa:

    >>> float(allowed_shear_mpa(310, 565, keyed=False)), float(allowed_shear_mpa(310, 565, keyed=True))
    (93.0, 69.75)
    """
    plain = np.minimum(np.multiply(0.30, yield_mpa), np.multiply(0.18, tensile_mpa))
    return np.asarray(plain * (KEYED_SHARE if keyed else 1.0))


def torque_nm(power_kw: ArrayLike, rpm: ArrayLike) -> Array:
    """Return the torque of a shaft [N·m], ``T = P/ω = 9549·P/n``.

    Raises
    ------
    ValueError
        The shaft does not turn.

    Examples
    --------
    >>> round(float(torque_nm(0.75, 1420)), 2)
    5.04
    """
    speeds = np.asarray(rpm, dtype=np.float64)
    if np.any(speeds <= 0):
        raise ValueError("a shaft that does not turn passes on no power")
    return np.asarray(np.multiply(power_kw, 30_000 / pi) / speeds)


def bearing_loads_n(places_mm: ArrayLike, pulls_n: ArrayLike, bearings_mm: tuple[float, float]) -> tuple[Array, Array]:
    """Return the loads on two bearings by pulls on the shaft, between or outside them.

    Moments about the first bearing: ``R2 = Σ F·(x − a)/(b − a)``, ``R1 = Σ F − R2``, in both directions across.

    Parameters
    ----------
    places_mm
        Places of the pulls along the shaft, shape (pulls,).
    pulls_n
        Their two parts across the shaft, shape (pulls, 2).
    bearings_mm
        Places of the bearings, apart.

    Returns
    -------
    The loads on the first and on the second bearing, each with its two parts, shape (2,).

    Raises
    ------
    ValueError
        The bearings stand at one place.

    Examples
    --------
    600 N a third of the way from the first bearing, then 200 N that hang outside the second:

    >>> [load.tolist() for load in bearing_loads_n([100], [[600, 0]], (0, 300))]
    [[400.0, 0.0], [200.0, 0.0]]
    >>> [load.tolist() for load in bearing_loads_n([400], [[0, 200]], (0, 200))]
    [[0.0, -200.0], [0.0, 400.0]]
    """
    first, second = bearings_mm
    if first == second:
        raise ValueError("the bearings stand at one place")
    places, pulls = np.asarray(places_mm, float), np.asarray(pulls_n, float).reshape(-1, 2)
    share = (places - first) / (second - first)
    there = (pulls * share[:, None]).sum(axis=0)
    return pulls.sum(axis=0) - there, there


def greatest_moment_nm(places_mm: ArrayLike, pulls_n: ArrayLike, bearings_mm: tuple[float, float]) -> float:
    """Return the greatest bending moment of a shaft on two bearings [N·m]; arguments as of `bearing_loads_n`.

    The moment is straight between pulls and bearings, so that its greatest amount stands at one of them.

    Examples
    --------
    A pull of 600 N midway between bearings 300 mm apart: F·l/4; 200 N at 100 mm outside: F·a.

    >>> [round(greatest_moment_nm([x], [[pull, 0]], (0, 300)), 9) for x, pull in ((150, 600), (400, 200))]
    [45.0, 20.0]
    """
    places, pulls = np.asarray(places_mm, float), np.asarray(pulls_n, float).reshape(-1, 2)
    loads = bearing_loads_n(places, pulls, bearings_mm)
    where = np.concatenate([places, bearings_mm])
    forces = np.vstack([pulls, -loads[0], -loads[1]])
    moments = [(forces * np.maximum(at - where, 0.0)[:, None]).sum(axis=0) for at in where]
    return float(max((np.hypot(*moment) for moment in moments), default=0.0)) / 1000


def needed_diameter_mm(
    moment_nm: ArrayLike, torsion_nm: ArrayLike, stress_mpa: float, bending_factor: float, torsion_factor: float
) -> Array:
    """Return the diameter of a solid shaft that stands bending and torsion together [mm].

    ``d³ = 16/(π·τ)·sqrt((Cm·M)² + (Ct·T)²)``, the maximum-shear rule for shafting with factors for shock. Source: the
    code for transmission shafting as handbooks reprint it (from memory).

    Parameters
    ----------
    moment_nm, torsion_nm
        Greatest bending moment and torque [N·m].
    stress_mpa
        Shear stress allowed [MPa].
    bending_factor, torsion_factor
        Cm and Ct.

    Examples
    --------
    45 N·m of bending, 20 N·m of torsion, keyed plain steel at 41 MPa, steady: Cm 1.5, Ct 1.0:

    >>> round(float(needed_diameter_mm(45, 20, 41, 1.5, 1.0)), 2)
    20.6
    """
    together = np.hypot(np.multiply(bending_factor, moment_nm), np.multiply(torsion_factor, torsion_nm))
    return np.asarray(np.cbrt(16 / (pi * stress_mpa) * together * 1000))
