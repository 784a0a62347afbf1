"""A design all the same, where a limit ended a search before it came to one.

The search rises from below, so that the first design it meets is the best; ended before, it has none. Among fewer sizes
and belts it soon has one, and where not even these hold one, any design at all may be met from above.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from optimizer.clock import Clock
from optimizer.records.candidate import Candidate
from optimizer.records.problem import Problem, SideSizes, StageProblem
from optimizer.records.proof import Found
from optimizer.search import Searched, look, some_design

__all__ = ["MOST_COARSE", "MOST_FOR_ANY", "coarser", "with_any_design"]

MOST_COARSE = 2_000_000
"""Combinations of fewer sizes and belts that are looked at."""
MOST_FOR_ANY = 300_000
"""Combinations that are looked at for any design: less than a second."""
MOST_LISTED, MOST_TICKS, MOST_BELTS = 50, 300, 12
"""Sizes of a side, ticks where it alone is turned, and belts of a stage that are left of many."""


def with_any_design(problem: Problem, searched: Searched, clock: Clock) -> Searched:
    """Return a search that was ended without a design with any design there is, its bound and reason kept.

    What is found so is not proved: its J may be as much above the best as the bound leaves open. Where it turns out
    that there is none, that is returned.
    """
    proof = searched.found.proof
    if searched.found.candidate is not None or proof.status != "not proved" or clock.interrupted:
        return searched
    clock = clock.with_grace()
    some = look(coarser(problem), clock.counting(MOST_COARSE)).found
    if some.candidate is None:
        some = some_design(problem, clock.counting(MOST_FOR_ANY))
    if some.candidate is None:
        return Searched(some) if some.proof.status == "no design" else searched
    update = {"listed": some.proof.listed, "examined": proof.examined + some.proof.examined}
    candidate = Candidate(problem=problem, stages=some.candidate.stages)
    return Searched(Found(candidate=candidate, proof=proof.model_copy(update=update)))


def coarser(problem: Problem) -> Problem:
    """Return a problem of fewer sizes and belts, whose designs are designs of the problem."""
    return problem.model_copy(update={"stages": tuple(map(_coarser_stage, problem.stages))})


def _coarser_stage(stage: StageProblem) -> StageProblem:
    update = {"driver": _coarser_side(stage.driver), "driven": _coarser_side(stage.driven)}
    return stage.model_copy(update={**update, "belts": tuple(stage.belts[:: _every(stage.belts, MOST_BELTS)])})


def _coarser_side(side: SideSizes) -> SideSizes:
    """Return a side with fewer sizes; rays reach as far as the next of them."""
    every, span_mm = _every(side.listed_mm, MOST_LISTED), side.turned_mm
    ticks = 1 if span_mm is None else ceil(max(1.0, (span_mm[1] - span_mm[0]) / side.tick_mm) / MOST_TICKS)
    return side.model_copy(
        update={
            "listed_mm": side.listed_mm[::every],
            "grid_mm": side.grid_mm * every,
            "tick_mm": side.tick_mm * ticks,
            "ready_mm": side.ready_mm[:: _every(side.ready_mm, MOST_LISTED)],
        }
    )


def _every(things: Sequence[object], most: int) -> int:
    """Return which of many things to take, the first always."""
    return max(1, ceil(len(things) / most))
