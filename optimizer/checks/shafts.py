"""What shafts, keys and gears must bear."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from math import isinf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.catalogue.parts import Frame, Key, Shafting, frame, key_for, shafting
from optimizer.checks.along import seats_of, step_pitch_mm
from optimizer.checks.carrying import BeltLoad, Pull, loads, must_kw, place_in_chain
from optimizer.checks.stands import Stands, stands_of
from optimizer.checks.stated import Cone, Machine, MadeSpeed, Pair, wraps_deg
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.mechanics.keys import Depths, key_length_mm, seat_depths_mm
from optimizer.mechanics.shafts import bearing_loads_n, greatest_moment_nm, needed_diameter_mm, torque_nm
from optimizer.mechanics.tension import Strands, shaft_pull_n, strands_n
from optimizer.quantities.digits import meaningful
from optimizer.scenario import BeltStage, FixedStage, Shaft
from optimizer.scenario.chain import MOTOR
from optimizer.scenario.stage import passed_on

__all__ = [
    "GearLoad",
    "KeySeat",
    "ShaftLoad",
    "cones_on",
    "flat_frame",
    "gear_checks",
    "gear_loads",
    "input_rpm",
    "key_checks",
    "key_seats",
    "leaving_rpm",
    "shaft_loads",
    "shaft_names",
    "strength_checks",
    "torques_nm",
]

STATED = "stated by the maker"
SERVICE = "shocks and the gear maker's own service factor are not counted"
SPEED, TORQUE, PEAK = "speed into the gear", "torque out of the gear", "torque out of the gear in a jam"
PEAK_SOURCE = "twice the permitted torque, common practice, no source"


class GearLoad(NamedTuple):
    """The torque that can leave a fixed stage at one spindle speed."""

    number: int
    """The spindle speed, from 1."""
    spindle_rpm: float
    driven_rpm: float
    """Speed of the stage's driven shaft."""
    torque_nm: float
    """On the driven shaft, at the motor's rated power."""
    breakdown_nm: float
    """On the driven shaft, at the motor's breakdown torque."""


def input_rpm(machine: Machine, stage: FixedStage) -> float:
    """Return the greatest speed of a fixed stage's driving shaft under full load, which its maker states it for."""
    return dict(machine.fastest_rpm)[stage.from_shaft]


def gear_loads(machine: Machine, stage: FixedStage) -> tuple[GearLoad, ...]:
    """Return the torque that can leave a fixed stage, by spindle speed; nothing where the motor's power is not known.

    The motor's rated power arrives, less what the fixed stages between lose, and for a moment as many times that as its
    breakdown torque is of its rated one. No belt is counted on to slip before: what it is rated for is a matter of its
    life, and a tight belt passes on several times as much.
    """
    chain = machine.scenario.chain
    here = next(index for index, other in enumerate(chain) if other is stage)
    times, _ = machine.scenario.motor.breakdown
    found = []
    for number, speed in enumerate(machine.speeds, 1):
        power = machine.motor_kw(speed.settings)
        if power is not None:
            rpm = leaving_rpm(machine, speed)[here]
            torque = float(torque_nm(power * passed_on(chain, 0, here + 1), rpm))
            found.append(GearLoad(number, speed.rpm, rpm, torque, times * torque))
    return tuple(found)


def leaving_rpm(machine: Machine, speed: MadeSpeed) -> list[float]:
    """Return how fast the driven shaft of every stage of the chain turns at a spindle speed."""
    scenario, rpm = machine.scenario, machine.setting_rpm(speed)
    engaged = {s.key: s.values[i] for s, i in zip(scenario.switches, speed.settings, strict=True)}
    belts = iter(zip(machine.pairs, speed.positions, strict=True))
    found = []
    for stage in scenario.chain:
        if isinstance(stage, BeltStage):
            pair, position = next(belts)
            rpm *= pair.ratios[position]
        else:
            rpm *= engaged.get(scenario.place_of(stage), stage.ratio)
        found.append(rpm)
    return found


def gear_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield, for every fixed stage, the checks of the speed into it and of the torque out of it."""
    for stage in machine.scenario.chain:
        if isinstance(stage, FixedStage):
            yield from _speed(machine, stage)
            yield from _torque(machine, stage)


def _speed(machine: Machine, stage: FixedStage) -> Iterator[Check | Skipped]:
    key = machine.scenario.place_of(stage)
    if not isinf(stage.input_speed_rpm):
        yield at_most(Rule(SPEED, "limit", stage.input_speed_rpm, "rpm", STATED), key, input_rpm(machine, stage))
    elif not stage.direct:
        yield Skipped(name=SPEED, where=key, why="no greatest speed of its driving shaft is stated")


def _torque(machine: Machine, stage: FixedStage) -> Iterator[Check | Skipped]:
    key = machine.scenario.place_of(stage)
    if isinf(stage.torque_nm):
        if not stage.direct:
            yield Skipped(name=TORQUE, where=key, why="no permitted torque of its driven shaft is stated")
        return
    found = gear_loads(machine, stage)
    if not found:
        yield Skipped(name=TORQUE, where=key, why="the motor's power is not stated")
        return
    worst = max(found, key=lambda load: meaningful(load.torque_nm))
    where, peak = f"{key} at {worst.spindle_rpm:.0f} rpm", stage.peak_nm
    above = [load for load in found if load.torque_nm > stage.torque_nm]
    note = f"at the motor's rated power; {SERVICE}"
    if above:
        speeds = ", ".join(f"{load.spindle_rpm:.0f}" for load in above)
        note += f"; above what the gear permits at {speeds} rpm of the spindle: {ADVICE}"
    yield at_most(Rule(TORQUE, "limit", stage.torque_nm, "N m", STATED), where, worst.torque_nm, note)
    source = STATED if stage.peak_torque_nm is not None else PEAK_SOURCE
    times, by = machine.scenario.motor.breakdown
    note = f"at the motor's breakdown torque, {times:g} times the rated one ({by})"
    if worst.breakdown_nm > peak:
        note += ": a jam can break the gear; fit a shear pin or a torque limiter behind it"
    yield at_most(Rule(PEAK, "advice", peak, "N m", source), where, worst.breakdown_nm, note)


ADVICE = "take a smaller motor or a stronger gear"


Floats = NDArray[np.float64]


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


class _Pull(NamedTuple):
    place_mm: float
    amount_n: float
    towards: Floats | None
    torque_nm: float


@dataclass(frozen=True)
class _Across:
    """Where the shafts stand across the machine with new belts, by the positions of the stages."""

    stands: Stands | None
    rows: Mapping[tuple[int, ...], int]

    def towards(self, one: Shaft, other: Shaft, chosen: tuple[int, ...]) -> Floats | None:
        """Return the direction from one shaft to another; nothing where it is not known."""
        if self.stands is None or {one.name, other.name} & self.stands.unknown.keys() or chosen not in self.rows:
            return None
        row = self.rows[chosen]
        away = self.stands.shaft(other)[row] - self.stands.shaft(one)[row]
        far = float(np.hypot(*away))
        return away / far if far > 0 else None


def shaft_loads(machine: Machine) -> tuple[tuple[ShaftLoad, ...], tuple[Skipped, ...]]:
    """Return what is known of shafts between their bearings, and what is missing for the others.

    Every belt pulls as one that is tightened until it passes on the motor's full power, even beyond its rating:
    makers do so. Its pull stands at its step, pointed at the belt's other shaft as both stand with a new belt; where
    that is not known in the worst way. Weights and what the work does to the spindle are not counted.
    """
    found, missing = [], []
    belts = loads(machine)
    across: _Across | None = None
    chain = machine.scenario.chain
    for name in dict.fromkeys(name for stage in chain for name in (stage.from_shaft, stage.to_shaft)):
        why = _missing(machine, name, belts)
        if why:
            missing.append(Skipped(name="shaft strength", where=name, why=why))
        else:
            across = across or _across(machine)
            found.append(_load(machine, machine.scenario.shaft(name), belts, across))
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
        if not load.directions_known:
            note += "; the pulls' directions are not known, the worst counts"
        rule = Rule("shaft strength", "limit", load.needed_mm, "mm", load.source)
        yield at_least(rule, load.shaft, diameter, note)


def shaft_names(machine: Machine) -> list[str]:
    """Return the shafts that carry a cone, motor first."""
    names = [name for pair in machine.pairs for name in (pair.stage.from_shaft, pair.stage.to_shaft)]
    return list(dict.fromkeys(names))


def cones_on(machine: Machine, name: str) -> list[tuple[int, Pair, Cone]]:
    """Return the belt stages that end on a shaft, with the cone that is there."""
    return [
        (number, pair, cone)
        for number, pair in enumerate(machine.pairs)
        for cone, shaft in ((pair.driver, pair.stage.from_shaft), (pair.driven, pair.stage.to_shaft))
        if shaft == name
    ]


def torques_nm(machine: Machine) -> dict[str, float]:
    """Return the greatest torque of every shaft of a belt at the power that can come to it, duty left out [N·m].

    It needs no rating of the belt.
    """
    found: dict[str, float] = {}
    for speed in machine.speeds:
        entering = machine.setting_rpm(speed)
        for place, (stage, leaving) in enumerate(zip(machine.scenario.chain, leaving_rpm(machine, speed), strict=True)):
            power = _power_kw(machine, speed, place)
            if power > 0 and isinstance(stage, BeltStage):
                for name, rpm in ((stage.from_shaft, entering), (stage.to_shaft, leaving)):
                    found[name] = max(found.get(name, 0.0), float(torque_nm(power, rpm)))
            entering = leaving
    return found


def _power_kw(machine: Machine, speed: MadeSpeed, place: int) -> float:
    """Return the power that can pass a belt: the motor's rated one, whatever the work asks and the belt is rated for.

    A rating is no fuse. Where the motor's power is not stated, what the belt must carry counts, duty left out. The
    belt's `place` is the number of stages before it.
    """
    motor = machine.motor_kw(speed.settings)
    must = must_kw(machine, speed.rpm, motor or 0.0)[0] / machine.scenario.work.duty
    return must if motor is None else max(must, motor * passed_on(machine.scenario.chain, 0, place))


def _missing(machine: Machine, name: str, belts: tuple[BeltLoad, ...]) -> str:
    shaft = machine.scenario.shaft(name)
    for stage in machine.scenario.chain:
        if isinstance(stage, FixedStage) and name in (stage.from_shaft, stage.to_shaft):
            return f"what the fixed ratio {stage.from_shaft} to {stage.to_shaft} does to it is not known"
    if shaft.bearings_mm is None:
        inside = "; inside a motor they are its maker's, who says what pull they stand" if name == MOTOR else ""
        return f"its bearings are not stated{inside}"
    for number, pair, cone in cones_on(machine, name):
        if cone.side.along_mm is None:
            return f"the place of {cone.key} along it is not stated"
        if not any(load.stage == number and load.pull for load in belts):
            return f"the pull of the belt of {pair.key} is not known"
    return ""


def _across(machine: Machine) -> _Across:
    stands = stands_of(machine)
    if isinstance(stands, str):
        return _Across(None, {})
    running = (
        (tuple(stand.position for stand in state), row)
        for row, state in enumerate(stands.states)
        if all(stand.when == "running" for stand in state)
    )
    return _Across(stands, dict(running))


def _load(machine: Machine, shaft: Shaft, belts: tuple[BeltLoad, ...], across: _Across) -> ShaftLoad:
    assert shaft.bearings_mm is not None
    allowed = shafting(keyed=shaft.keyed, shock=shaft.shock, plain_mpa=shaft.stress_mpa)
    found, bearings, known = [], np.zeros(2), True
    for number, (rpm, chosen, _) in enumerate(machine.speeds, 1):
        by_stage = {load.stage: load for load in belts if load.number == number}
        pulls = list(_pulls(machine, shaft, by_stage, chosen, across))
        if not pulls:
            continue
        known = known and all(pull.towards is not None for pull in pulls)
        places = [pull.place_mm for pull in pulls]
        torsion = max(pull.torque_nm for pull in pulls)
        for directed in _directed(pulls):
            moment = greatest_moment_nm(places, directed, shaft.bearings_mm)
            found.append((_needed_mm(moment, torsion, allowed), rpm, moment, torsion))
            ends = bearing_loads_n(places, directed, shaft.bearings_mm)
            bearings = np.maximum(bearings, [np.hypot(*end) for end in ends])
    needed, rpm, moment, torsion = max(found, key=lambda hard: meaningful(hard[0]))
    ends_n = float(bearings[0]), float(bearings[1])
    return ShaftLoad(shaft.name, rpm, moment, torsion, needed, ends_n, known, allowed.source)


def _needed_mm(moment_nm: float, torsion_nm: float, allowed: Shafting) -> float:
    factors = allowed.bending_factor, allowed.torsion_factor
    return float(needed_diameter_mm(moment_nm, torsion_nm, allowed.stress_mpa, *factors))


def _pulls(
    machine: Machine, shaft: Shaft, belts: Mapping[int, BeltLoad], chosen: tuple[int, ...], across: _Across
) -> Iterator[_Pull]:
    """Yield the pulls of all belts on a shaft at one spindle speed."""
    for number, pair, cone in cones_on(machine, shaft.name):
        load = belts.get(number)
        if load is None or load.pull is None:
            continue
        p = chosen[number]
        place = seats_of(cone, pair, machine.scenario.making)[p].place_mm
        driver, driven = pair.driver.pitch_mm[p], pair.driven.pitch_mm[p]
        wrap = wraps_deg(driver, driven, pair.centres_mm[p], pair.crossed)[0 if cone is pair.driver else 1]
        rpm = load.entering_rpm * (1.0 if cone is pair.driver else pair.ratios[p])
        other = pair.stage.to_shaft if cone is pair.driver else pair.stage.from_shaft
        power = _power_kw(machine, machine.speeds[load.number - 1], place_in_chain(machine, load))
        assert place is not None
        yield _Pull(
            place,
            float(shaft_pull_n(*_tightened(load, load.pull, power), wrap)),
            across.towards(shaft, machine.scenario.shaft(other), chosen),
            float(torque_nm(power, rpm)),
        )


def _tightened(load: BeltLoad, pull: Pull, power_kw: float) -> Strands:
    """Return the strands of a belt that is tightened until it carries a power, be that more than it is rated for."""
    rest = (pull.pretension_n - pull.centrifugal_n) * power_kw / pull.carried_kw + pull.centrifugal_n
    return strands_n(rest, power_kw, load.speed_m_s)


def _directed(pulls: list[_Pull]) -> Iterator[Floats]:
    """Yield the pulls as vectors: as they lie, or in every way along one line where that is not known."""
    amounts = np.array([pull.amount_n for pull in pulls])
    known = [pull.towards for pull in pulls if pull.towards is not None]
    if len(known) == len(pulls):
        yield amounts[:, None] * np.array(known)
        return
    for signs in product((1.0, -1.0), repeat=max(0, len(pulls) - 1)):
        yield np.column_stack([amounts * np.array([1.0, *signs]), np.zeros(len(pulls))])


KEY_MPA = (41.0, 82.0)
"""Shear and crushing stress of a mild steel key [MPa]; from memory."""
KEY_SOURCE = "mild steel, 41 MPa in shear, 82 MPa in crushing, from memory"


class KeySeat(NamedTuple):
    """The usual key of a shaft with its seats."""

    shaft: str
    diameter_mm: float
    key: Key
    seats: Depths
    """Sizes over the finished seats."""
    length_mm: float | None
    """Least length for the greatest torque of the shaft; nothing where that is not known."""


def key_seats(machine: Machine) -> tuple[KeySeat, ...]:
    """Return the usual key of every keyed shaft that carries a cone and has a diameter that the tables know."""
    inch = machine.scenario.units == "in"
    torques = torques_nm(machine)
    found = []
    for name in shaft_names(machine):
        shaft = machine.scenario.shaft(name)
        size = shaft.diameter_mm
        if flat_frame(machine, name) is not None:
            continue
        key = None if size is None or not shaft.keyed else key_for(size, inch=inch)
        if size is None or key is None:
            continue
        torque = torques.get(name, 0.0)
        length = key_length_mm(torque, size, key.width_mm, key.height_mm, KEY_MPA) if torque > 0 else None
        found.append(KeySeat(name, size, key, _seats(size, key), length))
    return tuple(found)


def flat_frame(machine: Machine, name: str) -> Frame | None:
    """Return the motor's frame where its shaft has a flat in place of a keyway, and nobody states a keyway."""
    motor = machine.scenario.motor.frame
    if name != MOTOR or motor is None or "keyed" in machine.scenario.shaft(name).model_fields_set:
        return None
    known = frame(motor)
    return None if known.flat is None else known


def key_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the check that every keyed cone is as long as the key of its shaft must be."""
    seats = {seat.shaft: seat for seat in key_seats(machine)}
    for name in shaft_names(machine):
        shaft, seat = machine.scenario.shaft(name), seats.get(name)
        if not shaft.keyed:
            continue
        flat = flat_frame(machine, name)
        if flat is not None:
            yield Skipped(name="key", where=name, why=f"the shaft of {flat.name} has a flat and no keyway")
            continue
        if seat is None or seat.length_mm is None:
            yield Skipped(name="key", where=name, why=_no_key(shaft.diameter_mm, seat, machine.scenario.units))
            continue
        making = machine.scenario.making
        widths = [
            max(cone.positions, len(cone.side.kept_mm)) * (cone.side.pitch_mm or step_pitch_mm(pair, making))
            for _, pair, cone in cones_on(machine, name)
        ]
        note = "the cone's width; never key plywood alone: a metal hub or flange carries the key"
        yield at_most(Rule("key", "advice", min(widths), "mm", KEY_SOURCE), name, seat.length_mm, note)


def _seats(shaft_mm: float, key: Key) -> Depths:
    """Return the sizes over the seats: by geometry for square inch keys, from the table's depths for metric ones."""
    if key.shaft_depth_mm is None or key.hub_depth_mm is None:
        return seat_depths_mm(shaft_mm, key.width_mm)
    return Depths(shaft_mm - key.shaft_depth_mm, shaft_mm + key.hub_depth_mm)


def _no_key(diameter_mm: float | None, seat: KeySeat | None, units: str) -> str:
    if diameter_mm is None:
        return "its diameter is not stated"
    if seat is None:
        return f"the table of {'inch' if units == 'in' else 'metric'} keys has none for its diameter"
    return "its torque is not known"
