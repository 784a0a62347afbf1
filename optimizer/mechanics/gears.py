"""Torque of a shaft that turns."""

from __future__ import annotations

from math import pi

__all__ = ["torque_nm"]


def torque_nm(power_kw: float, rpm: float) -> float:
    """Return the torque of a shaft [N·m] that passes on a power, ``P/ω``.

    Raises
    ------
    ValueError
        The shaft does not turn.

    Examples
    --------
    0.55 kW at 46.5 rpm, behind a reducer:

    >>> round(torque_nm(0.55, 46.5), 1)
    112.9
    """
    if rpm <= 0:
        raise ValueError("a shaft that does not turn passes on no power")
    return power_kw * 1000 * 60 / (2 * pi * rpm)
