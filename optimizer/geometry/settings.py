"""Centre distance of a belt as a function of the setting of the mount that one of its shafts rides on.

A *setting* is how far a mount is moved from where it was stated [mm]: along its line for a slide, as the arc that the
mount's own axis runs for a hinge. All functions take floats or arrays.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, hypot, pi, radians, sin
from typing import Self

import numpy as np
from numpy.typing import NDArray

__all__ = ["Path", "Slide", "Swing", "slide_past", "swing_past"]

Figures = NDArray[np.float64] | float
Point = tuple[float, float]


@dataclass(frozen=True)
class Slide:
    """A shaft that moves along a line past one that stands still.

    Examples
    --------
    >>> path = Slide(along_mm=300.0, across_mm=400.0)
    >>> float(path.centre_mm(0.0)), path.grows, path.span_mm
    (500.0, True, (400.0, inf))
    >>> round(float(path.setting_mm(path.centre_mm(25.0))), 9)
    25.0
    """

    along_mm: float
    """How far past the point of its line that lies nearest to the other shaft it stands at setting 0."""
    across_mm: float
    """How far that point lies from the other shaft."""

    @property
    def grows(self) -> bool:
        """Whether the centre distance grows with the setting, on this side of the nearest point."""
        return self.along_mm > 0

    @property
    def span_mm(self) -> tuple[float, float]:
        """Least and greatest centre distance up to where it turns round."""
        return self.across_mm, float("inf")

    @property
    def steepest(self) -> float:
        """The most that the centre distance ever changes with the setting: no faster than the shaft moves."""
        return 1.0

    def reversed(self) -> Self:
        """Return the path with settings counted the other way."""
        return replace(self, along_mm=-self.along_mm)

    def centre_mm(self, setting_mm: Figures) -> NDArray[np.float64]:
        """Return the centre distance ``sqrt(across² + (along + s)²)`` [mm]."""
        return np.hypot(self.across_mm, self.along_mm + np.asarray(setting_mm))

    def setting_mm(self, centre_mm: Figures) -> NDArray[np.float64]:
        """Return the setting of a centre distance, on this side of the nearest point; of nearer ones that point's."""
        root = np.sqrt(np.maximum(np.asarray(centre_mm) ** 2 - self.across_mm**2, 0.0))
        return np.asarray((root if self.grows else -root) - self.along_mm)

    def slope(self, setting_mm: Figures) -> NDArray[np.float64]:
        """Return how much the centre distance grows with the setting, ``dC/ds``."""
        return np.asarray((self.along_mm + np.asarray(setting_mm)) / np.maximum(self.centre_mm(setting_mm), 1e-9))


@dataclass(frozen=True)
class Swing:
    """A shaft that turns about a hinge past one that stands still.

    Examples
    --------
    Arms of 300 mm and 400 mm at a right angle; the mount's axis is the shaft's own:

    >>> path = Swing(arm_mm=300.0, other_mm=400.0, angle_rad=pi / 2, radius_mm=300.0)
    >>> round(float(path.centre_mm(0.0)), 9), path.grows, path.span_mm
    (500.0, True, (100.0, 700.0))
    >>> round(float(path.setting_mm(path.centre_mm(-40.0))), 9)
    -40.0
    """

    arm_mm: float
    """From the hinge to the shaft that turns."""
    other_mm: float
    """From the hinge to the one that stands still."""
    angle_rad: float
    """Angle from the still one's arm to the other's at setting 0, between -pi and pi."""
    radius_mm: float
    """From the hinge to the mount's own axis, whose arc the setting is."""

    @property
    def grows(self) -> bool:
        """Whether the centre distance grows with the setting, on this side of the line through hinge and shaft."""
        return self.angle_rad > 0

    @property
    def span_mm(self) -> tuple[float, float]:
        """Least and greatest centre distance, between which it does not turn round."""
        return abs(self.arm_mm - self.other_mm), self.arm_mm + self.other_mm

    @property
    def steepest(self) -> float:
        """The most that the centre distance ever changes with the setting: its line passes the hinge no farther."""
        return min(self.arm_mm, self.other_mm) / self.radius_mm

    def reversed(self) -> Self:
        """Return the path with settings counted the other way."""
        return replace(self, angle_rad=-self.angle_rad)

    def centre_mm(self, setting_mm: Figures) -> NDArray[np.float64]:
        """Return the centre distance ``sqrt(a² + b² − 2ab·cos(γ + s/r))`` [mm]."""
        a, b = self.arm_mm, self.other_mm
        half = (self.angle_rad + np.asarray(setting_mm) / self.radius_mm) / 2
        return np.asarray(np.sqrt((a - b) ** 2 + 4 * a * b * np.sin(half) ** 2))

    def setting_mm(self, centre_mm: Figures) -> NDArray[np.float64]:
        """Return the setting of a centre distance on this side; beyond its span that of the nearer end."""
        a, b = self.arm_mm, self.other_mm
        share = (np.asarray(centre_mm) ** 2 - (a - b) ** 2) / max(4 * a * b, 1e-12)
        angle = 2 * np.arcsin(np.sqrt(np.clip(share, 0.0, 1.0)))
        return np.asarray(((angle if self.grows else -angle) - self.angle_rad) * self.radius_mm)

    def slope(self, setting_mm: Figures) -> NDArray[np.float64]:
        """Return how much the centre distance grows with the setting, ``dC/ds = ab·sin(γ + s/r)/(r·C)``."""
        angle = self.angle_rad + np.asarray(setting_mm) / self.radius_mm
        centre = np.maximum(self.centre_mm(setting_mm), 1e-9)
        return np.asarray(self.arm_mm * self.other_mm * np.sin(angle) / self.radius_mm / centre)


Path = Slide | Swing


def slide_past(moved: Point, other: Point, direction_deg: float) -> Slide:
    """Return the path of a shaft that slides along a direction, turned from x toward y.

    Examples
    --------
    >>> path = slide_past((300.0, 40.0), (0.0, 0.0), 0.0)
    >>> path.along_mm, path.across_mm
    (300.0, 40.0)
    """
    x, y = moved[0] - other[0], moved[1] - other[1]
    along, up = cos(radians(direction_deg)), sin(radians(direction_deg))
    return Slide(along_mm=x * along + y * up, across_mm=abs(y * along - x * up))


def swing_past(moved: Point, other: Point, hinge: Point, axis: Point) -> Swing:
    """Return the path of a shaft that turns about a hinge, from x toward y, with the mount whose axis is given.

    Examples
    --------
    >>> path = swing_past((0.0, 300.0), (400.0, 0.0), (0.0, 0.0), (0.0, 300.0))
    >>> path.arm_mm, path.other_mm, path.angle_rad == pi / 2, path.radius_mm
    (300.0, 400.0, True, 300.0)
    """
    arms = [(point[0] - hinge[0], point[1] - hinge[1]) for point in (moved, other)]
    turn = atan2(arms[0][1], arms[0][0]) - atan2(arms[1][1], arms[1][0])
    return Swing(
        arm_mm=hypot(*arms[0]),
        other_mm=hypot(*arms[1]),
        angle_rad=(turn + pi) % (2 * pi) - pi,
        radius_mm=hypot(axis[0] - hinge[0], axis[1] - hinge[1]),
    )
