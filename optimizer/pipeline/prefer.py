"""The extreme a maker prefers to the least J."""

from __future__ import annotations

from typing import Literal

from optimizer.records.candidate import Candidate
from optimizer.records.problem import Problem, SideSizes
from optimizer.records.proof import Extreme, Found

__all__ = ["BEST_AT", "preferred"]

BEST_AT = {"timber": "least timber", "disc": "smallest largest disc"}


def preferred(found: Found, prefer: Literal["timber", "disc"]) -> Candidate | None:
    """Return the extreme preferred, in a problem in which no turned step may grow beyond it.

    Refinement makes J least; kept within the extreme's own largest sizes it cannot undo what was preferred.
    Nothing is returned where the search has no such extreme, as where nothing is turned.
    """
    extreme = next((e for e in found.extremes if e.best_at == BEST_AT[prefer]), None)
    if extreme is None:
        return None
    return Candidate(problem=_no_larger(extreme, prefer), stages=extreme.candidate.stages)


def _no_larger(extreme: Extreme, prefer: Literal["timber", "disc"]) -> Problem:
    problem = extreme.candidate.problem
    stages = []
    for rules, sizes in zip(problem.stages, extreme.candidate.stages, strict=True):
        driver = [p.driver_mm for p in sizes.positions if p.driver_source == "turned"]
        driven = [p.driven_mm for p in sizes.positions if p.driven_source == "turned"]
        largest = extreme.value if prefer == "disc" else None
        stages.append(
            rules.model_copy(
                update={
                    "driver": _capped(rules.driver, driver, largest),
                    "driven": _capped(rules.driven, driven, largest),
                }
            )
        )
    return problem.model_copy(update={"stages": tuple(stages)})


def _capped(side: SideSizes, used_mm: list[float], disc_mm: float | None) -> SideSizes:
    """Return a side whose turned sizes come from no larger disc than given, or are no larger than those used."""
    if side.turned_mm is None or not used_mm:
        return side
    most = max(used_mm) if disc_mm is None else disc_mm - side.truing_mm - side.outside_shift_mm
    high = min(side.turned_mm[1], max(most, max(used_mm)))
    listed = tuple(size for size in side.listed_mm if size <= high + 1e-9)
    return side.model_copy(update={"turned_mm": (side.turned_mm[0], high), "listed_mm": listed})
