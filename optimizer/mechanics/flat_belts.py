"""What a flat belt pulls and carries.

Every function takes plain floats or arrays that broadcast against each other.

Source: R. S. Khurmi, J. K. Gupta, Theory of Machines, ch. 11, whose examples stand below (data and printed answers by
a public notebook that works the book's examples); the law ``F1/F2 = exp(μθ)`` is Euler's and stands in any text on
machine elements.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["carried_power_w", "centrifugal_pull_n", "fastest_use_m_s", "tension_ratio"]

Values = float | NDArray[np.float64]
"""A number, or an array of numbers that broadcasts against the others of the call."""


def tension_ratio(friction: Values, wrap_rad: Values) -> Values:
    """Return the greatest ratio of tight to slack side before the belt slips, ``exp(μ·θ)``.

    Both pulls are less the centrifugal one.

    Parameters
    ----------
    friction
        Coefficient of friction μ between belt and rim.
    wrap_rad
        Arc of contact θ [rad].

    Examples
    --------
    Half a turn at μ = 0.3:

    >>> round(float(tension_ratio(0.3, 3.14159265)), 4)
    2.5663
    """
    return np.exp(np.multiply(friction, wrap_rad))


def centrifugal_pull_n(mass_kg_m: Values, speed_m_s: Values) -> Values:
    """Return the part of the pull that only bends the belt's own mass round the pulley, ``m·v²`` [N].

    Parameters
    ----------
    mass_kg_m
        Mass of the belt [kg/m].
    speed_m_s
        Belt speed [m/s].

    Examples
    --------
    Khurmi, Gupta, example 11.11, p. 351: 0.9 kg/m on a pulley of 1.2 m at 200 rpm:

    >>> round(float(centrifugal_pull_n(0.9, 3.14159265 * 1.2 * 200 / 60)), 1)
    142.1
    """
    return np.multiply(mass_kg_m, np.square(speed_m_s))


def carried_power_w(
    pull_n: Values, friction: Values, wrap_rad: Values, speed_m_s: Values, mass_kg_m: Values = 0.0
) -> Values:
    """Return the power at which the belt begins to slip, ``(F − m·v²)·(1 − exp(−μ·θ))·v`` [W].

    Parameters
    ----------
    pull_n
        Greatest pull F that the belt may bear on its tight side [N].
    friction, wrap_rad
        As in `tension_ratio`.
    speed_m_s
        Belt speed [m/s].
    mass_kg_m
        Mass of the belt [kg/m]; 0 leaves the centrifugal pull out.

    Returns
    -------
    Power [W]; negative where the belt is so fast that it only bears itself.

    Examples
    --------
    Khurmi, Gupta, example 11.6, p. 344, prints 2.73 kW: 1000 N, μ = 0.25, wrap 3.4765, 200 rpm on 0.45 m:

    >>> round(float(carried_power_w(1000, 0.25, 3.476489, 3.14159265 * 0.45 * 200 / 60)))
    2736
    """
    share = 1 - 1 / tension_ratio(friction, wrap_rad)
    return np.subtract(pull_n, centrifugal_pull_n(mass_kg_m, speed_m_s)) * share * speed_m_s


def fastest_use_m_s(pull_n: Values, mass_kg_m: Values) -> Values:
    """Return the belt speed of the greatest power, at which a third of the pull is centrifugal, ``sqrt(F/(3m))`` [m/s].

    Parameters
    ----------
    pull_n
        Greatest pull that the belt may bear [N].
    mass_kg_m
        Mass of the belt [kg/m].

    Examples
    --------
    Khurmi, Gupta, example 11.10, p. 350, prints 25.82 m/s: 100 by 6 mm, 2 MPa, 1000 kg/m³:

    >>> round(float(fastest_use_m_s(1200, 0.6)), 2)
    25.82
    """
    return np.sqrt(np.divide(pull_n, np.multiply(3, mass_kg_m)))
