"""The least changes that give a machine whose speeds are free a design."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from optimizer.changes.limit import Limit, settings
from optimizer.changes.limits import let_out
from optimizer.changes.risks import usual_first
from optimizer.clock import ENDLESS, Clock
from optimizer.errors import NoDesignError
from optimizer.layouts.free import middle_problem
from optimizer.records.changes import Change, Changes, LimitKind, Unmoved
from optimizer.records.layout import Layout
from optimizer.records.middle import MiddleCandidate
from optimizer.refine.middle import refine_middle
from optimizer.scenario import Scenario
from optimizer.search.middle import search_middle

__all__ = ["changes_for_free"]

MOST_EXAMINED, MOST_IN_ALL = 500_000, 40_000_000
"""Combinations looked at for one question, and for all together, before questions are left open."""
FARTHEST = 40
"""Ticks by which a limit is let out at the most: as far as it goes may be another machine, and slow to ask."""
UNITS = 10
"""Units of a limit that has some by which it is let out at the most, where that is more."""
NO_PART: frozenset[LimitKind] = frozenset({"unevenness", "grip"})
"""Limits that machines with free speeds do not have."""


class Answer(NamedTuple):
    """Whether some layout has a design with a limit moved."""

    layout: Layout | None = None
    candidate: MiddleCandidate | None = None
    known: bool = True


class Asking:
    """Asks whether there is a design, and keeps count of what was looked at."""

    def __init__(self, layouts: Sequence[Layout], clock: Clock) -> None:
        """Take the layouts that may have one, and what ends all asking."""
        self.layouts, self._clock = layouts, clock
        self._left = MOST_IN_ALL
        self.searches = 0

    def of(self, scenario: Scenario) -> Answer:
        """Return the first layout's design that there is; where there is none, whether that is certain."""
        known = True
        for layout in self.layouts:
            if self._left <= 0 or self._clock.over():
                return Answer(known=False)
            try:
                problem = middle_problem(scenario, layout)
            except NoDesignError:
                continue
            self.searches += 1
            found = search_middle(problem, self._clock.counting(MOST_EXAMINED), any_design=True)
            self._left -= found.proof.examined
            if found.candidate is not None:
                return Answer(layout, found.candidate)
            known = known and found.proof.status == "no design"
        return Answer(known=known)


def changes_for_free(
    scenario: Scenario,
    layouts: Sequence[Layout],
    clock: Clock = ENDLESS,
) -> Changes:
    """Return the least change of every single limit that gives a machine with free speeds a design.

    A limit is let out by some way, and where that gives a design halved back. Where letting out further always keeps a
    design, and each answer on the way is certain, a tick less is proved to give none.

    Parameters
    ----------
    scenario
        A scenario with free speeds, none of whose layouts has a design.
    layouts
        Those that were asked for.
    clock
        Ends all asking; what is asked after that is left open. Hears which limit is being asked of.
    """
    asking = Asking(layouts, clock)
    changes: list[Change] = []
    unmoved: list[Unmoved] = []
    for limit in let_out(scenario):
        if limit.kind in NO_PART:
            continue
        clock.begin(f"what {limit.kind} would do")
        steps, answer, known = _least(asking, scenario, limit)
        if answer.candidate is None or answer.layout is None:
            unmoved.append(Unmoved(kind=limit.kind, settings=settings(scenario, limit, limit.ticks), proved=known))
            continue
        changes.append(
            Change(
                kind=limit.kind,
                settings=settings(scenario, limit, steps, steps - 1),
                layout=answer.layout.title,
                proved=known and limit.nested,
                turned=refine_middle(answer.candidate, 0.0, clock).rounded is not None,
            )
        )
    return Changes(least=usual_first(changes), unmoved=tuple(unmoved), searches=asking.searches)


def _least(asking: Asking, scenario: Scenario, limit: Limit) -> tuple[int, Answer, bool]:
    """Return the least tick found with a design, its answer, and whether all answers short of it are certain."""
    low, steps, known = 0, min(limit.ticks, max(FARTHEST, limit.ticks_of(UNITS))), True
    best = asking.of(limit.moved(scenario, steps))
    if best.candidate is None:
        return 0, best, best.known and steps == limit.ticks
    while steps - low > 1:
        middle = (low + steps) // 2
        answer = asking.of(limit.moved(scenario, middle))
        if answer.candidate is not None:
            steps, best = middle, answer
        else:
            low, known = middle, known and answer.known
    return steps, best, known
