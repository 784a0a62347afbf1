"""What the motor's frame leaves of room, and how the machine starts."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import NamedTuple

from optimizer.catalogue.parts import Frame, frame, start_torque
from optimizer.checks.along import step_pitch_mm
from optimizer.checks.around import gap_kept
from optimizer.checks.carrying import BeltLoad, loads, place_in_chain
from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.verdict import Check, Kind, Rule, Skipped, at_least, at_most
from optimizer.mechanics.shafts import torque_nm
from optimizer.mechanics.starting import run_up_s
from optimizer.quantities.digits import meaningful
from optimizer.scenario.chain import MOTOR
from optimizer.scenario.stage import passed_on

__all__ = ["RunUp", "motor_checks", "run_ups"]

MOST_RUN_UP_S = 10.0
"""A motor that takes longer gets hot where it is started often; common practice, no source."""
SAME_MM = 0.05
PRACTICE = "common practice, no source"


class RunUp(NamedTuple):
    """How the machine comes up to one spindle speed with the heaviest work."""

    number: int
    rpm: float
    torque_nm: float
    """Steady torque of the spindle that is counted on: the least of the motor's, at standstill or full load, and the
    belts'."""
    seconds: float
    """Infinite where a belt carries nothing."""


def motor_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the checks of the motor's frame and of starting."""
    yield from _frame_checks(machine)
    yield from _start_checks(machine)
    yield from _run_up_checks(machine)


def run_ups(machine: Machine) -> tuple[RunUp, ...]:
    """Return the time to come up to every speed; nothing where inertia of the work or power of the motor is missing.

    The motor is taken to give no more than its full-load torque, or its torque at standstill where that is less, from
    standstill to full speed. Belts are taken to pull no harder than at full speed. The work is not cut meanwhile;
    friction, and the inertia of motor and pulleys on faster shafts, are not counted.
    """
    scenario = machine.scenario
    inertia = scenario.work.inertia_kg_m2
    if inertia is None:
        return ()
    share = 1.0 if scenario.motor.torque_class is None else min(1.0, start_torque(scenario.motor.torque_class)[0])
    belts, chain = loads(machine), scenario.chain
    found = []
    for number, (rpm, _, settings) in enumerate(machine.speeds, 1):
        power = machine.motor_kw(settings)
        if power is None:
            return ()
        carried = [
            load.carries_kw / scenario.work.duty * passed_on(chain, place_in_chain(machine, load))
            for load in belts
            if load.number == number
        ]
        torque = float(torque_nm(min([share * power * passed_on(chain), *carried]), rpm))
        found.append(RunUp(number, rpm, torque, float(run_up_s(inertia, rpm, torque))))
    return tuple(found)


def _start_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the checks of the motor's torque at standstill against that of the work, and against what belts pull."""
    scenario = machine.scenario
    name, power = scenario.motor.torque_class, scenario.motor.power_kw
    if name is None:
        why = "the motor's torque class is not stated"
        yield Skipped(name="starting torque", where="motor.torque_class", why=why)
        return
    share, source = start_torque(name)
    belts = loads(machine)
    asked = 1.0
    if power is not None and any(load.must_kw > 0 for load in belts):
        asked = max(load.must_kw / _motor_kw(machine, load) for load in belts) / scenario.work.duty
    note = "of the full-load torque, against that of the work; with less, start it with the work held clear"
    yield at_least(Rule("starting torque", "advice", asked, "times", source), "motor.torque_class", share, note)
    if power is None or not belts or scenario.work.inertia_kg_m2 is None:
        return
    weakest = min(belts, key=lambda load: (meaningful(load.carries_kw / _motor_kw(machine, load)), load.number))
    where = f"{weakest.key}, position {weakest.position} at {weakest.rpm:.0f} rpm"
    rule = Rule("belt at the start", "advice", share, "times", source)
    note = "of the motor's full-load torque; with heavy work a belt that carries less slips until it turns"
    yield at_least(rule, where, weakest.carries_kw / _motor_kw(machine, weakest), note)


def _motor_kw(machine: Machine, load: BeltLoad) -> float:
    """Return the motor's rated power as it is switched at a load; infinite where none is stated."""
    return machine.motor_kw(machine.speeds[load.number - 1].settings) or inf


def _run_up_checks(machine: Machine) -> Iterator[Check | Skipped]:
    found = run_ups(machine)
    if not found:
        why = "the work's inertia, or the motor's power, is not stated"
        yield Skipped(name="run-up time", where="work.inertia", why=why)
        return
    slowest = max(found, key=lambda run: (meaningful(run.seconds), run.number))
    rule = Rule("run-up time", "advice", MOST_RUN_UP_S, "s", PRACTICE)
    yield at_most(rule, f"speed {slowest.number}", slowest.seconds, "the heaviest work; start it on a slower speed")


def _frame_checks(machine: Machine) -> Iterator[Check | Skipped]:
    motor = machine.scenario.motor
    if motor.frame is None:
        why = "neither the motor's frame nor the diameter of a usual motor's shaft is stated"
        yield Skipped(name="motor frame", where="motor.frame", why=why)
        return
    known, said = frame(motor.frame), frame(motor.frame).name
    if "frame" not in motor.model_fields_set:
        said += ", taken from the motor's shaft"
    shaft = machine.scenario.shaft(MOTOR)
    if shaft.diameter_mm is not None:
        off = abs(shaft.diameter_mm - known.shaft_mm)
        rule = Rule("motor shaft as its frame", "advice", SAME_MM, "mm", known.source)
        yield at_most(rule, shaft.name, off, f"{said}: {known.shaft_mm:g} mm")
    for pair in machine.pairs:
        if pair.stage.from_shaft == MOTOR:
            yield _above_the_plate(pair.driver, machine, known, said)
            yield _on_its_shaft(pair, machine, known, said)


def _above_the_plate(cone: Cone, machine: Machine, known: Frame, said: str) -> Check | Skipped:
    """Return the check that pulleys keep clear of what the motor stands on.

    It is advice for a cone that exists where nobody says what the motor stands on: the machine runs as it is.
    """
    motor, name = machine.scenario.motor, "pulley above the plate"
    if not motor.plate:
        why = "nothing reaches under the motor's pulleys, as the maker states (motor.plate = false)"
        return Skipped(name=name, where=cone.key, why=why)
    stated = "plate" in motor.model_fields_set
    gap, room = gap_kept(machine), known.height_mm - gap_kept(machine)
    note = f"{said}; radius, {gap:g} mm clear of the plate {known.height_mm:g} mm under the shaft"
    note += "" if stated else "; a motor on blocks or with its shaft over an edge: motor.plate = false"
    kind: Kind = "advice" if cone.side.kept_whole and not stated else "limit"
    return at_most(Rule(name, kind, room, "mm", known.source), cone.key, max(cone.outside_mm) / 2, note)


def _on_its_shaft(pair: Pair, machine: Machine, known: Frame, said: str) -> Check:
    """Return the check that a cone is no longer than the motor's shaft."""
    cone, making = pair.driver, machine.scenario.making
    width = max(cone.positions, len(cone.side.kept_mm)) * (cone.side.pitch_mm or step_pitch_mm(pair, making))
    rule = Rule("cone on the motor's shaft", "advice", known.length_mm, "mm", known.source)
    note = f"{said}; what stands beyond loads the motor's bearing more than its maker meant"
    return at_most(rule, cone.key, width, note)
