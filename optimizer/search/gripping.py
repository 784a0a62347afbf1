"""The greatest grip among the designs whose J stays below a limit."""

from __future__ import annotations

from dataclasses import replace
from math import floor, isfinite
from typing import NamedTuple

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.records import Candidate
from optimizer.records.speeds import grip_of
from optimizer.search.bound import lower_bound
from optimizer.search.limits import Meter
from optimizer.search.space import Space
from optimizer.search.threshold import Best, rise

__all__ = ["GRIP_TICK", "Gripping", "greatest_grip", "with_least_grip"]

GRIP_TICK = 0.05
"""Grip is sought in whole multiples of this: finer differences mean nothing beside what is known of belts."""


class Gripping(NamedTuple):
    """The design of the greatest grip, the least J among those of that grip."""

    candidate: Candidate
    """A design of the problem with that grip as a limit."""
    grip: float
    """The limit, a whole multiple of the tick."""
    proved: bool
    """Whether no design within the limit of J has a grip of one tick more."""


def greatest_grip(space: Space, bound: float, best: Best, most_j: float, clock: Clock = ENDLESS) -> Gripping | None:
    """Return the design of the greatest grip with J up to a limit, in whole ticks of grip.

    Where a grip can be had, any lower one can; so ticks are tried ever farther above the best known grip, then halved
    between the last that could be had and the first that could not. Each answer is exact.

    Parameters
    ----------
    space
        The layout's pairs.
    bound
        Lower bound of J whatever the grip.
    best
        The design of least J.
    most_j
        Greatest J.
    clock
        Limit of each question.

    Returns
    -------
    The design; nothing where it is not known what belts must carry, or what they can carry.
    """
    problem = space.problem
    if best.candidate is None or not isfinite(grip_of(problem, best.candidate.stages)):
        return None
    known = _ticks(best.candidate)
    found, proved = best.candidate, True
    low, high, step, held = known, None, 1, known
    while high is None or high - low > 1:
        asked = low + step if high is None else (low + high) // 2
        answer = _at_least(space, bound, asked * GRIP_TICK, most_j, clock)
        if answer.candidate is not None:
            found, held, low = answer.candidate, asked, max(asked, _ticks(answer.candidate))
            step *= 2
        else:
            high = asked
            proved = proved and not answer.stopped
    if low > held:
        # the least J of the greatest grip: the last answer was asked for less grip than it has
        final = _at_least(space, bound, low * GRIP_TICK, most_j, clock)
        found = final.candidate or found
    return Gripping(found, low * GRIP_TICK, proved)


def with_least_grip(space: Space, grip: float) -> Space:
    """Return the space with a grip as a limit at every speed."""
    targets = space.problem.targets.model_copy(update={"least_grip": max(grip, space.problem.targets.least_grip)})
    return replace(space, problem=space.problem.model_copy(update={"targets": targets}))


def _at_least(space: Space, bound: float, grip: float, most_j: float, clock: Clock) -> Best:
    limited = with_least_grip(space, grip)
    try:
        clock.ask()
        least, program = lower_bound(limited.rules, bound, limited.reach, clock)
    except LimitReachedError as limit:
        return Best.none(bound, str(limit))
    return rise(limited, program, (least, most_j), Meter(clock)) if least <= most_j else Best.none(most_j)


def _ticks(candidate: Candidate) -> int:
    return floor(grip_of(candidate.problem, candidate.stages) / GRIP_TICK + 1e-9)
