"""The rising threshold: every design with F up to T, for a T that grows until there is one."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field

from optimizer.clock import LimitReachedError
from optimizer.search.limits import AllowanceSpentError, Meter
from optimizer.search.middle.best import Best, sweep
from optimizer.search.middle.space import Space
from optimizer.search.middle.targets import SpeedRules
from optimizer.search.middle.walk import Ceiling
from optimizer.search.threshold import why_stopped

__all__ = ["Risen", "risen"]

FIRST_SHARE = 0.05
"""The first threshold is so much above the lower bound, or above a thousandth where that is 0."""
GROWTH = 1.6
"""Factor of the thresholds' height above the lower bound."""
THIN_ROWS = (1_500, 12_000)
"""A look round takes every second size, or fewer, so that a level has no more rows than these; more where none do."""
VENTURE = (1_000_000, 5_000_000)
"""Combinations that each look round may take."""


@dataclass(frozen=True)
class Risen:
    """The best design found, with the bound it is known by."""

    best: Best
    bound: float
    """No design has an F below this."""
    stopped: str = ""
    """The limit that ended the search."""


def risen(spaces: list[Space], rules: SpeedRules, meter: Meter, *, any_design: bool = False) -> Risen:
    """Return the best design of some spaces, with its proof or the bound at which a limit ended the search.

    A look round among fewer sizes finds a design to begin with. Thresholds then rise from the lower bound until one of
    them holds the best; the last is that design's own F. Where any design will do the first one ends it.
    """
    climb = _Climb(rules, meter, any_design)
    try:
        for rows, most in zip(THIN_ROWS, VENTURE, strict=True):
            if climb.best.candidate is None:
                climb.look_round([space.thinned(rows) for space in spaces], spaces, most)
        climb.rise(spaces)
    except (LimitReachedError, MemoryError) as limit:
        return Risen(climb.best, min(climb.bound, climb.best.f), why_stopped(limit))
    return Risen(climb.best, min(climb.bound, climb.best.f))


@dataclass
class _Climb:
    """A search under way, so that a limit finds what is known."""

    rules: SpeedRules
    meter: Meter
    any_design: bool = False
    best: Best = field(default_factory=Best)
    bound: float = field(init=False)

    def __post_init__(self) -> None:
        self.bound = self.rules.bound

    def look_round(self, thin: list[Space], spaces: list[Space], most: int) -> None:
        """Find some design among fewer sizes, if that takes no more combinations; it bounds nothing from below."""
        if all(few.combinations == space.combinations for few, space in zip(thin, spaces, strict=True)):
            return
        with suppress(AllowanceSpentError), self.meter.allowance(most):
            self.rise(thin)
        self.bound = self.rules.bound

    def rise(self, spaces: list[Space]) -> None:
        """Raise the threshold until the best design of the spaces is known."""
        greatest = self.rules.greatest + 1e-9
        height = max(self.rules.bound * FIRST_SHARE, 1e-3)
        self.bound = self.rules.bound
        while self.bound < min(self.best.f, greatest) and not (self.any_design and self.best.candidate):
            threshold = min(self.rules.bound + height, self.best.f, greatest)
            self.meter.tell(threshold)
            sweep(spaces, self.rules, Ceiling(threshold), self.best, self.meter)
            self.bound = max(self.bound, min(threshold, self.best.f))
            height *= GROWTH
