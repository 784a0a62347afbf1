"""Turned sizes of a machine with a middle shaft brought to whole ticks, all levels of both belts together."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.clock import ENDLESS, Clock
from optimizer.geometry.belts import centre_for_length_mm
from optimizer.quantities.digits import meaningful
from optimizer.records import PositionSizes, StageSizes
from optimizer.records.candidate import nearest_sizes
from optimizer.records.middle import MiddleProblem
from optimizer.records.middle_rules import broken_middle_rules, f_of
from optimizer.refine.middle.joining import Joined, Joiner
from optimizer.refine.middle.ticks import ticks_of

__all__ = ["RoundedMiddle", "round_middle"]

Pair = tuple[StageSizes, StageSizes]
REACHES = (2, 3, 4)
"""Ticks that a size may move: as few as give a design, and more where that is little to look at."""
GO_ON = 20_000
"""Parts looked at up to which sizes may move farther."""
LADDER = (200, 2_000, 10_000, 50_000)
"""Parts of designs kept at first, to know what F is to be beaten; and then, until none is left out."""
LOOKED_AT = 450_000
"""Parts looked at after which no more are kept."""
TOGETHER = 10_000
"""Parts kept where two levels are tried anew."""
SWEEPS = 3
"""How often all pairs of levels are tried anew."""
BETTER = 1e-9
"""By how much F must fall for a design to be better."""
TRIED = 200
"""Designs held against every rule, best first."""


class RoundedMiddle(NamedTuple):
    """Sizes with every turned one on a tick."""

    stages: Pair | None
    """Nothing where none that are near keep the rules."""
    f: float
    nearest_f: float
    """F where every size is rounded to its nearest tick by itself; infinity where that breaks a rule."""


def round_middle(problem: MiddleProblem, near: Sequence[Pair], clock: Clock = ENDLESS) -> RoundedMiddle:
    """Return the sizes of least F with every turned one on a tick, chosen jointly.

    All choices of ticks near the sizes are put together level by level; what is dropped on the way cannot come below
    the best known, as long as there are not too many to hold. The result is never worse than rounding every size by
    itself.

    Parameters
    ----------
    problem
        The machine.
    near
        Sizes to be near to; those behind the first are looked at only where nothing is found near the ones before.
    clock
        Ends it with the best so far; some time is left to this even where it is over.
    """
    known = [sizes for sizes in (_nearest(problem, stages) for stages in near) if sizes is not None]
    nearest = _nearest(problem, near[0])
    best = min(known, key=lambda sizes: meaningful(f_of(problem, sizes)), default=None)
    clock = clock.with_grace()
    for stages in dict.fromkeys(near):
        for reach in REACHES:
            best, looked_at = _best_near(problem, stages, reach, best, clock)
            if best is not None and looked_at > GO_ON:
                break
        if best is not None:
            break
    return RoundedMiddle(
        stages=best,
        f=inf if best is None else f_of(problem, best),
        nearest_f=inf if nearest is None else f_of(problem, nearest),
    )


def _best_near(
    problem: MiddleProblem, stages: Pair, reach: int, best: Pair | None, clock: Clock
) -> tuple[Pair | None, float]:
    """Return the best of the design known and those within reach; and how many parts were looked at to know it.

    Infinitely many where some may have been left out.
    """
    ticks = ticks_of(problem, stages, reach)
    if not all(len(tick) for tick in ticks):
        return best, 0
    joiner = Joiner(problem, stages, ticks)
    for most_rows in LADDER:
        if clock.over():
            break
        before = best
        best, found = _better(joiner, best, most_rows)
        if found.every:
            return best, found.looked_at
        if best is not None and best is not before:
            best = _improved(problem, best, clock)
        if found.looked_at > LOOKED_AT:
            break
    return best, inf


def _better(joiner: Joiner, best: Pair | None, most_rows: int) -> tuple[Pair | None, Joined]:
    """Return the best of the design known and those of a joiner, and what the joiner found."""
    problem = joiner.problem
    most_f = inf if best is None else f_of(problem, best)
    found = joiner.joined(most_f - BETTER, most_rows)
    for row in found.rows[:TRIED]:
        built = _built(joiner, row)
        if not broken_middle_rules(problem, built):
            return built, found
    return best, found


def _improved(problem: MiddleProblem, best: Pair, clock: Clock) -> Pair:
    """Return a design that no change of any two levels by a few ticks makes better."""
    near, here = (ticks_of(problem, best, reach) for reach in (REACHES[0], 0))
    for _ in range(SWEEPS):
        before = best
        for one, other in combinations(range(len(here)), 2):
            if clock.over():
                return best
            fixed = [tick for place, tick in enumerate(here) if place not in (one, other)]
            found, _joined = _better(Joiner(problem, best, [*fixed, near[one], near[other]]), best, TOGETHER)
            if found is not None and found is not best:
                best = found
                near, here = (ticks_of(problem, best, reach) for reach in (REACHES[0], 0))
        if best is before:
            break
    return best


def _built(joiner: Joiner, row: NDArray[np.intp]) -> Pair:
    """Return the sizes of one design."""
    found = []
    for number, (rules, sizes) in enumerate(zip(joiner.problem.stages, joiner.stages, strict=True)):
        positions = []
        for level, old in enumerate(sizes.positions):
            slot = joiner.slots[number, level]
            ticks = joiner.ticks[slot]
            first = ticks.belts.index(number)
            driver, driven = (float(size) for size in ticks.size_mm[row[slot], first : first + 2])
            centre = centre_for_length_mm(driver, driven, sizes.belt.length_mm, crossed=rules.crossed)
            update = {"driver_mm": driver, "driven_mm": driven, "centre_mm": centre}
            positions.append(PositionSizes(**{**old.model_dump(), **update}))
        found.append(StageSizes(belt=sizes.belt, positions=tuple(positions)))
    return found[0], found[1]


def _nearest(problem: MiddleProblem, stages: Pair) -> Pair | None:
    """Return every turned size at its nearest tick; nothing where that breaks a rule."""
    first, second = (nearest_sizes(rules, sizes) for rules, sizes in zip(problem.stages, stages, strict=True))
    if first is None or second is None or broken_middle_rules(problem, (first, second)):
        return None
    return first, second
