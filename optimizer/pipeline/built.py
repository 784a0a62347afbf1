"""Final sizes as they are measured on the bench."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

from optimizer.catalogue.sections import section
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.candidate import StageSizes
from optimizer.records.middle import MiddleCandidate
from optimizer.records.problem import StageProblem
from optimizer.records.sheet import MachineSheet, StageSheet

__all__ = ["built_machine", "built_middle", "built_of"]

DECIMALS = 9
"""Decimals of a millimetre kept, so that a size on a tick reads as one."""


def built_machine(stages: Sequence[StageProblem], sizes: Sequence[StageSizes]) -> BuiltMachine:
    """Return the outside diameters and datum lengths of sizes given in pitch diameters, positions slowest first."""
    return BuiltMachine(stages=tuple(_built(rules, own) for rules, own in zip(stages, sizes, strict=True)))


def built_middle(candidate: MiddleCandidate) -> BuiltMachine:
    """Return the same of a machine with a middle shaft.

    With a shared cone the second belt is slowest on the last level.
    """
    first, second = candidate.stages
    if candidate.problem.shared:
        second = second.model_copy(update={"positions": second.positions[::-1]})
    return built_machine(candidate.problem.stages, (first, second))


def _built(rules: StageProblem, sizes: StageSizes) -> BuiltStage:
    belt, shift = sizes.belt, section(sizes.belt.section).pitch_shift_mm
    driver, driven = rules.driver.outside_shift_mm, rules.driven.outside_shift_mm
    return BuiltStage(
        key=rules.key,
        section=belt.section,
        marking=belt.marking,
        datum_length_mm=round(belt.length_mm - pi * shift, DECIMALS),
        driver_outside_mm=tuple(round(p.driver_mm + driver, DECIMALS) for p in sizes.positions),
        driven_outside_mm=tuple(round(p.driven_mm + driven, DECIMALS) for p in sizes.positions),
        driver_turned=tuple(p.driver_source == "turned" for p in sizes.positions),
        driven_turned=tuple(p.driven_source == "turned" for p in sizes.positions),
    )


def built_of(machine: MachineSheet) -> BuiltMachine:
    """Return the outside diameters and belts that a machine sheet was made from."""
    return BuiltMachine(stages=tuple(map(_built_stage, machine.stages)))


def _built_stage(stage: StageSheet) -> BuiltStage:
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
