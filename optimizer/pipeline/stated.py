"""The problems that a scenario's layouts state, before any search."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.errors import Fault, NoDesignError, ScenarioError
from optimizer.layouts.problem import problem_for
from optimizer.pipeline.choose import Stated
from optimizer.records.layout import Layout
from optimizer.scenario import Scenario

__all__ = ["refuse_without_bands", "stated_problems"]


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
