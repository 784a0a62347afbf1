"""A design beside its scenario, and the machine built of it again."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import isclose, pi
from typing import TypeVar, cast

from optimizer.catalogue.sections import section
from optimizer.checks.stated import Machine, read_machine
from optimizer.errors import ConewrightError, ScenarioError
from optimizer.pipeline.machine import machine_sheet
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.candidate import StageSizes
from optimizer.records.design import Design
from optimizer.records.middle import MiddleCandidate
from optimizer.records.problem import StageProblem
from optimizer.records.sheet import MachineSheet, StageSheet
from optimizer.scenario import Scenario, load_scenario

__all__ = [
    "CHANGED",
    "Job",
    "StaleDesignError",
    "built_machine",
    "built_middle",
    "built_of",
    "checked_job",
    "job_of",
    "machine_of",
]

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


CHANGED = (
    "This design was changed by hand after conewright made it, and its checks, loads and proof may be those of another "
    "machine: do not build from it before it is designed anew"
)
"""What every page says of a changed design."""
CLOSE = 1e-9
"""Relative difference that versions of the libraries may make."""


T = TypeVar("T")


@dataclass(frozen=True)
class Job:
    """A design with the scenario it was made from."""

    design: Design
    scenario: Scenario
    changed: bool = False
    """Whether the design was changed after it was written; the scenario's title then says so too."""
    known: dict[str, object] = field(default_factory=dict, compare=False, repr=False)
    """What several papers ask of the design and is worked out once, by its name."""

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is to be read before anything is built: first, where it is so, that the design was changed."""
        return (*((f"{CHANGED}.",) if self.changed else ()), *self.design.cautions)

    def once(self, name: str, work_out: Callable[[], T]) -> T:
        """Return what is known by a name, worked out where it is not known yet."""
        if name not in self.known:
            self.known[name] = work_out()
        return cast(T, self.known[name])


class StaleDesignError(ConewrightError):
    """A design does not agree with the scenario it carries, or with its own diameters."""


def job_of(design: Design) -> Job:
    """Return a design beside its scenario, read from the text that the design carries.

    Raises
    ------
    ScenarioError
        The text is not a scenario.
    """
    return Job(design, load_scenario(design.scenario.text, design.scenario.file))


def checked_job(design: Design, *, changed: bool = False) -> Job:
    """Return a design from outside beside its scenario, after working its machine out anew from its diameters.

    Parameters
    ----------
    design
        As it was read.
    changed
        Whether it is not as it was written, which its title then begins with.

    Raises
    ------
    StaleDesignError
        The text that the design carries can no longer be read; or a figure of the machine is not what the outside
        diameters and belts give.
    """
    try:
        job = job_of(design)
        anew = machine_sheet(read_machine(job.scenario, built_of(design.machine)))
    except ScenarioError as error:
        raise StaleDesignError(f"the scenario in it is refused: {error.faults[0]}") from error
    except ValueError as error:
        raise StaleDesignError(f"its machine is not that of its scenario: {error}") from error
    if place := _difference(design.machine.model_dump(), anew.model_dump(), "machine"):
        raise StaleDesignError(f"{place} is not what its outside diameters and belts give")
    if not changed:
        return job
    title = f"CHANGED BY HAND: {job.scenario.title}"
    return Job(design, job.scenario.model_copy(update={"title": title}), changed=True)


def _difference(one: object, other: object, place: str) -> str:
    """Return the place of the first difference between two documents, nothing where they are the same."""
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        keys = [key for key in one if key in other]
        if len(keys) < max(len(one), len(other)):
            return place
        return next((d for key in keys if (d := _difference(one[key], other[key], f"{place}.{key}"))), "")
    if isinstance(one, Sequence) and isinstance(other, Sequence) and not isinstance(one, str):
        if len(one) != len(other):
            return place
        pairs = enumerate(zip(one, other, strict=True))
        return next((d for n, (a, b) in pairs if (d := _difference(a, b, f"{place}[{n}]"))), "")
    if isinstance(one, float) and isinstance(other, float | int):
        return "" if isclose(one, other, rel_tol=CLOSE, abs_tol=CLOSE) else place
    return "" if one == other else place


def machine_of(job: Job) -> Machine:
    """Return a design's machine as the checks read it."""
    return job.once("machine", lambda: read_machine(job.scenario, built_of(job.design.machine)))
