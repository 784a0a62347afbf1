"""Checks of mounts whose one movement changes several belts, from the places of their shafts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from math import atan2, cos, dist, pi, radians, sin
from typing import NamedTuple

import numpy as np

from optimizer.checks.stated import Machine, Pair
from optimizer.checks.travel import STATED, budget, centres_of, fit_mm
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.geometry.plane import turned_about
from optimizer.scenario import BeltStage, Shaft
from optimizer.scenario.mounts import carried, changes, shared

__all__ = ["Meeting", "Movement", "coupled_checks", "movements_of"]

NAME = "one setting of the mount"
HALVINGS = 60
FARTHEST = 4.0
"""Settings are looked for up to so many times the greatest centre distance from the stated place."""
Point = tuple[float, float]


class Meeting(NamedTuple):
    """A position of each of two belts on one mount."""

    one: Pair
    position: int
    """Of the first belt, from 0."""
    other: Pair
    other_position: int
    settings_mm: tuple[float, float]
    """Setting at which each of them is just taut."""
    common_mm: tuple[float, float]
    """From where to where both of them run; the wrong way round where they do nowhere."""

    @property
    def forgiven_mm(self) -> float:
        """How far apart the two settings might be."""
        apart = abs(self.settings_mm[0] - self.settings_mm[1])
        return apart + self.common_mm[1] - self.common_mm[0]


@dataclass(frozen=True)
class Movement:
    """A shaft whose mount is all that changes several belts; settings count the way in which the first is tightened."""

    shaft: Shaft
    pairs: tuple[Pair, ...]
    places: tuple[tuple[Point, Point], ...]
    """For each of them, where the shaft that rides on the mount stands, and the other one."""
    forgives_mm: tuple[float, ...]
    """What of the difference in centre distance each belt forgives between positions."""
    can_be: Callable[[tuple[int, int]], bool]
    """Tells whether two belts can lie on two positions together."""

    def centre_mm(self, belt: int, setting_mm: float) -> float:
        """Return the centre distance of a belt with the mount moved from its stated place."""
        return self._centre_mm(belt, self.way * setting_mm)

    def _centre_mm(self, belt: int, moved_mm: float) -> float:
        """Return it with the mount moved along its direction, or from x toward y about its hinge."""
        (x, y), other = self.places[belt]
        if self.shaft.hinge is None:
            angle = radians(self.shaft.direction_deg or 0.0)
            return dist((x + moved_mm * cos(angle), y + moved_mm * sin(angle)), other)
        here = turned_about(np.array((x, y)), np.array(self.shaft.hinge.at_mm), moved_mm / self.radius_mm)
        return dist(here.tolist(), other)

    @property
    def radius_mm(self) -> float:
        """From the hinge to the axis whose arc the setting is."""
        assert self.shaft.hinge is not None and self.shaft.at_mm is not None
        return dist(self.shaft.hinge.at_mm, self.shaft.at_mm)

    @cached_property
    def way(self) -> float:
        """1 where settings count along the slide's direction, or from x toward y about the hinge, else -1."""
        leads = next((n for n, pair in enumerate(self.pairs) if pair.stage.moves), 0)
        return 1.0 if self._centre_mm(leads, 1e-3) > self._centre_mm(leads, -1e-3) else -1.0

    @cached_property
    def branches(self) -> tuple[tuple[float, float], ...]:
        """For each belt, between which settings its centre distance changes one way only."""
        return tuple(self._branch(belt) for belt in range(len(self.pairs)))

    def _branch(self, belt: int) -> tuple[float, float]:
        (x, y), other = self.places[belt]
        if self.shaft.hinge is None:
            angle = radians(self.shaft.direction_deg or 0.0)
            nearest = -self.way * ((x - other[0]) * cos(angle) + (y - other[1]) * sin(angle))
            far = FARTHEST * (dist((x, y), other) + self.pairs[belt].stage.centres_mm[1])
            return (nearest, far) if nearest < 0 else (-far, nearest)
        hinge = self.shaft.hinge.at_mm
        turn = atan2(y - hinge[1], x - hinge[0]) - atan2(other[1] - hinge[1], other[0] - hinge[0])
        turn = self.way * ((turn + pi) % (2 * pi) - pi)
        ends = (-turn, pi - turn) if turn > 0 else (-pi - turn, -turn)
        return ends[0] * self.radius_mm, ends[1] * self.radius_mm

    def setting_mm(self, belt: int, centre_mm: float) -> float:
        """Return the setting of a centre distance, found by halving; the nearest end where none gives it."""
        low, high = self.branches[belt]
        rising = self.centre_mm(belt, high) > self.centre_mm(belt, low)
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            if (self.centre_mm(belt, middle) < centre_mm) == rising:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    @cached_property
    def meetings(self) -> tuple[Meeting, ...]:
        """Every position of every belt beside every position of every other that can be together with it."""
        found = []
        spans = [[self._span(belt, own) for own in pair.centres_mm] for belt, pair in enumerate(self.pairs)]
        for one, other in combinations(range(len(self.pairs)), 2):
            for p, (setting, low, high) in enumerate(spans[one]):
                for q, (its, lowest, highest) in enumerate(spans[other]):
                    if not self.can_be((p, q)):
                        continue
                    common = max(low, lowest), min(high, highest)
                    found.append(Meeting(self.pairs[one], p, self.pairs[other], q, (setting, its), common))
        return tuple(found)

    @property
    def running_mm(self) -> tuple[float, float]:
        """Between which settings the mount runs: the middle of what every combination of positions has in common."""
        middles = [sum(meeting.common_mm) / 2 for meeting in self.meetings]
        return min(middles), max(middles)

    @cached_property
    def ends_mm(self) -> tuple[float, float]:
        """Settings at which every belt that is tensioned goes on, and at which none is loose at the end of its life."""
        on, out = [], []
        for belt, pair in enumerate(self.pairs):
            if pair.stage.moves:
                ends = centres_of(pair)
                on.append(self.setting_mm(belt, ends.belt_on))
                out.append(self.setting_mm(belt, ends.worn_out))
        low, high = self.running_mm
        return min(on, default=low), max(out, default=high)

    def _span(self, belt: int, own_mm: float) -> tuple[float, float, float]:
        half = self.forgives_mm[belt] / 2
        ends = sorted(self.setting_mm(belt, own_mm + side * half) for side in (-1, 1))
        return self.setting_mm(belt, own_mm), ends[0], ends[1]


def movements_of(machine: Machine) -> tuple[Movement, ...]:
    """Return every mount that several belts share, as far as their belts go round and its places are known."""
    scenario = machine.scenario
    by_key = {pair.key: pair for pair in machine.pairs}
    changed = {i: names for i, names in changes(scenario.shafts, scenario.stages).items() if f"stage[{i}]" in by_key}
    found = []
    for name, numbers in shared(changed).items():
        pairs = tuple(by_key[f"stage[{number}]"] for number in numbers)
        places = tuple(_ends(machine, name, pair.stage) for pair in pairs)
        if all(pair.fits for pair in pairs) and all(places):
            known = tuple(place for place in places if place is not None)
            found.append(Movement(scenario.shaft(name), pairs, known, _forgiven(pairs), machine.can_be))
    return tuple(found)


def coupled_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the checks that one setting fits all belts of a mount, at every combination of their positions."""
    for movement in movements_of(machine):
        for meeting in movement.meetings:
            apart = abs(meeting.settings_mm[0] - meeting.settings_mm[1])
            rule = Rule(NAME, "limit", meeting.forgiven_mm, "mm", "places of the shafts, exact belt lengths")
            where = f"{meeting.one.place(meeting.position)}, with {meeting.other.place(meeting.other_position)}"
            note = (
                f"settings of {movement.shaft.name} at which each is just taut, {meeting.settings_mm[0]:+.3f} and "
                f"{meeting.settings_mm[1]:+.3f} mm from its stated place; limit: what both belts forgive"
            )
            yield at_most(rule, where, apart, note)
        yield from _taken_up(movement)
        yield from _far_enough(movement)


def _taken_up(movement: Movement) -> Iterator[Check | Skipped]:
    """Yield what takes up the length tolerance and the stretch of every belt that the movement does not follow."""
    name = "length tolerance and stretch on a shared mount"
    loose = _loose(movement.pairs)
    for pair in movement.pairs:
        if pair in loose and len(loose) > 1:
            amount = sum(line.amount_mm for line in budget(pair)[:2])
            rule = Rule(name, "limit", fit_mm(pair), "mm", STATED)
            yield at_most(
                rule, pair.key, amount, "limit: what the belt forgives, as one movement cannot take up several"
            )
        else:
            why = "the movement follows this belt"
            if pair not in loose:
                why = pair.stage.slackened or "the belt is made up to the length that the others leave it"
            yield Skipped(name=name, where=pair.key, why=why)


def _far_enough(movement: Movement) -> Iterator[Check]:
    """Yield the checks that the mount goes on growing taut all the way, and no farther than its travel."""
    on, out = movement.ends_mm
    moving = [belt for belt, pair in enumerate(movement.pairs) if pair.stage.moves]
    for belt, pair in enumerate(movement.pairs):
        ends = sorted(movement.centre_mm(belt, setting) for setting in movement.branches[belt])
        needed = centres_of(pair)
        rule = Rule("nearest before the movement turns round", "impossible", ends[0], "mm", "places of the shafts")
        yield at_least(rule, pair.key, needed.belt_on, "belt-on centre distance")
        rule = Rule("farthest before the movement turns round", "impossible", ends[1], "mm", "places of the shafts")
        yield at_most(rule, pair.key, needed.worn_out, "worn-out centre distance")
    for belt in moving if len(moving) > 1 else ():
        pair = movement.pairs[belt]
        far = movement.centre_mm(belt, out) - movement.centre_mm(belt, on)
        rule = Rule("travel for all belts of the mount", "limit", pair.stage.travel_mm + fit_mm(pair), "mm", STATED)
        yield at_most(rule, pair.key, far, "from where every belt goes on to where none is loose when worn out")


def _ends(machine: Machine, mount: str, stage: BeltStage) -> tuple[Point, Point] | None:
    """Return where the shaft of a stage that rides on a mount stands, and the other, where both are known."""
    scenario = machine.scenario
    moved = carried(scenario.shafts, mount)
    ends = (stage.from_shaft, stage.to_shaft)
    rider, other = (scenario.shaft(name).at_mm for name in (ends if ends[0] in moved else ends[::-1]))
    shaft = scenario.shaft(mount)
    steered = shaft.direction_deg is not None if shaft.mount == "slide" else shaft.hinge is not None
    return (rider, other) if rider and other and shaft.at_mm and steered else None


def _loose(pairs: tuple[Pair, ...]) -> list[Pair]:
    """Return the belts of a set length with nothing of their own that takes it up."""
    return [pair for pair in pairs if not pair.stage.belt.joined and not pair.stage.slackened]


def _forgiven(pairs: tuple[Pair, ...]) -> tuple[float, ...]:
    """Return what each belt forgives between positions, less tolerance and stretch that nothing else takes up."""
    loose = _loose(pairs)
    taken = [
        sum(line.amount_mm for line in budget(pair)[:2]) if len(loose) > 1 and pair in loose else 0.0 for pair in pairs
    ]
    return tuple(max(fit_mm(pair) - amount, 0.0) for pair, amount in zip(pairs, taken, strict=True))
