"""Round figures in the maker's units."""

from __future__ import annotations

from math import ceil, floor

from optimizer.asking.answer import Plain
from optimizer.quantities.shop import MM_PER, inch_fraction

__all__ = ["round_down", "round_up", "surface_text"]

STEP_MM = {"mm": 5.0, "cm": 5.0, "in": 25.4 / 4}
"""Sizes are suggested in multiples of this."""
FT_PER_MIN = 60 / 0.3048
TOUCH = 1e-6


def round_up(length_mm: float, units: str) -> Plain:
    """Return a length rounded up to a round figure in the maker's units.

    Examples
    --------
    >>> round_up(236.1, "mm"), round_up(236.1, "cm"), round_up(236.1, "in"), round_up(254, "in")
    (240, 24, '9 1/2', 10)
    """
    return _written(ceil(length_mm / STEP_MM[units] - TOUCH), units)


def round_down(length_mm: float, units: str) -> Plain:
    """Return a length rounded down to a round figure in the maker's units.

    Examples
    --------
    >>> round_down(236.1, "mm"), round_down(236.1, "cm"), round_down(236.1, "in")
    (235, 23.5, '9 1/4')
    """
    return _written(floor(length_mm / STEP_MM[units] + TOUCH), units)


def surface_text(speeds_m_s: tuple[float, float], unit: str) -> str:
    """Return a span of surface speeds in m/s, m/min or ft/min, round figures.

    Examples
    --------
    >>> surface_text((20 / 60, 30 / 60), "m/min"), surface_text((8.0, 12.0), "ft/min")
    ('20 to 30 m/min', '1600 to 2400 ft/min')
    """
    per = {"m/s": 1.0, "m/min": 60.0, "ft/min": FT_PER_MIN}[unit]
    return f"{_two_digits(speeds_m_s[0] * per)} to {_two_digits(speeds_m_s[1] * per)} {unit}"


def _two_digits(number: float) -> str:
    return f"{float(f'{number:.2g}'):g}"


def _written(count: int, units: str) -> Plain:
    length_mm = count * STEP_MM[units]
    if units == "in":
        text = inch_fraction(length_mm, STEP_MM["in"])
        return int(text) if text.isdecimal() else text
    length = round(length_mm / MM_PER[units], 6)
    return int(length) if length == int(length) else length
