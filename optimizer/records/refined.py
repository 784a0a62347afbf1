"""What refinement made of a candidate."""

from __future__ import annotations

from math import inf
from typing import Literal, NamedTuple

from optimizer.records.candidate import StageSizes
from optimizer.records.figures import Iterated
from optimizer.scenario.base import Model

__all__ = ["Binding", "Goal", "Refined", "RefinedMiddle", "Rounded", "RoundedMiddle", "SolverReport"]

Goal = Literal["j", "timber", "disc"]
"""What is made least: J, the volume of all discs, the largest disc."""


class SolverReport(Model):
    """How the solver ended, in its own words."""

    method: str
    success: bool
    status: int
    message: str


class Binding(Model):
    """A limit that keeps refinement from doing better, with what it costs."""

    limit: str
    """The limit, such as `stage[0].driver: the largest diameter`."""
    places: tuple[str, ...] = ()
    """Which steps, positions or speeds stand at it."""
    falls: Iterated | None = None
    """By how much J, or what is made least as a share, falls for every unit by which the limit is let out, as long as
    that is little; nothing where that could not be told."""
    unit: str = "mm"
    """What the limit is let out by."""


class Rounded(Model):
    """A stage's turned sizes on whole ticks."""

    stages: tuple[StageSizes, ...] | None
    """Sizes with every turned one on a tick; nothing where none keeps the rules."""
    j: float = inf
    nearest_j: float = inf
    """J where every size is rounded to its nearest tick by itself; infinity where that breaks a rule."""


class Refined(Model):
    """A candidate before and after refinement."""

    goal: Goal = "j"
    solver: SolverReport
    kept: Literal["refined", "candidate"]
    """Which of the two went on to be rounded."""
    why: str
    candidate_j: float
    smooth: tuple[StageSizes, ...]
    """Sizes before rounding."""
    smooth_j: float
    structural: float
    """Lower bound of J for any real diameters."""
    binding: tuple[Binding, ...]
    """Limits that keep it from being less, dearest first; empty where J reaches the bound."""

    @property
    def reaches_bound(self) -> bool:
        """Whether J before rounding is the bound to within a millionth."""
        return self.smooth_j <= self.structural + 1e-6


class RoundedMiddle(NamedTuple):
    """Sizes with every turned one on a tick."""

    stages: tuple[StageSizes, StageSizes] | None
    """Nothing where none that are near keep the rules."""
    f: float
    nearest_f: float
    """F where every size is rounded to its nearest tick by itself; infinity where that breaks a rule."""


class RefinedMiddle(Model):
    """A machine with a middle shaft before and after refinement and rounding."""

    solver: SolverReport
    kept: Literal["refined", "candidate"]
    """Which of the two went on to be rounded."""
    why: str
    candidate_f: float
    smooth: tuple[StageSizes, StageSizes]
    """Sizes before rounding."""
    smooth_f: float
    structural: float
    """Lower bound of F for any real diameters."""
    binding: tuple[Binding, ...]
    """Limits that keep F from being less, dearest first; empty where F reaches the bound."""
    rounded: tuple[StageSizes, StageSizes] | None = None
    """Sizes with every turned one on a tick; nothing where none that are near keep the rules."""
    rounded_f: float = inf
    nearest_f: float = inf
    """F where every size is rounded to its nearest tick by itself; infinity where that breaks a rule."""

    @property
    def reaches_bound(self) -> bool:
        """Whether F before rounding is the bound to within a millionth."""
        return self.smooth_f <= self.structural + 1e-6
