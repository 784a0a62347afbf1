"""The V of a groove: where pins and belts lie in it, how wide it is at its bottom.

Plain floats; diameters are those of the pulley, the angle is the one between the flanks.
"""

from __future__ import annotations

from math import cos, radians, sin, tan

__all__ = ["floor_width_mm", "over_pins_mm", "running_shift_mm", "seat_below_mm"]


def over_pins_mm(rim_mm: float, top_width_mm: float, angle_deg: float, pin_mm: float) -> float:
    """Return the size over two pins that lie on the flanks on opposite sides of the pulley [mm].

    ``K = D − w/tan(α/2) + p/sin(α/2) + p``: the middle of a pin lies where its distance from both flanks is its
    radius. Source: geometry of a circle between two tangents.

    Parameters
    ----------
    rim_mm
        Diameter D at which the groove is measured [mm].
    top_width_mm
        Width w of the groove there [mm].
    angle_deg
        Angle α between the flanks [°].
    pin_mm
        Diameter p of the pins [mm].

    Examples
    --------
    GOST 20889-88 (read) for section A: 11 mm wide at the datum diameter, 12 mm pins, size over them = datum + 17.0
    at every angle, which is the exact figure to 0.1 mm:

    >>> [round(over_pins_mm(100, 11, angle, 12) - 100, 2) for angle in (34, 36, 38)]
    [17.06, 16.98, 16.91]
    """
    half = radians(angle_deg) / 2
    return rim_mm - top_width_mm / tan(half) + pin_mm / sin(half) + pin_mm


def seat_below_mm(top_width_mm: float, angle_deg: float, pin_mm: float) -> float:
    """Return how far below the rim a pin touches the flanks; below 0 it does not touch them at all [mm].

    ``(w − p·cos(α/2))/(2·tan(α/2))``. Source: geometry.

    Examples
    --------
    >>> round(seat_below_mm(13.02, 34, 12), 2)
    2.53
    """
    half = radians(angle_deg) / 2
    return (top_width_mm / 2 - pin_mm / 2 * cos(half)) / tan(half)


def floor_width_mm(top_width_mm: float, angle_deg: float, depth_mm: float) -> float:
    """Return the width of the groove at its bottom, 0 where the flanks meet above it [mm].

    ``w − 2·depth·tan(α/2)``.

    Examples
    --------
    >>> round(floor_width_mm(13.018, 34, 12), 2)
    5.68
    """
    return max(top_width_mm - 2 * depth_mm * tan(radians(angle_deg) / 2), 0.0)


def running_shift_mm(too_wide_mm: float, angle_deg: float) -> float:
    """Return by how much the running diameter falls where a groove is wider than it should be [mm].

    ``w/tan(α/2)``: the belt sinks until its sides find their width again. Source: geometry.

    Examples
    --------
    A groove of 34° cut 0.2 mm too wide:

    >>> round(running_shift_mm(0.2, 34), 2)
    0.65
    """
    return too_wide_mm / tan(radians(angle_deg) / 2)
