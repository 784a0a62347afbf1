"""Readings held against the machine they were taken on: what cannot be, with its place in the file."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.asbuilt.measured import CentreReading, Check, Measured, RpmReading, StepReading
from optimizer.asbuilt.sizes import Reading, Rim, rim_of, sizes_of
from optimizer.errors import Fault
from optimizer.quantities import show_length
from optimizer.records.sheet import MachineSheet, StageSheet, StepSheet

__all__ = ["faults_against", "reading_of", "step_at"]

FARTHEST = 0.25
"""Share of its size by which a step that was measured may differ from its design; beyond, it is another; judgement."""

APART = 2000.0
"""Greatest ratio of two speeds that were read together; judgement."""
COARSEST = 0.1
"""Share of a speed that its reading may be off by; beyond, it tells nothing; judgement."""


def step_at(stage: StageSheet, side: str, position: int) -> StepSheet:
    """Return a step of a stage, positions counted from 1."""
    at = stage.positions[position - 1]
    return at.driver if side == "driver" else at.driven


def reading_of(step: StepReading, check: Check) -> Reading:
    """Return what was read on a step, with the resolution stated for it or for the whole check."""
    return Reading(
        over_pins_mm=step.over_pins_mm,
        pin_mm=step.pin_mm,
        belt_top_mm=step.belt_top_mm,
        outside_mm=step.outside_mm,
        tape_mm=step.tape_mm,
        tape_thickness_mm=step.tape_thickness_mm,
        diameter_mm=step.diameter_mm,
        resolution_mm=step.resolution_mm if step.resolution_mm is not None else check.resolution_mm,
    )


def faults_against(measured: Measured, machine: MachineSheet) -> Iterator[Fault]:
    """Yield what in the file does not go with the machine: steps it has not, pins on plain rims, another's sizes."""
    for number, check in enumerate(measured.check):
        seen: dict[tuple[int, str, int], int] = {}
        for index, step in enumerate(check.step):
            place = f"check[{number}].step[{index}]"
            if fault := _no_such(place, step, machine) or _elsewhere(place, step, machine):
                yield fault
                continue
            first = seen.setdefault((step.stage, step.side, step.position), index)
            if first != index and step.read and check.step[first].read:
                yield Fault(place, "this step was measured twice in one check", advice="write them as two checks")
            yield from _step_faults(place, step, check, machine, measured.units)
        for index, centre in enumerate(check.centre):
            if fault := _no_such(f"check[{number}].centre[{index}]", centre, machine):
                yield fault
        for index, speed in enumerate(check.speed):
            yield from _speed_faults(f"check[{number}].speed[{index}]", speed, machine)


def _no_such(place: str, reading: StepReading | CentreReading, machine: MachineSheet) -> Fault | None:
    """Return the fault of a stage or position that the machine has not."""
    stages = len(machine.stages)
    if reading.stage > stages:
        return Fault(f"{place}.stage", "the machine has no such belt stage", str(reading.stage), f"1 to {stages}")
    positions = len(machine.stages[reading.stage - 1].positions)
    if reading.position is not None and reading.position > positions:
        what = f"stage {reading.stage} has no such position"
        return Fault(f"{place}.position", what, str(reading.position), f"1 to {positions}")
    return None


def _elsewhere(place: str, step: StepReading, machine: MachineSheet) -> Fault | None:
    """Return the fault of a reading on a shared cone that is not written where it stands: under its first belt."""
    stage = machine.stages[step.stage - 1]
    if not (stage.shared_driver and step.side == "driver") or (step.turned and not step.read):
        return None
    position = len(stage.positions) + 1 - step.position
    what = "this cone is the driven one of the belt before, and is measured once, there"
    allowed = f'stage {step.stage - 1}, side "driven", position {position} is this step'
    return Fault(f"{place}.side", what, f'stage {step.stage}, "driver"', allowed, "write it there, or leave it out")


def _step_faults(place: str, step: StepReading, check: Check, machine: MachineSheet, units: str) -> Iterator[Fault]:
    stage = machine.stages[step.stage - 1]
    designed = step_at(stage, step.side, step.position)
    rim = rim_of(stage.section, designed)
    yield from _pin_faults(place, step, rim, units)
    if step.belt_top_mm is not None and not rim.grooved:
        what = "the belt lies on a plain rim, where its top tells nothing"
        yield Fault(f"{place}.belt_top", what, allowed="diameter or tape", advice="measure the rim")
    for size in sizes_of(rim, reading_of(step, check)):
        if abs(size.pitch_mm / designed.pitch_mm - 1) > FARTHEST:
            what = f"by {size.how} this step runs at {show_length(size.pitch_mm, units)}, so it is another one"
            near = f"near {show_length(designed.pitch_mm, units)}"
            yield Fault(place, what, allowed=near, advice="check stage, side, position, and the unit")
    over = step.outside_mm or step.diameter_mm
    if over is not None and rim.grooved and abs(over / designed.outside_mm - 1) > FARTHEST:
        what, near = "this is not the diameter of this step", f"near {show_length(designed.outside_mm, units)}"
        yield Fault(f"{place}.outside", what, show_length(over, units), near, "check the step, and the unit")


def _pin_faults(place: str, step: StepReading, rim: Rim, units: str) -> Iterator[Fault]:
    if step.over_pins_mm is None:
        return
    if not rim.flanks:
        what = "there are no flanks here that pins could lie on"
        allowed = "outside with belt_top" if rim.grooved else "diameter or tape"
        yield Fault(f"{place}.over_pins", what, show_length(step.over_pins_mm, units), allowed)
        return
    pin = step.pin_mm or rim.pin_mm
    if pin is None:
        what = "no gauge pins are known for this section"
        yield Fault(f"{place}.pin", what, allowed="pin, their diameter", advice="add pin")
    elif step.pin_mm is not None and not rim.seats(pin):
        what = "pins of this size do not lie on the flanks of this groove"
        near = "" if rim.pin_mm is None else f"near {show_length(rim.pin_mm, units)}"
        yield Fault(f"{place}.pin", what, show_length(pin, units), near)


def _speed_faults(place: str, speed: RpmReading, machine: MachineSheet) -> Iterator[Fault]:
    counts = [len(stage.positions) for stage in machine.stages]
    fits = len(speed.positions) == len(counts) and all(p <= n for p, n in zip(speed.positions, counts, strict=True))
    if not fits:
        got = "x".join(map(str, speed.positions))
        allowed = f"one of every stage, motor first, up to {'x'.join(map(str, counts))}"
        yield Fault(f"{place}.positions", "the machine has no such positions", got, allowed)
    elif any(second.shared_driver for second in machine.stages) and sum(speed.positions) == counts[0] + 1:
        what, got = "both belts would lie on one step of the cone that they share", "x".join(map(str, speed.positions))
        yield Fault(f"{place}.positions", what, got, f"positions that do not add up to {counts[0] + 1}")
    yield from _setting_faults(place, speed, machine)
    yield from _doubtful(place, speed)
    shafts = [shaft.shaft for shaft in machine.speeds[0].shafts[1:]]
    if speed.shaft is not None and speed.shaft not in shafts:
        advice = "the motor's own speed is stated as motor"
        yield Fault(f"{place}.shaft", "no such shaft is driven", f'"{speed.shaft}"', ", ".join(shafts), advice)


def _doubtful(place: str, speed: RpmReading) -> Iterator[Fault]:
    """Yield why a speed tells nothing beside the motor's: it is too far from it, or read too coarsely."""
    if speed.speed_rpm is None:
        return
    read = [rpm for rpm in (speed.speed_rpm, speed.motor_rpm) if rpm is not None]
    if max(read) > APART * min(read):
        got = " and ".join(f"{rpm:.6g} rpm" for rpm in read)
        yield Fault(f"{place}.speed", "no machine turns so far from its motor's speed", got, advice="read both again")
    elif speed.finest_rpm > COARSEST * min(read):
        most = f"at most {COARSEST * min(read):.3g} rpm"
        advice = "read it finer, or check the speeds"
        yield Fault(
            f"{place}.resolution", "so coarse a reading tells nothing", f"{speed.finest_rpm:g} rpm", most, advice
        )


def _setting_faults(place: str, speed: RpmReading, machine: MachineSheet) -> Iterator[Fault]:
    """Yield what is wrong with the settings of a speed that was read: one of every switch of the machine."""
    counts = [len(switch.settings) for switch in machine.switches]
    if not speed.settings and not counts:
        return
    names = ", ".join(switch.name for switch in machine.switches)
    allowed = f"a setting each of {names}, up to {'x'.join(map(str, counts))}, the slowest is 1" if counts else ""
    got, key = "x".join(map(str, speed.settings)), f"{place}.settings"
    if not speed.settings:
        if speed.speed_rpm is not None:
            yield Fault(key, "it is not said how the machine was switched", allowed=allowed)
    elif not counts:
        yield Fault(key, "nothing is switched on this machine", got, advice="leave it out")
    elif len(speed.settings) != len(counts) or any(s > n for s, n in zip(speed.settings, counts, strict=True)):
        yield Fault(key, "the machine has no such settings", got, allowed)
