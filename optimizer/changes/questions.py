"""Whether a design exists, asked of one layout or several, each question answered once."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from math import inf
from typing import NamedTuple, Protocol

from optimizer.changes.limit import StatedLimit
from optimizer.clock import ENDLESS, Clock
from optimizer.errors import NoDesignError
from optimizer.layouts.free import any_problem
from optimizer.records.candidate import Candidate
from optimizer.records.layout import Layout
from optimizer.records.middle import MiddleCandidate, MiddleFound, MiddleProblem, broken_middle_rules
from optimizer.records.problem import Problem, StageProblem, Targets
from optimizer.records.proof import Found
from optimizer.records.rules import broken_rules
from optimizer.scenario import Scenario
from optimizer.search import Shelf, some_design
from optimizer.search.middle import search_middle

__all__ = [
    "MOST_EXAMINED",
    "MOST_EXAMINED_IN_ALL",
    "Boundary",
    "Finder",
    "Finding",
    "Inquiry",
    "Place",
    "Questions",
    "Without",
    "any_design",
    "boundary",
    "nearest_first",
]

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

    def __call__(self, problem: Problem | MiddleProblem, clock: Clock, /) -> Found | MiddleFound:
        """Return a design, or `no design` where there is none; anything else leaves the question open."""


def any_design(problem: Problem | MiddleProblem, clock: Clock, /, *, shelf: Shelf | None = None) -> Found | MiddleFound:
    """Return some design of a problem, whether its speeds make a series or are free."""
    if isinstance(problem, MiddleProblem):
        return search_middle(problem, clock, any_design=True)
    return some_design(problem, clock, shelf=shelf)


class Finding(NamedTuple):
    """Whether a layout has a design."""

    candidate: Candidate | MiddleCandidate | None
    known: bool = True
    """Whether the answer is certain: there is a design, or it is proved that there is none."""


NONE = Finding(None)
OPEN = Finding(None, known=False)


class Questions:
    """Asks whether designs exist, and remembers the answers.

    Parameters
    ----------
    finder
        What finds a design; `any_design` where nothing is said.
    known
        Results of searches already made.
    most, in_all
        Limits of one search and of all together, in combinations.
    clock
        Ends all asking, as where time is up; whatever is asked after that is left open.
    """

    def __init__(
        self,
        finder: Finder | None = None,
        known: Iterable[tuple[Problem, Found]] = (),
        *,
        most: int = MOST_EXAMINED,
        in_all: int = MOST_EXAMINED_IN_ALL,
        clock: Clock = ENDLESS,
    ) -> None:
        self._finder = finder or partial(any_design, shelf=Shelf())
        self._most = most
        self._left = in_all
        self.clock = clock
        self._answers: dict[Problem | MiddleProblem, Finding] = {}
        self._designs: dict[object, deque[Candidate | MiddleCandidate]] = {}
        self._hopeless: set[tuple[object, Targets]] = set()
        self.searches = 0
        for problem, found in known:
            self._learn(problem, found)

    @property
    def over(self) -> bool:
        """Whether asking was ended, so that nothing more is answered."""
        return bool(self.clock.over())

    def ask(self, scenario: Scenario, layout: Layout) -> Finding:
        """Return whether a layout of a scenario has a design."""
        if self.over:
            return OPEN
        try:
            problem = any_problem(scenario, layout)
        except NoDesignError:
            return NONE
        return self.ask_problem(problem)

    def rule_out(self, problem: Problem | MiddleProblem) -> bool:
        """Tell whether a problem that stands for many is proved to have no design; little is spent on it."""
        answer = self.ask_problem(problem, MOST_FOR_MANY)
        return answer.candidate is None and answer.known

    def ask_problem(self, problem: Problem | MiddleProblem, most: int | None = None) -> Finding:
        """Return whether a problem has a design, after `most` combinations left open."""
        if (_layout(problem), problem.targets) in self._hopeless:
            return NONE
        if problem not in self._answers:
            if witness := self._witness(problem):
                return Finding(witness)
            if self._left <= 0 or self.over:
                return OPEN
            self.searches += 1
            found = self._finder(problem, self.clock.counting(min(most or self._most, self._most)))
            self._left -= found.proof.examined
            self._learn(problem, found)
        return self._answers[problem]

    def _learn(self, problem: Problem | MiddleProblem, found: Found | MiddleFound) -> None:
        status = found.proof.status
        if status == "no design":
            self._answers[problem] = NONE
            if found.proof.ideal == inf:
                # no series of so many speeds meets the wants, whatever the sizes
                self._hopeless.add((_layout(problem), problem.targets))
        elif found.candidate is not None:
            self._answers[problem] = Finding(found.candidate)
            self._designs.setdefault(_layout(problem), deque(maxlen=MOST_WITNESSES)).appendleft(found.candidate)
        elif status == "not proved":
            self._answers[problem] = OPEN

    def _witness(self, problem: Problem | MiddleProblem) -> Candidate | MiddleCandidate | None:
        """Return a design found for the same sizes and belts under other limits that keeps these, if there is one."""
        for known in self._designs.get(_layout(problem), ()):
            if not all(map(_same_choices, known.problem.stages, problem.stages)):
                continue
            if isinstance(problem, MiddleProblem):
                if isinstance(known, MiddleCandidate) and not broken_middle_rules(problem, known.stages):
                    return MiddleCandidate(problem=problem, stages=known.stages)
            elif not broken_rules(problem, known.stages):
                return Candidate(problem=problem, stages=known.stages)
        return None


def _layout(problem: Problem | MiddleProblem) -> object:
    """Return what problems of one layout have in common."""
    return (problem.levels, problem.shared) if isinstance(problem, MiddleProblem) else problem.layout


def _same_choices(one: StageProblem, other: StageProblem) -> bool:
    """Tell whether two stages have the same sizes and belts to choose from, whatever else limits them."""
    if one.belts != other.belts:
        return False
    freed = {"rim_speed_m_s": inf}
    sides = ((one.driver, other.driver), (one.driven, other.driven))
    return all(a == b or a.model_copy(update=freed) == b.model_copy(update=freed) for a, b in sides)


class Inquiry(NamedTuple):
    """A scenario and its layouts, of which it is asked what moving limits does."""

    scenario: Scenario
    layouts: Sequence[Layout]
    questions: Questions

    def at(self, limit: StatedLimit, layout: Layout, steps: int) -> Finding:
        """Return whether a layout has a design with a limit moved."""
        return self.questions.ask(limit.moved(self.scenario, steps), layout)


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


class Place(NamedTuple):
    """A tick at which a design was found."""

    steps: int
    candidate: Candidate | MiddleCandidate


class Without(NamedTuple):
    """A tick at which no design was found."""

    steps: int
    known: bool = True
    """Whether it is proved that there is none."""


class Boundary(NamedTuple):
    """Neighbouring ticks, one with a design and one without."""

    good: Place
    bad: Without


def boundary(
    ask: Callable[[int], Finding],
    own: Callable[[Candidate | MiddleCandidate, int], int],
    good: Place,
    bad: Without,
) -> Boundary:
    """Halve the way between a tick with a design and one without, jumping to what each design really uses.

    Where a design found uses less of the limit than it was given, the halving goes on from what it uses. Sizes are
    listed anew for every value, so that the tick ended on is asked by itself before it is believed.

    Parameters
    ----------
    ask
        Answers whether there is a design at a tick.
    own
        The tick that a design found at a tick really uses.
    good
        A tick with its design.
    bad
        A tick without one.

    Examples
    --------
    Designs at 7 ticks and more, those found using what they were given:

    >>> from optimizer.records.candidate import Candidate
    >>> some = Candidate.model_construct()
    >>> ask = lambda steps: Finding(some if steps >= 7 else None)
    >>> found = boundary(ask, lambda _, steps: steps, Place(100, some), Without(0))
    >>> found.good.steps, found.bad.steps
    (7, 6)
    """
    worst, known = bad
    sure = good
    believed = _between(own(good.candidate, good.steps), sure.steps, worst)
    while True:
        while abs(believed - worst) > 1:
            middle = (believed + worst) // 2
            answer = ask(middle)
            if answer.candidate is None:
                worst, known = middle, answer.known
            else:
                sure = Place(middle, answer.candidate)
                believed = _between(own(answer.candidate, middle), middle, worst)
        if believed == sure.steps:
            return Boundary(sure, Without(worst, known))
        answer = ask(believed)
        if answer.candidate is not None:
            return Boundary(Place(believed, answer.candidate), Without(worst, known))
        worst, known = believed, answer.known
        believed = sure.steps


def _between(own: int, good: int, bad: int) -> int:
    """Return a tick used, kept between the one with a design and the neighbour of the one without."""
    return min(max(own, bad + 1), good) if bad < good else max(min(own, bad - 1), good)
