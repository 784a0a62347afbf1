"""How the strands and the weights take hold of a mount, in every combination of positions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import prod
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.stands import (
    MOST_STATES,
    Frame,
    Stand,
    Stands,
    When,
    belts_of_mounts,
    choices,
    pivot_of,
    slide_line,
    states_of,
)
from optimizer.checks.stated import Machine
from optimizer.checks.travel import centres_of
from optimizer.geometry.plane import strands_of
from optimizer.mechanics.hanging import force_moment_nm, weight_moment_nm
from optimizer.scenario import FixedStage, Shaft
from optimizer.scenario.chain import MOTOR
from optimizer.scenario.mounts import carried, changes

__all__ = ["Levers", "Scene", "effort_of", "levers_of", "missing_weight", "scene_for", "senses", "unit_efforts"]

Floats = NDArray[np.float64]
WORN: tuple[When, ...] = ("running", "worn out")
"""Where pulls are looked at: with a new belt, and with one that is worn out."""


class Levers(NamedTuple):
    """How both strands of one belt take hold of a mount, one row a state: arms [m], or cosines along a slide [1]."""

    tight: Floats
    slack: Floats

    @property
    def sense(self) -> Floats:
        """The sign of an effort that draws the belt taut."""
        return np.asarray(-np.sign(self.tight + self.slack))

    @property
    def both(self) -> Floats:
        """Effort by newton of both strands' pull at rest, above 0."""
        return np.asarray(np.abs(self.tight + self.slack))


@dataclass(frozen=True)
class Scene:
    """Where all stands that a mount's balance asks for, one row a state."""

    machine: Machine
    mount: Shaft
    number: int
    """The mount's own belt among those of the machine."""
    states: tuple[tuple[Stand, ...], ...]
    places: Mapping[str, Floats]
    """Axes of the shafts."""
    frames: Mapping[str, Frame]
    """Frames of all that moves; nothing where no places are stated."""

    @property
    def ends(self) -> tuple[str, str]:
        """The shaft of the mount's own belt that moves with it, and the other."""
        stage = self.machine.pairs[self.number].stage
        moved = self.moved
        return (stage.from_shaft, stage.to_shaft) if stage.from_shaft in moved else (stage.to_shaft, stage.from_shaft)

    @property
    def moved(self) -> frozenset[str]:
        """Every shaft that moves with the mount."""
        return carried(self.machine.scenario.shafts, self.mount.name)

    @property
    def crossing(self) -> list[int]:
        """Every belt of which the mount moves one pulley, its own among them."""
        changed = changes(self.machine.scenario.shafts, self.machine.scenario.stages)
        keys = {f"stage[{index}]" for index, mounts in changed.items() if self.mount.name in mounts}
        return [number for number, pair in enumerate(self.machine.pairs) if pair.key in keys]

    def centres_mm(self) -> Floats:
        """Return the centre distance of the mount's own belt."""
        return np.array([state[self.number].centre_mm for state in self.states])

    def point(self, place_mm: tuple[float, float], frame: str | None) -> Floats:
        """Return where a stated place is that goes with a shaft's moving part, or stands still."""
        still = np.broadcast_to(np.array(place_mm), (len(self.states), 2))
        return still if frame is None or frame not in self.frames else self.frames[frame].of(np.array(place_mm))

    def pivot(self) -> Floats:
        """Return where the hinge is."""
        place = pivot_of(self.mount)
        assert place is not None
        return self.point(place, self.mount.on)

    def line(self) -> Floats:
        """Return the unit vector of the slide."""
        if not self.frames:
            return np.array([1.0, 0.0])
        return slide_line(self.machine, self.mount, self.ends, self.frames)


def scene_for(machine: Machine, mount: Shaft, number: int, stands: Stands | str) -> Scene | str:
    """Return where all stands that the balance of a mount asks for, or what is missing for it.

    A slide along the line of centres that moves one belt only needs no places: its shaft is put beside the other.
    """
    if isinstance(stands, Stands):
        lost = [name for name in sorted(carried(machine.scenario.shafts, mount.name)) if name in stands.unknown]
        scene = Scene(machine, mount, number, stands.states, _places(machine, stands), stands.frames)
        far = [name for i in scene.crossing for name in _shafts(machine, i) if name in stands.unknown]
        if not lost and not far:
            return scene
        why = f"of {(lost + far)[0]}, {stands.unknown[(lost + far)[0]]}"
    else:
        why = stands
    straight = mount.mount == "slide" and mount.direction_deg is None
    if straight and all(pair.fits for pair in machine.pairs):
        found = _beside(machine, mount, number)
        return why if found is None else found
    return why


def _places(machine: Machine, stands: Stands) -> dict[str, Floats]:
    names = {name for number in range(len(machine.pairs)) for name in _shafts(machine, number)}
    return {name: stands.shaft(machine.scenario.shaft(name)) for name in sorted(names) if name not in stands.unknown}


def _shafts(machine: Machine, number: int) -> tuple[str, str]:
    stage = machine.pairs[number].stage
    return stage.from_shaft, stage.to_shaft


def _beside(machine: Machine, mount: Shaft, number: int) -> Scene | None:
    """Return the scene of a slide with its shaft beside the other; nothing where it moves another belt too."""
    owners, _ = belts_of_mounts(machine)
    stances = [choices(pair, WORN if pair.key in owners else ("running",)) for pair in machine.pairs]
    if prod(map(len, stances)) > MOST_STATES:
        return None
    states = states_of(machine, stances)
    bare = Scene(machine, mount, number, states, {}, {})
    if bare.crossing != [number]:
        return None
    centres = bare.centres_mm()
    rider, other = bare.ends
    places = {rider: np.stack((centres, np.zeros_like(centres)), axis=-1), other: np.zeros((len(states), 2))}
    return Scene(machine, mount, number, states, places, {})


def senses(machine: Machine) -> tuple[dict[str, float], float]:
    """Return the sense in which the driver of every belt turns, and the spindle, 1 for anticlockwise."""
    sense = 1.0 if machine.scenario.motor.turns == "anticlockwise" else -1.0
    found = {}
    for stage in machine.scenario.chain:
        if isinstance(stage, FixedStage):
            sense *= -1.0 if stage.reverses else 1.0
        else:
            found[machine.scenario.place_of(stage)] = sense
            sense *= -1.0 if stage.crossed else 1.0
    return found, sense


def levers_of(scene: Scene, number: int) -> Levers:
    """Return how the strands of a belt take hold of the mount, which has one of its pulleys.

    The strand that runs toward the driver is the tight one. A strand pulls at its tangent point along itself.
    """
    pair = scene.machine.pairs[number]
    driver, driven = (scene.places[name] for name in (pair.stage.from_shaft, pair.stage.to_shaft))
    positions = [state[number].position for state in scene.states]
    sizes = [np.array(cone.pitch_mm)[positions] for cone in (pair.driver, pair.driven)]
    both = strands_of(driver, driven, sizes[0], sizes[1], pair.crossed)
    radius = both.one[..., 0, :] - driver
    running = senses(scene.machine)[0][pair.key] * np.stack((-radius[..., 1], radius[..., 0]), axis=-1)
    homeward = np.sum(running * (both.one[..., 1, :] - both.one[..., 0, :]), axis=-1) < 0
    here = 0 if pair.stage.from_shaft in scene.moved else 1
    one, other = (_lever(scene, strand, here) for strand in both)
    return Levers(np.where(homeward, one, other), np.where(homeward, other, one))


def _lever(scene: Scene, strand: Floats, here: int) -> Floats:
    at = strand[..., here, :]
    away = strand[..., 1 - here, :] - at
    unit = away / np.maximum(np.hypot(away[..., 0], away[..., 1]), 1e-9)[..., None]
    if scene.mount.mount == "hinge":
        return force_moment_nm(unit, at, scene.pivot())
    return np.asarray(np.sum(unit * scene.line(), axis=-1))


def missing_weight(scene: Scene) -> str:
    """Return what is not stated of what draws a mount; nothing where all of it is."""
    scenario, mount = scene.machine.scenario, scene.mount
    if mount.mount == "slide":
        return "" if mount.pull_n is not None else "the pull that draws it is not stated (pull)"
    for shaft in _hung(scene):
        alone = shaft.name == MOTOR and scenario.motor.mass_kg is not None
        if shaft.hinge is not None and shaft.hinge.mass_kg is None and not alone:
            return f"what hangs on the hinge of {shaft.name} is not stated (hinge.mass)"
    return ""


def _hung(scene: Scene) -> list[Shaft]:
    return [shaft for shaft in scene.machine.scenario.shafts if shaft.name in scene.moved]


def effort_of(scene: Scene) -> Floats:
    """Return the effort of what is stated of weights, spring, pull: moment [N·m], or pull along the slide [N]."""
    if scene.mount.mount == "slide":
        return _slide_effort(scene)
    pivot, motor = scene.pivot(), scene.machine.scenario.motor
    effort = np.zeros(len(scene.states))
    for shaft in _hung(scene):
        if shaft.hinge is not None and shaft.hinge.mass_kg is not None:
            effort = effort + weight_moment_nm(shaft.hinge.mass_kg, _centre(scene, shaft), pivot)
    if MOTOR in scene.moved and motor.mass_kg is not None:
        effort = effort + weight_moment_nm(motor.mass_kg, scene.places[MOTOR], pivot)
    hinge = scene.mount.hinge
    if hinge is not None and hinge.spring is not None:
        at, to = scene.point(hinge.spring.at_mm, scene.mount.name), scene.point(hinge.spring.to_mm, scene.mount.on)
        away = to - at
        unit = away / np.maximum(np.hypot(away[..., 0], away[..., 1]), 1e-9)[..., None]
        effort = effort + hinge.spring.pull_n * force_moment_nm(unit, at, pivot)
    return effort


def _centre(scene: Scene, shaft: Shaft) -> Floats:
    assert shaft.hinge is not None
    if shaft.hinge.centre_mm is None:
        return scene.places[shaft.name]
    return scene.point(shaft.hinge.centre_mm, shaft.name)


def _slide_effort(scene: Scene) -> Floats:
    """Return the pull along the slide, away from the other shaft of its belt, straight between both ends of travel."""
    if scene.mount.pull_n is None:
        return np.zeros(len(scene.states))
    pair = scene.machine.pairs[scene.number]
    near, far = scene.mount.pull_n
    way = (scene.centres_mm() - centres_of(pair).belt_on) / max(pair.stage.travel_mm, 1e-9)
    pull = near + (far - near) * np.clip(way, 0.0, 1.0)
    rider, other = scene.ends
    away = np.sign(np.sum((scene.places[rider] - scene.places[other]) * scene.line(), axis=-1))
    return np.asarray(pull * away)


def unit_efforts(scene: Scene) -> tuple[Floats | None, Floats]:
    """Return the effort of 1 kg more at the mount's centre, and of 1 N more that draws the shaft the way it goes.

    About a hinge the newton draws square to the line from hinge to shaft; along a slide no mass is told of.
    """
    if scene.mount.mount == "slide":
        return None, np.ones(len(scene.states))
    pivot, rider = scene.pivot(), scene.places[scene.mount.name]
    arm = np.hypot(*np.moveaxis(rider - pivot, -1, 0)) / 1000
    return weight_moment_nm(1.0, _centre(scene, scene.mount), pivot), arm
