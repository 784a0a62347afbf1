"""A set of sizes that keeps every hard rule of its problem."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from optimizer.geometry.belts import centre_for_length_mm
from optimizer.records.problem import BeltChoice, Problem, Source, StageProblem
from optimizer.records.rules import broken_rules
from optimizer.scenario.base import Model

__all__ = ["Candidate", "PositionSizes", "Source", "StageSizes", "nearest_sizes"]


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


def nearest_sizes(rules: StageProblem, sizes: StageSizes) -> StageSizes | None:
    """Return a stage with every turned size at its nearest tick by itself, nothing where a limit is in the way."""
    positions = []
    for p in sizes.positions:
        driver = rules.driver.ticks_near_mm(p.driver_mm, p.driver_source, 0)
        driven = rules.driven.ticks_near_mm(p.driven_mm, p.driven_source, 0)
        if not driver or not driven:
            return None
        centre = centre_for_length_mm(driver[0], driven[0], sizes.belt.length_mm, crossed=rules.crossed)
        positions.append(
            p.model_copy(update={"driver_mm": driver[0], "driven_mm": driven[0], "centre_mm": float(centre)})
        )
    return StageSizes(belt=sizes.belt, positions=tuple(positions))


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
