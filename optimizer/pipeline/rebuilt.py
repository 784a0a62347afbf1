"""What the checks know of a machine, from its design: for papers that measure more than the design tells."""

from __future__ import annotations

from optimizer.checks.stated import Machine, read_machine
from optimizer.pipeline.job import Job
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.sheet import MachineSheet, StageSheet

__all__ = ["built_of", "machine_of"]


def machine_of(job: Job) -> Machine:
    """Return a design's machine as the checks read it."""
    return read_machine(job.scenario, built_of(job.design.machine))


def built_of(machine: MachineSheet) -> BuiltMachine:
    """Return the outside diameters and belts that a machine sheet was made from."""
    return BuiltMachine(stages=tuple(map(_built, machine.stages)))


def _built(stage: StageSheet) -> BuiltStage:
    drivers = [position.driver for position in stage.positions]
    drivens = [position.driven for position in stage.positions]
    return BuiltStage(
        key=stage.key,
        section=stage.section,
        marking=stage.marking,
        datum_length_mm=stage.datum_length_mm,
        driver_outside_mm=tuple(step.outside_mm for step in drivers),
        driven_outside_mm=tuple(step.outside_mm for step in drivens),
        driver_turned=tuple(step.source == "turned" for step in drivers),
        driven_turned=tuple(step.source == "turned" for step in drivens),
    )
