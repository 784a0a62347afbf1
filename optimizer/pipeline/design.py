"""The whole way from a scenario to a design."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from optimizer.changes import changes_for_one
from optimizer.errors import NoDesignError
from optimizer.pipeline.built import built_machine
from optimizer.pipeline.choose import Choice
from optimizer.pipeline.effort import MOST_EXAMINED, stop_after
from optimizer.pipeline.finish import Finished, finish
from optimizer.pipeline.free import design_free
from optimizer.pipeline.hand_belts import HandChoice, prefer_belts_in_hand
from optimizer.pipeline.listener import Listener, Silent
from optimizer.pipeline.none import NoLayoutError, known_of, why_none
from optimizer.pipeline.options import DesignOptions, asked_layouts, refuse_unknown_grip
from optimizer.pipeline.other_ratios import other_ratios
from optimizer.pipeline.prefer import extreme_of, finish_gripping, finish_preferred
from optimizer.pipeline.rejected import RejectedError, refuse_failing
from optimizer.pipeline.searches import Searches
from optimizer.pipeline.sheet import Result, design_sheet
from optimizer.pipeline.stated import refuse_without_bands, stated_problems
from optimizer.records.changes import Changes
from optimizer.records.design import Design
from optimizer.records.proof import Found
from optimizer.scenario import Scenario
from optimizer.search import Searched, Stop

__all__ = ["design"]

OTHERWISE: tuple[Literal["evenness", "disc", "timber"], ...] = ("evenness", "disc", "timber")
"""What is made best where the design wanted fails its checks: smaller cones take less room, and bend shafts less."""


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
        No layout has a design: with the reasons, and with the least changes that give one. Or every design found fails
        its own checks: with what each fails.
    NoDesignError
        No layout of which there is a design has sizes that can be turned.
    """
    options = options or DesignOptions()
    listener = watch or Silent()
    limit = stop or stop_after(MOST_EXAMINED)
    refuse_unknown_grip(scenario, options)
    layouts = asked_layouts(scenario, options)
    if scenario.free:
        refuse_without_bands(scenario)
        return design_free(scenario, options, layouts, listener, limit)
    stated = stated_problems(scenario, layouts)

    searches = Searches(listener, limit)
    unfinished: NoDesignError | None = None
    rejected: list[RejectedError] = []
    while True:
        choice, tried = searches.choose(stated)
        if choice is None:
            if unfinished and not rejected:
                raise unfinished
            # of other ratios the search alone is asked, which took what the checks reject
            ratios = () if rejected else other_ratios(scenario, options, (choice, tried), listener, limit)
            told = why_none(scenario, tried, listener, stop=limit, rejected=rejected)
            raise NoLayoutError(told.model_copy(update={"other_ratios": ratios}), rejected)
        first = HandChoice(choice, searches.of(choice))
        choice, chosen, hand_belts = prefer_belts_in_hand(first, scenario.series.hand_slack, listener, limit)
        listener.begin("extremes")
        found = chosen.with_extremes(limit)
        try:
            finished, own, instead_of = _passing(scenario, (choice, chosen, found), options, (listener, limit))
            break
        except NoDesignError as error:
            unfinished, layout = error, choice.problem.layout
            if isinstance(error, RejectedError):
                rejected.append(error)
            stated = [(each, str(error) if each == layout else problem) for each, problem in stated]
    ratios = other_ratios(scenario, options, (choice, tried), listener, limit)
    more: Changes | None = None
    if options.changes:
        more = changes_for_one(scenario, known_of(tried), choice.candidate, listener.begin, stop=limit)
    return design_sheet(scenario, Result(own, choice, found, finished, more, hand_belts, ratios, instead_of))


def _passing(
    scenario: Scenario, searched: tuple[Choice, Searched, Found], options: DesignOptions, guides: tuple[Listener, Stop]
) -> tuple[Finished, DesignOptions, RejectedError | None]:
    """Return the layout's finished design that passes its checks, what was made best, what the design wanted fails.

    Not every rule is one that the search knows, as what shafts bear. Where the design wanted fails one, those of the
    smallest largest disc and of least timber are tried.

    Raises
    ------
    RejectedError
        All of them fail: with what the design wanted does.
    NoDesignError
        No sizes on ticks keep the rules with the layout's belts.
    """
    first: RejectedError | None = None
    for wish in dict.fromkeys((options.prefer, *OTHERWISE)):
        if first and wish != "evenness" and extreme_of(searched[2], wish) is None:
            continue
        own = replace(options, prefer=wish)
        try:
            finished = _finished(*searched, own, guides)
            refuse_failing(scenario, built_machine(finished.candidate.problem.stages, finished.candidate.stages))
            return finished, own, first
        except RejectedError as error:
            first = first or error
        except NoDesignError:
            if first is None:
                raise
    assert first is not None
    raise first


def _finished(
    choice: Choice, searched: Searched, found: Found, options: DesignOptions, guides: tuple[Listener, Stop]
) -> Finished:
    listener, limit = guides
    structural = choice.found.proof.structural
    if options.prefer == "grip":
        finished = _gripping(searched, guides)
        if finished is not None:
            return finished
    elif options.prefer != "evenness":
        finished = finish_preferred(found, options.prefer, listener, stop=limit)
        if finished is not None:
            return finished
    return finish(choice.candidate, structural, listener, stop=limit, close=True)


def _gripping(searched: Searched, guides: tuple[Listener, Stop]) -> Finished | None:
    """Return the design of the greatest grip, finished; nothing where grip is not known."""
    listener, limit = guides
    listener.begin("grip")
    gripping = searched.greatest_grip(limit)
    if gripping is None:
        return None
    proof, targets = searched.found.proof, gripping.candidate.problem.targets
    return finish_gripping(
        gripping.candidate, proof.listed + targets.grip_slack, proof.structural, listener, stop=limit
    )
