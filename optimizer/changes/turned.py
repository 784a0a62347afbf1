"""Whether the design that a change gives can be turned, with every size on a tick."""

from __future__ import annotations

from optimizer.changes.boundary import Place
from optimizer.changes.least import Asked, Moved
from optimizer.changes.limit import Limit
from optimizer.clock import Clock
from optimizer.records.candidate import Candidate
from optimizer.scoring import loosest_j
from optimizer.search import closing_proof, round_sizes, search

__all__ = ["MOST_FOR_TICKS", "MOST_FURTHER", "can_be_turned", "turnable"]

MOST_FURTHER = 8
"""Ticks beyond the least that are tried where its design cannot be turned."""
MOST_FOR_TICKS = 5_000_000
"""Combinations looked at for the best design with a change, and for one on ticks."""


def turnable(asked: Asked, limit: Limit, moved: Moved) -> tuple[Moved, bool]:
    """Return the first tick from the least on whose design can be turned, and whether there is one.

    Listed sizes need not lie on ticks, and a design that only just fits may fit on no ticks at all. A tick further
    out is no longer proved to be the least.
    """
    for steps in range(moved.steps, min(limit.ticks, moved.steps + MOST_FURTHER) + 1):
        answer = asked.at(limit, moved.layout, steps)
        if answer.candidate is None or not can_be_turned(answer.candidate, asked.questions.clock):
            continue
        if steps == moved.steps:
            return moved, True
        return moved._replace(steps=steps, place=Place(steps, answer.candidate), known=False, bad=steps - 1), True
    return moved, False


def can_be_turned(candidate: Candidate, clock: Clock) -> bool:
    """Tell whether the best design of a problem that has one can be brought to ticks, by rounding or by search.

    Where the search ends at its limit that is not ruled out, and taken for a yes.
    """
    clock = clock.counting(MOST_FOR_TICKS)
    found = search(candidate.problem, clock)
    if found.proof.status == "no design":
        return False
    best = found.candidate or candidate
    if round_sizes(best.problem, best.stages, clock=clock).stages is not None:
        return True
    return closing_proof(best, loosest_j(best.problem.targets), clock).status != "none better"
