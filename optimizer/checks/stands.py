"""Where the shafts stand across the machine, at every position and at both ends of travel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.stated import Machine, Pair
from optimizer.checks.travel import centres_of, fit_mm
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.geometry.plane import slide_to, turn_to, turned_about
from optimizer.quantities.digits import first_least
from optimizer.scenario import Shaft
from optimizer.scenario.around import PLACED_TO_MM
from optimizer.scenario.mounts import carried, changes, shared

__all__ = [
    "ALL_OF_LIFE",
    "MOST_STATES",
    "Frame",
    "Stand",
    "Stands",
    "When",
    "belts_of_mounts",
    "choices",
    "followers",
    "pivot_of",
    "slide_line",
    "stands_of",
    "states_of",
]

Floats = NDArray[np.float64]
When = Literal["running", "belt on", "worn out"]
ALL_OF_LIFE: tuple[When, ...] = ("running", "belt on", "worn out")
MOST_STATES = 20_000
"""Most combinations of the stages' positions and ends of travel that are looked at."""


class Stand(NamedTuple):
    """One stage with its belt on a position, new and running, or with its mount at an end of what the belt needs."""

    position: int
    """Counted from 0."""
    when: When
    centre_mm: float


class Frame(NamedTuple):
    """How far a moving part is turned about the origin and shifted from where it was stated, one row a state."""

    angle_rad: Floats
    shift_mm: Floats

    def of(self, points_mm: Floats) -> Floats:
        """Return where points of the part stand, `(states, …, 2)` for points `(…, 2)`."""
        extra = points_mm.ndim - 1
        angle = self.angle_rad.reshape(-1, *(1,) * extra)
        return turned_about(points_mm, np.zeros(2), angle) + self.shift_mm.reshape(-1, *(1,) * extra, 2)


@dataclass(frozen=True)
class Stands:
    """Every combination of the stages' stands, with where the shafts are in each."""

    states: tuple[tuple[Stand, ...], ...]
    """For every state, how each belt stage stands, motor first."""
    frames: Mapping[str, Frame]
    """The frame of every shaft's moving part."""
    unknown: Mapping[str, str]
    """Shafts whose place is not known, with what is missing."""
    checks: tuple[Check | Skipped, ...]
    """Whether the mounts reach the centre distances, whether stated places agree with them."""

    def shaft(self, shaft: Shaft) -> Floats:
        """Return where the axis of a shaft whose place is known stands, `(states, 2)` [mm]."""
        return self.frames[shaft.name].of(np.array(shaft.at_mm))


def stands_of(machine: Machine, whens: tuple[When, ...] = ALL_OF_LIFE) -> Stands | str:
    """Return where every shaft stands in every combination of positions and ends of travel, or why that is not known.

    Every stage whose centre distance a mount changes has a mount of its own; that one is moved until the centre
    distance is the position's own, or the belt-on or worn-out one. Mounts are moved in an order in which none disturbs
    what is set: the last to move changes one belt alone. A slide moves along its stated direction, else along the line
    of centres of the stated places; a hinge turns about its stated point. What rides on a mount moves with it.
    """
    if not all(pair.fits for pair in machine.pairs):
        return "the belt does not go round at every position"
    owners, tangled = belts_of_mounts(machine)
    following = followers(machine)
    stances = [
        choices(pair, whens if pair.key in owners or pair.key in following else ("running",)) for pair in machine.pairs
    ]
    if prod(map(len, stances)) > MOST_STATES:
        return f"more than {MOST_STATES} combinations of positions and ends of travel"
    states = states_of(machine, stances)
    names = {name for stage in machine.scenario.chain for name in (stage.from_shaft, stage.to_shaft)}
    still = Frame(np.zeros(len(states)), np.zeros((len(states), 2)))
    mover = _Mover(machine, states, dict.fromkeys(sorted(names), still))
    for name in sorted(names):
        if machine.scenario.shaft(name).at_mm is None:
            mover.unknown[name] = "its place is not stated (at)"
    for mount in tangled:
        mover.lose(mount, f"{' and '.join(tangled)} change the same belts at once, and are not solved for together")
    for key, mount in owners.items():
        mover.move(mount, [key, *(follower for follower, own in following.items() if own == mount)])
    for number, pair in enumerate(machine.pairs):
        if pair.key not in owners and pair.key not in following and not tangled:
            mover.checks += _agreement(machine, number)
    return Stands(states, mover.frames, mover.unknown, tuple(mover.checks))


def states_of(machine: Machine, stances: Sequence[Sequence[Stand]]) -> tuple[tuple[Stand, ...], ...]:
    """Return every combination of how the stages may stand, but belts on one step of a shared cone."""
    return tuple(state for state in product(*stances) if machine.can_be(tuple(stand.position for stand in state)))


def choices(pair: Pair, whens: tuple[When, ...]) -> list[Stand]:
    """Return how one stage may stand: running with a new belt, and at those ends of travel that are asked for."""
    stands = [Stand(position, "running", centre) for position, centre in enumerate(pair.centres_mm)]
    if pair.stage.moves:
        ends = centres_of(pair)
        for when, centre in (("belt on", ends.belt_on), ("worn out", ends.worn_out)):
            stands += [Stand(position, when, centre) for position in pair.positions if when in whens]
    return stands


def belts_of_mounts(machine: Machine) -> tuple[dict[str, str], list[str]]:
    """Return the mount that sets each stage's centre distance, in the order in which they are moved.

    A mount that changes one open stage alone may be moved last; it is taken away with its stage, and so on. Beside
    them stand the mounts of which each changes several of the stages that are left in the end. A mount whose one
    setting fits several belts is moved for the first of them that it tensions, which brings the others within what they
    forgive.
    """
    scenario = machine.scenario
    changed = changes(scenario.shafts, scenario.stages)
    following = followers(machine)
    keys = [pair.key for pair in machine.pairs if pair.key not in following]
    by_mount: dict[str, set[str]] = {}
    for index, mounts in changed.items():
        for mount in mounts:
            if f"stage[{index}]" in keys:
                by_mount.setdefault(mount, set()).add(f"stage[{index}]")
    order: list[tuple[str, str]] = []
    while by_mount:
        last = next((mount for mount, stages in by_mount.items() if len(stages) == 1), None)
        if last is None:
            break
        (key,) = by_mount.pop(last)
        order.insert(0, (key, last))
        by_mount = {mount: left for mount, stages in by_mount.items() if (left := stages - {key})}
    return dict(order), sorted(by_mount)


def followers(machine: Machine) -> dict[str, str]:
    """Return the stages whose centre distance is set along with another's, with the mount that does it."""
    scenario = machine.scenario
    pairs = {pair.key: pair for pair in machine.pairs}
    changed = {i: names for i, names in changes(scenario.shafts, scenario.stages).items() if f"stage[{i}]" in pairs}
    found = {}
    for mount, numbers in shared(changed).items():
        stages = [f"stage[{number}]" for number in numbers]
        leads = next((key for key in stages if pairs[key].stage.moves), stages[0])
        found.update({key: mount for key in stages if key != leads})
    return found


def _agreement(machine: Machine, number: int) -> Iterator[Check]:
    """Yield the check that shafts which stay where they are stand at the centre distance of their belt."""
    pair = machine.pairs[number]
    here, there = (machine.scenario.shaft(name).at_mm for name in (pair.stage.from_shaft, pair.stage.to_shaft))
    if here is None or there is None:
        return
    apart = float(np.hypot(here[0] - there[0], here[1] - there[1]))
    off = max(abs(centre - apart) for centre in pair.centres_mm)
    rule = Rule("stated places of the shafts", "limit", max(PLACED_TO_MM, fit_mm(pair)), "mm", "places to a millimetre")
    note = f"they stand {apart:.2f} mm apart, the belt needs {min(pair.centres_mm):.2f} to {max(pair.centres_mm):.2f}"
    yield at_most(rule, pair.key, off, note)


@dataclass
class _Mover:
    """The frames while mounts are moved one by one."""

    machine: Machine
    states: tuple[tuple[Stand, ...], ...]
    frames: dict[str, Frame]

    def __post_init__(self) -> None:
        self.unknown: dict[str, str] = {}
        self.checks: list[Check | Skipped] = []

    def move(self, mount: str, keys: Sequence[str]) -> None:
        """Move a mount until the centre distance of a stage is what each state asks for.

        Where it is all that changes several stages, the first of them is set but in states in which another alone has
        its belt at an end of travel.
        """
        numbers = [next(i for i, pair in enumerate(self.machine.pairs) if pair.key == key) for key in keys]
        frame = self._towards(numbers[0], mount)
        leads = np.array([state[numbers[0]].when == "running" for state in self.states])
        for number in numbers[1:]:
            ends = leads & np.array([state[number].when != "running" for state in self.states])
            if frame is not None and ends.any():
                other = self._towards(number, mount)
                assert other is not None
                angle = np.where(ends, other.angle_rad, frame.angle_rad)
                frame = Frame(angle, np.where(ends[:, None], other.shift_mm, frame.shift_mm))
        if frame is None:
            return
        for name in carried(self.machine.scenario.shafts, mount) & self.frames.keys():
            was = self.frames[name]
            self.frames[name] = Frame(
                was.angle_rad + frame.angle_rad,
                turned_about(was.shift_mm, np.zeros(2), frame.angle_rad) + frame.shift_mm,
            )

    def _towards(self, number: int, mount: str) -> Frame | None:
        """Return the movement that gives a stage its centre distances; nothing where that is not known."""
        scenario = self.machine.scenario
        pair = self.machine.pairs[number]
        moved = carried(scenario.shafts, mount)
        ends = (pair.stage.from_shaft, pair.stage.to_shaft)
        rider, other = ends if ends[0] in moved else ends[::-1]
        missing = self._missing(mount, (rider, other))
        if missing:
            self.lose(mount, missing)
            return None
        wanted = np.array([state[number].centre_mm for state in self.states])
        own = scenario.shaft(mount)
        places = [self.frames[name].of(np.array(scenario.shaft(name).at_mm)) for name in (rider, other)]
        if own.mount == "slide":
            reach, frame = self._slide(own, (rider, other), places, wanted)
        else:
            reach, frame = self._turn(own, places, wanted)
        self._check_reach(pair.key, own, reach, wanted)
        return frame

    def lose(self, mount: str, why: str) -> None:
        """Note of all that a mount moves that its place is not known."""
        for name in sorted(carried(self.machine.scenario.shafts, mount) & self.frames.keys()):
            self.unknown.setdefault(name, why)

    def _missing(self, mount: str, ends: tuple[str, str]) -> str:
        """Return what is not stated that the movement of a mount needs."""
        for name in ends:
            if name in self.unknown:
                return (
                    f"{mount} is moved until {ends[0]} and {ends[1]} are apart as their belt needs, but of {name}, "
                    + (self.unknown[name])
                )
        shaft = self.machine.scenario.shaft(mount)
        if shaft.mount == "hinge" and pivot_of(shaft) is None:
            return f"the place of the hinge of {mount} is not stated (hinge.at)"
        if shaft.mount == "slide" and shaft.direction_deg is None:
            here, there = (self.machine.scenario.shaft(name).at_mm for name in ends)
            if here == there:
                return f"{mount} slides along the line of centres, but {ends[0]} and {ends[1]} are stated at one place"
        return ""

    def _slide(
        self, own: Shaft, ends: tuple[str, str], places: list[Floats], wanted: Floats
    ) -> tuple[tuple[Floats, Floats], Frame]:
        """Return least and greatest distance within reach, and the movement along the slide."""
        direction = slide_line(self.machine, own, ends, self.frames)
        away = slide_to(places[0], places[1], direction, wanted)
        passing = places[0] - places[1]
        across = np.abs(passing[..., 0] * direction[..., 1] - passing[..., 1] * direction[..., 0])
        return (across, np.full_like(across, np.inf)), Frame(np.zeros_like(away), away[..., None] * direction)

    def _turn(self, own: Shaft, places: list[Floats], wanted: Floats) -> tuple[tuple[Floats, Floats], Frame]:
        """Return least and greatest distance within reach, and the turn about the hinge."""
        carrier = self.frames.get(own.on or "")
        pivot = np.broadcast_to(np.array(pivot_of(own)), places[0].shape)
        pivot = pivot if carrier is None else carrier.of(np.array(pivot_of(own)))
        angle = turn_to(places[0], places[1], pivot, wanted)
        arms = [np.hypot(*(place - pivot).T) for place in places]
        reach = np.abs(arms[0] - arms[1]), arms[0] + arms[1]
        return reach, Frame(angle, pivot - turned_about(pivot, np.zeros(2), angle))

    def _check_reach(self, key: str, own: Shaft, reach: tuple[Floats, Floats], wanted: Floats) -> None:
        """Add the checks that the mount can bring the shafts as near, and as far apart, as the belt needs."""
        source = f"geometry of the {own.mount} of {own.name}"
        over, under = wanted - reach[0], reach[1] - wanted
        if np.all(np.isnan(over)):
            why = f"{own.name} rides on what cannot be brought to where its belt needs it"
            self.checks.append(Skipped(name="reach of the mount", where=key, why=why))
            return
        worst = first_least(over)
        near = Rule("nearest that the mount brings the shafts", "impossible", float(reach[0][worst]), "mm", source)
        self.checks.append(at_least(near, key, float(wanted[worst])))
        worst = first_least(under)
        if np.isfinite(reach[1][worst]):
            far = Rule("farthest that the mount brings the shafts", "impossible", float(reach[1][worst]), "mm", source)
            self.checks.append(at_most(far, key, float(wanted[worst])))


def slide_line(machine: Machine, own: Shaft, ends: tuple[str, str], frames: Mapping[str, Frame]) -> Floats:
    """Return the unit vector of a slide: as stated, else from the other shaft's stated place to the slide's own."""
    if own.direction_deg is not None:
        angle = np.radians(own.direction_deg)
        line = np.array([np.cos(angle), np.sin(angle)])
    else:
        here, there = (np.array(machine.scenario.shaft(name).at_mm) for name in ends)
        line = (here - there) / np.hypot(*(here - there))
    carrier = frames.get(own.on or "")
    return line if carrier is None else turned_about(line, np.zeros(2), carrier.angle_rad)


def pivot_of(shaft: Shaft) -> tuple[float, float] | None:
    """Return the stated place of a shaft's hinge."""
    return None if shaft.hinge is None else shaft.hinge.at_mm
