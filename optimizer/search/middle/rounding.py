"""Turned sizes of a machine with a middle shaft brought to whole ticks, all levels of both belts together."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from math import inf

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.quantities.digits import meaningful
from optimizer.records import SideSizes, StageSizes
from optimizer.records.candidate import nearest_sizes
from optimizer.records.middle import MiddleProblem, broken_middle_rules, f_of
from optimizer.records.refined import RoundedMiddle
from optimizer.search.limits import Meter
from optimizer.search.middle.search import Best, sweep
from optimizer.search.middle.space import spaces_of
from optimizer.search.middle.targets import SpeedRules
from optimizer.search.middle.walk import Ceiling

__all__ = ["round_middle"]

Pair = tuple[StageSizes, StageSizes]
REACHES = (2, 3, 4)
"""Ticks that a size may move: as few as give a design, and more where that is little to look at."""
GO_ON = 100_000
"""Combinations looked at up to which sizes may move farther."""
MOST_ROUNDED = 12_000_000
"""Combinations of ticks looked at in all after which the best so far is taken."""
FIRST_HEIGHT, GROWTH = 0.001, 2.0
"""How far the first threshold lies above F of the sizes to be near to, and the factor between such heights."""
BETTER = 1e-9
"""By how much F must fall for a design to be better."""


def round_middle(problem: MiddleProblem, near: Sequence[Pair], clock: Clock = ENDLESS) -> RoundedMiddle:
    """Return the sizes of least F with every turned one on one of the ticks near to it, by the search itself.

    Every size at its nearest tick, where that keeps the rules, is what has to be beaten.

    Parameters
    ----------
    problem
        The machine.
    near
        Sizes to be near to; those behind the first are looked at only where nothing is found near the ones before.
    clock
        Leaves some time to this even where it is over.
    """
    known = [sizes for sizes in (_nearest(problem, stages) for stages in near) if sizes is not None]
    nearest = _nearest(problem, near[0])
    best = min(known, key=lambda sizes: meaningful(f_of(problem, sizes)), default=None)
    meter = Meter(clock.with_grace().counting(MOST_ROUNDED))
    for stages in dict.fromkeys(near):
        for reach in REACHES:
            before = meter.examined
            best = _best_near(problem, stages, reach, best, meter)
            if best is not None and meter.examined - before > GO_ON:
                break
        if best is not None:
            break
    return RoundedMiddle(
        stages=best,
        f=inf if best is None else f_of(problem, best),
        nearest_f=inf if nearest is None else f_of(problem, nearest),
    )


def _best_near(problem: MiddleProblem, stages: Pair, reach: int, best: Pair | None, meter: Meter) -> Pair | None:
    """Return the best of the design known and those within reach."""
    near = _near(problem, stages, reach)
    spaces = spaces_of(near)
    if not spaces:
        return best
    rules = SpeedRules.of(near, spaces[0].base)
    most_f = rules.greatest if best is None else f_of(problem, best) - BETTER
    found, height = Best(), FIRST_HEIGHT
    with suppress(LimitReachedError):
        # the best on ticks is seldom far above the sizes themselves: thresholds rise from there
        while found.candidate is None and (threshold := f_of(problem, stages) + height) < most_f * GROWTH:
            sweep(spaces, rules, Ceiling(min(threshold, most_f)), found, meter)
            height *= GROWTH
    return best if found.candidate is None else found.candidate.stages


def _near(problem: MiddleProblem, stages: Pair, reach: int) -> MiddleProblem:
    """Return the machine whose steps have only the ticks near given sizes to choose from, with the same belts."""

    def steps(side: SideSizes, name: str, sizes: StageSizes) -> SideSizes:
        listed = [(getattr(p, f"{name}_mm"), getattr(p, f"{name}_source")) for p in sizes.positions]
        return side.standing_at([side.ticks_near_mm(*step, reach) for step in listed], [source for _, source in listed])

    first, second = (
        rules.model_copy(
            update={
                "driver": steps(rules.driver, "driver", sizes),
                "driven": steps(rules.driven, "driven", sizes),
                "belts": (sizes.belt,),
            }
        )
        for rules, sizes in zip(problem.stages, stages, strict=True)
    )
    return problem.model_copy(update={"stages": (first, second)})


def _nearest(problem: MiddleProblem, stages: Pair) -> Pair | None:
    """Return every turned size at its nearest tick; nothing where that breaks a rule."""
    first, second = (nearest_sizes(rules, sizes) for rules, sizes in zip(problem.stages, stages, strict=True))
    if first is None or second is None or broken_middle_rules(problem, (first, second)):
        return None
    return first, second
