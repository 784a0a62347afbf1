"""Steps of cones that must all take the same belt at one centre distance.

Arguments and results follow `optimizer.geometry.belts`: floats or arrays, diameters along the belt's line,
open belts unless crossed. Every equation solved here grows with its unknown and is convex, so that Newton's
steps from above never pass the answer.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import Values, belt_length_mm

__all__ = ["identical_cones_mm", "mate_for_difference_mm", "mate_for_ratio_mm", "mate_for_step_mm"]

Array = NDArray[np.float64]

STEPS = 60
"""Most Newton steps; six are enough for all but belts that hardly leave the larger pulley."""
INSIDE = 1 - 1e-14
"""Share of the largest size that a centre distance allows from which Newton's steps may start."""
CLOSE = 1e-12
"""Relative error of the length above which nothing was found."""


def mate_for_ratio_mm(
    ratio: Values, length_mm: Values, centre_mm: Values, crossed: bool = False
) -> tuple[Array, Array]:
    """Return the pair of diameters that gives a speed ratio with a given belt and centre distance [mm].

    Solves ``L(ρ·d, d, C) = L`` for d with ``ρ = driven speed / driver speed = driver / driven diameter``;
    the start ``d = 2(L − 2C)/(π(1 + ρ))`` lies at or above the answer.

    Parameters
    ----------
    ratio
        Speed of the driven over speed of the driver, without slip.
    length_mm, centre_mm
        Length of the belt, centre distance [mm].
    crossed
        Whether the belt is crossed.

    Returns
    -------
    Driver and driven diameter [mm], in the shape the arguments broadcast to; not a number where no pair
    exists.

    Examples
    --------
    R. S. Khurmi, J. K. Gupta, Theory of Machines, example 11.3, p. 337, spindle speed 80 rpm from 160 rpm,
    open belt; the book prints radii 49.2 and 98.4 mm:

    >>> driver, driven = mate_for_ratio_mm(80 / 160, 1906.9442, 720)
    >>> round(float(driver) / 2, 2), round(float(driven) / 2, 2)
    (49.19, 98.38)
    """
    rho, length, centre = _alike(ratio, length_mm, centre_mm)
    sum_share = 1 + rho
    offset_share = sum_share if crossed else np.abs(rho - 1)
    with np.errstate(divide="ignore"):
        most = 2 * centre / offset_share * INSIDE
    driven = _newton_mm(
        lambda d: belt_length_mm(rho * d, d, centre, crossed=crossed) - length,
        lambda d: (np.pi * sum_share + 2 * offset_share * np.arcsin(_sine(offset_share * d / 2, centre))) / 2,
        np.minimum(2 * (length - 2 * centre) / (np.pi * sum_share), most),
        length,
    )
    return rho * driven, driven


def mate_for_step_mm(step_mm: Values, length_mm: Values, centre_mm: Values, crossed: bool = False) -> Array:
    """Return the diameter that faces a given step with a given belt and centre distance [mm].

    Solves ``L(D, d, C) = L`` for d; the start ``d = 2(L − 2C)/π − D`` lies at or above the answer.

    Parameters
    ----------
    step_mm
        Diameter of the step that is given [mm].
    length_mm, centre_mm
        Length of the belt, centre distance [mm].
    crossed
        Whether the belt is crossed.

    Returns
    -------
    Diameter of the facing step [mm], in the shape the arguments broadcast to; not a number where none exists.

    Examples
    --------
    J. Rose, Modern Machine-Shop Practice, vol. I (1887-88), cone pulleys, example 1 [in]; printed 24.25,
    20.57, 15, 8.5:

    >>> import numpy as np
    >>> mate_for_step_mm(np.array([4.5, 9, 15, 21]), 147.1239, 50).round(2).tolist()
    [24.25, 20.57, 15.0, 8.5]
    """
    step, length, centre = _alike(step_mm, length_mm, centre_mm)
    sign = 1 if crossed else -1
    return _newton_mm(
        lambda d: belt_length_mm(step, d, centre, crossed=crossed) - length,
        lambda d: np.pi / 2 + np.arcsin(_sine((d + sign * step) / 2, centre)),
        np.minimum(2 * (length - 2 * centre) / np.pi - step, (2 * centre - sign * step) * INSIDE),
        length,
    )


def mate_for_difference_mm(difference_mm: Values, length_mm: Values, centre_mm: Values) -> tuple[Array, Array]:
    """Return the pair of diameters with a given difference, for an open belt [mm].

    ``R + r = (L − 2·sqrt(C² − s²) − 2·s·asin(s/C))/π`` with ``s = R − r``, in closed form.

    Parameters
    ----------
    difference_mm
        Driver less driven diameter [mm].
    length_mm, centre_mm
        Length of the belt, centre distance [mm].

    Returns
    -------
    Driver and driven diameter [mm], in the shape the arguments broadcast to; not a number where no pair
    exists.

    Examples
    --------
    >>> driver, driven = mate_for_difference_mm(0.0, 600 + 100 * 3.141592653589793, 300)
    >>> round(float(driver), 9), round(float(driven), 9)
    (100.0, 100.0)
    """
    difference, length, centre = _alike(difference_mm, length_mm, centre_mm)
    offset = difference / 2
    with np.errstate(invalid="ignore", divide="ignore"):
        tangents = 2 * np.sqrt((centre - offset) * (centre + offset))
        tangents += 2 * offset * np.arcsin(offset / centre)
        half_sum = (length - tangents) / np.pi
        exists = half_sum >= np.abs(offset)
    return np.where(exists, half_sum + offset, np.nan), np.where(exists, half_sum - offset, np.nan)


def identical_cones_mm(largest_mm: float, smallest_mm: float, steps: int, centre_mm: float) -> Array:
    """Return the steps of two cones made alike [mm].

    Step i of one faces step ``steps + 1 − i`` of the other. The differences of facing steps fall evenly from
    ``largest − smallest`` to its opposite; every pair takes the open belt of the outer pair. Rule and use:
    J. Rose, Modern Machine-Shop Practice, vol. I (1887-88), tables I and II.

    Parameters
    ----------
    largest_mm, smallest_mm
        The outer steps [mm].
    steps
        Number of steps, at least 2.
    centre_mm
        Centre distance [mm].

    Returns
    -------
    Diameters from the largest to the smallest [mm].

    Raises
    ------
    ValueError
        There are fewer than two steps.

    Examples
    --------
    Rose's tables, six steps at 60 in, print 17.50, 15.13, 12.70, 10.20, 7.63, 5.00:

    >>> identical_cones_mm(17.5, 5, 6, 60).round(4).tolist()
    [17.5, 15.1328, 12.6991, 10.1991, 7.6328, 5.0]
    """
    if steps < 2:
        raise ValueError(f"a cone needs at least two steps, not {steps}")
    length = belt_length_mm(largest_mm, smallest_mm, centre_mm)
    differences = np.linspace(largest_mm - smallest_mm, smallest_mm - largest_mm, steps)
    return mate_for_difference_mm(differences, length, centre_mm)[0]


def _alike(*values: Values) -> tuple[Array, ...]:
    """Return the values as arrays of one shape."""
    return np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values))


def _sine(offset: Array, centre: Array) -> Array:
    """Return s/C, kept where an angle belongs to it."""
    return np.clip(offset / centre, -1.0, 1.0)


def _newton_mm(error: Callable[[Array], Array], slope: Callable[[Array], Array], start: Array, length: Array) -> Array:
    """Return the roots below the starts, not a number where there is none above 0."""
    value = np.array(start, dtype=np.float64)
    with np.errstate(invalid="ignore", divide="ignore"):
        for _ in range(STEPS):
            step = error(value) / slope(value)
            value = value - step
            if not np.any(np.abs(step) > 1e-15 * np.abs(value)):
                break
        good = (value > 0) & (np.abs(error(value)) <= CLOSE * length)
    return np.where(good, value, np.nan)
