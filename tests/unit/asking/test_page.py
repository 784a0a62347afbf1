"""The page about asking names every question, once and in order."""

from __future__ import annotations

from optimizer.asking.interview import QUESTIONS
from optimizer.asking.machine import SAFE
from tests.docs.pages import ROOT, page, rows_of


def test_every_question_has_a_row_in_the_order_it_is_asked() -> None:
    """Names in the table are those of a file of answers."""
    assert [row[0].strip("`") for row in rows_of("new.md", "question")] == [one.name for one in QUESTIONS]


def test_questions_without_suggestions_are_those_that_say_never() -> None:
    """What only the maker knows is said to be so."""
    never = {row[0].strip("`") for row in rows_of("new.md", "question") if row[2] == "never"}
    silent = {one.name for one in QUESTIONS if one.suggests.__module__ == "optimizer.asking.question"}
    assert never == silent


def test_the_page_keeps_to_one_width_and_to_the_figures_of_the_code() -> None:
    """Lines outside tables have at most 120 characters; the share of the ratio that is counted on is the code's."""
    text = page("new.md")
    assert not [line for line in text.splitlines() if len(line) > 120 and not line.startswith("|")]
    assert f"blank; {SAFE:g}" in " ".join(text.split())


def test_the_readme_and_the_guide_know_of_it() -> None:
    """Who looks for it finds it."""
    assert "docs/new.md" in (ROOT / "README.md").read_text(encoding="utf-8")
    assert "docs/new.md" in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
