"""Where shafts, belts, hinges, obstacles of a layout stand and run, and what of the bench is shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import atan2, cos, degrees, hypot, pi, radians, sin, sqrt
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.stands import Stands, When, belts_of_mounts, choices, pivot_of, stands_of
from optimizer.checks.stated import Machine
from optimizer.drawing.placing import Room
from optimizer.drawing.sheet import Point
from optimizer.scenario import BeltStage
from optimizer.scenario.around import Obstacle
from optimizer.scenario.mounts import carried

__all__ = [
    "ENDS",
    "At",
    "BeltPath",
    "DrawnStands",
    "PathArc",
    "Round",
    "Stood",
    "apart_mm",
    "belt_path",
    "belt_side",
    "clipped",
    "drawn_stands",
    "outline",
    "view_of",
]

Floats = NDArray[np.float64]
End = Literal["belt on", "worn out"]
ENDS: tuple[End, ...] = ("belt on", "worn out")
ROUND_PARTS = 72
"""Straight lines that stand for a circle where it is cut off."""
GEAR_GAP_MM, LEAST_GEAR_MM = 20.0, 80.0
"""Gap of rims, least distance of shafts, where a fixed ratio joins shafts whose places are not stated."""
AROUND_MM = 10.0
"""View around hinges and bare shafts."""
NEAR_MM, NEAR = 60.0, 0.35
"""How far beyond the shafts obstacles are drawn, at least and as a share of the shafts' own room."""


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


class At(NamedTuple):
    """One way in which the machine is drawn."""

    positions: tuple[int, ...]
    """Position of every belt stage, counted from 0, motor first."""
    stage: int | None = None
    """The belt stage whose mount stands at an end of travel; nothing where all belts run."""
    end: End | None = None


class Stood(NamedTuple):
    """Where everything stands then [mm]."""

    shafts: Mapping[str, Point]
    hinges: Mapping[str, Point]
    """By the shaft that turns about them."""
    obstacles: tuple[tuple[Point, ...], ...]
    """Corners of each, or the middle of a round one."""


@dataclass(frozen=True)
class DrawnStands:
    """Everything a layout places."""

    machine: Machine
    stated: bool
    """Whether the places are those that the maker states."""
    why: str
    """Why they are not."""
    movers: Mapping[int, str]
    """For every belt stage with travel, the shaft of it that moves."""
    stood: Mapping[At, Stood]

    def obstacles(self) -> tuple[Obstacle, ...]:
        """Return the obstacles that are placed."""
        return self.machine.scenario.obstacles if self.stated else ()


def drawn_stands(machine: Machine) -> DrawnStands:
    """Return where everything stands at every combination of positions, as stated, else along a line.

    Where a place that is needed is not stated, the shafts stand side by side along a line, motor on the left, every
    belt at its own centre distance.

    Raises
    ------
    ValueError
        A belt does not go round.
    """
    if not all(pair.fits for pair in machine.pairs):
        raise ValueError("a belt does not go round at every position")
    ways = list(_ways(machine))
    movers = _movers(machine)
    why = "places not stated"
    if all(machine.scenario.shaft(name).at_mm for name in _names(machine)):
        stands = stands_of(machine)
        found = stands if isinstance(stands, str) else _as_stated(machine, stands, ways)
        if not isinstance(found, str):
            return DrawnStands(machine, True, "", movers, found)
        why = f"places not known ({found})"
    return DrawnStands(machine, False, why, movers, _on_a_line(machine, ways))


def rim_mm(machine: Machine, shaft: str) -> float:
    """Return the largest radius of what turns with a shaft, its belts included [mm]."""
    reach = [(machine.scenario.shaft(shaft).diameter_mm or 0.0) / 2]
    for pair in machine.pairs:
        above = pair.section.datum_depth_mm - pair.section.pitch_shift_mm / 2
        for cone in (pair.driver, pair.driven):
            if cone.shaft.name == shaft:
                reach += [size / 2 for size in cone.outside_mm] + [size / 2 + above for size in cone.pitch_mm]
    return max(reach)


def _names(machine: Machine) -> tuple[str, ...]:
    chain = machine.scenario.chain
    return chain[0].from_shaft, *(stage.to_shaft for stage in chain)


def _ways(machine: Machine) -> Iterator[At]:
    for positions in filter(machine.can_be, product(*(pair.positions for pair in machine.pairs))):
        yield At(positions)
        for number, pair in enumerate(machine.pairs):
            if pair.stage.moves:
                yield from (At(positions, number, end) for end in ENDS)


def _movers(machine: Machine) -> dict[int, str]:
    """Return the shaft of every stage that its own mount moves; the driven one where that is not known."""
    owners, _ = belts_of_mounts(machine)
    found = {}
    for number, pair in enumerate(machine.pairs):
        if pair.stage.moves:
            mount = owners.get(pair.key)
            moved = carried(machine.scenario.shafts, mount) if mount else frozenset({pair.stage.to_shaft})
            found[number] = pair.stage.from_shaft if pair.stage.from_shaft in moved else pair.stage.to_shaft
    return found


def _when(way: At, number: int) -> tuple[int, When]:
    """Return how one belt stage stands: its position, whether it runs."""
    return way.positions[number], way.end if way.stage == number and way.end else "running"


def _as_stated(machine: Machine, stands: Stands, ways: list[At]) -> dict[At, Stood] | str:
    """Return all places, or which one is not known."""
    names = _names(machine)
    for name in names:
        if name in stands.unknown:
            return f"{name}: {stands.unknown[name]}"
    rows = {tuple((s.position, s.when) for s in state): row for row, state in enumerate(stands.states)}
    shafts = {name: stands.shaft(machine.scenario.shaft(name)) for name in names}
    if any(np.isnan(places).any() for places in shafts.values()):
        return "a mount does not reach where its belt needs it"
    hinges = {}
    for name in names:
        shaft = machine.scenario.shaft(name)
        pivot = pivot_of(shaft)
        if shaft.mount == "hinge" and pivot is not None:
            hinges[name] = _moved(stands, shaft.on, (pivot,))
    outlines = [_moved(stands, obstacle.on, _outline(obstacle)) for obstacle in machine.scenario.obstacles]
    found = {}
    for way in ways:
        row = rows[tuple(_when(way, number) for number in range(len(machine.pairs)))]
        found[way] = Stood(
            {name: _point(places[row]) for name, places in shafts.items()},
            {name: _point(places[row, 0]) for name, places in hinges.items()},
            tuple(tuple(map(_point, places[row])) for places in outlines),
        )
    return found


def _moved(stands: Stands, on: str | None, points: tuple[Point, ...]) -> Floats:
    """Return where points stand that the frame or a mount carries, `(states, n, 2)`."""
    still = np.array(points)
    frame = stands.frames.get(on or "")
    return np.broadcast_to(still, (len(stands.states), *still.shape)) if frame is None else frame.of(still)


def _outline(obstacle: Obstacle) -> tuple[Point, ...]:
    if obstacle.disc is not None:
        return (obstacle.disc.at_mm,)
    assert obstacle.box is not None
    (a, b), (c, d) = obstacle.box.from_mm, obstacle.box.to_mm
    return (a, b), (c, b), (c, d), (a, d)


def _point(place: Floats) -> Point:
    return float(place[0]), float(place[1])


def _on_a_line(machine: Machine, ways: list[At]) -> dict[At, Stood]:
    """Return the shafts side by side; one that stays where it is stands at the same place in every state."""
    centres = [{(s.position, s.when): s.centre_mm for s in choices(pair, ENDS)} for pair in machine.pairs]
    names = _names(machine)
    shafts = [machine.scenario.shaft(name) for name in names]
    still = [i for i, shaft in enumerate(shafts) if not shaft.slides and shaft.on is None]
    found = {}
    for way in ways:
        places = [0.0]
        numbers = iter(range(len(machine.pairs)))
        for stage in machine.scenario.chain:
            if isinstance(stage, BeltStage):
                number = next(numbers)
                running = machine.pairs[number].centres_mm
                middle = (min(running) + max(running)) / 2
                apart = centres[number][_when(way, number)] if stage.moves else middle
            else:
                rims = rim_mm(machine, stage.from_shaft) + rim_mm(machine, stage.to_shaft)
                apart = max(rims + GEAR_GAP_MM, LEAST_GEAR_MM)
            places.append(places[-1] + apart)
        origin = places[still[-1]] if still else 0.0
        found[way] = Stood({name: (place - origin, 0.0) for name, place in zip(names, places, strict=True)}, {}, ())
    return found


def outline(obstacle: Obstacle, corners: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return the corners of an obstacle where it stands, those of many short lines where it is round."""
    if obstacle.disc is None:
        return corners
    radius, ((x, y),) = obstacle.disc.diameter_mm / 2, corners
    turns = [2 * pi * part / ROUND_PARTS for part in range(ROUND_PARTS)]
    return tuple((x + radius * cos(turn), y + radius * sin(turn)) for turn in turns)


def apart_mm(stood: Stood, one: str, other: str) -> float:
    """Return how far two shafts stand apart [mm]."""
    (a, b), (c, d) = stood.shafts[one], stood.shafts[other]
    return hypot(c - a, d - b)


def view_of(stands: DrawnStands) -> Room:
    """Return what is drawn."""
    ways = list(stands.stood.values())
    x, y = next(iter(ways[0].shafts.values()))
    view = Room(x, y, x, y)
    reach = {name: max(rim_mm(stands.machine, name), AROUND_MM) for name in ways[0].shafts}
    for stood in ways:
        for name, at in stood.shafts.items():
            view = view.holding([at], reach[name])
        for at in stood.hinges.values():
            view = view.holding([at], AROUND_MM)
    near = view.grown(max(NEAR_MM, NEAR * max(view.width, view.height)))
    for stood in ways:
        for obstacle, corners in zip(stands.obstacles(), stood.obstacles, strict=True):
            if seen := clipped(outline(obstacle, corners), near):
                view = view.holding(seen)
    return view


def clipped(corners: Sequence[Point], view: Room) -> tuple[Point, ...]:
    """Return the corners of what of a convex outline lies in a rectangle, none where it lies outside.

    Cut along one edge after the other (Sutherland and Hodgman, 1974, from memory).

    Examples
    --------
    >>> clipped([(-5, 1), (5, 1), (5, 2), (-5, 2)], Room(0, 0, 10, 10))
    ((0.0, 1.0), (5, 1), (5, 2), (0.0, 2.0))
    """
    left: tuple[Point, ...] = tuple(corners)
    for axis, edge, way in ((0, view.left, 1), (0, view.right, -1), (1, view.low, 1), (1, view.high, -1)):
        left = tuple(_cut(left, axis, edge, way))
    return left


def _cut(corners: Sequence[Point], axis: int, edge: float, way: int) -> Iterator[Point]:
    """Yield the corners of an outline on one side of a level or upright line."""
    for number, here in enumerate(corners):
        before = corners[number - 1]
        inside = [(point[axis] - edge) * way >= 0 for point in (before, here)]
        if inside[0] != inside[1]:
            share = (edge - before[axis]) / (here[axis] - before[axis])
            x, y = (a + share * (b - a) for a, b in zip(before, here, strict=True))
            yield x, y
        if inside[1]:
            yield here
