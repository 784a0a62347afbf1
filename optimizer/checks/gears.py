"""Fixed stages: how fast they are driven, what torque leaves them."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf
from typing import NamedTuple

from optimizer.checks.carrying import BeltLoad, loads, place_in_chain
from optimizer.checks.stated import Machine, MadeSpeed
from optimizer.checks.verdict import Check, Rule, Skipped, at_most
from optimizer.mechanics.gears import torque_nm
from optimizer.scenario import BeltStage, FixedStage
from optimizer.scenario.chain import MOTOR
from optimizer.scenario.losses import passed_on

__all__ = ["GearLoad", "gear_checks", "gear_loads", "input_rpm"]

STATED = "stated by the maker"
SERVICE = "shocks and the gear maker's own service factor are not counted"
SPEED, TORQUE = "speed into the gear", "torque out of the gear"


class GearLoad(NamedTuple):
    """The torque that can leave a fixed stage at one spindle speed."""

    number: int
    """The spindle speed, from 1."""
    spindle_rpm: float
    driven_rpm: float
    """Speed of the stage's driven shaft."""
    torque_nm: float
    """On the driven shaft: the most that motor and belts can bring there, before one of them gives way."""
    limited_by: str
    """`motor`, or the place of the belt stage that slips first."""


def input_rpm(machine: Machine, stage: FixedStage) -> float:
    """Return the greatest speed of a fixed stage's driving shaft under full load, which its maker states it for."""
    return dict(machine.fastest_rpm)[stage.from_shaft]


def gear_loads(machine: Machine, stage: FixedStage) -> tuple[GearLoad, ...]:
    """Return the torque that can leave a fixed stage, by spindle speed; nothing where no power is known.

    The power that arrives is the least of the motor's rated power and of what every belt carries before it slips, less
    what the fixed stages between there and here lose; a belt behind gives way for the gear as well as one before it.
    Duty is not counted: it spares belts, it does not make them slip sooner.
    """
    chain = machine.scenario.chain
    here = next(index for index, other in enumerate(chain) if other is stage)
    belts = loads(machine)
    found = []
    for number, speed in enumerate(machine.speeds, 1):
        powers = list(_powers_kw(machine, here, speed, [load for load in belts if load.number == number]))
        if powers:
            power, by = min(powers, key=lambda entry: entry[0])
            rpm = leaving_rpm(machine, speed)[here]
            found.append(GearLoad(number, speed.rpm, rpm, torque_nm(power, rpm), by))
    return tuple(found)


def _powers_kw(machine: Machine, here: int, speed: MadeSpeed, belts: list[BeltLoad]) -> Iterator[tuple[float, str]]:
    """Yield what motor and belts can bring to the driven shaft of the fixed stage at a place of the chain."""
    chain, motor_kw = machine.scenario.chain, machine.motor_kw(speed.settings)
    if motor_kw is not None:
        yield motor_kw * passed_on(chain, 0, here + 1), MOTOR
    for load in belts:
        at = place_in_chain(machine, load)
        share = passed_on(chain, at, here + 1) if at < here else 1 / passed_on(chain, here + 1, at)
        yield load.carries_kw * share, load.key


def leaving_rpm(machine: Machine, speed: MadeSpeed) -> list[float]:
    """Return how fast the driven shaft of every stage of the chain turns at a spindle speed."""
    scenario = machine.scenario
    engaged = {s.key: s.values[i] for s, i in zip(scenario.switches, speed.settings, strict=True)}
    rpm = engaged.get(MOTOR, scenario.motor.speed_rpm)
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
        yield Skipped(name=TORQUE, where=key, why="neither the motor's power nor what the belts carry is known")
        return
    worst = max(found, key=lambda load: load.torque_nm)
    above = [load for load in found if load.torque_nm > stage.torque_nm]
    by = "the motor" if worst.limited_by == MOTOR else f"the belt of {worst.limited_by}, which slips then"
    note = f"as much as {by} brings; {SERVICE}"
    if above:
        speeds = ", ".join(f"{load.spindle_rpm:.0f}" for load in above)
        note = f"more can come than the gear permits at {speeds} rpm of the spindle, {note}; {ADVICE}"
    where = f"{key} at {worst.spindle_rpm:.0f} rpm"
    yield at_most(Rule(TORQUE, "limit", stage.torque_nm, "N m", STATED), where, worst.torque_nm, note)


ADVICE = "let a belt slip first (a weaker one, or less tight), or take a smaller motor or a stronger gear"
