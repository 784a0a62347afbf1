"""How hard the strands of a belt pull: pretension, tight and slack side, the pull on the shaft, bends.

Every function takes plain floats or arrays that broadcast against each other.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.mechanics.flat_belts import centrifugal_pull_n

__all__ = [
    "Strands",
    "bends_per_second",
    "needed_pull_n",
    "pressing_force_n",
    "pretension_n",
    "shaft_pull_n",
    "slip_pull_n",
    "strands_n",
    "wedged_friction",
]

Array = NDArray[np.float64]
Values = float | Array
"""A number, or an array of numbers that broadcasts against the others of the call."""


class Strands(NamedTuple):
    """Pulls of the two strands [N], the centrifugal one included."""

    tight_n: Array
    slack_n: Array


def pretension_n(
    power_kw: Values, speed_m_s: Values, arc_factor: Values, mass_kg_m: Values, duty: Values = 1.0
) -> Array:
    """Return the pull of each strand of one V-belt at rest [N], ``500·(2.5 − Ca)·P·Cp/(Ca·v) + m·v²``.

    Source: GOST 1284.3-96, equation 16 (read).

    Parameters
    ----------
    power_kw
        Power that the belt carries [kW].
    speed_m_s
        Belt speed [m/s], above 0.
    arc_factor
        Factor of the arc of contact, 1 at half a turn.
    mass_kg_m
        Mass of the belt [kg/m].
    duty
        Duty factor.

    Raises
    ------
    ValueError
        Speed or arc factor is not above 0.

    Examples
    --------
    0.75 kW at 10 m/s over half a turn of section A: 56 N and 10 N for the belt's own mass.

    >>> round(float(pretension_n(0.75, 10.0, 1.0, 0.10)), 2)
    66.25
    """
    if np.any(np.less_equal(speed_m_s, 0)) or np.any(np.less_equal(arc_factor, 0)):
        raise ValueError("speed and arc factor must be above 0")
    pull = 500 * np.subtract(2.5, arc_factor) * np.multiply(power_kw, duty) / np.multiply(arc_factor, speed_m_s)
    return np.asarray(pull + centrifugal_pull_n(mass_kg_m, speed_m_s))


def needed_pull_n(power_kw: Values, speed_m_s: Values, arc_factor: Values, duty: Values = 1.0) -> Array:
    """Return what must pull on both strands of a V-belt together for it to carry a power [N], ``2·(F0 − m·v²)``.

    It is what a hung motor's weight or a spring must give along the belt; F0 by `pretension_n`. The belt's own mass
    is left out: it stretches the belt, but presses it to no pulley.

    Examples
    --------
    0.75 kW at 10 m/s over half a turn: 75 N of difference ask for one and a half times that.

    >>> float(needed_pull_n(0.75, 10.0, 1.0))
    112.5
    """
    return np.asarray(2 * pretension_n(power_kw, speed_m_s, arc_factor, 0.0, duty))


def strands_n(pretension: Values, power_kw: Values, speed_m_s: Values) -> Strands:
    """Return the pulls of both strands of a belt on fixed centres: their sum stays twice the pretension.

    ``F1 − F2 = P/v``, ``F1 + F2 = 2·F0``; a slack side that would push instead of pull is 0, and the belt then slips.

    Examples
    --------
    The difference times the speed returns the power:

    >>> tight, slack = strands_n(150.0, 0.75, 10.0)
    >>> float(tight), float(slack), float((tight - slack) * 10.0 / 1000)
    (187.5, 112.5, 0.75)
    """
    half = np.multiply(power_kw, 1000) / np.multiply(2, speed_m_s)
    slack = np.maximum(np.subtract(pretension, half), 0.0)
    return Strands(np.asarray(slack + 2 * half), np.asarray(slack))


def wedged_friction(friction: Values, groove_deg: Values) -> Array:
    """Return the friction as a groove of an angle raises it, ``μ/sin(α/2)``; α = 180 degrees is a flat rim.

    Source: any text on machine elements, such as Khurmi, Gupta, Theory of Machines, ch. 11.

    Examples
    --------
    >>> round(float(wedged_friction(0.3, 38)), 3), float(wedged_friction(0.3, 180))
    (0.921, 0.3)
    """
    return np.asarray(np.divide(friction, np.sin(np.radians(np.divide(groove_deg, 2)))))


def slip_pull_n(
    power_kw: Values, speed_m_s: Values, friction: Values, wrap_deg: Values, mass_kg_m: Values = 0.0
) -> Strands:
    """Return the least pulls at which a belt carries a power without slipping.

    ``(F1 − Fc)/(F2 − Fc) = exp(μ·θ)`` and ``F1 − F2 = P/v``; in a groove μ is the `wedged_friction`.

    Examples
    --------
    1 kW at 10 m/s over half a turn at μ = 0.512, where exp(μθ) = 5: 125 N against 25 N.

    >>> tight, slack = slip_pull_n(1.0, 10.0, 1.609438 / 3.14159265, 180.0)
    >>> round(float(tight), 3), round(float(slack), 3)
    (125.0, 25.0)
    """
    pull = np.multiply(power_kw, 1000) / np.asarray(speed_m_s)
    grows = np.exp(np.multiply(friction, np.radians(wrap_deg)))
    own = centrifugal_pull_n(mass_kg_m, speed_m_s)
    slack = pull / np.maximum(grows - 1, 1e-12) + own
    return Strands(np.asarray(slack + pull), np.asarray(slack))


def shaft_pull_n(tight_n: Values, slack_n: Values, wrap_deg: Values) -> Array:
    """Return the pull of both strands together on a shaft [N], ``sqrt(F1² + F2² − 2·F1·F2·cos θ)``.

    Source: the law of cosines; θ is the arc of contact on that shaft's pulley. With pulls that have their centrifugal
    part in them it is a little more than the shaft feels: the safe side.

    Examples
    --------
    >>> float(shaft_pull_n(200.0, 100.0, 180.0)), round(float(shaft_pull_n(200.0, 100.0, 120.0)), 1)
    (300.0, 264.6)
    """
    one, other = np.asarray(tight_n), np.asarray(slack_n)
    return np.asarray(np.sqrt(one**2 + other**2 - 2 * one * other * np.cos(np.radians(wrap_deg))))


def bends_per_second(speed_m_s: Values, length_mm: Values, pulleys: int = 2) -> Array:
    """Return how often a place of the belt is bent in a second [1/s], ``pulleys·v/L``.

    Examples
    --------
    >>> float(bends_per_second(10.0, 1000.0))
    20.0
    """
    return np.asarray(np.multiply(speed_m_s, 1000 * pulleys) / np.asarray(length_mm))


def pressing_force_n(pull_n: Values, share: float = 1 / 64) -> Array:
    """Return the force that presses the middle of a free strand in by a share of its length [N], ``4·F·share``.

    The strand's two halves lean by twice the share; their stiffness and the stretch are left out. One in 64 is common
    practice, no source.

    Examples
    --------
    >>> float(pressing_force_n(160.0))
    10.0
    """
    return np.asarray(np.multiply(4 * share, pull_n))
