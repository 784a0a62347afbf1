"""The whole way from a scenario to a design."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from optimizer.errors import Fault, NoDesignError, ScenarioError
from optimizer.layouts.problem import problem_for
from optimizer.pipeline.choose import Choice, Tried, choose
from optimizer.pipeline.finish import Finished, finish
from optimizer.pipeline.listener import Listener, Silent
from optimizer.pipeline.nearest import nearest_changes
from optimizer.pipeline.options import DesignOptions, asked_layouts
from optimizer.pipeline.prefer import preferred
from optimizer.pipeline.sheet import Result, design_sheet
from optimizer.records.design import Design
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Found
from optimizer.scenario import Scenario
from optimizer.scoring import advised_most
from optimizer.search import Searched, Stop, look

__all__ = ["MOST_EXAMINED", "design", "stop_after"]

MOST_EXAMINED = 20_000_000
"""Combinations looked at in one search before it ends unproved; a count, not a time, so that results repeat."""


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
    NoDesignError
        No layout has a design: with the reason, and with changes that would give one.
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
        raise NoDesignError("\n".join(_why_none(scenario, tried, listener)))
    listener.begin("extremes")
    found = searches[choice.problem.layout].with_extremes(limit)
    finished = _finished(choice, found, options, (listener, limit))
    return design_sheet(scenario, Result(options, choice, found, finished))


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


def _why_none(scenario: Scenario, tried: tuple[Tried, ...], listener: Listener) -> Iterator[str]:
    """Yield the reasons of all layouts, then the changes that would help; nothing is proposed after an ended search."""
    reasons: dict[str, list[str]] = {}
    for entry in tried:
        reasons.setdefault(entry.said, []).append(entry.layout.title)
    for reason, titles in reasons.items():
        yield f"layout {'; '.join(titles)}: {reason}"
    if any(entry.outcome == "stopped" for entry in tried):
        return
    listener.begin("looking for the nearest change")
    changes = nearest_changes(scenario, [entry.layout for entry in tried])
    yield "a design exists, all else as it is," if changes else "no single change that was tried gives a design"
    yield from (f"  - {change}" for change in changes)
