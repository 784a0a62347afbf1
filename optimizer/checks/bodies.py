"""Everything that takes up room around a machine: steps, belts, shafts, obstacles, in every state."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.seats import Seat, cone_span_mm, seats_of
from optimizer.checks.stands import Stands
from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.geometry.plane import strands_of
from optimizer.scenario.around import Obstacle

__all__ = ["Body", "Thing", "things_of"]

Floats = NDArray[np.float64]


class Body(NamedTuple):
    """A part of a thing: all points within a radius of a core, from one place along the shafts to another."""

    core_mm: Floats
    """`(states, n, 2)`: one point, a line, or an outline."""
    radius_mm: Floats
    """`(states,)` or one figure."""
    low_mm: Floats
    high_mm: Floats


@dataclass(frozen=True)
class Thing:
    """Something that others must keep clear of."""

    kind: Literal["cone", "belt", "shaft", "obstacle"]
    where: str
    """Place in the scenario, or the shaft's name."""
    name: str
    """What a paper calls it."""
    shafts: frozenset[str]
    """The shafts it sits on, or is."""
    placed: bool
    """Whether it is known where along the shafts it is."""
    bodies: tuple[Body, ...]
    stages: frozenset[str] = frozenset()
    """Keys of the stages that it belongs to."""


def things_of(machine: Machine, stands: Stands) -> Iterator[Thing]:
    """Yield every cone, belt, shaft, obstacle whose place across the shafts is known."""
    making = machine.scenario.making
    spans: dict[str, list[tuple[float, float]]] = {}
    stages: dict[str, set[str]] = {}
    for number, pair in enumerate(machine.pairs):
        seats = {
            side: seats_of(cone, pair, making) for side, cone in (("driver", pair.driver), ("driven", pair.driven))
        }
        for name in (pair.stage.from_shaft, pair.stage.to_shaft):
            stages.setdefault(name, set()).add(pair.key)
        for cone in pair.cones:
            side = cone.key.rpartition(".")[2]
            span = cone_span_mm(seats[side])
            if span is not None:
                spans.setdefault(cone.shaft.name, []).append(span)
            if cone.shaft.name not in stands.unknown:
                yield _cone(stands, cone, seats[side], (pair.key, f"{side} of stage {number + 1}"))
        if not {pair.stage.from_shaft, pair.stage.to_shaft} & stands.unknown.keys():
            yield _belt(stands, pair, number, (seats["driver"], seats["driven"]))
    yield from _shafts(machine, stands, spans, stages)
    for index, obstacle in enumerate(machine.scenario.obstacles):
        if obstacle.on not in stands.unknown:
            yield _obstacle(stands, obstacle, f"obstacle[{index}]")


def _shafts(
    machine: Machine, stands: Stands, spans: dict[str, list[tuple[float, float]]], stages: dict[str, set[str]]
) -> Iterator[Thing]:
    """Yield every shaft that carries a cone, as far as cones and bearings reach."""
    for shaft in machine.scenario.shafts:
        if shaft.name in spans and shaft.diameter_mm is not None and shaft.name not in stands.unknown:
            reach = [*spans[shaft.name], getattr(shaft, "bearings_mm", None) or spans[shaft.name][0]]
            low, high = min(min(span) for span in reach), max(max(span) for span in reach)
            body = Body(stands.shaft(shaft)[:, None, :], np.array(shaft.diameter_mm / 2), np.array(low), np.array(high))
            own = frozenset({shaft.name})
            yield Thing("shaft", shaft.name, f"shaft {shaft.name}", own, True, (body,), frozenset(stages[shaft.name]))


def _cone(stands: Stands, cone: Cone, seats: tuple[Seat, ...], words: tuple[str, str]) -> Thing:
    core = stands.shaft(cone.shaft)[:, None, :]
    bodies = tuple(Body(core, np.array(seat.outside_mm / 2), *_along(seat.place_mm, seat.width_mm)) for seat in seats)
    placed = seats[0].place_mm is not None
    return Thing("cone", cone.key, words[1], frozenset({cone.shaft.name}), placed, bodies, frozenset({words[0]}))


def _belt(stands: Stands, pair: Pair, number: int, seats: tuple[tuple[Seat, ...], tuple[Seat, ...]]) -> Thing:
    """Return a belt: its two strands, and what of it lies around the pulleys, on the position of each state."""
    chosen = np.array([state[number].position for state in stands.states])
    sizes = np.array(pair.driver.pitch_mm)[chosen], np.array(pair.driven.pitch_mm)[chosen]
    at = stands.shaft(pair.driver.shaft), stands.shaft(pair.driven.shaft)
    section = pair.section
    above = section.datum_depth_mm - section.pitch_shift_mm / 2
    thick = np.array(max(above, section.height_mm - above))
    ends = [[_along(row[p].place_mm, section.top_mm) for p in pair.positions] for row in seats]
    low = np.array([min(a[0], b[0]) for a, b in zip(*ends, strict=True)])[chosen]
    high = np.array([max(a[1], b[1]) for a, b in zip(*ends, strict=True)])[chosen]
    bodies = [Body(core, thick, low, high) for core in strands_of(at[0], at[1], sizes[0], sizes[1], pair.crossed)]
    bodies += [Body(at[i][:, None, :], sizes[i] / 2 + above, low, high) for i in (0, 1)]
    placed = seats[0][0].place_mm is not None
    shafts = frozenset({pair.stage.from_shaft, pair.stage.to_shaft})
    return Thing("belt", pair.key, f"belt of stage {number + 1}", shafts, placed, tuple(bodies), frozenset({pair.key}))


def _obstacle(stands: Stands, obstacle: Obstacle, where: str) -> Thing:
    if obstacle.disc is not None:
        points, radius = np.array([obstacle.disc.at_mm]), obstacle.disc.diameter_mm / 2
    else:
        assert obstacle.box is not None
        (a, b), (c, d) = obstacle.box.from_mm, obstacle.box.to_mm
        points, radius = np.array([(a, b), (c, b), (c, d), (a, d)]), 0.0
    frame = stands.frames.get(obstacle.on or "")
    core = np.broadcast_to(points, (len(stands.states), *points.shape)) if frame is None else frame.of(points)
    low, high = obstacle.along_mm or (-np.inf, np.inf)
    body = Body(core, np.array(radius), np.array(low), np.array(high))
    shafts = frozenset({obstacle.on} if obstacle.on else ())
    return Thing("obstacle", where, obstacle.name, shafts, True, (body,))


def _along(place_mm: float | None, width_mm: float) -> tuple[Floats, Floats]:
    """Return from where to where something reaches along the shafts, everywhere where its place is not known."""
    if place_mm is None:
        return np.array(-np.inf), np.array(np.inf)
    return np.array(place_mm - width_mm / 2), np.array(place_mm + width_mm / 2)
