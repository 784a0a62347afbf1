"""What shafts bear at every speed: bending, torsion, bearing loads, keys."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.catalogue.parts import Key, key_for, shafting
from optimizer.checks.belt import wraps_deg
from optimizer.checks.carrying import BeltLoad, loads
from optimizer.checks.seats import seats_of
from optimizer.checks.stands import Stands, stands_of
from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.verdict import Check, Rule, Skipped, at_least
from optimizer.mechanics.keys import Depths, key_length_mm, seat_depths_mm
from optimizer.mechanics.shafts import bearing_loads_n, greatest_moment_nm, needed_diameter_mm, torque_nm
from optimizer.mechanics.tension import shaft_pull_n
from optimizer.scenario import Shaft

__all__ = ["KeySeat", "ShaftLoad", "key_seats", "shaft_loads", "strength_checks"]

Floats = NDArray[np.float64]
KEY_MPA = (41.0, 82.0)
"""Shear and crushing stress of a mild steel key [MPa]; from memory."""


class ShaftLoad(NamedTuple):
    """The hardest speed of one shaft."""

    shaft: str
    rpm: float
    """Speed of the spindle at which the shaft is loaded hardest."""
    moment_nm: float
    torque_nm: float
    needed_mm: float
    """Diameter that stands both."""
    bearings_n: tuple[float, float]
    """Greatest loads of any speed, each bearing's own."""
    directions_known: bool
    """Whether the directions of the pulls follow from stated places; otherwise the worst of them counts."""
    source: str


class KeySeat(NamedTuple):
    """The usual key of a shaft with its seats."""

    shaft: str
    diameter_mm: float
    key: Key
    seats: Depths | None
    """Sizes over the seats of an inch key."""
    length_mm: float | None
    """Least length for the greatest torque of the shaft; nothing where that is not known."""


class _Pull(NamedTuple):
    place_mm: float
    amount_n: float
    towards: Floats | None
    torque_nm: float


def shaft_loads(machine: Machine) -> tuple[tuple[ShaftLoad, ...], tuple[Skipped, ...]]:
    """Return what is known of shafts between their bearings, and what is missing for the others."""
    found, missing = [], []
    belts = loads(machine)
    stands = stands_of(machine)
    for name in _names(machine):
        why = _missing(machine, name, belts)
        if why:
            missing.append(Skipped(name="shaft strength", where=name, why=why))
        else:
            found.append(_load(machine, machine.scenario.shaft(name), belts, stands))
    return tuple(found), tuple(missing)


def strength_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the check of every shaft's diameter against bending and torsion together."""
    found, missing = shaft_loads(machine)
    yield from missing
    for load in found:
        diameter = machine.scenario.shaft(load.shaft).diameter_mm
        if diameter is None:
            yield Skipped(name="shaft strength", where=load.shaft, why="its diameter is not stated")
            continue
        note = (
            f"{load.moment_nm:.1f} N m bending, {load.torque_nm:.1f} N m torsion at {load.rpm:.0f} rpm of the spindle"
        )
        rule = Rule("shaft strength", "limit", load.needed_mm, "mm", load.source)
        yield at_least(rule, load.shaft, diameter, note)


def key_seats(machine: Machine) -> tuple[KeySeat, ...]:
    """Return the usual key of every shaft that carries a cone and has a stated diameter that the tables know."""
    inch = machine.scenario.units == "in"
    torques = _torques(machine)
    seats = []
    for name in _names(machine):
        shaft = machine.scenario.shaft(name)
        key = None if shaft.diameter_mm is None else key_for(shaft.diameter_mm, inch=inch)
        if shaft.diameter_mm is None or key is None:
            continue
        torque = torques.get(name)
        length = None
        if torque:
            length = key_length_mm(torque, shaft.diameter_mm, key.width_mm, key.height_mm, KEY_MPA)
        depths = seat_depths_mm(shaft.diameter_mm, key.width_mm) if inch else None
        seats.append(KeySeat(name, shaft.diameter_mm, key, depths, length))
    return tuple(seats)


def _names(machine: Machine) -> list[str]:
    """Return the shafts that carry a cone, motor first."""
    names = [name for pair in machine.pairs for name in (pair.stage.from_shaft, pair.stage.to_shaft)]
    return list(dict.fromkeys(names))


def _ends(machine: Machine, name: str) -> list[tuple[int, Pair, Cone]]:
    """Return the belt stages that end on a shaft, with the cone that is there."""
    return [
        (number, pair, cone)
        for number, pair in enumerate(machine.pairs)
        for cone, shaft in ((pair.driver, pair.stage.from_shaft), (pair.driven, pair.stage.to_shaft))
        if shaft == name
    ]


def _torques(machine: Machine) -> dict[str, float]:
    """Return the greatest torque of every shaft by what its belts carry."""
    found: dict[str, float] = {}
    for load in loads(machine):
        if load.pull is None:
            continue
        pair = machine.pairs[load.stage]
        leaving = load.entering_rpm * pair.ratios[load.position - 1]
        for name, rpm in ((pair.stage.from_shaft, load.entering_rpm), (pair.stage.to_shaft, leaving)):
            found[name] = max(found.get(name, 0.0), float(torque_nm(load.pull.carried_kw, rpm)))
    return found


def _missing(machine: Machine, name: str, belts: tuple[BeltLoad, ...]) -> str:
    shaft = machine.scenario.shaft(name)
    if shaft.bearings_mm is None:
        return "its bearings are not stated"
    for number, pair, cone in _ends(machine, name):
        if cone.side.along_mm is None:
            return f"the place of {cone.key} along it is not stated"
        if not any(load.stage == number and load.pull for load in belts):
            return f"the pull of the belt of {pair.key} is not known"
    return ""


def _load(machine: Machine, shaft: Shaft, belts: tuple[BeltLoad, ...], stands: Stands | str) -> ShaftLoad:
    assert shaft.bearings_mm is not None
    allowed = shafting(keyed=shaft.keyed, shock=shaft.shock)
    known = True
    hardest: tuple[float, float, float, float] | None = None
    bearings = (0.0, 0.0)
    for number, (rpm, _) in enumerate(machine.speeds, 1):
        pulls = _pulls(machine, shaft.name, [load for load in belts if load.number == number], stands)
        known = known and all(pull.towards is not None for pull in pulls)
        torsion = max((pull.torque_nm for pull in pulls), default=0.0)
        for directed in _directed(pulls):
            places = [pull.place_mm for pull in pulls]
            moment = greatest_moment_nm(places, directed, shaft.bearings_mm)
            needed = float(
                needed_diameter_mm(moment, torsion, allowed.stress_mpa, allowed.bending_factor, allowed.torsion_factor)
            )
            ends = [float(np.hypot(*end)) for end in bearing_loads_n(places, directed, shaft.bearings_mm)]
            bearings = (max(bearings[0], ends[0]), max(bearings[1], ends[1]))
            if hardest is None or needed > hardest[0]:
                hardest = (needed, rpm, moment, torsion)
    assert hardest is not None
    needed, rpm, moment, torsion = hardest
    return ShaftLoad(shaft.name, rpm, moment, torsion, needed, bearings, known, allowed.source)


def _pulls(machine: Machine, name: str, belts: list[BeltLoad], stands: Stands | str) -> list[_Pull]:
    found = []
    for number, pair, cone in _ends(machine, name):
        load = next((each for each in belts if each.stage == number), None)
        if load is None or load.pull is None:
            continue
        position = load.position - 1
        seat = seats_of(cone, pair, machine.scenario.making)[position]
        wraps = wraps_deg(
            pair.driver.pitch_mm[position], pair.driven.pitch_mm[position], pair.centres_mm[position], pair.crossed
        )
        wrap = wraps[0] if cone is pair.driver else wraps[1]
        amount = float(shaft_pull_n(load.pull.tight_n, load.pull.slack_n, wrap))
        rpm = load.entering_rpm * (1.0 if cone is pair.driver else pair.ratios[position])
        other = pair.stage.to_shaft if cone is pair.driver else pair.stage.from_shaft
        towards = _towards(machine, (name, other), belts, stands)
        assert seat.place_mm is not None
        found.append(_Pull(seat.place_mm, amount, towards, float(torque_nm(load.pull.carried_kw, rpm))))
    return found


def _towards(machine: Machine, names: tuple[str, str], belts: list[BeltLoad], stands: Stands | str) -> Floats | None:
    """Return the direction across from one shaft to another while the belts lie so; nothing where it is not known."""
    if isinstance(stands, str) or any(name in stands.unknown for name in names):
        return None
    lie = {load.stage: load.position - 1 for load in belts}
    for row, state in enumerate(stands.states):
        running = all(stand.when == "running" for stand in state)
        if running and all(state[stage].position == position for stage, position in lie.items()):
            one, other = (stands.shaft(machine.scenario.shaft(name))[row] for name in names)
            away = other - one
            return np.asarray(away / np.hypot(*away))
    return None


def _directed(pulls: list[_Pull]) -> Iterator[Floats]:
    """Yield the pulls as vectors: as they lie, or in every way along one line where that is not known."""
    amounts = np.array([pull.amount_n for pull in pulls])
    known = [pull.towards for pull in pulls if pull.towards is not None]
    if len(known) == len(pulls):
        yield amounts[:, None] * np.array(known)
        return
    for signs in product((1.0, -1.0), repeat=max(0, len(pulls) - 1)):
        yield np.column_stack([amounts * np.array([1.0, *signs]), np.zeros(len(pulls))])
