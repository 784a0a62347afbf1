"""A design all the same, where a limit ended a search before it came to one.

The search rises from below, so that the first design it meets is the best; ended before, it has none. Any design at all
is soon found from above.
"""

from __future__ import annotations

from optimizer.clock import Clock
from optimizer.records.problem import Problem
from optimizer.records.proof import Found
from optimizer.search import Searched, some_design

__all__ = ["MOST_FOR_ANY", "with_any_design"]

MOST_FOR_ANY = 300_000
"""Combinations that are looked at for any design: less than a second."""


def with_any_design(problem: Problem, searched: Searched, clock: Clock) -> Searched:
    """Return a search that was ended without a design with any design there is, its bound and reason kept.

    What is found so is not proved: its J may be as much above the best as the bound leaves open. Where it turns out
    that there is none, that is returned.
    """
    proof = searched.found.proof
    if searched.found.candidate is not None or proof.status != "not proved" or clock.interrupted:
        return searched
    some = some_design(problem, clock.with_grace().counting(MOST_FOR_ANY))
    if some.candidate is None:
        return Searched(some) if some.proof.status == "no design" else searched
    update = {"listed": some.proof.listed, "examined": proof.examined + some.proof.examined}
    return Searched(Found(candidate=some.candidate, proof=proof.model_copy(update=update)))
