"""The arithmetic of the verification: fifty decimal digits, apart from mpmath's own settings."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import mpmath  # type: ignore[import-untyped]  # it comes without types

__all__ = ["DIGITS", "Number", "high", "num"]

DIGITS = 50
Number = Any
"""A number of fifty digits; mpmath publishes no types."""

high = mpmath.mp.clone()
"""The context in which everything is worked out."""
high.dps = DIGITS


def num(value: str | int | float | Fraction) -> Number:
    """Return a value with fifty digits; text is taken as the decimal that it writes.

    Examples
    --------
    >>> print(num("0.1") * 10 == 1, num(Fraction(1, 3)) * 3 == 1, num(0.1) * 10 == 1)
    True True False
    """
    if isinstance(value, Fraction):
        return high.mpf(value.numerator) / value.denominator
    return high.mpf(value)
