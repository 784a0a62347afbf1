"""The exact geometry of one belt on two pulleys.

Every function takes plain floats or arrays that broadcast against each other, in the order driver, driven,
centre distance or length. Floats give a float, arrays an array. Diameters are taken along the line on which
the length runs: pitch diameters with a pitch length, datum diameters with a datum length.

Sources: the formulas follow from the tangents common to two circles; they stand in any text on machine
elements, for example R. S. Khurmi, J. K. Gupta, Theory of Machines, ch. 11.
"""

# A float is also one of `Values`; the first overload that matches wins, which is what is meant.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from typing import overload

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Values",
    "belt_length_mm",
    "belt_length_two_term_mm",
    "centre_for_length_mm",
    "length_gradient",
    "small_wrap_deg",
    "wrap_deg",
]

Array = NDArray[np.float64]
Values = float | Array
"""A number, or an array of numbers that broadcasts against the others of the call."""

STEPS_FOR_ALL = 2
"""Third-order steps taken with every element; enough unless the belt hardly leaves the larger pulley."""
SETTLED = 1e-5
"""Share of ``C − s`` below which the last third-order step leaves an element exact to rounding."""
BLOCK = 32_768
"""Elements solved at a time, so that what they need stays in the processor's near memory."""
STEPS_FOR_FEW = 60
"""Newton steps taken with the elements that have not settled; each at least divides their error by 3."""


@overload
def belt_length_mm(driver_mm: float, driven_mm: float, centre_mm: float, *, crossed: bool = False) -> float: ...
@overload
def belt_length_mm(driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False) -> Array: ...
def belt_length_mm(driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False) -> Values:
    """Return the length of a taut belt [mm].

    ``L = 2·sqrt(C² − s²) + π·(R + r) + 2·s·asin(s/C)`` with ``s = R − r`` for an open belt and ``s = R + r``
    for a crossed one; R and r are the radii, C the centre distance.

    Parameters
    ----------
    driver_mm, driven_mm
        Diameters along the line that the length runs on [mm].
    centre_mm
        Centre distance [mm].
    crossed
        Whether the belt is crossed, so that the shafts turn against each other.

    Returns
    -------
    Length [mm], in the shape the arguments broadcast to; not a number where ``C < |s|``, where no belt fits.

    Examples
    --------
    J. Rose, Modern Machine-Shop Practice, vol. I (1887-88), cone pulleys, example 1, prints 147 1/8 in
    at 50 in:

    >>> round(belt_length_mm(15, 15, 50), 4), round(belt_length_mm(4.5, 24.2538, 50), 3)
    (147.1239, 147.124)
    """
    half_sum, offset, centre = _half_sum_offset(driver_mm, driven_mm, centre_mm, crossed)
    with np.errstate(invalid="ignore", divide="ignore"):
        tangent = np.sqrt((centre - offset) * (centre + offset))
        return _plain(2 * tangent + np.pi * half_sum + 2 * offset * np.arcsin(offset / centre))


@overload
def centre_for_length_mm(driver_mm: float, driven_mm: float, length_mm: float, *, crossed: bool = False) -> float: ...
@overload
def centre_for_length_mm(
    driver_mm: Values, driven_mm: Values, length_mm: Values, *, crossed: bool = False
) -> Array: ...
def centre_for_length_mm(driver_mm: Values, driven_mm: Values, length_mm: Values, *, crossed: bool = False) -> Values:
    """Return the centre distance at which a belt of the given length is just taut [mm].

    Inverts `belt_length_mm`: with ``m = (L − π(R + r))/2`` it solves ``sqrt(C² − s²) + s·asin(s/C) = m``,
    whose left side grows with C and is convex. The start ``C = (m + sqrt(m² − 2s²))/2`` solves the two-term
    series and lies at or above the answer; steps of third order (Halley) follow.

    Parameters
    ----------
    driver_mm, driven_mm
        Diameters along the line that the length runs on [mm].
    length_mm
        Length of the belt [mm].
    crossed
        Whether the belt is crossed.

    Returns
    -------
    Centre distance [mm], in the shape the arguments broadcast to, exact to rounding (the length itself says
    little where the belt hardly leaves the larger pulley); not a number where the belt is too short for a
    centre distance above ``|R − r|`` (open) or ``R + r`` (crossed).

    Examples
    --------
    T. H. Wentzell, Machine Design (2007), example 14.2, p. 310, prints 19.12 in for 4 and 6 in sheaves and a
    54 in belt:

    >>> round(centre_for_length_mm(4, 6, 54), 5)
    19.11986
    >>> centre_for_length_mm(100, 300, 600)
    nan
    """
    parts = _half_sum_offset(driver_mm, driven_mm, length_mm, crossed)
    shape = np.broadcast_shapes(*(part.shape for part in parts))
    flat = [np.broadcast_to(part, shape).reshape(-1) for part in parts]
    centre = np.empty(flat[0].size)
    for first in range(0, centre.size, BLOCK):
        block = slice(first, first + BLOCK)
        centre[block] = _solve_mm(flat[0][block], np.abs(flat[1][block]), flat[2][block])
    return _plain(centre.reshape(shape))


@overload
def length_gradient(
    driver_mm: float, driven_mm: float, centre_mm: float, *, crossed: bool = False
) -> tuple[float, float, float]: ...
@overload
def length_gradient(
    driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False
) -> tuple[Array, Array, Array]: ...
def length_gradient(
    driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False
) -> tuple[Values, Values, Values]:
    """Return how the belt's length changes with driver, driven and centre distance [mm per mm].

    Per millimetre of *diameter* the change is half the wrap in radians, per millimetre of centre distance
    ``2·sqrt(1 − (s/C)²)``; s as in `belt_length_mm`.

    Parameters
    ----------
    driver_mm, driven_mm
        Diameters along the line that the length runs on [mm].
    centre_mm
        Centre distance [mm].
    crossed
        Whether the belt is crossed.

    Returns
    -------
    Three values in the shape the arguments broadcast to: change per driver diameter, per driven diameter, per
    centre distance; not a number where no belt fits.

    Examples
    --------
    >>> [round(part, 6) for part in length_gradient(100, 100, 300)]
    [1.570796, 1.570796, 2.0]
    """
    _, offset, centre = _half_sum_offset(driver_mm, driven_mm, centre_mm, crossed)
    with np.errstate(invalid="ignore", divide="ignore"):
        sine = offset / centre
        lean = np.arcsin(sine)
        per_centre = 2 * np.sqrt((1 - sine) * (1 + sine))
    return _plain(np.pi / 2 + lean), _plain(np.pi / 2 + (lean if crossed else -lean)), _plain(per_centre)


@overload
def wrap_deg(driver_mm: float, driven_mm: float, centre_mm: float, *, crossed: bool = False) -> tuple[float, float]: ...
@overload
def wrap_deg(
    driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False
) -> tuple[Array, Array]: ...
def wrap_deg(
    driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False
) -> tuple[Values, Values]:
    """Return the arcs of contact on driver and driven [degrees].

    ``180° ± 2·asin((R − r)/C)`` for an open belt, ``180° + 2·asin((R + r)/C)`` on both for a crossed one.

    Parameters
    ----------
    driver_mm, driven_mm
        Diameters along the belt's line [mm].
    centre_mm
        Centre distance [mm].
    crossed
        Whether the belt is crossed.

    Returns
    -------
    Wrap of the driver and of the driven [degrees]; not a number where no belt fits.

    Examples
    --------
    T. H. Wentzell, Machine Design (2007), example 14.2, p. 310, has 174.0° on the smaller sheave:

    >>> [round(arc, 4) for arc in wrap_deg(4, 6, 19.119862)]
    [174.0039, 185.9961]
    """
    _, offset, centre = _half_sum_offset(driver_mm, driven_mm, centre_mm, crossed)
    with np.errstate(invalid="ignore", divide="ignore"):
        lean = 2 * np.degrees(np.arcsin(offset / centre))
    return _plain(180 + lean), _plain(180 + (lean if crossed else -lean))


@overload
def small_wrap_deg(driver_mm: float, driven_mm: float, centre_mm: float, *, crossed: bool = False) -> float: ...
@overload
def small_wrap_deg(driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False) -> Array: ...
def small_wrap_deg(driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False) -> Values:
    """Return the smaller of the two arcs of contact [degrees]; arguments as in `wrap_deg`.

    Examples
    --------
    >>> round(small_wrap_deg(12, 24, 30), 4)
    156.9261
    """
    driver, driven = wrap_deg(driver_mm, driven_mm, centre_mm, crossed=crossed)
    return _plain(np.minimum(driver, driven))


@overload
def belt_length_two_term_mm(
    driver_mm: float, driven_mm: float, centre_mm: float, *, crossed: bool = False
) -> float: ...
@overload
def belt_length_two_term_mm(
    driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False
) -> Array: ...
def belt_length_two_term_mm(
    driver_mm: Values, driven_mm: Values, centre_mm: Values, *, crossed: bool = False
) -> Values:
    """Return the belt length by the textbooks' two-term series [mm], to compare with printed answers.

    ``L ≈ 2·C + π·(R + r) + s²/C``, too short by about ``s⁴/(12·C³)``. No design is computed with it.

    Examples
    --------
    A. K. Tayal, Engineering Mechanics, example 7.1 [cm]; the exact length is 117.7527:

    >>> round(belt_length_two_term_mm(12, 24, 30), 6)
    117.748668
    """
    half_sum, offset, centre = _half_sum_offset(driver_mm, driven_mm, centre_mm, crossed)
    return _plain(2 * centre + np.pi * half_sum + offset**2 / centre)


def _half_sum_offset(
    driver_mm: Values, driven_mm: Values, third_mm: Values, crossed: bool
) -> tuple[Array, Array, Array]:
    """Return R + r, s and the third value as arrays of floats."""
    driver = np.asarray(driver_mm, dtype=np.float64)
    driven = np.asarray(driven_mm, dtype=np.float64)
    half_sum = (driver + driven) / 2
    offset = half_sum if crossed else (driver - driven) / 2
    return half_sum, offset, np.asarray(third_mm, dtype=np.float64)


def _solve_mm(half_sum: Array, offset: Array, length: Array) -> Array:
    """Return the centre distances for R + r, |s| and length."""
    straight = (length - np.pi * half_sum) / 2
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        fits = straight > np.pi / 2 * offset
        start = np.where(fits, (straight + np.sqrt(straight * straight - 2 * offset * offset)) / 2, np.nan)
        centre, step = start, start
        for _ in range(STEPS_FOR_ALL):
            step = _halley_step(centre, offset, straight)
            centre = centre - step
        late = fits & ~(np.abs(step) <= SETTLED * (centre - offset))
    if np.any(late):
        centre[late] = _newton_mm(start[late], offset[late], straight[late])
    return centre


def _halley_step(centre: Array, offset: Array, straight: Array) -> Array:
    """Return how much a third-order step takes off the centre distance."""
    sine = offset / centre
    cosine_squared = 1 - sine * sine
    cosine = np.sqrt(cosine_squared)
    newton = cosine + sine * np.arcsin(sine) - straight / centre  # residual over C
    newton *= centre / cosine
    result: Array = newton / (1 - newton * (sine * sine) / (2 * centre * cosine_squared))
    return result


def _newton_mm(centre: Array, offset: Array, straight: Array) -> Array:
    """Return the centre distances after Newton steps from above, which never pass the answer."""
    above = offset * (1 + 4e-16)
    for _ in range(STEPS_FOR_FEW):
        centre = np.maximum(centre, above)
        tangent = np.sqrt((centre - offset) * (centre + offset))
        residual = tangent + offset * np.arctan2(offset, tangent) - straight
        centre = centre - residual * centre / np.maximum(tangent, np.finfo(float).tiny)
    result: Array = np.maximum(centre, above)
    return result


def _plain(value: Array | np.float64) -> Values:
    """Return a float for a single number, the array otherwise."""
    return float(value) if np.ndim(value) == 0 else np.asarray(value)
