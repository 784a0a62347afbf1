"""Layouts searched until one can be proposed, each search made once."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from optimizer.clock import FOR_SEARCH, Clock
from optimizer.pipeline.choose import Choice, Stated, Tried, choose
from optimizer.pipeline.ended import with_any_design
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Found
from optimizer.scoring import advised_most
from optimizer.search import Searched, look

__all__ = ["Searches"]


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
