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
    "wanted_rpm",
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


def wanted_rpm(size_mm: tuple[float, float], surface_m_s: tuple[float, float]) -> tuple[float, float]:
    """Return the slowest and the fastest speed that sizes want between two speeds along their surface [rpm].

    ``n1 = 60 000·v1 / (π·d2)``, the least surface speed on the largest size, and ``n2 = 60 000·v2 / (π·d1)``, the
    greatest on the smallest [rpm, m/s, mm]. The same speed where both sizes are one and both surface speeds are one.
    A band-saw blade is taken to run as fast as the rim of the wheel it lies on: its thickness, which makes it faster by
    `thickness / d`, some thousandths, is left out.

    Parameters
    ----------
    size_mm
        Smallest and largest diameter, above 0.
    surface_m_s
        Least and greatest speed along the surface.

    Examples
    --------
    A blade from 25 to 100 m/min on a wheel of 200 mm; work of 20 to 100 mm at 60 to 90 m/min:

    >>> [round(rpm, 2) for rpm in wanted_rpm((200.0, 200.0), (25 / 60, 100 / 60))]
    [39.79, 159.15]
    >>> [round(rpm) for rpm in wanted_rpm((20.0, 100.0), (1.0, 1.5))]
    [191, 1432]
    """
    (least_mm, most_mm), (least_m_s, most_m_s) = size_mm, surface_m_s
    return 60_000 * least_m_s / (np.pi * most_mm), 60_000 * most_m_s / (np.pi * least_mm)


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
