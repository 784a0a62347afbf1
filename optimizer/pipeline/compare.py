"""The layouts that a scenario allows, each at its best, side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.clock import FOR_SEARCH, Clock
from optimizer.errors import Fault, NoDesignError, ScenarioError
from optimizer.layouts.orders import layouts_of
from optimizer.pipeline.choose import Stated, Tried, in_order, judged
from optimizer.pipeline.compared import compared_rows
from optimizer.pipeline.criteria import criteria_for
from optimizer.pipeline.drafts import CompareOptions, Contender, Drafting
from optimizer.pipeline.ended import with_any_design
from optimizer.pipeline.none import NoLayoutError, why_none
from optimizer.pipeline.parts import cautions_of, scenario_sheet, versions_of
from optimizer.pipeline.stated import stated_problems
from optimizer.records.changes import LayoutReason, NoDesign
from optimizer.records.comparison import ComparedBand, Comparison, CriterionSheet, WithoutDesign
from optimizer.records.problem import Problem
from optimizer.scenario import Scenario
from optimizer.search import Searched, look_all

__all__ = ["compare"]


def compare(
    scenario: Scenario,
    options: CompareOptions | None = None,
    clock: Clock | None = None,
) -> Comparison:
    """Search every layout and order to its proved best, finish those to be shown, set them side by side.

    Of the orders of one layout the best is the one that would be proposed were there no other layout; so is the best
    of a number of speeds. Every row is refined and rounded as a design is, but no closing search is made.

    Parameters
    ----------
    scenario
        What the maker stated.
    options
        What there is a row for.
    clock
        Ends the work where time, memory or a search's combinations are over; hears how far it is.

    Raises
    ------
    ScenarioError
        No band is stated, or the speeds are free.
    NoLayoutError
        No layout has a design: with the reasons, and with the least changes that give one. Or every design found fails
        its own checks: with what each fails.
    NoDesignError
        No layout's sizes can be turned.
    """
    _refuse_free(scenario)
    stated = stated_problems(scenario, layouts_of(scenario))
    options = options or CompareOptions()
    clock = clock or Clock()
    ranked, tried = _ranked(stated, clock)
    if not ranked:
        raise NoLayoutError(why_none(scenario, tried, clock))
    drafting = Drafting(scenario, options, clock)
    drafts = drafting.drafts(ranked)
    without = (*_without(tried), *drafting.unfinished)
    if not drafts:
        if drafting.rejected:
            reasons = tuple(LayoutReason(layouts=entry.layouts, reason=entry.reason) for entry in without)
            told = NoDesign(title=scenario.title, units=scenario.units, reasons=reasons, rejected=True)
            raise NoLayoutError(told, drafting.rejected)
        raise NoDesignError("\n".join(f"layout {'; '.join(entry.layouts)}: {entry.reason}" for entry in without))
    rows = compared_rows(scenario, drafts)
    return Comparison(
        scenario=scenario_sheet(scenario),
        rows_are="orders" if options.orders else "layouts",
        bands=tuple(
            ComparedBand(name=band.name, from_rpm=band.from_rpm, to_rpm=band.to_rpm, want=band.want)
            for band in scenario.bands
        ),
        ends=scenario.series.ends,
        criteria=tuple(
            CriterionSheet(name=c.name, better=c.better, unit=c.unit, step=c.step) for c in criteria_for(rows)
        ),
        rows=rows,
        without=without,
        remarks=(*scenario.remarks, *_belts_remark(scenario)),
        cautions=cautions_of(scenario),
        versions=versions_of("numpy", "scipy", "pydantic"),
    )


def _belts_remark(scenario: Scenario) -> tuple[str, ...]:
    """Return how rows and design differ where belts are in hand."""
    if not scenario.in_hand.belts:
        return ()
    slack = f"{100 * scenario.series.hand_slack:g} %"
    return (
        "Rows are on any belts; conewright design prefers those in hand where J rises by no more than "
        f"{slack}, so that its belts, and its J, may be others.",
    )


def _refuse_free(scenario: Scenario) -> None:
    """Raise if the speeds make no series, so that layouts have no J to be compared by."""
    if scenario.free:
        what = "speeds that are free make no series, so that layouts have no J to be set side by side by"
        advice = "run conewright design: it searches every number of positions, and its table of layouts has their F"
        raise ScenarioError([Fault(scenario.free_key, what, "free", "speeds in a series", advice)])


def _ranked(stated: Sequence[Stated], clock: Clock) -> tuple[list[Contender], tuple[Tried, ...]]:
    """Return the layouts with a design, the one to be proposed first; and all layouts, as they were stated."""
    tried = {
        number: Tried(layout, problem, searchable=False)
        for number, (layout, problem) in enumerate(stated)
        if isinstance(problem, str)
    }
    queue = in_order(stated)
    found: list[tuple[tuple[int, int, int, float], Contender]] = []
    for (number, problem), ended in zip(queue, _searched([p for _, p in queue], clock), strict=True):
        searched = with_any_design(problem, ended, clock)
        tried[number] = entry = judged(problem, searched.found)
        if entry.score:
            found.append((entry.score.rank, Contender(entry, searched)))
    ranked = [contender for _, contender in sorted(found, key=lambda pair: pair[0])]
    return ranked, tuple(tried[number] for number in sorted(tried))


def _searched(problems: Sequence[Problem], clock: Clock) -> Iterator[Searched]:
    return look_all(_announced(problems, clock), clock.until(FOR_SEARCH))


def _announced(problems: Sequence[Problem], clock: Clock) -> Iterator[Problem]:
    for problem in problems:
        clock.begin(f"layout {problem.layout.title}")
        yield problem


def _without(tried: Sequence[Tried]) -> Iterator[WithoutDesign]:
    """Yield the layouts without a design, those of one reason together."""
    reasons: dict[tuple[bool, str], list[str]] = {}
    for entry in tried:
        if entry.score is None:
            reasons.setdefault((entry.outcome == "stopped", entry.said), []).append(entry.layout.title)
    for (stopped, reason), titles in reasons.items():
        yield WithoutDesign(layouts=tuple(titles), outcome="stopped" if stopped else "no design", reason=reason)
