"""The project's own search, asked and timed as the other solvers are."""

from __future__ import annotations

from statistics import median
from time import perf_counter

from optimizer.records import Found, Problem
from optimizer.search import search
from tests.bench.answer import Answer, ContradictionError, exact_j

__all__ = ["ask_search"]


def ask_search(problem: Problem, rounds: int) -> tuple[Answer, tuple[int, ...]]:
    """Return what the search says, the median of its times with the building of pairs included, and the pairs.

    Raises
    ------
    ContradictionError
        If J of the design is not what the search says.
    """
    search(problem)  # once unmeasured, as the libraries are warm for the others too
    times = []
    for _ in range(rounds):
        start = perf_counter()
        found = search(problem)
        times.append(perf_counter() - start)
    return _answer(problem, found, median(times)), found.proof.pairs


def _answer(problem: Problem, found: Found, seconds: float) -> Answer:
    proof = found.proof
    if found.candidate is None:
        none = proof.status == "no design"
        return Answer("no design" if none else "time", bound=proof.bound, seconds=seconds)
    j = exact_j(problem, found.candidate.stages)
    if abs(j - proof.listed) > 1e-10:
        raise ContradictionError(f"the search says J = {proof.listed}, its design has {j}")
    return Answer("proved" if proof.status == "proved" else "time", j, proof.bound, seconds)
