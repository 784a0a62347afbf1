"""The rising threshold: every design with F up to T, for a T that grows until there is one."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from optimizer.search.limits import AllowanceSpentError, LimitReachedError, Meter
from optimizer.search.middle.best import Best, sweep
from optimizer.search.middle.space import Space
from optimizer.search.middle.targets import SpeedRules
from optimizer.search.middle.walk import Ceiling

__all__ = ["Risen", "risen"]

FIRST_SHARE = 0.03
"""The first threshold is so much above the lower bound, or above a thousandth where that is 0."""
GROWTH = 2.0
"""Factor of the thresholds' height above the lower bound."""
VENTURE = 300_000
"""Combinations looked at first, from all over the sizes, for some design to begin with."""


@dataclass(frozen=True)
class Risen:
    """The best design found, with the bound it is known by."""

    best: Best
    bound: float
    """No design has an F below this."""
    stopped: str = ""
    """The limit that ended the search."""


def risen(spaces: list[Space], rules: SpeedRules, meter: Meter) -> Risen:
    """Return the best design of some spaces, with its proof or the bound at which a limit ended the search.

    A look round under a wide ceiling finds a design to begin with. Thresholds then rise from the lower bound until
    one of them holds the best; the last is that design's own F.
    """
    best, bound = Best(), rules.bound
    greatest = rules.greatest + 1e-9
    height = max(bound * FIRST_SHARE, 1e-3)
    try:
        try:
            with meter.allowance(VENTURE):
                sweep(spaces, rules, Ceiling(greatest), best, meter)
            return Risen(best, min(best.f, greatest))
        except AllowanceSpentError:
            pass
        while bound < min(best.f, greatest):
            threshold = min(rules.bound + height, best.f, greatest)
            meter.tell(threshold)
            sweep(spaces, rules, Ceiling(threshold), best, meter)
            bound = max(bound, min(threshold, best.f))
            height *= GROWTH
    except (LimitReachedError, MemoryError) as limit:
        reason = str(limit) if isinstance(limit, LimitReachedError) else "the memory there is ran out"
        return Risen(best, min(bound, best.f), reason)
    return Risen(best, min(best.f, bound) if best.f < inf else bound)
