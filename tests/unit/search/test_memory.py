"""A search whose memory runs out says so, and keeps the best it has met."""

from __future__ import annotations

from optimizer.clock import Clock
from optimizer.search import search, some_design
from tests.oracle.instances import small_problem


def _full() -> float:
    """Have no memory left."""
    raise MemoryError


def test_a_search_out_of_memory_is_not_proved_and_says_why() -> None:
    """What was looked at before is a bound still; nothing is called proved."""
    problem = next(p for p in map(small_problem, range(40)) if search(p).candidate is not None)
    found = search(problem, Clock(megabytes=1, held_mb=_full))
    assert (found.proof.status, found.proof.reason) == ("not proved", "the memory there is ran out")
    assert found.proof.bound <= search(problem).proof.listed
    assert some_design(problem, Clock(megabytes=1, held_mb=_full)).proof.status == "not proved"
