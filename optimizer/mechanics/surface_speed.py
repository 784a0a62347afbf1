"""Speed along the surface of round work, a tool, a wheel; the diameters that suit a speed."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "WOOD_TURNING_RPM_MM",
    "WOOD_TURNING_SOURCE",
    "Span",
    "suited_mm",
    "surface_speed_m_s",
    "wood_turning_m_s",
]

Floats = NDArray[np.float64]
WOOD_TURNING_RPM_MM = 6000 * 25.4, 9000 * 25.4
"""Least and greatest speed times diameter of turned wood [rpm·mm]."""
WOOD_TURNING_SOURCE = "6000 to 9000 rpm times inches, common practice, no source"


class Span(NamedTuple):
    """Diameters that suit a speed [mm]."""

    least: Floats
    most: Floats


def surface_speed_m_s(diameter_mm: ArrayLike, rpm: ArrayLike) -> Floats:
    """Return the speed along the surface, ``v = π·d·n / 60 000`` [m/s, mm, rpm], arrays broadcast.

    Valid for a surface that stands still otherwise: the feed is left out.

    Examples
    --------
    A wheel of 150 mm at 2850 rpm:

    >>> round(float(surface_speed_m_s(150.0, 2850.0)), 2)
    22.38
    """
    return np.asarray(np.pi * np.asarray(diameter_mm, float) * np.asarray(rpm, float) / 60_000)


def suited_mm(rpm: ArrayLike, least_m_s: float, most_m_s: float) -> Span:
    """Return the diameters whose surface runs between two speeds, ``d = 60 000·v / (π·n)`` [mm, m/s, rpm].

    Parameters
    ----------
    rpm
        Speeds above 0.
    least_m_s, most_m_s
        Speeds along the surface.

    Examples
    --------
    Between 8 and 12 m/s at 1000 rpm:

    >>> [round(float(size), 1) for size in suited_mm(1000.0, 8.0, 12.0)]
    [152.8, 229.2]
    """
    each = 60_000 / (np.pi * np.asarray(rpm, float))
    return Span(np.asarray(each * least_m_s), np.asarray(each * most_m_s))


def wood_turning_m_s() -> tuple[float, float]:
    """Return the speeds along the surface that the turners' rule comes to [m/s].

    ``n·d`` between 6000 and 9000 rpm·in, so ``v = π·n·d / 60 000`` does not depend on the speed. Common practice, no
    source; for sound work that runs true, slower until it does.

    Examples
    --------
    >>> [round(speed, 2) for speed in wood_turning_m_s()]
    [7.98, 11.97]
    >>> [round(float(size) / 25.4, 2) for size in suited_mm(1500.0, *wood_turning_m_s())]
    [4.0, 6.0]
    """
    least, most = (float(np.pi * product / 60_000) for product in WOOD_TURNING_RPM_MM)
    return least, most
