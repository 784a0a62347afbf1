"""Lengths as a shop reads them: millimetres with two decimals, inches as fractions with the true value beside."""

from __future__ import annotations

from fractions import Fraction
from math import floor

__all__ = ["MM_PER", "PLACES", "inch_fraction", "shop_length"]

MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4}
"""Millimetres in one unit of length."""
PLACES = {"mm": 2, "cm": 3, "in": 3}
"""Decimals that show what a bench can measure."""


def inch_fraction(length_mm: float, division_mm: float) -> str:
    """Return a length as whole inches with the nearest fraction of the maker's rule, in lowest terms.

    Parameters
    ----------
    length_mm
        The length [mm].
    division_mm
        Finest division of the rule [mm], such as 25.4/64.

    Raises
    ------
    ValueError
        The division is not above 0.

    Examples
    --------
    >>> inch_fraction(114.3, 25.4 / 64), inch_fraction(9.525, 25.4 / 64), inch_fraction(0.1, 25.4 / 64)
    ('4 1/2', '3/8', '0')
    """
    if division_mm <= 0:
        raise ValueError(f"a rule has divisions above 0, not of {division_mm} mm")
    division = Fraction(division_mm / MM_PER["in"]).limit_denominator(1024)
    count = floor(abs(length_mm) / MM_PER["in"] / float(division) + 0.5)
    size = count * division
    whole, rest = divmod(size, 1)
    sign = "-" if length_mm < 0 and size else ""
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"


def shop_length(length_mm: float, units: str, division_mm: float) -> str:
    """Return a length as it stands on a drawing, without its unit but with the sign for inches.

    In inches the nearest fraction of the maker's rule comes first, the true value in decimals beside it, so that
    rounding can be seen; in metric units, and of what is less than half a division, the decimals alone.

    Parameters
    ----------
    length_mm
        The length [mm].
    units
        ``"mm"``, ``"cm"`` or ``"in"``.
    division_mm
        Finest division of the maker's rule, for inches [mm].

    Examples
    --------
    >>> shop_length(114.3, "mm", 0.4), shop_length(114.5, "in", 25.4 / 16)
    ('114.30', '4 1/2" (4.508)')
    >>> shop_length(0.18, "in", 25.4 / 64)
    '0.007"'
    """
    size = round(length_mm / MM_PER[units], 6)
    decimals = f"{size:.{PLACES[units]}f}"
    if units != "in":
        return decimals
    fraction = inch_fraction(length_mm, division_mm)
    return f'{decimals}"' if fraction == "0" and length_mm else f'{fraction}" ({decimals})'
