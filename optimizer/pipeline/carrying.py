"""The section of power, torque and pulls."""

from __future__ import annotations

from optimizer.checks.carrying import BeltLoad, loads, torque_nm
from optimizer.checks.stated import Machine, read_machine
from optimizer.quantities.digits import meaningful
from optimizer.records.built import BuiltMachine
from optimizer.records.mechanics import BeltLoadSheet, CarryingSheet, TorqueSheet
from optimizer.scenario import Scenario

__all__ = ["carrying_sheet"]

CAUTIONS = (
    "These are ratings of belts in good order on true, clean grooves; oil, dust and a bad groove carry less.",
    "A slipping belt gets hot and can burn. Stop the machine, pull its plug, let it run down before you touch a belt.",
    "Pulls are for the belt alone: bearings, shafts and the motor's own bearing must stand them.",
)


def carrying_sheet(scenario: Scenario, built: BuiltMachine) -> CarryingSheet | None:
    """Return what belts carry, with the torque of every speed; nothing where no belt's power is known."""
    machine = read_machine(scenario, built)
    belts = loads(machine)
    if not belts:
        return None
    grips = [load.grip for load in belts if load.grip is not None]
    return CarryingSheet(
        grip=min(grips, default=None),
        duty=scenario.work.duty,
        speeds=tuple(_torque(machine, number, belts) for number in range(1, len(machine.speeds) + 1)),
        belts=tuple(_belt(load) for load in belts),
        cautions=CAUTIONS,
    )


def _torque(machine: Machine, number: int, belts: tuple[BeltLoad, ...]) -> TorqueSheet:
    told = torque_nm(machine, number, belts)
    mine = [load for load in belts if load.number == number]
    grips = [load.grip for load in mine if load.grip is not None]
    first = min(mine, key=lambda load: meaningful(load.carries_kw), default=None)
    return TorqueSheet(
        number=number,
        rpm=machine.speeds[number - 1][0],
        torque_nm=told[0] if told else None,
        limited_by=told[1] if told else "",
        grip=min(grips, default=None),
        slips_first=first.key if first else "",
        slips_position=first.position if first else None,
    )


def _belt(load: BeltLoad) -> BeltLoadSheet:
    pull = load.pull
    return BeltLoadSheet(
        key=load.key,
        position=load.position,
        number=load.number,
        entering_rpm=load.entering_rpm,
        speed_m_s=load.speed_m_s,
        wrap_deg=load.wrap_deg,
        bends_per_s=load.bends_per_s,
        carries_kw=load.carries_kw,
        source=load.source,
        must_kw=load.must_kw or None,
        grip=load.grip,
        pretension_n=pull.pretension_n if pull else None,
        tight_n=pull.tight_n if pull else None,
        slack_n=pull.slack_n if pull else None,
        shaft_n=pull.shaft_n if pull else None,
    )
