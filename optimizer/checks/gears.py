"""Fixed stages: how fast they are driven, what torque leaves them."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf
from typing import NamedTuple

from optimizer.checks.stated import Machine, MadeSpeed
from optimizer.checks.verdict import Check, Rule, Skipped, at_most
from optimizer.mechanics.gears import torque_nm
from optimizer.quantities.digits import meaningful
from optimizer.scenario import BeltStage, FixedStage
from optimizer.scenario.losses import passed_on

__all__ = ["GearLoad", "gear_checks", "gear_loads", "input_rpm", "leaving_rpm"]

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
            torque = torque_nm(power * passed_on(chain, 0, here + 1), rpm)
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
