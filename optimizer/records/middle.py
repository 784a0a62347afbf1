"""Three shafts, the middle one with a cone that both belts share, or with a cone for each belt."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from optimizer.records.candidate import StageSizes
from optimizer.records.coupling import Coupling
from optimizer.records.middle_rules import broken_middle_rules
from optimizer.records.plate import Plate
from optimizer.records.problem import SideSizes, StageProblem, Targets
from optimizer.records.proof import Proof
from optimizer.scenario.base import Model

__all__ = ["MOST_POSITIONS", "MiddleCandidate", "MiddleFound", "MiddleProblem"]

MOST_POSITIONS = 20
"""Most positions of both belts together: a shared cone of five steps, or two cones of four and five."""


class MiddleProblem(Model):
    """Everything the search knows of a motor, a middle and a last shaft joined by two belts.

    With a shared middle cone the steps of the three cones that face each other are a *level*. Along the levels the
    motor's cone rises, the middle one falls and the last one rises, so that the first belt drives faster and the
    second slower; each step of the middle cone carries one belt at most. With two cones on the middle shaft either
    belt has levels of its own, slowest first.
    """

    motor_rpm: float
    stages: tuple[StageProblem, StageProblem]
    """First and second belt; with a shared cone the driven of the first is the driver of the second.

    A belt's window is how far the levels' own centre distances may lie apart. With a coupling it also counts how much
    the belt forgives at the common setting."""
    levels: tuple[int, int]
    """Number of steps of the cones of either belt; the same for both where the middle cone is shared."""
    shared: bool = True
    coupling: Coupling | None = None
    """The mount whose one movement changes both centre distances; nothing where they are set independently."""
    gain_out: float = 1.0
    """Fixed ratio between the last shaft and the spindle."""
    targets: Targets

    @model_validator(mode="after")
    def _levels_make_positions(self) -> Self:
        if self.shared:
            if self.levels[0] != self.levels[1] or self.levels[0] < 2:
                raise ValueError("a shared cone has as many levels for either belt, at least 2")
            if _made_of(self.stages[0].driven) != _made_of(self.stages[1].driver):
                raise ValueError("the first belt's driven and the second's driver must be made of the same sizes")
            if self.stages[1].gain != 1:
                raise ValueError("nothing can stand between the belts where they share a cone")
        if self.coupling is not None and [belt.stage for belt in self.coupling.belts] != [0, 1]:
            raise ValueError("a coupling must be of the first and the second belt")
        if min(self.levels) < 1 or not 2 <= len(self.positions) <= MOST_POSITIONS:
            raise ValueError(f"the belts must have 2 to {MOST_POSITIONS} positions together")
        return self

    @property
    def positions(self) -> tuple[tuple[int, int], ...]:
        """Levels (from 0) of the first and second belt at every position they may take.

        Examples
        --------
        >>> from optimizer.records.middle import MiddleProblem
        >>> MiddleProblem.model_construct(levels=(2, 2), shared=True).positions
        ((0, 1), (1, 0))
        >>> len(MiddleProblem.model_construct(levels=(4, 4), shared=True).positions)
        12
        """
        first, second = self.levels
        return tuple((i, j) for i in range(first) for j in range(second) if not (self.shared and i == j))

    @property
    def slowest(self) -> tuple[int, int]:
        """Position of the slowest speed."""
        return (0, self.levels[1] - 1) if self.shared else (0, 0)

    @property
    def fastest(self) -> tuple[int, int]:
        """Position of the fastest speed."""
        return (self.levels[0] - 1, 0) if self.shared else (self.levels[0] - 1, self.levels[1] - 1)


def _made_of(side: SideSizes) -> tuple[object, ...]:
    return (side.turned_mm, side.listed_mm, side.grid_mm, side.ready_mm, side.standing_mm, side.reversible, side.placed)


class MiddleCandidate(Model):
    """Sizes for every level of both belts; it cannot be built if a hard rule is broken.

    Positions of a stage stand in the order of its levels: slowest first, but for the second belt on a shared cone,
    whose slowest level is its last.
    """

    problem: MiddleProblem
    stages: tuple[StageSizes, StageSizes]

    @model_validator(mode="after")
    def _keeps_every_hard_rule(self) -> Self:
        faults = broken_middle_rules(self.problem, self.stages)
        if faults:
            raise ValueError("; ".join(faults))
        return self


class MiddleFound(Model):
    """The result of searching a machine with a middle shaft."""

    candidate: MiddleCandidate | None = None
    proof: Proof
    """Its figures are of F, the weighted sum of end miss and largest gap, in place of J."""
    end_miss: float = 0.0
    largest_gap: float = 0.0
    """Greatest difference of neighbouring speeds' natural logarithms, near-equal speeds and all."""
    distinct: int = 0
    """Number of distinct speeds."""
    plate: Plate | None = None
