"""Belts in hand, preferred to bought ones where they cost little."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from optimizer.clock import Clock
from optimizer.pipeline.choose import Choice
from optimizer.records.changes import HandBelts
from optimizer.records.problem import Problem
from optimizer.scoring import Score, score
from optimizer.search import Searched, look

__all__ = ["HandChoice", "prefer_belts_in_hand"]


class HandChoice(NamedTuple):
    """The choice of a layout with its search."""

    choice: Choice
    searched: Searched
    told: tuple[HandBelts, ...] = ()
    """What belts in hand cost, or would cost, on the most stages first."""


def prefer_belts_in_hand(first: HandChoice, slack: float, clock: Clock) -> HandChoice:
    """Return the choice with belts in hand on as many stages as may be.

    For every set of stages, the largest first, the best design with belts in hand on them is searched for, bought ones
    on the others. The first set that gives up no more of J than the slack, and nothing of what is advised, is taken,
    of equally large ones that of least J; what each would cost is told.

    Parameters
    ----------
    first
        The choice on any belts.
    slack
        How much of J may be given up.
    clock
        Hears of the searches, ends each.
    """
    problem = first.choice.problem
    found = [(stages, _searched(problem, stages, clock)) for stages in _ways(problem)]
    worthy = [
        (-len(stages), searched.found.proof.listed, stages)
        for stages, searched in found
        if not _why_not(first.choice, searched, slack)
    ]
    best = min(worthy, default=None)
    taken = None if best is None else best[2]
    told = tuple(_told(first.choice, stages, searched, slack, taken) for stages, searched in found)
    if taken is None:
        return first._replace(told=told)
    searched = next(searched for stages, searched in found if stages == taken)
    candidate = searched.found.candidate
    assert candidate is not None
    figures = score(candidate.problem, candidate.stages)
    choice = Choice(candidate.problem, candidate, searched.found, figures, first.choice.tried)
    return HandChoice(choice, searched, told)


def _ways(problem: Problem) -> Iterator[tuple[int, ...]]:
    """Yield the sets of stages that could run on belts in hand, the largest first."""
    able = [number for number, stage in enumerate(problem.stages) if any(belt.in_hand for belt in stage.belts)]
    for count in range(len(able), 0, -1):
        yield from combinations(able, count)


def _searched(problem: Problem, stages: tuple[int, ...], clock: Clock) -> Searched:
    """Return the search with belts in hand on some stages, nothing but bought ones on the others."""
    clock.begin(f"belts in hand on stage{'s' * (len(stages) > 1)} {' and '.join(str(n + 1) for n in stages)}")
    changed = []
    for number, stage in enumerate(problem.stages):
        if number in stages:
            belts = tuple(b.model_copy(update={"sold": False}) for b in stage.belts if b.in_hand)
        else:
            belts = tuple(b for b in stage.belts if b.sold)
        changed.append(stage.model_copy(update={"belts": belts}))
    return look(problem.model_copy(update={"stages": tuple(changed)}), clock)


def _why_not(first: Choice, searched: Searched, slack: float) -> str:
    """Return why a design on belts in hand is not to be used, or nothing."""
    found = searched.found
    if found.candidate is None:
        return found.proof.reason or "no design keeps every rule"
    if found.proof.listed - first.found.proof.listed > slack + 1e-12:
        return f"it gives up more than the {100 * slack:g} % allowed"
    figures: Score = score(found.candidate.problem, found.candidate.stages)
    if first.score.advised and not figures.advised:
        return "its speeds would pass what is advised"
    return ""


def _told(
    first: Choice, stages: tuple[int, ...], searched: Searched, slack: float, taken: tuple[int, ...] | None
) -> HandBelts:
    found, numbers = searched.found, tuple(number + 1 for number in stages)
    why = _why_not(first, searched, slack)
    if found.candidate is None:
        return HandBelts(stages=numbers, markings=(), why=why)
    return HandBelts(
        stages=numbers,
        markings=tuple(found.candidate.stages[number].belt.marking for number in stages),
        j=found.proof.listed,
        cost=max(0.0, found.proof.listed - first.found.proof.listed),
        proved=found.proof.status == "proved",
        used=stages == taken,
        why="" if stages == taken else why or "more belts in hand can be used, or they cost less elsewhere",
    )
