"""The whole way from a scenario to a design."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from optimizer.changes import Known, changes_for_none, changes_for_one
from optimizer.errors import Fault, NoDesignError, ScenarioError
from optimizer.layouts.problem import problem_for
from optimizer.pipeline.choose import Choice, Tried, choose
from optimizer.pipeline.finish import Finished, finish
from optimizer.pipeline.listener import Listener, Silent
from optimizer.pipeline.options import DesignOptions, asked_layouts
from optimizer.pipeline.prefer import preferred
from optimizer.pipeline.sheet import Result, design_sheet
from optimizer.records.changes import Changes, LayoutReason, NoDesign
from optimizer.records.design import Design
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Found
from optimizer.scenario import Scenario
from optimizer.scoring import advised_most
from optimizer.search import Searched, Stop, look

__all__ = ["MOST_EXAMINED", "NoLayoutError", "design", "stop_after"]

MOST_EXAMINED = 20_000_000
"""Combinations looked at in one search before it ends unproved; a count, not a time, so that results repeat."""


class NoLayoutError(NoDesignError):
    """No layout has a design; `told` says why, with the least changes that give one."""

    def __init__(self, told: NoDesign) -> None:
        self.told = told
        super().__init__("\n".join(f"layout {'; '.join(entry.layouts)}: {entry.reason}" for entry in told.reasons))


def stop_after(most: int) -> Stop:
    """Return a rule that ends a search after so many combinations.

    Examples
    --------
    >>> stop_after(1_000_000)(1_000_001)
    '1,000,000 combinations were looked at'
    """

    def rule(examined: int) -> str | None:
        return f"{most:,} combinations were looked at" if examined > most else None

    return rule


def design(
    scenario: Scenario,
    options: DesignOptions | None = None,
    *,
    stop: Stop | None = None,
    watch: Listener | None = None,
) -> Design:
    """Design a machine: choose the layout, search it, refine, round, prove, check.

    Parameters
    ----------
    scenario
        What the maker stated.
    options
        Layouts to choose from, and what is preferred.
    stop
        Ends every search that goes too far; `stop_after(MOST_EXAMINED)` where none is given.
    watch
        Hears how far the work is.

    Raises
    ------
    ScenarioError
        No band is stated, or the options ask for what the scenario does not allow.
    NoLayoutError
        No layout has a design: with the reasons, and with the least changes that give one.
    NoDesignError
        The layout chosen has no sizes that can be turned.
    """
    if not scenario.bands:
        advice = "add [[band]] with name, from, to; conewright speeds tells what a known machine gives"
        raise ScenarioError([Fault("band", "no band is stated, so that no speed is wanted", advice=advice)])
    options = options or DesignOptions()
    listener = watch or Silent()
    limit = stop or stop_after(MOST_EXAMINED)
    stated = [_stated(scenario, layout) for layout in asked_layouts(scenario, options)]

    searches: dict[Layout, Searched] = {}

    def searched(problem: Problem, /) -> Found:
        listener.begin(f"layout {problem.layout.title}")
        most = inf if thorough else advised_most(problem)
        searches[problem.layout] = look(problem, stop=limit, watch=listener.hear, most=most)
        return searches[problem.layout].found

    # a design within what is advised is proposed before any other, so that first only those are looked for
    thorough = False
    choice, tried = choose(stated, searched)
    if choice is None or not choice.score.advised:
        thorough = True
        choice, tried = choose(stated, searched)
    if choice is None:
        raise NoLayoutError(_why_none(scenario, tried, listener))
    listener.begin("extremes")
    found = searches[choice.problem.layout].with_extremes(limit)
    finished = _finished(choice, found, options, (listener, limit))
    more: Changes | None = None
    if options.changes:
        more = changes_for_one(scenario, _known(tried), choice.candidate, listener.begin)
    return design_sheet(scenario, Result(options, choice, found, finished, more))


def _stated(scenario: Scenario, layout: Layout) -> tuple[Layout, Problem | str]:
    try:
        return layout, problem_for(scenario, layout)
    except NoDesignError as error:
        return layout, str(error)


def _finished(choice: Choice, found: Found, options: DesignOptions, guides: tuple[Listener, Stop]) -> Finished:
    listener, limit = guides
    structural = choice.found.proof.structural
    if options.prefer != "evenness":
        extreme = preferred(found, options.prefer)
        if extreme is not None:
            return finish(extreme, structural, listener, stop=limit, close=False)
    return finish(choice.candidate, structural, listener, stop=limit, close=True)


def _why_none(scenario: Scenario, tried: Sequence[Tried], listener: Listener) -> NoDesign:
    """Return the reasons of all layouts with the changes that would help; none is told after an ended search."""
    reasons: dict[str, list[str]] = {}
    for entry in tried:
        reasons.setdefault(entry.said, []).append(entry.layout.title)
    ended = any(entry.outcome == "stopped" for entry in tried)
    return NoDesign(
        title=scenario.title,
        units=scenario.units,
        reasons=tuple(LayoutReason(layouts=tuple(titles), reason=reason) for reason, titles in reasons.items()),
        changes=None if ended else changes_for_none(scenario, _known(tried), listener.begin),
    )


def _known(tried: Sequence[Tried]) -> list[Known]:
    return [Known(entry.layout, entry.found) for entry in tried]
