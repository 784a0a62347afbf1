"""A set of sizes that keeps every hard rule of its problem."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import model_validator

from optimizer.records.problem import BeltChoice, Problem
from optimizer.records.rules import broken_rules
from optimizer.scenario.base import Model

__all__ = ["Candidate", "PositionSizes", "Source", "StageSizes"]

Source = Literal["turned", "ready", "kept"]


class PositionSizes(Model):
    """One placing of a stage's belt, in pitch diameters."""

    driver_mm: float
    driven_mm: float
    centre_mm: float
    """Centre distance at which the belt is just taut here."""
    driver_source: Source = "turned"
    driven_source: Source = "turned"


class StageSizes(Model):
    """One stage with its belt and all its positions, slowest first."""

    belt: BeltChoice
    positions: tuple[PositionSizes, ...]


class Candidate(Model):
    """Sizes for every position of every stage; it cannot be built if a hard rule is broken."""

    problem: Problem
    stages: tuple[StageSizes, ...]

    @model_validator(mode="after")
    def _keeps_every_hard_rule(self) -> Self:
        faults = broken_rules(self.problem, self.stages)
        if faults:
            raise ValueError("; ".join(faults))
        return self
