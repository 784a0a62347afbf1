"""Whether a design exists, asked of one layout or several, each question answered once."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from math import inf
from typing import NamedTuple, Protocol

from optimizer.clock import ENDLESS, Clock
from optimizer.errors import NoDesignError
from optimizer.layouts.problem import problem_for
from optimizer.records.candidate import Candidate
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem, StageProblem, Targets
from optimizer.records.proof import Found
from optimizer.records.rules import broken_rules
from optimizer.scenario import Scenario
from optimizer.search import some_design

__all__ = ["MOST_EXAMINED", "MOST_EXAMINED_IN_ALL", "Answer", "Finder", "Questions", "exists", "nearest_first"]

MOST_EXAMINED = 2_000_000
"""Combinations looked at for one question before it is left open; a count, not a time, so that results repeat."""
MOST_EXAMINED_IN_ALL = 20_000_000
"""Combinations looked at for all questions together; those asked afterwards are left open."""


MOST_FOR_MANY = 50_000
"""Combinations looked at for a question that stands for many, which only a no answers."""

MOST_WITNESSES = 8
"""Designs of each layout kept, the latest first, to answer for other limits."""


class Finder(Protocol):
    """Finds a design of a problem, not always the best, or proves that there is none."""

    def __call__(self, problem: Problem, clock: Clock, /) -> Found:
        """Return a design, or `no design` where there is none; anything else leaves the question open."""


class Answer(NamedTuple):
    """Whether a layout has a design."""

    candidate: Candidate | None
    known: bool = True
    """Whether the answer is certain: there is a design, or it is proved that there is none."""


NONE = Answer(None)
OPEN = Answer(None, known=False)


class Questions:
    """Asks whether designs exist, and remembers the answers.

    Parameters
    ----------
    finder
        What finds a design.
    known
        Results of searches already made.
    most, in_all
        Limits of one search and of all together, in combinations.
    clock
        Ends all asking, as where time is up; whatever is asked after that is left open.
    """

    def __init__(
        self,
        finder: Finder = some_design,
        known: Iterable[tuple[Problem, Found]] = (),
        *,
        most: int = MOST_EXAMINED,
        in_all: int = MOST_EXAMINED_IN_ALL,
        clock: Clock = ENDLESS,
    ) -> None:
        self._finder = finder
        self._most = most
        self._left = in_all
        self.clock = clock
        self._answers: dict[Problem, Answer] = {}
        self._designs: dict[Layout, deque[Candidate]] = {}
        self._hopeless: set[tuple[Layout, Targets]] = set()
        self.searches = 0
        for problem, found in known:
            self._learn(problem, found)

    @property
    def over(self) -> bool:
        """Whether asking was ended, so that nothing more is answered."""
        return bool(self.clock.over())

    def ask(self, scenario: Scenario, layout: Layout) -> Answer:
        """Return whether a layout of a scenario has a design."""
        if self.over:
            return OPEN
        try:
            problem = problem_for(scenario, layout)
        except NoDesignError:
            return NONE
        return self.ask_problem(problem)

    def rule_out(self, problem: Problem) -> bool:
        """Tell whether a problem that stands for many is proved to have no design; little is spent on it."""
        answer = self.ask_problem(problem, MOST_FOR_MANY)
        return answer.candidate is None and answer.known

    def ask_problem(self, problem: Problem, most: int | None = None) -> Answer:
        """Return whether a problem has a design, after `most` combinations left open."""
        if (problem.layout, problem.targets) in self._hopeless:
            return NONE
        if problem not in self._answers:
            if witness := self._witness(problem):
                return Answer(witness)
            if self._left <= 0 or self.over:
                return OPEN
            self.searches += 1
            found = self._finder(problem, self.clock.counting(min(most or self._most, self._most)))
            self._left -= found.proof.examined
            self._learn(problem, found)
        return self._answers[problem]

    def _learn(self, problem: Problem, found: Found) -> None:
        status = found.proof.status
        if status == "no design":
            self._answers[problem] = NONE
            if found.proof.ideal == inf:
                # no series of so many speeds meets the wants, whatever the sizes
                self._hopeless.add((problem.layout, problem.targets))
        elif found.candidate is not None:
            self._answers[problem] = Answer(found.candidate)
            self._designs.setdefault(problem.layout, deque(maxlen=MOST_WITNESSES)).appendleft(found.candidate)
        elif status == "not proved":
            self._answers[problem] = OPEN

    def _witness(self, problem: Problem) -> Candidate | None:
        """Return a design found for the same sizes and belts under other limits that keeps these, if there is one."""
        for known in self._designs.get(problem.layout, ()):
            same = all(map(_same_choices, known.problem.stages, problem.stages))
            if same and not broken_rules(problem, known.stages):
                return Candidate(problem=problem, stages=known.stages)
        return None


def _same_choices(one: StageProblem, other: StageProblem) -> bool:
    """Tell whether two stages have the same sizes and belts to choose from, whatever else limits them."""
    if one.belts != other.belts:
        return False
    freed = {"rim_speed_m_s": inf}
    sides = ((one.driver, other.driver), (one.driven, other.driven))
    return all(a == b or a.model_copy(update=freed) == b.model_copy(update=freed) for a, b in sides)


def exists(scenario: Scenario, layouts: Sequence[Layout], questions: Questions) -> Answer:
    """Return the first layout's design that there is; where there is none, whether that is certain."""
    known = True
    for layout in layouts:
        answer = questions.ask(scenario, layout)
        if answer.candidate is not None:
            return answer
        known = known and answer.known
    return Answer(None, known)


def nearest_first(layouts: Sequence[Layout], known: Mapping[Layout, Found]) -> tuple[Layout, ...]:
    """Return layouts in the order in which a change is likely to help them.

    Those whose wants and sizes would do, but whose belts do not, come before those out of reach, and those before
    the ones with too few speeds; otherwise the order is kept.
    """

    def rank(layout: Layout) -> int:
        found = known.get(layout)
        if found is None:
            return 1
        return 3 if found.proof.ideal == inf else 2 if found.proof.structural == inf else 0

    return tuple(sorted(layouts, key=rank))
