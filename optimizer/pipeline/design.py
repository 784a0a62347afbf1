"""The whole way from a scenario to a design."""

from __future__ import annotations

from dataclasses import replace

from optimizer.changes import changes_for_one
from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.pipeline.built import built_machine
from optimizer.pipeline.choose import Choice, Tried
from optimizer.pipeline.finish import Finished, finish
from optimizer.pipeline.free import design_free
from optimizer.pipeline.hand_belts import HandChoice, prefer_belts_in_hand
from optimizer.pipeline.none import NoLayoutError, known_of, why_none
from optimizer.pipeline.options import DesignOptions, asked_layouts, refuse_unknown_grip
from optimizer.pipeline.other_ratios import other_ratios
from optimizer.pipeline.prefer import finish_gripping, finish_preferred
from optimizer.pipeline.rejected import RejectedError, refuse_failing
from optimizer.pipeline.searches import Searches
from optimizer.pipeline.sheet import Result, design_sheet
from optimizer.pipeline.stated import refuse_without_bands, stated_problems
from optimizer.pipeline.tightened import MOST_TIGHTENED, tightened
from optimizer.records.changes import Changes
from optimizer.records.design import Design
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Found
from optimizer.scenario import Scenario
from optimizer.search import Searched

__all__ = ["design"]

Rejected = dict[Layout, list[RejectedError]]
"""What designs of each layout failed, in the order in which they were found."""


def design(
    scenario: Scenario,
    options: DesignOptions | None = None,
    clock: Clock | None = None,
) -> Design:
    """Design a machine: choose the layout, search it, refine, round, prove, check.

    Parameters
    ----------
    scenario
        What the maker stated.
    options
        Layouts to choose from, and what is preferred.
    clock
        Ends the work where time, memory or a search's combinations are over; hears how far it is.

    Raises
    ------
    ScenarioError
        No band is stated, or the options ask for what the scenario does not allow.
    NoLayoutError
        No layout has a design: with the reasons, and with the least changes that give one. Or every design found fails
        its own checks: with what each fails.
    NoDesignError
        No layout of which there is a design has sizes that can be turned.
    """
    options = options or DesignOptions()
    clock = clock or Clock()
    refuse_unknown_grip(scenario, options)
    layouts = asked_layouts(scenario, options)
    if scenario.free:
        refuse_without_bands(scenario)
        return design_free(scenario, options, layouts, clock)
    stated = stated_problems(scenario, layouts)

    searches = Searches(clock)
    unfinished: NoDesignError | None = None
    rejected: Rejected = {}
    while True:
        choice, tried = searches.choose(stated)
        tried = _with_rejections(tried, rejected)
        if choice is None:
            if unfinished and not rejected:
                raise unfinished
            # of other ratios the search alone is asked, which took what the checks reject
            ratios = () if rejected else other_ratios(scenario, options, (choice, tried), clock)
            failing = [error for errors in rejected.values() for error in errors]
            told = why_none(scenario, tried, clock, rejected=failing)
            raise NoLayoutError(told.model_copy(update={"other_ratios": ratios}), failing)
        first = HandChoice(replace(choice, tried=tried), searches.of(choice))
        choice, chosen, hand_belts = prefer_belts_in_hand(first, scenario.series.hand_slack, clock)
        clock.begin("extremes")
        found = chosen.with_extremes(clock)
        try:
            finished = _finished(choice, chosen, found, options, clock)
            refuse_failing(scenario, built_machine(finished.candidate.problem.stages, finished.candidate.stages))
            break
        except NoDesignError as error:
            unfinished, layout = error, choice.problem.layout
            stated = [
                (each, _after(problem, error, rejected) if each == layout else problem) for each, problem in stated
            ]
            searches.forget(layout)
    ratios = other_ratios(scenario, options, (choice, tried), clock)
    more: Changes | None = None
    if options.changes:
        more = changes_for_one(scenario, known_of(tried), choice.candidate, clock)
    instead_of = tuple(rejected.get(choice.problem.layout, ()))
    return design_sheet(scenario, Result(options, choice, found, finished, more, hand_belts, ratios, instead_of))


def _after(problem: Problem | str, error: NoDesignError, rejected: Rejected) -> Problem | str:
    """Return what is searched of a layout whose design came to nothing: narrower limits, else why it has none."""
    if isinstance(problem, str) or not isinstance(error, RejectedError):
        return str(error)
    errors = rejected.setdefault(problem.layout, [])
    errors.append(error)
    narrower = tightened(problem, error.built, error.failed) if len(errors) <= MOST_TIGHTENED else None
    return narrower or str(errors[0])


def _with_rejections(tried: tuple[Tried, ...], rejected: Rejected) -> tuple[Tried, ...]:
    """Return layouts, those that have no design in narrower limits with what the first one found fails."""
    return tuple(
        replace(entry, said=str(rejected[entry.layout][0]))
        if entry.layout in rejected and entry.outcome in ("no design", "stopped")
        else entry
        for entry in tried
    )


def _finished(choice: Choice, searched: Searched, found: Found, options: DesignOptions, clock: Clock) -> Finished:
    structural = choice.found.proof.structural
    if options.prefer == "grip":
        finished = _gripping(searched, clock)
        if finished is not None:
            return finished
    elif options.prefer != "evenness":
        finished = finish_preferred(found, options.prefer, clock)
        if finished is not None:
            return finished
    return finish(choice.candidate, structural, clock, close=True)


def _gripping(searched: Searched, clock: Clock) -> Finished | None:
    """Return the design of the greatest grip, finished; nothing where grip is not known."""
    clock.begin("grip")
    gripping = searched.greatest_grip(clock)
    if gripping is None:
        return None
    proof, targets = searched.found.proof, gripping.candidate.problem.targets
    return finish_gripping(gripping.candidate, proof.listed + targets.grip_slack, proof.structural, clock)
