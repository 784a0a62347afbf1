"""Figures without the bits that hang on the processor."""

from __future__ import annotations

from math import isfinite
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["first_least", "meaningful"]

DIGITS: Final = 10
"""Leading digits kept of a figure that follows from the sizes: processors agree on it to fourteen or so."""
PLACES: Final = 9
"""And no more decimal places than these: what is less, in whatever unit, is left over from rounding."""


def meaningful(value: float, digits: int = DIGITS, places: int = PLACES) -> float:
    """Return a figure rounded to some leading digits, and to no more than some decimal places.

    What is chosen by such figures is chosen alike everywhere: those that differ in their last bits only are equal.

    Examples
    --------
    >>> meaningful(0.1 + 0.2), meaningful(1107.4585499999998), meaningful(-4.4e-16), meaningful(208.24375)
    (0.3, 1107.45855, 0.0, 208.24375)
    """
    return round(float(f"{value:.{digits - 1}e}"), places) + 0.0 if isfinite(value) else value


def first_least(values: NDArray[np.float64]) -> int:
    """Return the place of the least of some figures, the first of those that differ in their last bits only.

    Raises
    ------
    ValueError
        None of them is a number.

    Examples
    --------
    >>> first_least(np.array([np.nan, 0.3, 0.1 + 0.2 - 1e-16, 7.0]))
    1
    """
    return int(np.nanargmin(np.round(values, PLACES)))
