"""What is in the way of cones, belts and motor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.along import Seat, cone_span_mm, seats_of
from optimizer.checks.stands import Stand, Stands, stands_of
from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.verdict import Check, Rule, Skipped, at_least
from optimizer.geometry.plane import gap_of_cores_mm, strands_of
from optimizer.quantities.digits import first_least
from optimizer.scenario import FixedStage
from optimizer.scenario.around import LEAST_GAP_MM, Obstacle

__all__ = ["Body", "Gap", "Thing", "around_checks", "gap_kept", "gaps_of", "state_words", "things_of"]

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


NAME = "room around"
JUDGED = "this project's own judgement"
STATED = "stated by the maker"


class Gap(NamedTuple):
    """The least gap between two things over all states."""

    one: Thing
    other: Thing
    gap_mm: float
    """Below 0 where they overlap."""
    state: tuple[Stand, ...]
    """Where it is that small."""

    @property
    def placed(self) -> bool:
        """Whether both are known to lie where they do along the shafts; else they are taken to lie side by side."""
        return self.one.placed and self.other.placed


def around_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the checks of the places of shafts, and of all that shares room along the shafts."""
    scenario = machine.scenario
    if not any(shaft.at_mm for shaft in scenario.shafts):
        yield Skipped(name=NAME, where="shaft", why="no place of a shaft is stated (at)")
        return
    stands = stands_of(machine)
    if isinstance(stands, str):
        yield Skipped(name=NAME, where="shaft", why=stands)
        return
    yield from stands.checks
    for name, why in stands.unknown.items():
        yield Skipped(name=NAME, where=name, why=why)
    yield from _left_out(machine, stands)
    limit = gap_kept(machine)
    source = STATED if "least_gap_mm" in scenario.around.model_fields_set else JUDGED
    for gap in gaps_of(machine, stands):
        check = at_least(
            Rule(NAME, "limit", limit, "mm", source),
            gap.one.where,
            gap.gap_mm,
            f"{gap.one.name} to {gap.other.name}, least with {state_words(gap.state)}",
        )
        if gap.placed or check.passed:
            yield check
        else:
            yield Skipped(name=NAME, where=gap.one.where, why=_unplaced(gap))


def _left_out(machine: Machine, stands: Stands) -> Iterator[Skipped]:
    """Yield what is not held against anything for lack of data."""
    scenario = machine.scenario
    for stage in scenario.chain:
        if isinstance(stage, FixedStage):
            why = "what stands between the shafts of a fixed ratio is not stated"
            yield Skipped(name=NAME, where=scenario.place_of(stage), why=why)
    bare = [shaft.name for shaft in scenario.shafts if shaft.name not in stands.unknown and shaft.diameter_mm is None]
    for name in bare:
        yield Skipped(name=NAME, where=name, why="its diameter is not stated, so only what sits on it is looked at")
    for index, obstacle in enumerate(scenario.obstacles):
        if obstacle.on in stands.unknown:
            why = f"{obstacle.name} rides on {obstacle.on}, whose place is not known"
            yield Skipped(name=NAME, where=f"obstacle[{index}]", why=why)


def gap_kept(machine: Machine) -> float:
    """Return the gap that things must keep [mm]."""
    stated = machine.scenario.around.least_gap_mm
    return LEAST_GAP_MM if stated is None else stated


def gaps_of(machine: Machine, stands: Stands) -> Iterator[Gap]:
    """Yield the least gap of every two things that are not made to lie close, in the order of the machine."""
    for one, other in combinations(things_of(machine, stands), 2):
        if _strangers(one, other):
            least = np.full(len(stands.states), np.inf)
            for a in one.bodies:
                for b in other.bodies:
                    least = np.fmin(least, _gap(a, b))
            if np.isfinite(least).any():
                worst = first_least(least)
                yield Gap(one, other, float(least[worst]), stands.states[worst])


def state_words(state: tuple[Stand, ...]) -> str:
    """Return how the stages stand.

    Examples
    --------
    >>> state_words((Stand(0, "running", 250.0), Stand(2, "worn out", 300.0)))
    'stage 1 at position 1, stage 2 at position 3 worn out'
    """
    return ", ".join(
        f"stage {number} at position {stand.position + 1}{'' if stand.when == 'running' else ' ' + stand.when}"
        for number, stand in enumerate(state, 1)
    )


def _strangers(one: Thing, other: Thing) -> bool:
    """Tell whether two things must keep a gap: not where they share a shaft, face each other, or both stand still.

    Facing cones, and rims that face a shaft of their stage, have checks of their own; frame members hold shafts.
    """
    kinds = {one.kind, other.kind}
    if "obstacle" in kinds:
        return len(kinds) == 2 and "shaft" not in kinds
    if one.shafts & other.shafts or kinds == {"shaft"}:
        return False
    return not one.stages & other.stages


def _gap(one: Body, other: Body) -> Floats:
    """Return the gap of two bodies in every state: across the shafts where they share room along them [mm].

    ``hypot(across, along)`` where they lie apart along the shafts, the shallower overlap where they overlap both ways.
    """
    along = np.maximum(one.low_mm - other.high_mm, other.low_mm - one.high_mm)
    across = gap_of_cores_mm(one.core_mm, other.core_mm) - one.radius_mm - other.radius_mm
    apart = np.hypot(np.maximum(across, 0.0), np.maximum(along, 0.0))
    return np.asarray(np.where((along < 0) & (across < 0), np.maximum(along, across), apart))


def _unplaced(gap: Gap) -> str:
    loose = " and ".join(thing.name for thing in (gap.one, gap.other) if not thing.placed)
    return (
        f"{gap.one.name} to {gap.other.name}: {gap.gap_mm:.1f} mm across the shafts; whether they share room along "
        f"them is not known, as no place of {loose} is stated (along)"
    )
