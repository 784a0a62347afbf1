"""What refinement made of a machine with a middle shaft."""

from __future__ import annotations

from math import inf
from typing import Literal, NamedTuple

from optimizer.records.candidate import StageSizes
from optimizer.records.refined import Binding, SolverReport
from optimizer.scenario.base import Model

__all__ = ["RefinedMiddle", "RoundedMiddle"]


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
