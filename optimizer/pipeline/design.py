"""The design of a machine, from its scenario to the sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import NamedTuple

from optimizer.changes import changes_for_one
from optimizer.checks import Check
from optimizer.checks.stated import read_machine
from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.pipeline.choose import Choice, Searches, Tried, refuse_without_bands, stated_problems
from optimizer.pipeline.finish import Finished, finish, finish_gripping, finish_preferred
from optimizer.pipeline.free import design_free
from optimizer.pipeline.job import built_machine
from optimizer.pipeline.no_design import NoLayoutError, RejectedError, known_of, refuse_failing, why_none
from optimizer.pipeline.options import DesignOptions, asked_layouts, refuse_unknown_grip
from optimizer.pipeline.sheet import Result, design_sheet
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.changes import Changes, HandBelts, RatioTrial
from optimizer.records.design import Design
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem, SideSizes, StageProblem
from optimizer.records.proof import Found
from optimizer.scenario import FixedStage, Scenario
from optimizer.scenario.stage import ratio_words
from optimizer.scoring import Score, score
from optimizer.search import Searched, look

__all__ = [
    "MOST_FOR_A_RATIO",
    "MOST_TIGHTENED",
    "HandChoice",
    "Outcome",
    "design",
    "other_ratios",
    "prefer_belts_in_hand",
    "tightened",
]


class HandChoice(NamedTuple):
    """The choice of a layout with its search."""

    choice: Choice
    searched: Searched
    told: tuple[HandBelts, ...] = ()
    """What belts in hand cost, or would cost, on the most stages first."""


def prefer_belts_in_hand(first: HandChoice, slack: float, clock: Clock) -> HandChoice:
    """Return the choice with belts in hand on as many stages as may be.

    For every set of stages, the largest first, the best design with belts in hand on them is searched for, bought ones
    on the others. The first set that gives up no more of J than the slack, and nothing of what is advised, is taken,
    of equally large ones that of least J; what each would cost is told.

    Parameters
    ----------
    first
        The choice on any belts.
    slack
        How much of J may be given up.
    clock
        Hears of the searches, ends each.
    """
    problem = first.choice.problem
    found = [(stages, _searched(problem, stages, clock)) for stages in _ways(problem)]
    worthy = [
        (-len(stages), searched.found.proof.listed, stages)
        for stages, searched in found
        if not _why_not(first.choice, searched, slack)
    ]
    best = min(worthy, default=None)
    taken = None if best is None else best[2]
    told = tuple(_told(first.choice, stages, searched, slack, taken) for stages, searched in found)
    if taken is None:
        return first._replace(told=told)
    searched = next(searched for stages, searched in found if stages == taken)
    candidate = searched.found.candidate
    assert candidate is not None
    figures = score(candidate.problem, candidate.stages)
    choice = Choice(candidate.problem, candidate, searched.found, figures, first.choice.tried)
    return HandChoice(choice, searched, told)


def _ways(problem: Problem) -> Iterator[tuple[int, ...]]:
    """Yield the sets of stages that could run on belts in hand, the largest first."""
    able = [number for number, stage in enumerate(problem.stages) if any(belt.in_hand for belt in stage.belts)]
    for count in range(len(able), 0, -1):
        yield from combinations(able, count)


def _searched(problem: Problem, stages: tuple[int, ...], clock: Clock) -> Searched:
    """Return the search with belts in hand on some stages, nothing but bought ones on the others."""
    clock.begin(f"belts in hand on stage{'s' * (len(stages) > 1)} {' and '.join(str(n + 1) for n in stages)}")
    changed = []
    for number, stage in enumerate(problem.stages):
        if number in stages:
            belts = tuple(b.model_copy(update={"sold": False}) for b in stage.belts if b.in_hand)
        else:
            belts = tuple(b for b in stage.belts if b.sold)
        changed.append(stage.model_copy(update={"belts": belts}))
    return look(problem.model_copy(update={"stages": tuple(changed)}), clock)


def _why_not(first: Choice, searched: Searched, slack: float) -> str:
    """Return why a design on belts in hand is not to be used, or nothing."""
    found = searched.found
    if found.candidate is None:
        return found.proof.reason or "no design keeps every rule"
    if found.proof.listed - first.found.proof.listed > slack + 1e-12:
        return f"it gives up more than the {100 * slack:g} % allowed"
    figures: Score = score(found.candidate.problem, found.candidate.stages)
    if first.score.advised and not figures.advised:
        return "its speeds would pass what is advised"
    return ""


def _told(
    first: Choice, stages: tuple[int, ...], searched: Searched, slack: float, taken: tuple[int, ...] | None
) -> HandBelts:
    found, numbers = searched.found, tuple(number + 1 for number in stages)
    why = _why_not(first, searched, slack)
    if found.candidate is None:
        return HandBelts(stages=numbers, markings=(), why=why)
    return HandBelts(
        stages=numbers,
        markings=tuple(found.candidate.stages[number].belt.marking for number in stages),
        j=found.proof.listed,
        cost=max(0.0, found.proof.listed - first.found.proof.listed),
        proved=found.proof.status == "proved",
        used=stages == taken,
        why="" if stages == taken else why or "more belts in hand can be used, or they cost less elsewhere",
    )


MOST_FOR_A_RATIO = 2_000_000
"""Combinations looked at in one search for another ratio before it ends unproved."""
Outcome = tuple[Choice | None, tuple[Tried, ...]]
"""What searching a scenario's layouts came to."""


def other_ratios(scenario: Scenario, options: DesignOptions, now: Outcome, clock: Clock) -> tuple[RatioTrial, ...]:
    """Return, for every fixed stage with other ratios stated, what each of them gives and what the stated one does.

    All else stays as it is; gears are changed one at a time. Designs are those over the listed sizes, not refined.

    Parameters
    ----------
    scenario
        What the maker stated.
    options
        Which layouts may be chosen.
    now
        What the search with the stated ratios came to.
    clock
        Ends every search that goes too far; each ends after `MOST_FOR_A_RATIO` combinations in any case.
    """
    clock = clock.counting(MOST_FOR_A_RATIO)
    found: list[RatioTrial] = []
    for number, stage in enumerate(scenario.stages):
        if not isinstance(stage, FixedStage) or not stage.other_ratios:
            continue
        found.append(_trial(f"stage[{number}]", stage.ratio, now, stated=True))
        for ratio in stage.other_ratios:
            clock.begin(f"stage[{number}].ratio {ratio_words(ratio)}")
            other = scenario.model_copy(update={"stages": tuple(_replaced(scenario, number, ratio))})
            outcome = Searches(clock).choose(stated_problems(other, asked_layouts(other, options)))
            found.append(_trial(f"stage[{number}]", ratio, outcome, stated=False))
    return tuple(found)


def _replaced(scenario: Scenario, number: int, ratio: float) -> Iterator[object]:
    """Yield the stages with one fixed stage's ratio changed."""
    for at, stage in enumerate(scenario.stages):
        yield stage.model_copy(update={"ratio": ratio}) if at == number else stage


def _trial(key: str, ratio: float, outcome: Outcome, *, stated: bool) -> RatioTrial:
    choice, tried = outcome
    if choice is None:
        reasons = list(dict.fromkeys(entry.said for entry in tried))
        more = f" (and {len(reasons) - 1} more reasons)" if len(reasons) > 1 else ""
        ended = any(entry.outcome == "stopped" for entry in tried)
        return RatioTrial(key=key, ratio=ratio, stated=stated, proved=not ended, why=f"{reasons[0]}{more}")
    return RatioTrial(
        key=key,
        ratio=ratio,
        stated=stated,
        layout=choice.problem.layout.title,
        j=choice.score.j,
        end_miss=choice.score.end_miss,
        unevenness=choice.score.unevenness,
        proved=choice.found.proof.status == "proved",
    )


MOST_TIGHTENED = 4
"""How often the limits of one layout are narrowed before it is given up."""
CLEAR_MM = 0.01
"""How far beyond what a check lacks a limit is put."""


def tightened(problem: Problem, built: BuiltMachine, failed: Sequence[Check]) -> Problem | None:
    """Return a problem with limits narrowed by what a design of it lacks; nothing where that is not to be had by them.

    Parameters
    ----------
    problem
        What was searched.
    built
        The design that fails.
    failed
        The checks that it fails.
    """
    stages = list(problem.stages)
    for check in failed:
        number = next((n for n, stage in enumerate(stages) if check.where.startswith(stage.key)), None)
        narrower = None if number is None else _narrower(stages[number], built.stages[number], check)
        if number is None or narrower is None:
            return None
        stages[number] = narrower
    return problem.model_copy(update={"stages": tuple(stages)})


def _narrower(stage: StageProblem, built: BuiltStage, check: Check) -> StageProblem | None:
    lack_mm = -check.margin + CLEAR_MM
    low, high = stage.centre_mm
    update: dict[str, object] = {}
    inward, outward = next((b.inward_mm, b.outward_mm) for b in stage.belts if b.marking == built.marking)
    if check.name in ("belt-on centre distance", "nearest that the mount brings the shafts"):
        update["centre_mm"] = low, high = max(low, check.limit + inward + CLEAR_MM), high
    elif check.name == "farthest that the mount brings the shafts":
        update["centre_mm"] = low, high = low, min(high, check.limit - outward - CLEAR_MM)
    elif check.name == "room around":
        # of a belt alone, both its cones; what a place along the shaft would mend is the maker's
        for name, outside_mm in (("driver", built.driver_outside_mm), ("driven", built.driven_outside_mm)):
            if check.where in (stage.key, f"{stage.key}.{name}"):
                side = getattr(stage, name)
                smaller = _smaller(side, max(outside_mm) - side.outside_shift_mm - 2 * lack_mm)
                if smaller is None:
                    return None
                update[name] = smaller
    return stage.model_copy(update=update) if update and low <= high else None


def _smaller(side: SideSizes, most_mm: float) -> SideSizes | None:
    """Return a side with no step above a pitch diameter; nothing where none is left, or where its steps stand."""
    if side.standing_mm:
        return None
    turned = side.turned_mm and (side.turned_mm[0], min(side.turned_mm[1], most_mm))
    if turned and turned[0] > turned[1]:
        turned = None
    ready = tuple(size for size in side.ready_mm if size <= most_mm)
    if turned is None and not ready:
        return None
    listed = tuple(size for size in side.listed_mm if turned and size <= turned[1])
    return side.model_copy(update={"turned_mm": turned, "listed_mm": listed, "ready_mm": ready})


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
            final = finished.candidate
            machine = refuse_failing(read_machine(scenario, built_machine(final.problem.stages, final.stages)))
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
    return design_sheet(machine, Result(options, choice, found, finished, more, hand_belts, ratios, instead_of))


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
