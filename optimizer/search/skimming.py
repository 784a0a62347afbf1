"""The least that must be turned off steps that stand, so that a design keeps every rule."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

import numpy as np
from numpy.typing import NDArray

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.records import Candidate, Problem, SideSizes
from optimizer.search.bound import Boxes, SeriesProgram, boxes_at, boxes_by_program
from optimizer.search.index import PairIndex
from optimizer.search.limits import Meter
from optimizer.search.pairs import StagePairs
from optimizer.search.reach import ideal_series_fits
from optimizer.search.search import sizeless
from optimizer.search.space import Space
from optimizer.search.threshold import Best, greatest_j, improving

__all__ = ["Skimmed", "least_skimming"]

GROWTH = 2.0
"""Factor between limits of what is turned off."""


@dataclass(frozen=True)
class Skimmed:
    """A design of standing steps, some of them turned smaller."""

    candidate: Candidate
    skim_mm: float
    """Sum of what is turned off all diameters."""
    j: float
    proved: bool
    """Whether no design with J within the limit takes off less."""


def least_skimming(problem: Problem, most_j: float = inf, clock: Clock = ENDLESS) -> Skimmed | None:
    """Return the design within a limit of J that turns least off the steps that stand, of equal ones that of least J.

    A step that stands may have any of the sizes of its list; the largest is the one it has, any other costs what is
    turned off. Steps that are open cost nothing and lie on ticks.

    Parameters
    ----------
    problem
        One layout whose standing steps have their positions (`SideSizes.placed`).
    most_j
        No design with a J above this counts.
    clock
        Ends the search; the best design so far is then not proved.

    Returns
    -------
    The design, or nothing where none was found.

    Raises
    ------
    ValueError
        Steps stand that may be at several positions.
    """
    _refuse_loose(problem)
    if sizeless(problem):
        return None
    best: Best | None = None
    proved = True
    try:
        space = _weighed(Space.of(problem, ticks=True, clock=clock))
        boxes = _boxes(space, most_j, clock)
        meter = Meter(clock)
        for limit in _limits(space):
            for better in improving(space, boxes, meter, limit * (1 + 1e-12) + 1e-9, "timber"):
                best = better  # what is found before the end is kept where the search is ended
            if best is not None:
                break
    except LimitReachedError:
        proved = False
    if best is None or best.candidate is None:
        return None
    return Skimmed(best.candidate, best.timber_mm3, best.j, proved)


def _refuse_loose(problem: Problem) -> None:
    for stage in problem.stages:
        for side in (stage.driver, stage.driven):
            if side.standing_mm and not side.placed:
                raise ValueError(f"{side.key}: steps that stand must have their positions")


def _boxes(space: Space, most_j: float, clock: Clock) -> list[Boxes]:
    """Return the boxes of designs with J within a limit; none where there are no such designs."""
    if not all(len(index.pairs) for index in space.indexes):
        return []
    reach = space.reach
    ideal = ideal_series_fits(space.rules, reach)
    program = SeriesProgram(space.rules, reach, wants=not ideal, clock=clock)
    bound = 0.0 if ideal else max(0.0, program.least_j)
    threshold = min(most_j, greatest_j(space))
    if bound > threshold:
        return []
    if bound > 0:
        return boxes_by_program(program, space.spans, threshold)
    return [boxes_at(space.rules, space.spans, threshold)]


def _limits(space: Space) -> list[float]:
    """Return limits of what is turned off in all: nothing, then from the least there is to all there can be."""
    costs = [index.pairs.timber_mm3 for index in space.stages]
    some = [float(cost[cost > 0].min(initial=inf)) for cost in costs]
    most = sum(
        float(cost.max(initial=0.0)) * count for cost, count in zip(costs, space.problem.layout.positions, strict=True)
    )
    limits = [0.0]
    limit = min(some)
    while limit < most:
        limits.append(limit)
        limit *= GROWTH
    return [*limits, most] if most > 0 else limits


def _weighed(space: Space) -> Space:
    """Return the space with what is turned off in the place of timber."""
    indexes = [
        replace(index, pairs=replace(index.pairs, timber_mm3=_skims_mm(stage.driver, stage.driven, index)))
        for stage, index in zip(space.problem.stages, space.stages, strict=True)
    ]
    indexes = [*space.indexes[: space.switches], *indexes]
    return Space(space.problem, space.rules, tuple(indexes), space.entering)


def _skims_mm(driver: SideSizes, driven: SideSizes, index: PairIndex) -> NDArray[np.float64]:
    pairs: StagePairs = index.pairs
    total = np.zeros(len(pairs))
    for side, sizes in ((driver, pairs.driver_mm), (driven, pairs.driven_mm)):
        for place, step in enumerate(side.standing_mm):
            if step is not None:
                total = np.where(pairs.place == place, total + max(step) - sizes, total)
    return total
