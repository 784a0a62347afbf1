"""Where shafts, hinges, obstacles stand on a layout: at every speed, with every mount at both ends of its travel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from math import cos, hypot, pi, sin
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.stands import Stands, When, belts_of_mounts, choices, pivot_of, stands_of
from optimizer.checks.stated import Machine
from optimizer.drawing.sheet import Point
from optimizer.scenario import BeltStage
from optimizer.scenario.around import Obstacle
from optimizer.scenario.mounts import carried

__all__ = ["ENDS", "At", "DrawnStands", "End", "Stood", "apart_mm", "drawn_stands", "outline", "rim_mm"]

Floats = NDArray[np.float64]
End = Literal["belt on", "worn out"]
ENDS: tuple[End, ...] = ("belt on", "worn out")
ROUND_PARTS = 72
"""Straight lines that stand for a circle where it is cut off."""
GEAR_GAP_MM, LEAST_GEAR_MM = 20.0, 80.0
"""Gap of rims, least distance of shafts, where a fixed ratio joins shafts whose places are not stated."""


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
