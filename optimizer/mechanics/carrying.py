"""What a belt carries: rated power by section, arc, length and ratio.

Every function takes plain floats or arrays that broadcast against each other. A rating is one source's statement of
what belts of one section carry; where several stand side by side, the least counts.

Sources: GOST 1284.3-96, tables 12-14 (read), and ANSI/RMA IP-20:1988 as reprinted in Machinery's Handbook, 31st
ed., pp. 2575-2576 (read), state the power of V-belts; both obey one formula. R. G. Budynas, J. K. Nisbett, Shigley's
Mechanical Engineering Design, 10th ed., table 17-12 (from memory), gives a table by pulley and belt speed. Flat and
round belts carry by friction: Euler's ``F1/F2 = exp(μθ)``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import pi

import numpy as np
from numpy.typing import NDArray

from optimizer.mechanics.flat_belts import carried_power_w, centrifugal_pull_n, tension_ratio

__all__ = ["Factors", "FrictionRating", "Rating", "TableRating", "VRating", "carried_kw", "governing"]

Array = NDArray[np.float64]
Values = float | Array
"""A number, or an array of numbers that broadcasts against the others of the call."""
Points = tuple[tuple[float, float], ...]
"""Points of a table, ascending, between which is interpolated."""


@dataclass(frozen=True)
class Factors:
    """By what a rated power is multiplied; outside a table's ends its last slope goes on, never below 0."""

    arc: Points
    """Factor by wrap of the smaller pulley [degrees]."""
    length: Points
    """Factor by belt length [mm]; beyond the longest it stays."""

    def at(self, wrap_deg: Values, length_mm: Values) -> Array:
        """Return the product of both factors."""
        arcs, lengths = _columns(self.arc), _columns(self.length)
        arc = np.interp(wrap_deg, *arcs)
        slope = (arcs[1][1] - arcs[1][0]) / (arcs[0][1] - arcs[0][0])
        arc = arc + np.minimum(np.subtract(wrap_deg, arcs[0][0]), 0.0) * slope
        length = np.interp(length_mm, *lengths)
        slope = (lengths[1][1] - lengths[1][0]) / (lengths[0][1] - lengths[0][0])
        length = length + np.minimum(np.subtract(length_mm, lengths[0][0]), 0.0) * slope
        return np.asarray(np.maximum(arc, 0.0) * np.maximum(length, 0.0))


@dataclass(frozen=True)
class VRating:
    """A V-belt by the formula of GOST 1284.3-96 and IP-20, in kW and mm.

    ``P = share·[x·(K1 − K3·x² − K4·log10 x) − K2·r/Ks]`` with ``x = d·r``, d the smaller pulley [mm], r its speed
    [1000 rpm], Ks the ratio factor. For a given pair it is concave in the belt speed.
    """

    source: str
    k1: float
    k2: float
    k3: float
    k4: float
    factors: Factors
    share: float = 1.0
    """What part of the formula's power belts of this grade carry."""
    ratio: Points = ()
    """Ratio factor Ks by ratio of larger to smaller pulley; nothing where the source knows none."""

    def rated_kw(self, speed_m_s: Values, small_mm: Values, ratio: Values) -> Array:
        """Return the rated power [kW] at an arc of 180 degrees and the standard length.

        Examples
        --------
        GOST 1284.3-96 (read), ordinary belts A on 140 mm at 1450 rpm: 2.28 kW, whose formula gives 0.63 of

        >>> free = Factors(((90, 1.0), (180, 1.0)), ((500, 1.0), (2000, 1.0)))
        >>> a = VRating("GOST 1284.3-96", 0.0453629, 1.708940, 1.14909e-8, 0.00652415, free, share=0.63)
        >>> round(float(a.rated_kw(3.14159265 * 0.14 * 1450 / 60, 140, 1.0)), 2)
        2.25
        """
        x = np.multiply(speed_m_s, 60 / pi)
        top = x * (self.k1 - self.k3 * x**2 - self.k4 * np.log10(np.maximum(x, 1e-9)))
        bend = self.k2 * x / small_mm
        if self.ratio:
            bend = bend / np.interp(ratio, *_columns(self.ratio))
        return np.asarray(self.share * (top - bend))

    def kw(self, speed_m_s: Values, small_mm: Values, ratio: Values, factor: Array, wrap_deg: Values) -> Array:
        """Return the power [kW] with arc and length counted."""
        del wrap_deg
        return np.asarray(self.rated_kw(speed_m_s, small_mm, ratio) * factor)


@dataclass(frozen=True)
class TableRating:
    """A V-belt by a table of rated power over belt speed, a row for each pulley; straight between its entries.

    A pulley beyond the largest counts as the largest, below the smallest the first two rows go on. Beyond the last
    speed the last slope goes on.
    """

    source: str
    speeds_m_s: tuple[float, ...]
    rows: tuple[tuple[float, tuple[float, ...]], ...]
    """Pulley [mm] with its powers [kW] at the speeds, ascending."""
    factors: Factors
    share: float = 1.0

    def rated_kw(self, speed_m_s: Values, small_mm: Values, ratio: Values = 1.0) -> Array:
        """Return the rated power [kW] at an arc of 180 degrees and the standard length."""
        del ratio
        speeds, sizes, table = _grid(self)
        v, d = np.broadcast_arrays(np.asarray(speed_m_s, float), np.minimum(np.asarray(small_mm, float), sizes[-1]))
        i = np.clip(np.searchsorted(speeds, v, side="right") - 1, 0, speeds.size - 2)
        k = np.clip(np.searchsorted(sizes, d, side="right") - 1, 0, sizes.size - 2)
        s = (v - speeds[i]) / (speeds[i + 1] - speeds[i])
        t = (d - sizes[k]) / (sizes[k + 1] - sizes[k])
        lower = table[k, i] * (1 - s) + table[k, i + 1] * s
        upper = table[k + 1, i] * (1 - s) + table[k + 1, i + 1] * s
        return np.asarray(self.share * (lower * (1 - t) + upper * t))

    def kw(self, speed_m_s: Values, small_mm: Values, ratio: Values, factor: Array, wrap_deg: Values) -> Array:
        """Return the power [kW] with arc and length counted."""
        del wrap_deg
        return np.asarray(self.rated_kw(speed_m_s, small_mm, ratio) * factor)


@dataclass(frozen=True)
class FrictionRating:
    """A flat or round belt by friction and the pull it may bear."""

    source: str
    pull_n: float
    """Greatest pull of the tight side; with `stretched` the pull of the belt at rest."""
    mass_kg_m: float
    friction: float
    stretched: bool = False
    """Whether the belt lives on the pull of its own stretch, as an elastic one on fixed centres."""
    factors: Factors | None = None

    def kw(self, speed_m_s: Values, small_mm: Values, ratio: Values, factor: Array, wrap_deg: Values) -> Array:
        """Return the power [kW] at which the belt begins to slip."""
        del small_mm, ratio, factor
        wrap = np.radians(wrap_deg)
        if not self.stretched:
            return np.asarray(
                np.divide(carried_power_w(self.pull_n, self.friction, wrap, speed_m_s, self.mass_kg_m), 1000)
            )
        grows = tension_ratio(self.friction, wrap)
        left = np.subtract(self.pull_n, centrifugal_pull_n(self.mass_kg_m, speed_m_s))
        return np.asarray(2 * left * (grows - 1) / (grows + 1) * speed_m_s / 1000)


Rating = VRating | TableRating | FrictionRating
"""What one source says that belts of one section carry."""


def carried_kw(
    ratings: Sequence[Rating], speed_m_s: Values, small_mm: Values, ratio: Values, wrap_deg: Values, length_mm: Values
) -> Array:
    """Return the power [kW] that a belt carries: the least of what its ratings say, never below 0.

    Parameters
    ----------
    ratings
        One or more.
    speed_m_s
        Belt speed [m/s].
    small_mm
        Pitch diameter of the smaller pulley [mm].
    ratio
        Larger over smaller pulley, 1 or more.
    wrap_deg
        Arc of contact on the smaller pulley [degrees].
    length_mm
        Length of the belt [mm].

    Raises
    ------
    ValueError
        There is no rating.

    Examples
    --------
    >>> flat = FrictionRating("example", pull_n=1000, mass_kg_m=0.0, friction=0.25)
    >>> round(float(carried_kw([flat], 4.7124, 450, 1.0, 199.19, 5000)), 2)
    2.74
    """
    return np.asarray(_all(ratings, speed_m_s, small_mm, (ratio, wrap_deg, length_mm)).min(axis=0))


def governing(
    ratings: Sequence[Rating], speed_m_s: Values, small_mm: Values, ratio: Values, wrap_deg: Values, length_mm: Values
) -> NDArray[np.intp]:
    """Return which of the ratings says the least, for arguments as in `carried_kw`; the first of several."""
    return np.asarray(_all(ratings, speed_m_s, small_mm, (ratio, wrap_deg, length_mm)).round(9).argmin(axis=0))


def _all(
    ratings: Sequence[Rating], speed_m_s: Values, small_mm: Values, others: tuple[Values, Values, Values]
) -> Array:
    if not ratings:
        raise ValueError("no rating says what this belt carries")
    ratio, wrap_deg, length_mm = others
    known: dict[Factors | None, Array] = {None: np.ones(1)}
    powers = []
    for rating in ratings:
        if rating.factors not in known:
            assert rating.factors is not None
            known[rating.factors] = rating.factors.at(wrap_deg, length_mm)
        powers.append(rating.kw(speed_m_s, small_mm, ratio, known[rating.factors], wrap_deg))
    return np.asarray(np.maximum(np.stack(np.broadcast_arrays(*powers)), 0.0))


@cache
def _columns(points: Points) -> tuple[Array, Array]:
    return np.array([x for x, _ in points]), np.array([y for _, y in points])


@cache
def _grid(rating: TableRating) -> tuple[Array, Array, Array]:
    sizes = np.array([size for size, _ in rating.rows])
    return np.array(rating.speeds_m_s), sizes, np.array([powers for _, powers in rating.rows])
