"""A search whose memory runs out says so, and keeps the best it has met."""

from __future__ import annotations

from optimizer.search import Stop, search, some_design
from tests.oracle.instances import small_problem


def _full(after: int) -> Stop:
    """Return a rule that finds the memory full once so many combinations were looked at."""

    def rule(examined: int) -> str | None:
        if examined > after:
            raise MemoryError
        return None

    return rule


def test_a_search_out_of_memory_is_not_proved_and_says_why() -> None:
    """What was looked at before is a bound still; nothing is called proved."""
    problem = next(p for p in map(small_problem, range(40)) if search(p).candidate is not None)
    found = search(problem, stop=_full(0))
    assert (found.proof.status, found.proof.reason) == ("not proved", "the memory there is ran out")
    assert found.proof.bound <= search(problem).proof.listed
    assert some_design(problem, stop=_full(0)).proof.status == "not proved"
