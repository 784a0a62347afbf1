"""Keys: how deep their seats are cut, how long they must be."""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

__all__ = ["Depths", "key_length_mm", "key_stresses_mpa", "seat_depths_mm"]

INCH_CLEARANCE_MM = 0.127
"""0.005 in: what the hub's seat of an inch key is cut deeper (ASME B17.1, read with its table)."""


class Depths(NamedTuple):
    """What a maker measures over the finished seats."""

    shaft_mm: float
    """From the bottom of the shaft's seat to the far side of the shaft (S)."""
    hub_mm: float
    """From the bottom of the hub's seat to the far side of the bore (T)."""


def seat_depths_mm(shaft_mm: float, key_mm: float, clearance_mm: float = INCH_CLEARANCE_MM) -> Depths:
    """Return the depths of the seats of a square key, half in the shaft, half in the hub.

    ``y = (D − sqrt(D² − W²))/2``, ``S = D − y − H/2``, ``T = D − y + H/2 + C``. Source: ASME B17.1 as printed in
    Machinery's Handbook, 31st ed., p. 2552, whose table (read) these meet.

    Raises
    ------
    ValueError
        The key is as wide as the shaft.

    Examples
    --------
    A 1 in shaft with a 1/4 in key: the table prints 0.859 and 1.114 in.

    >>> depths = seat_depths_mm(25.4, 6.35)
    >>> round(depths.shaft_mm / 25.4, 3), round(depths.hub_mm / 25.4, 3)
    (0.859, 1.114)
    """
    if key_mm >= shaft_mm:
        raise ValueError("the key is as wide as the shaft")
    chord = (shaft_mm - sqrt(shaft_mm**2 - key_mm**2)) / 2
    return Depths(shaft_mm - chord - key_mm / 2, shaft_mm - chord + key_mm / 2 + clearance_mm)


def key_length_mm(
    torque_nm: float, shaft_mm: float, width_mm: float, height_mm: float, stresses_mpa: tuple[float, float]
) -> float:
    """Return how long a key must be [mm]: the longer of shear, ``2T/(D·W·τ)``, and crushing, ``4T/(D·H·σ)``.

    Source: any text on machine elements; `stresses_mpa` are the shear and the crushing stress allowed.

    Examples
    --------
    50 N·m on 20 mm by a 6 by 6 key at 41 and 82 MPa: shear and crushing ask for as much.

    >>> round(key_length_mm(50, 20, 6, 6, (41, 82)), 2)
    20.33
    """
    force_n = 2000 * torque_nm / shaft_mm
    shear, crushing = stresses_mpa
    return max(force_n / (width_mm * shear), 2 * force_n / (height_mm * crushing))


def key_stresses_mpa(
    torque_nm: float, shaft_mm: float, width_mm: float, height_mm: float, length_mm: float
) -> tuple[float, float]:
    """Return the shear and the crushing stress of a key [MPa]: ``2T/(D·W·L)`` and ``4T/(D·H·L)``.

    The torque is taken as a force at the rim of the shaft, half of the key's height bearing in either seat. Source: any
    text on machine elements.

    Raises
    ------
    ValueError
        A size is not above 0.

    Examples
    --------
    50 N·m on 20 mm by a 6 by 6 key 30 mm long:

    >>> [round(stress, 2) for stress in key_stresses_mpa(50, 20, 6, 6, 30)]
    [27.78, 55.56]
    """
    if min(shaft_mm, width_mm, height_mm, length_mm) <= 0:
        raise ValueError("shaft, width, height and length must be above 0")
    force_n = 2000 * torque_nm / shaft_mm
    return force_n / (width_mm * length_mm), 2 * force_n / (height_mm * length_mm)
