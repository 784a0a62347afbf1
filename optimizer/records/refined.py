"""What refinement made of a candidate."""

from __future__ import annotations

from math import inf
from typing import Literal

from optimizer.records.candidate import StageSizes
from optimizer.scenario.base import Model

__all__ = ["Refined", "Rounded", "SolverReport"]


class SolverReport(Model):
    """How the solver ended, in its own words."""

    method: str
    success: bool
    status: int
    message: str
    iterations: int


class Rounded(Model):
    """A stage's turned sizes on whole ticks."""

    stages: tuple[StageSizes, ...] | None
    """Sizes with every turned one on a tick; nothing where none keeps the rules."""
    j: float = inf
    nearest_j: float = inf
    """J where every size is rounded to its nearest tick by itself; infinity where that breaks a rule."""


class Refined(Model):
    """A candidate before and after refinement and rounding."""

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
    binding: tuple[str, ...]
    """Limits that keep J above the bound; empty where the bound is reached."""
    rounded: Rounded

    @property
    def reaches_bound(self) -> bool:
        """Whether J before rounding is the bound to within a millionth."""
        return self.smooth_j <= self.structural + 1e-6
