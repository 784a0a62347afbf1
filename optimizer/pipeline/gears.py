"""The section of fixed stages."""

from __future__ import annotations

from math import isinf

from optimizer.checks.shafts import gear_loads, input_rpm
from optimizer.checks.stated import Machine, read_machine
from optimizer.records.built import BuiltMachine
from optimizer.records.mechanics import GearSheet, GearTorque
from optimizer.scenario import FixedStage, Scenario

__all__ = ["gear_sheets"]


def gear_sheets(scenario: Scenario, built: BuiltMachine) -> tuple[GearSheet, ...]:
    """Return every fixed stage of a machine, motor first."""
    machine = read_machine(scenario, built)
    return tuple(_gear(machine, stage) for stage in scenario.chain if isinstance(stage, FixedStage))


def _gear(machine: Machine, stage: FixedStage) -> GearSheet:
    return GearSheet(
        key=machine.scenario.place_of(stage),
        driver_shaft=stage.from_shaft,
        driven_shaft=stage.to_shaft,
        ratios=tuple(sorted((*stage.slower, stage.ratio))),
        reverses=stage.reverses,
        efficiency=stage.efficiency,
        input_rpm=input_rpm(machine, stage),
        input_limit_rpm=_stated(stage.input_speed_rpm),
        torque_limit_nm=_stated(stage.torque_nm),
        peak_limit_nm=_stated(stage.peak_nm),
        torques=tuple(
            GearTorque(
                number=load.number,
                driven_rpm=load.driven_rpm,
                torque_nm=load.torque_nm,
                breakdown_nm=load.breakdown_nm,
            )
            for load in gear_loads(machine, stage)
        ),
    )


def _stated(limit: float) -> float | None:
    return None if isinf(limit) else limit
