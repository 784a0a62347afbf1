"""Which layout is proposed first."""

from __future__ import annotations

from math import inf

from optimizer.layouts import layouts_of, problem_for
from optimizer.pipeline.choose import choose, fewest_turned_steps
from optimizer.records.candidate import Candidate
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Found, Proof
from optimizer.scenario import load_scenario
from optimizer.scoring import score
from optimizer.search import search
from tests.machines import MIXER


def mixer_problems() -> list[tuple[Layout, Problem | str]]:
    """Return every layout of the mixer with its problem."""
    scenario = load_scenario(MIXER, "mixer.toml")
    return [(layout, problem_for(scenario, layout)) for layout in layouts_of(scenario)]


class Recorded:
    """A searcher that answers from a table by the layout's title, and remembers what it was asked."""

    def __init__(self, answers: dict[str, Candidate]) -> None:
        self.answers = answers
        self.asked: list[str] = []

    def __call__(self, problem: Problem, /) -> Found:
        """Return the answer written down for the layout, or none."""
        title = problem.layout.title
        self.asked.append(title)
        candidate = self.answers.get(title)
        if candidate is None:
            return Found(proof=Proof(status="no design", reason="nothing written down", bound=inf))
        return Found(candidate=candidate, proof=Proof(status="proved", listed=0.0))


def found_of(problems: list[tuple[Layout, Problem | str]], *titles: str) -> dict[str, Candidate]:
    """Return real designs of some layouts."""
    found = {}
    for layout, problem in problems:
        if layout.title in titles and not isinstance(problem, str):
            candidate = search(problem).candidate
            assert candidate is not None
            found[layout.title] = candidate
    return found


def test_layouts_that_must_turn_more_are_not_searched() -> None:
    """Once a layout is within the advice, those with more turned steps, or more belt moves, need no search."""
    problems = mixer_problems()
    searcher = Recorded(found_of(problems, "2x3, fine stage first"))
    choice, tried = choose(problems, searcher)
    assert choice is not None
    assert choice.problem.layout.title == "2x3, fine stage first"
    assert searcher.asked == ["1x3", "2x3, coarse stage first", "2x3, fine stage first"][: len(searcher.asked)]
    unsearched = {t.layout.title: t.said for t in tried if t.found is None}
    assert unsearched["2x4, coarse stage first"] == "at least 10 turned steps, where the choice has 8"


def test_choice_has_the_least_rank_of_all_designs() -> None:
    """With every layout of fewer than eight speeds searched by hand, none ranks before the one chosen."""
    problems = mixer_problems()[:4]
    choice, tried = choose(problems, lambda problem: search(problem))
    assert choice is not None
    ranks = []
    for _, problem in problems:
        assert not isinstance(problem, str)
        candidate = search(problem).candidate
        if candidate is not None:
            ranks.append(score(problem, candidate.stages).rank)
    assert choice.score.rank == min(ranks)
    assert [t.layout for t in tried] == [layout for layout, _ in problems]


def test_layout_without_a_problem_keeps_its_reason() -> None:
    """A layout that has no problem at all is listed with the reason, and is not searched."""
    (layout, _), *_ = mixer_problems()
    searcher = Recorded({})
    choice, tried = choose([(layout, "no room for it")], searcher)
    assert choice is None
    assert searcher.asked == []
    assert [(t.said, t.outcome) for t in tried] == [("no room for it", "no design")]


def test_nothing_found_gives_the_reasons_of_the_search() -> None:
    """Where no layout has a design, every one is listed with what the search said."""
    problems = mixer_problems()
    choice, tried = choose(problems, Recorded({}))
    assert choice is None
    assert {t.said for t in tried} == {"nothing written down"}


def test_ready_pulleys_may_do_without_turning() -> None:
    """The mixer's bought side counts no turned step; its driven discs and both free sides count all theirs."""
    counts = {layout.name: fewest_turned_steps(p) for layout, p in mixer_problems() if not isinstance(p, str)}
    assert counts == {"1x3": 1 + 6, "1x4": 1 + 8, "2x3": 2 + 6, "2x4": 2 + 8}
