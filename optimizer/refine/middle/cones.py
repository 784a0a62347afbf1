"""The cones of a machine with a middle shaft, a shared one counted once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from optimizer.records import SideSizes, StageSizes
from optimizer.records.candidate import Source
from optimizer.records.middle import MiddleProblem

__all__ = ["Cone", "Step", "cones_of"]


class Step(NamedTuple):
    """One step of a cone."""

    size_mm: float
    source: Source


class Cone(NamedTuple):
    """A cone with its steps in the order of the levels."""

    sides: tuple[SideSizes, ...]
    """What it may be made of, as every belt that runs on it sees it."""
    stages: tuple[int, ...]
    """The belt of each of these sides."""
    names: tuple[Literal["driver", "driven"], ...]
    """What the cone is to each of them."""
    sign: float
    """1 where the sizes rise with the level, -1 where they fall."""
    steps: tuple[Step, ...]

    @property
    def ordered(self) -> bool:
        """Whether its steps must rise or fall along the shaft."""
        return any(side.cone for side in self.sides)

    @property
    def rise_mm(self) -> float:
        """By how much neighbouring steps differ at least where they are not equal."""
        return max((side.rise_mm for side in self.sides if side.cone), default=0.0)

    @property
    def turned_mm(self) -> tuple[float, float] | None:
        """Smallest and largest size that may be turned for every belt."""
        spans = [side.turned_mm for side in self.sides if side.turned_mm is not None]
        return (max(low for low, _ in spans), min(high for _, high in spans)) if spans else None


def cones_of(problem: MiddleProblem, stages: Sequence[StageSizes]) -> tuple[Cone, ...]:
    """Return the motor's, the middle and the last cone where the middle one is shared, else those of either belt."""
    first, second = problem.stages
    one, other = (sizes.positions for sizes in stages)
    left = tuple(Step(p.driver_mm, p.driver_source) for p in one)
    middle = tuple(Step(p.driven_mm, p.driven_source) for p in one)
    own = tuple(Step(p.driver_mm, p.driver_source) for p in other)
    right = tuple(Step(p.driven_mm, p.driven_source) for p in other)
    motor = Cone((first.driver,), (0,), ("driver",), 1.0, left)
    if problem.shared:
        both = Cone((first.driven, second.driver), (0, 1), ("driven", "driver"), -1.0, middle)
        return motor, both, Cone((second.driven,), (1,), ("driven",), 1.0, right)
    return (
        motor,
        Cone((first.driven,), (0,), ("driven",), -1.0, middle),
        Cone((second.driver,), (1,), ("driver",), 1.0, own),
        Cone((second.driven,), (1,), ("driven",), -1.0, right),
    )
