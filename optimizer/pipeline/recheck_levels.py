"""Positions and levels of a made machine whose speeds are free: the same steps, counted two ways.

On a shared cone the second belt's slowest position is on the last level; see `MiddleProblem`.
"""

from __future__ import annotations

from itertools import product
from math import ceil, floor, prod

from optimizer.records.candidate import StageSizes
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.records.problem import SideSizes, StageProblem

__all__ = ["by_position", "held", "in_levels", "on_ticks"]

MOST_ROWS = 150_000
"""Choices of the steps of one level, on ticks, that are looked at."""
MOST_TOGETHER = 3_000_000
"""The same with every size at every level, before those that may not stand there are left out."""
SAME_MM = 1e-6


def by_position(candidate: MiddleCandidate) -> tuple[StageSizes, StageSizes]:
    """Return the sizes of both belts by their positions, slowest first."""
    first, second = candidate.stages
    if candidate.problem.shared:
        second = second.model_copy(update={"positions": second.positions[::-1]})
    return first, second


def in_levels(problem: MiddleProblem, stages: tuple[StageProblem, StageProblem]) -> MiddleProblem:
    """Return a problem with stages whose standing steps are told by position, slowest first.

    What stands of a shared cone is taken from the first belt's driven side.
    """
    first, second = stages
    if problem.shared:
        shared = first.driven
        same = ("standing_mm", "placed", "reversible", "rise_mm", "cone", "scarce_mm", "scarce_above_mm", "overhang")
        driver = second.driver.model_copy(update={name: getattr(shared, name) for name in same})
        driven = second.driven.model_copy(update={"standing_mm": second.driven.standing_mm[::-1]})
        second = second.model_copy(update={"driver": driver, "driven": driven})
    return problem.model_copy(update={"stages": (first, second)})


def held(candidate: MiddleCandidate) -> MiddleProblem:
    """Return the candidate's problem with its belts, its standing steps at the sizes that were chosen."""

    def side(own: SideSizes, sizes_mm: list[float]) -> SideSizes:
        standing = (None if s is None else (mm,) for s, mm in zip(own.standing_mm, sizes_mm, strict=True))
        return own.model_copy(update={"standing_mm": tuple(standing)}) if own.standing_mm else own

    stages = tuple(
        rules.model_copy(
            update={
                "driver": side(rules.driver, [p.driver_mm for p in sizes.positions]),
                "driven": side(rules.driven, [p.driven_mm for p in sizes.positions]),
                "belts": (sizes.belt,),
            }
        )
        for rules, sizes in zip(candidate.problem.stages, candidate.stages, strict=True)
    )
    return candidate.problem.model_copy(update={"stages": stages})


def on_ticks(problem: MiddleProblem) -> MiddleProblem:
    """Return a problem whose open steps may have any whole tick; itself where there would be too many to look at.

    So there are with levels that are open on every side, which stand for rays of listed sizes.
    """
    sides = [side for stage in problem.stages for side in (stage.driver, stage.driven)]
    ticked = [_ticked(side) for side in sides]
    changed = problem.model_copy(
        update={
            "stages": tuple(
                stage.model_copy(update={"driver": ticked[2 * n], "driven": ticked[2 * n + 1]})
                for n, stage in enumerate(problem.stages)
            )
        }
    )
    groups = [[0, 1, 3]] if problem.shared else [[0, 1], [2, 3]]
    for group, levels in product(groups, [range(max(problem.levels))]):
        own = [ticked[n] for n in group]
        if prod(len(side.fixed_mm) + len(side.listed_mm) for side in own) > MOST_TOGETHER:
            return problem
        for level in levels:
            counts = [_count(side, level) for side in own]
            if all(_is_open(side, level) for side in own) or prod(counts) > MOST_ROWS:
                return problem
    return changed


def _is_open(side: SideSizes, level: int) -> bool:
    return not side.standing_mm or (level < len(side.standing_mm) and side.standing_mm[level] is None)


def _count(side: SideSizes, level: int) -> int:
    if _is_open(side, level):
        return len(side.listed_mm) + len(side.ready_mm)
    return len(side.standing_mm[level] or ()) if level < len(side.standing_mm) else 1


def _ticked(side: SideSizes) -> SideSizes:
    """Return a side with every whole tick that may be turned; none listed where no step is open."""
    if side.turned_mm is None:
        return side
    if side.standing_mm and None not in side.standing_mm:
        return side.model_copy(update={"listed_mm": ()})
    low, high = ((end - side.given_shift_mm) / side.tick_mm for end in side.turned_mm)
    ticks = range(ceil(low - SAME_MM), floor(high + SAME_MM) + 1)
    return side.model_copy(update={"listed_mm": tuple(k * side.tick_mm + side.given_shift_mm for k in ticks)})
