"""The least timber, the smallest largest disc, the greatest grip among the designs within the slack."""

from __future__ import annotations

from dataclasses import replace
from math import floor, inf, isfinite
from typing import NamedTuple

import numpy as np

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.records import Candidate, Extreme
from optimizer.records.speeds import grip_of
from optimizer.search.bound import Boxes, SeriesProgram, boxes_at, boxes_by_program, lower_bound
from optimizer.search.limits import Meter
from optimizer.search.space import Space
from optimizer.search.threshold import Best, least, rise

__all__ = [
    "GRIP_TICK",
    "Gripping",
    "best_grip",
    "boxes_within",
    "extremes",
    "greatest_grip",
    "smallest_disc",
    "with_least_grip",
]

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


TIMBER_GROWTH = 1.35
STARTING_STEPS = 12


def extremes(space: Space, program: SeriesProgram, bound: float, best: Best, clock: Clock) -> tuple[Extreme, ...]:
    """Return the extremes of timber and disc, none where nothing is turned.

    Parameters
    ----------
    space, program
        The layout's pairs and linear program.
    bound
        Lower bound of J, by the program.
    best
        The design of least J.
    clock
        Limit of each of the searches; an extreme it ends is the best found, not proved.
    """
    if best.candidate is None or _largest_disc(best.candidate) == 0:
        return ()
    try:
        boxes = boxes_within(space, program, bound, best.j + space.problem.targets.slack)
    except LimitReachedError:
        found, disc_mm = best.candidate, _largest_disc(best.candidate)
        return (
            Extreme(best_at="least timber", value=best.timber_mm3, proved=False, candidate=found),
            Extreme(best_at="smallest largest disc", value=disc_mm, proved=False, candidate=found),
        )
    return (_least_timber(space, boxes, best, clock), smallest_disc(space, boxes, best, clock))


def best_grip(space: Space, bound: float, best: Best, clock: Clock) -> tuple[Extreme, ...]:
    """Return the extreme of grip, nothing where it is not known; parameters as of `extremes`."""
    gripping = greatest_grip(space, bound, best, best.j + space.problem.targets.slack, clock)
    if gripping is None:
        return ()
    candidate = Candidate(problem=space.problem, stages=gripping.candidate.stages)
    value = grip_of(space.problem, candidate.stages)
    return (Extreme(best_at="best grip", value=value, proved=gripping.proved, candidate=candidate),)


def boxes_within(space: Space, program: SeriesProgram, bound: float, most_j: float) -> list[Boxes]:
    """Return what designs with J up to a limit lie in, as narrow as the bound makes it worth."""
    if bound > 0:
        return boxes_by_program(program, space.spans, most_j)
    return [boxes_at(space.rules, space.spans, most_j)]


def _least_timber(space: Space, boxes: list[Boxes], best: Best, clock: Clock) -> Extreme:
    """Return the design of least timber: a limit on timber that rises until there is a design."""
    floor = sum(
        float(index.pairs.timber_mm3.min(initial=inf)) * len(offsets)
        for index, offsets in zip(space.indexes, space.rules.offsets, strict=True)
    )
    known = best
    proved = True
    limit = max(floor, best.timber_mm3 / TIMBER_GROWTH**STARTING_STEPS)
    meter = Meter(clock)
    try:
        while limit < known.timber_mm3:
            limit = min(limit * TIMBER_GROWTH, known.timber_mm3)
            found = least(space, boxes, meter, limit * (1 + 1e-12), "timber")
            if found:
                known = found if found.timber_mm3 < known.timber_mm3 else known
                break
    except LimitReachedError:
        proved = False
    assert known.candidate is not None
    return Extreme(best_at="least timber", value=known.timber_mm3, proved=proved, candidate=known.candidate)


def smallest_disc(space: Space, boxes: list[Boxes], best: Best, clock: Clock) -> Extreme:
    """Return the design whose largest disc is smallest, by halving the list of discs that occur."""
    assert best.candidate is not None
    known, value = best.candidate, _largest_disc(best.candidate)
    discs = np.unique(np.concatenate([index.pairs.disc_mm for index in space.indexes]))
    discs = discs[(discs > 0) & (discs < value - 1e-9)]
    low, high = 0, discs.size
    proved = True
    meter = Meter(clock)
    try:
        while low < high:
            middle = (low + high) // 2
            limit = float(discs[middle]) + 1e-9
            found = least(space.restricted(limit), boxes, meter)
            if found and found.candidate:
                known, high = found.candidate, middle
                value = float(discs[middle])
            else:
                low = middle + 1
    except LimitReachedError:
        proved = False
    return Extreme(best_at="smallest largest disc", value=value, proved=proved, candidate=known)


def _largest_disc(candidate: Candidate) -> float:
    """Return the largest disc by listed blanks; trimming moves a size by less than its grid."""
    discs = [0.0]
    for rules, sizes in zip(candidate.problem.stages, candidate.stages, strict=True):
        for position in sizes.positions:
            if position.driver_source == "turned":
                discs.append(rules.driver.blank_mm(position.driver_mm))
            if position.driven_source == "turned":
                discs.append(rules.driven.blank_mm(position.driven_mm))
    return max(discs)
