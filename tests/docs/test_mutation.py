"""docs/mutation.md says what was found, and of everything left why."""

from __future__ import annotations

import pytest

from tests.docs.pages import page
from tests.mutation.page import mutation_page
from tests.mutation.reasons import reason_of
from tests.mutation.results import Results

HELD = ("geometry", "series", "scoring", "search", "checks", "in hand")
"""Parts of which enough is noticed; the page names those of which it is not."""


def test_the_page_is_made_of_the_results() -> None:
    """The page is the one that the results and the reasons that are kept give (`python -m tests.mutation --page`)."""
    assert page("mutation.md") == mutation_page()


@pytest.mark.parametrize("room", HELD)
def test_enough_is_noticed(room: str) -> None:
    """Of the mutants judged of a part, 85 in a hundred are noticed."""
    results = Results()
    assert results.of_room(room)
    assert results.enough(room)


def test_every_mutant_left_has_a_reason() -> None:
    """Nothing is left without somebody having said why."""
    assert [key for key in Results().survivors if reason_of(key) is None] == []
