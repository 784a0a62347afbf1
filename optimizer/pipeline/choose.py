"""Layouts searched, each once, until one can be proposed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf
from typing import Literal, Protocol

from optimizer.clock import FOR_SEARCH, Clock
from optimizer.errors import Fault, NoDesignError, ScenarioError
from optimizer.layouts.problem import problem_for
from optimizer.records.candidate import Candidate
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem, SideSizes, StageProblem
from optimizer.records.proof import Found
from optimizer.scenario import Scenario
from optimizer.scoring import Score, advised_most, score
from optimizer.search import Searched, look, some_design

__all__ = [
    "MOST_COARSE",
    "MOST_FOR_ANY",
    "Choice",
    "Searcher",
    "Searches",
    "Stated",
    "Tried",
    "choose",
    "coarser",
    "fewest_turned_steps",
    "in_order",
    "judged",
    "refuse_without_bands",
    "stated_problems",
    "with_any_design",
]

Stated = tuple[Layout, Problem | str]
"""A layout with its problem, or with the reason why it has none."""


class Searcher(Protocol):
    """Finds the best design of one layout."""

    def __call__(self, problem: Problem, /) -> Found:
        """Return the best design with its proof, or why there is none."""


@dataclass(frozen=True)
class Tried:
    """A layout that stood for choice, with what became of it."""

    layout: Layout
    said: str = ""
    """Why it has no design, or was not searched."""
    found: Found | None = None
    """What the search said; nothing where it was not asked."""
    score: Score | None = None
    """Figures of its best design, where it has one."""
    searchable: bool = True
    """Whether there was a problem to search at all."""

    @property
    def outcome(self) -> Literal["passed over", "no design", "not searched", "set aside", "stopped"]:
        """What became of it, were another chosen."""
        if self.score is not None:
            return "passed over"
        if self.found is None:
            return "not searched" if self.searchable else "no design"
        if self.found.proof.status == "set aside":
            return "set aside"
        return "stopped" if self.found.proof.status == "not proved" else "no design"


@dataclass(frozen=True)
class Choice:
    """The layout that is proposed, with all that stood beside it."""

    problem: Problem
    candidate: Candidate
    found: Found
    score: Score
    tried: tuple[Tried, ...]


def choose(stated: Sequence[Stated], search: Searcher) -> tuple[Choice | None, tuple[Tried, ...]]:
    """Search layouts until none that is left could be proposed before the best so far.

    A layout is proposed for the fewest turned steps among those whose best design is within what is advised,
    then for the fewest belt moves, then for the least J; if none is within it, for the least J alone. Layouts
    are searched in the order of the fewest turned steps they can have, so that once one is within the advice
    those that must turn more, or move more belts for as many, need no search.

    Parameters
    ----------
    stated
        Every layout with its problem, or with the reason why it has none.
    search
        Finds the best design of a problem.

    Returns
    -------
    tuple
        The choice, nothing where no layout has a design; and every layout with what became of it, in the
        order they were stated.
    """
    tried = {
        number: Tried(layout, problem, searchable=False)
        for number, (layout, problem) in enumerate(stated)
        if isinstance(problem, str)
    }
    best: tuple[int, Score] | None = None
    for number, problem in in_order(stated):
        least = fewest_turned_steps(problem), problem.layout.belt_moves
        if best is not None and best[1].advised and best[1].rank[1:3] < least:
            tried[number] = Tried(problem.layout, _needs_more(best[1], least[0]))
            continue
        tried[number] = entry = judged(problem, search(problem))
        if entry.score and (best is None or entry.score.rank < best[1].rank):
            best = (number, entry.score)
    lines = tuple(tried[number] for number in sorted(tried))
    if best is None:
        return None, lines
    chosen = tried[best[0]]
    assert chosen.found is not None and chosen.found.candidate is not None
    candidate = chosen.found.candidate
    return Choice(candidate.problem, candidate, chosen.found, best[1], lines), lines


def in_order(stated: Sequence[Stated]) -> list[tuple[int, Problem]]:
    """Return the problems there are with their numbers, in the order in which their layouts stand for choice.

    That is by the fewest turned steps they can have, then by belt moves, then as they were stated. Of two designs that
    rank the same, the one whose layout comes first is proposed.
    """
    problems = [(number, problem) for number, (_, problem) in enumerate(stated) if not isinstance(problem, str)]
    return sorted(problems, key=lambda entry: (fewest_turned_steps(entry[1]), entry[1].layout.belt_moves))


def judged(problem: Problem, found: Found) -> Tried:
    """Return a layout that was searched, with the figures of its design or the reason why it has none."""
    if found.candidate is None:
        return Tried(problem.layout, _why_none(found), found)
    return Tried(problem.layout, "", found, score(problem, found.candidate.stages))


def fewest_turned_steps(problem: Problem) -> int:
    """Return a number of turned steps that no design of the problem goes below.

    Examples
    --------
    A side with ready pulleys may do without turning, a step of a kept cone does:

    >>> from optimizer.records.problem import SideSizes, StageProblem, Targets
    >>> stage = StageProblem(
    ...     key="stage[0]",
    ...     driver=SideSizes(key="stage[0].driver", ready_mm=(80.0,), turned_mm=(60.0, 120.0)),
    ...     driven=SideSizes(key="stage[0].driven", turned_mm=(60.0, 120.0)),
    ...     belts=(),
    ...     centre_mm=(300.0, 300.0),
    ... )
    >>> layout = Layout(positions=(3,), offsets=((0, 1, 2),))
    >>> targets = Targets(bands=(), lo_rpm=100, hi_rpm=400)
    >>> fewest_turned_steps(Problem(layout=layout, motor_rpm=1420, stages=(stage,), targets=targets))
    3
    """
    return sum(
        max(0, count - sum(step is not None for step in side.standing_mm))
        for stage, count in zip(problem.stages, problem.layout.positions, strict=True)
        for side in (stage.driver, stage.driven)
        if side.turned_mm is not None and not side.ready_mm
    )


def _why_none(found: Found) -> str:
    reason = found.proof.reason or "no design keeps every rule"
    ended = found.proof.status == "not proved"
    return f"the search was ended before it found a design: {reason}" if ended else reason


def _needs_more(best: Score, steps: int) -> str:
    if steps > best.turned_steps:
        return f"at least {steps} turned steps, where the choice has {best.turned_steps}"
    return "as many turned steps, with more belt moves"


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


class Searches:
    """The searches of all layouts, each made once for designs within what is advised, and once for any."""

    def __init__(self, clock: Clock) -> None:
        """Take what ends a search that goes too far."""
        self.clock = clock
        self.made: dict[tuple[Layout, bool], Searched] = {}
        self.thorough = False

    def choose(self, stated: Sequence[Stated]) -> tuple[Choice | None, tuple[Tried, ...]]:
        """Return the layout to propose, where there is one.

        A design within what is advised is proposed before any other, so that first only those are looked for.
        """
        self.thorough = False
        choice, tried = choose(stated, self._search)
        if choice is None or not choice.score.advised:
            self.thorough = True
            choice, tried = choose(stated, self._search)
        return choice, tried

    def of(self, choice: Choice) -> Searched:
        """Return the search that a choice came from."""
        return self.made[choice.problem.layout, self.thorough]

    def forget(self, layout: Layout) -> None:
        """Search a layout anew when it is next asked for, as its problem is another."""
        for thorough in (False, True):
            self.made.pop((layout, thorough), None)

    def _search(self, problem: Problem, /) -> Found:
        key = problem.layout, self.thorough
        if key not in self.made:
            self.clock.begin(f"layout {problem.layout.title}")
            most = inf if self.thorough else advised_most(problem)
            ended = look(problem, self.clock.until(FOR_SEARCH), most=most)
            self.made[key] = with_any_design(problem, ended, self.clock)
        return self.made[key].found


def stated_problems(scenario: Scenario, layouts: Sequence[Layout]) -> list[Stated]:
    """Return every layout with its problem, or with the reason why it has none.

    Raises
    ------
    ScenarioError
        No band is stated.
    """
    refuse_without_bands(scenario)
    return [_stated(scenario, layout) for layout in layouts]


def refuse_without_bands(scenario: Scenario) -> None:
    """Raise if no speed is wanted.

    Raises
    ------
    ScenarioError
        No band is stated.
    """
    if not scenario.bands:
        advice = "add [[band]] with name, from, to; conewright speeds tells what a known machine gives"
        raise ScenarioError([Fault("band", "no band is stated, so that no speed is wanted", advice=advice)])


def _stated(scenario: Scenario, layout: Layout) -> Stated:
    try:
        return layout, problem_for(scenario, layout)
    except NoDesignError as error:
        return layout, str(error)
