"""The line along which a taut belt runs round two circles: two tangents, two arcs."""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, radians, sin, sqrt
from typing import NamedTuple

from optimizer.drawing.sheet import Point

__all__ = ["BeltPath", "PathArc", "Round", "belt_path", "belt_side"]


class Round(NamedTuple):
    """A circle that the belt runs on."""

    centre: Point
    radius_mm: float


class PathArc(NamedTuple):
    """Where the belt lies on a circle, counter-clockwise from one direction to the other."""

    centre: Point
    radius_mm: float
    start_deg: float
    end_deg: float

    @property
    def length_mm(self) -> float:
        """Its length [mm]."""
        return self.radius_mm * radians(self.end_deg - self.start_deg)

    def at(self, direction_deg: float) -> Point:
        """Return the point of the circle in a direction from its centre."""
        turn = radians(direction_deg)
        return self.centre[0] + self.radius_mm * cos(turn), self.centre[1] + self.radius_mm * sin(turn)


class BeltPath(NamedTuple):
    """A closed line: both straight lengths from driver to driven, both arcs."""

    strands: tuple[tuple[Point, Point], tuple[Point, Point]]
    """The strand left of the way from driver to driven where it leaves the driver, then the other one."""
    driver: PathArc
    driven: PathArc

    @property
    def length_mm(self) -> float:
        """Length all the way round [mm]."""
        straight = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in self.strands)
        return straight + self.driver.length_mm + self.driven.length_mm


def belt_path(driver: Round, driven: Round, crossed: bool = False) -> BeltPath:
    """Return the line of a taut belt, exactly tangent to both circles.

    With ``C`` the distance of the centres, ``θ`` the direction from driver to driven, ``s = r`` for an open belt and
    ``s = −r`` for a crossed one, the tangents touch the driver in the directions ``θ ± α`` from its centre, where
    ``cos α = (R − s)/C``, and the driven circle in the same directions (open) or in those across from them (crossed).

    Parameters
    ----------
    driver, driven
        The circles: centres on the page or on the bench, radii of the line the belt runs along [mm].
    crossed
        Whether the belt runs crossed.

    Raises
    ------
    ValueError
        No belt goes round: one circle holds the other, or a crossed belt's circles overlap.

    Examples
    --------
    Two circles of radius 50, 300 apart: tangents at y = ±50, and 600 + 2π·50 of belt.

    >>> path = belt_path(Round((0, 0), 50), Round((300, 0), 50))
    >>> [[round(x, 9) + 0.0 for x in point] for point in path.strands[0]]
    [[0.0, 50.0], [300.0, 50.0]]
    >>> path.driver.start_deg, path.driver.end_deg, round(path.length_mm, 4)
    (90.0, 270.0, 914.1593)

    T. H. Wentzell, Machine Design (2007), example 14.2, p. 310: a 54 in belt, sheaves of 4 and 6 in, 19.12 in apart,
    174.0° of wrap on the smaller one.

    >>> path = belt_path(Round((0, 0), 2), Round((19.12, 0), 3))
    >>> round(path.length_mm, 2), round(path.driver.end_deg - path.driver.start_deg, 1)
    (54.0, 174.0)
    """
    along = driven.centre[0] - driver.centre[0], driven.centre[1] - driver.centre[1]
    apart = hypot(*along)
    facing = -driven.radius_mm if crossed else driven.radius_mm
    step = driver.radius_mm - facing
    if apart <= abs(step):
        raise ValueError(
            f"no {'crossed' if crossed else 'open'} belt goes round circles of radius {driver.radius_mm:.6g} and "
            f"{driven.radius_mm:.6g} mm that are {apart:.6g} mm apart"
        )
    way = degrees(atan2(along[1], along[0]))
    lean = degrees(atan2(sqrt((apart - step) * (apart + step)), step))
    on_driver = PathArc(*driver, way + lean, way - lean + 360)
    around = (way - 180 + lean, way + 180 - lean) if crossed else (way - lean, way + lean)
    on_driven = PathArc(*driven, *around)
    left = on_driver.at(way + lean), on_driven.at(way + lean + 180 * crossed)
    right = on_driver.at(way - lean), on_driven.at(way - lean + 180 * crossed)
    return BeltPath((left, right), on_driver, on_driven)


def belt_side(path: BeltPath, out_mm: float) -> BeltPath:
    """Return the line of a belt's top (above 0) or bottom (below 0), so far outside the line it runs along.

    Between the pulleys a crossed belt turns half round, so that its sides cross too.

    Raises
    ------
    ValueError
        The bottom would lie beyond a centre.

    Examples
    --------
    A closed belt turns once about itself, so a line 3 mm outside an open one is 2π·3 mm longer:

    >>> path = belt_path(Round((0, 0), 30), Round((200, 0), 60))
    >>> round(belt_side(path, 3.0).length_mm - path.length_mm, 9) == round(2 * 3.141592653589793 * 3.0, 9)
    True
    """
    if min(path.driver.radius_mm, path.driven.radius_mm) + out_mm <= 0:
        raise ValueError(f"the belt is thicker than a pulley is: {-out_mm:.6g} mm inside of its line")
    arcs = [arc._replace(radius_mm=arc.radius_mm + out_mm) for arc in (path.driver, path.driven)]
    strands = []
    for strand in path.strands:
        ends = [_outward(arc, point, out_mm) for arc, point in zip((path.driver, path.driven), strand, strict=True)]
        strands.append((ends[0], ends[1]))
    return BeltPath((strands[0], strands[1]), arcs[0], arcs[1])


def _outward(arc: PathArc, point: Point, out_mm: float) -> Point:
    """Return the place so far outside a point of a circle."""
    share = 1 + out_mm / arc.radius_mm
    return (
        arc.centre[0] + (point[0] - arc.centre[0]) * share,
        arc.centre[1] + (point[1] - arc.centre[1]) * share,
    )
