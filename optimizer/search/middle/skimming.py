"""The least that must be turned off standing steps of a machine with a middle shaft, so that it keeps every rule."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.records.problem import SideSizes
from optimizer.search.limits import Meter
from optimizer.search.middle.choices import BeltOver, Choices
from optimizer.search.middle.settle import belts_that_fit, settled
from optimizer.search.middle.skim_walk import SAME_MM, Budget, Skims, SkimWalk
from optimizer.search.middle.space import overs_of, spaces_of

__all__ = ["SkimmedMiddle", "least_middle_skimming"]

Ints = NDArray[np.int64]
Key = tuple[float, ...]
GROWTH = 1.8
"""Factor between limits of what is turned off."""
ASKED, TRIED = 300, 1_000
"""Combinations that a design counts for whose speeds are judged, and that is made a candidate, by the time it takes."""
COST_DIGITS, F_DIGITS = 6, 11
"""Millimetres turned off, and values of F, that agree to so many digits are a tie."""


@dataclass(frozen=True)
class SkimmedMiddle:
    """A design of standing steps, some of them turned smaller."""

    candidate: MiddleCandidate
    skim_mm: float
    """Sum of what is turned off all diameters, those of a shared cone once."""
    f: float
    proved: bool
    """Whether no design that is accepted takes off less."""


def least_middle_skimming(
    problem: MiddleProblem,
    accepts: Callable[[Sequence[float]], bool] = lambda _: True,
    clock: Clock = ENDLESS,
) -> SkimmedMiddle | None:
    """Return the accepted design that turns least off the steps that stand, of equal ones that of least F.

    A step that stands may have any of the sizes of its list; the largest is the one it has, any other costs what is
    turned off. Open steps cost nothing. All designs that cost up to a limit are looked at, for a limit that grows from
    nothing until there is one; so that none costs less.

    Parameters
    ----------
    problem
        The machine; standing steps have their levels (`SideSizes.placed`).
    accepts
        Tells of the natural logarithms of the speeds [rpm], ascending, whether they will do.
    clock
        Ends the search; the best design so far is then not proved.

    Raises
    ------
    ValueError
        Steps stand that may be at several levels.
    """
    for stage in problem.stages:
        for side in (stage.driver, stage.driven):
            if side.standing_mm and not side.placed:
                raise ValueError(f"{side.key}: steps that stand must have their positions")
    meter, least = Meter(clock), _Least(accepts)
    try:
        meter.spend(0)
        over = overs_of(problem)
        for limit in _limits(problem):
            for space in spaces_of(_within(problem, limit), _laid_within(over, limit)):
                meter.spend(sum(map(len, space.tables)))
                _improve(least, SkimWalk(space, Budget(min(limit, least.most_mm)), meter))
            if least.candidate is not None:
                break
    except LimitReachedError:
        least.proved = False
    if least.candidate is None:
        return None
    return SkimmedMiddle(least.candidate, least.key[0], least.key[1], least.proved)


def _sides(problem: MiddleProblem) -> list[SideSizes]:
    """Return the sides that are there, a shared cone once."""
    first, second = problem.stages
    return [first.driver, first.driven, *([] if problem.shared else [second.driver]), second.driven]


def _limits(problem: MiddleProblem) -> Iterator[float]:
    """Yield limits of what is turned off in all: nothing, then from the least there is to all there can be."""
    steps = [step for side in _sides(problem) for step in side.standing_mm if step is not None]
    costs = [max(step) - size for step in steps for size in step]
    most = sum(max(step) - min(step) for step in steps)
    yield 0.0
    limit = min((cost for cost in costs if cost > SAME_MM), default=inf)
    while limit < most:
        yield limit
        limit *= GROWTH
    if most > 0:
        yield most


def _within(problem: MiddleProblem, limit_mm: float) -> MiddleProblem:
    """Return a problem in which no step is turned down by more than a limit."""

    def within(side: SideSizes) -> SideSizes:
        standing = tuple(
            None if step is None else tuple(size for size in step if max(step) - size <= limit_mm + SAME_MM)
            for step in side.standing_mm
        )
        return side.model_copy(update={"standing_mm": standing})

    one, other = (
        stage.model_copy(update={"driver": within(stage.driver), "driven": within(stage.driven)})
        for stage in problem.stages
    )
    return problem.model_copy(update={"stages": (one, other)})


def _laid_within(over: tuple[BeltOver, BeltOver], limit_mm: float) -> tuple[BeltOver, BeltOver]:
    """Return how belts lie over the sizes that are left within a limit."""
    one, other = ([_left(side, limit_mm) for side in (stage.driver, stage.driven)] for stage in over)
    return _taken(over[0], one[0], one[1]), _taken(over[1], other[0], other[1])


def _left(choices: Choices, limit_mm: float) -> Ints:
    """Return the places of the choices that some step may be turned to within a limit, and of all that are not cut."""
    steps = [step for step in choices.side.standing_mm if step is not None]
    left = {size for step in steps for size in step if max(step) - size <= limit_mm + SAME_MM}
    return np.flatnonzero(~choices.stands | np.isin(choices.size_mm, np.array(sorted(left))))


def _taken(over: BeltOver, drivers: Ints, drivens: Ints) -> BeltOver:
    laid = (over.near_mm, over.far_mm, over.scale_low, over.scale_high, over.point_mm)
    sides = []
    for choices, some in ((over.driver, drivers), (over.driven, drivens)):
        sides.append(
            Choices(
                choices.side,
                choices.size_mm[some],
                choices.source[some],
                choices.stands[some],
                choices.timber_mm3[some],
            )
        )
    return BeltOver(over.stage, sides[0], sides[1], *(array[:, drivers][:, :, drivens] for array in laid))


@dataclass
class _Least:
    """The best design so far: least turned off, then least F, then the sizes themselves."""

    accepts: Callable[[Sequence[float]], bool]
    candidate: MiddleCandidate | None = None
    key: Key = (inf,)
    proved: bool = True

    @property
    def most_mm(self) -> float:
        """The most that a better one, or one of equal cost, takes off."""
        return self.key[0] + 10.0**-COST_DIGITS


def _improve(least: _Least, walk: SkimWalk) -> None:
    """Put the best accepted design of a walk in the place of what is known, if it is better.

    Raises
    ------
    LimitReachedError
        From the meter; what is found until then is kept.
    """
    for found in walk.designs():
        _consider(least, walk, found)
        walk.budget.most_mm = min(walk.budget.most_mm, least.most_mm)


def _consider(least: _Least, walk: SkimWalk, skims: Skims) -> None:
    rules, space = walk.rules, walk.space
    speeds = walk.speeds(skims)
    some = np.flatnonzero(walk.moves(skims, speeds[:, -1]) & rules.judge(speeds)[0])
    if not some.size:
        return
    gap = np.diff(speeds[some], axis=1).max(axis=1)
    f = rules.weights[0] * rules.end_miss(speeds[some, 0], speeds[some, -1]) + rules.weights[1] * gap
    sizes = [space.tables[slot.table].size_mm[skims.rows[slot][some]] for slot in space.slots]
    keys = np.column_stack([skims.cost_mm[some].round(COST_DIGITS), f.round(F_DIGITS), *sizes])
    for place in np.lexsort(keys.T[::-1]):
        key = tuple(map(float, keys[place]))
        if key >= least.key:
            return
        walk.meter.spend(ASKED)
        if not least.accepts((space.base + speeds[some[place]]).tolist()):
            continue
        walk.meter.spend(TRIED)
        chosen = {slot: skims.rows[slot][some[place : place + 1]] for slot in space.slots}
        fitting = belts_that_fit(space, chosen)[0]
        candidate = settled(space, {slot: int(row[0]) for slot, row in chosen.items()}, fitting)
        if candidate is not None:
            least.candidate, least.key = candidate, key
            return
