"""The least timber, the smallest largest disc, the greatest grip among the designs within the slack."""

from __future__ import annotations

from math import inf

import numpy as np

from optimizer.clock import Clock, LimitReachedError
from optimizer.records import Candidate, Extreme
from optimizer.records.speeds import grip_of
from optimizer.search.bound import SeriesProgram
from optimizer.search.boxes import Boxes, boxes_at, boxes_by_program
from optimizer.search.gripping import greatest_grip
from optimizer.search.limits import Meter
from optimizer.search.space import Space
from optimizer.search.threshold import Best, least

__all__ = ["best_grip", "boxes_within", "extremes", "smallest_disc"]

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
