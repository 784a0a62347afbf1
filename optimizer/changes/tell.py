"""Everything that changing limits would do, as a record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite
from typing import NamedTuple

from optimizer.changes.boundary import Place
from optimizer.changes.keys import changed
from optimizer.changes.least import Asked, Moved, least, tightest
from optimizer.changes.limit import Limit, settings
from optimizer.changes.limits import let_out, purchases, tightened
from optimizer.changes.questions import Questions, nearest_first
from optimizer.changes.risks import usual_first
from optimizer.changes.scan import scanned
from optimizer.changes.together import MOST_UNITS, Pair, pair_values, together
from optimizer.changes.turned import can_be_turned, turnable
from optimizer.clock import ENDLESS, Clock
from optimizer.errors import NoDesignError
from optimizer.layouts.problem import problem_for
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Buy, Change, Changes, Setting, Spare, Together, Unmoved
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Found
from optimizer.scenario import Scenario
from optimizer.search import search

__all__ = ["Known", "changes_for_none", "changes_for_one"]

MOST_FOR_J = 1_000_000
"""Combinations looked at for the best J with a little more of one limit."""
MOST_FOR_SPARE, MOST_FOR_SPARE_IN_ALL = 400_000, 20_000_000
"""Combinations looked at for one question about tightening, and for all of them together."""
SAME_J = 1e-9


class Known(NamedTuple):
    """A layout with what its search said, nothing where it was not searched."""

    layout: Layout
    found: Found | None


def changes_for_none(scenario: Scenario, known: Sequence[Known], clock: Clock = ENDLESS) -> Changes:
    """Return the least changes that give a scenario without a design one: single ones, or else two together.

    Parameters
    ----------
    scenario
        A scenario none of whose layouts has a design.
    known
        The layouts asked for, with their searches.
    clock
        Ends all asking; what is asked after that is left open. Hears which limit is being asked of.
    """
    found = {entry.layout: entry.found for entry in known if entry.found is not None}
    layouts = nearest_first([entry.layout for entry in known], found)
    questions = Questions(known=_problems(scenario, found), clock=clock)
    asked = Asked(scenario, layouts, questions)
    changes: list[Change] = []
    unmoved: list[Unmoved] = []
    for limit in let_out(scenario):
        clock.begin(f"what {limit.kind} would do")
        moved, certain = (least if limit.nested else scanned)(asked, limit)
        if moved is None:
            unmoved.append(Unmoved(kind=limit.kind, settings=settings(scenario, limit, limit.ticks), proved=certain))
        else:
            changes.append(_change(asked, limit, moved))
    told = usual_first(changes)
    usual = bool(told) and told[0].remedy == "usual"
    pair, certain = (None, True) if usual else together(asked, let_out(scenario))
    return Changes(
        least=told,
        together=_together(scenario, pair, clock) if pair else None,
        together_tried=not usual,
        together_proved=certain,
        together_units=0 if usual else MOST_UNITS,
        unmoved=tuple(unmoved),
        searches=questions.searches,
    )


def changes_for_one(
    scenario: Scenario,
    known: Sequence[Known],
    candidate: Candidate,
    clock: Clock = ENDLESS,
) -> Changes:
    """Return how far every limit could be tightened, and what a little more of some would buy.

    Parameters
    ----------
    scenario
        A scenario with a design.
    known
        The layouts asked for, with their searches.
    candidate
        The best listed design of the layout that is proposed.
    clock
        Ends all asking; what is asked after that is left open. Hears which limit is being asked of.
    """
    found = {entry.layout: entry.found for entry in known if entry.found is not None}
    chosen = candidate.problem.layout
    others = nearest_first([entry.layout for entry in known if entry.layout != chosen], found)
    questions = Questions(
        known=_problems(scenario, found), most=MOST_FOR_SPARE, in_all=MOST_FOR_SPARE_IN_ALL, clock=clock
    )
    asked = Asked(scenario, (chosen, *others), questions)
    spare = []
    for limit in tightened(scenario):
        clock.begin(f"what {limit.kind} would do")
        spare.append(_spare(scenario, limit, tightest(asked, limit, Place(0, candidate), chosen)))
    buys = []
    for limit in purchases(scenario):
        clock.begin(f"what {limit.kind} would do")
        buys.append(_buy(asked, limit, found))
    return Changes(spare=tuple(spare), buys=tuple(buys), searches=questions.searches + len(buys))


def _problems(scenario: Scenario, found: dict[Layout, Found]) -> Iterable[tuple[Problem, Found]]:
    for layout, said in found.items():
        try:
            yield problem_for(scenario, layout), said
        except NoDesignError:
            continue


def _change(asked: Asked, limit: Limit, moved: Moved) -> Change:
    moved, turned = turnable(asked, limit, moved)
    told = settings(asked.scenario, limit, moved.steps, moved.steps - 1)
    needed = _needed(asked, limit, moved, told)
    return Change(kind=limit.kind, settings=needed, layout=moved.layout.title, proved=moved.known, turned=turned)


def _needed(asked: Asked, limit: Limit, moved: Moved, told: tuple[Setting, ...]) -> tuple[Setting, ...]:
    """Return the keys that have to be set: each is left out in turn where there is a design without it."""
    kept = list(told)
    for setting in told if limit.nested else ():
        rest = [other for other in kept if other is not setting]
        if not rest:
            break
        scenario = changed(asked.scenario, {other.key: other.value for other in rest})
        if asked.questions.ask(scenario, moved.layout).candidate is not None:
            kept = rest
    return tuple(kept)


def _together(scenario: Scenario, pair: Pair, clock: Clock) -> Together:
    one, other = pair.limits
    less = pair_values(pair.limits, pair.units - 1) if pair.units > 1 else {}
    told = (
        *settings(scenario, one, one.ticks_of(pair.units)),
        *settings(scenario, other, other.ticks_of(pair.units)),
    )
    return Together(
        units=pair.units,
        kinds=(one.kind, other.kind),
        settings=tuple(s.model_copy(update={"short": less.get(s.key, s.now)}) for s in told),
        layout=pair.layout.title,
        proved=pair.known,
        turned=can_be_turned(pair.candidate, clock),
    )


def _spare(scenario: Scenario, limit: Limit, moved: Moved) -> Spare:
    told = settings(scenario, limit, max(moved.steps, 1), moved.bad)
    if moved.steps == 0:
        told = tuple(s.model_copy(update={"value": s.now}) for s in told)
    return Spare(
        kind=limit.kind,
        settings=told,
        layout=moved.layout.title,
        lost=moved.bad is not None,
        proved=moved.known,
    )


def _buy(asked: Asked, limit: Limit, found: dict[Layout, Found]) -> Buy:
    """Return what a step buys: a millimetre, or a sixteenth of an inch."""
    steps = 2 if limit.line.tick == 0.5 else 1
    more = limit.moved(asked.scenario, steps)
    chosen = asked.layouts[0]
    now = found[chosen].proof.listed
    best = search(problem_for(more, chosen), asked.questions.clock.counting(MOST_FOR_J))
    then = best.proof.listed if isfinite(best.proof.listed) else None
    present = {layout: asked.questions.ask(asked.scenario, layout) for layout in asked.layouts}
    shut = [layout for layout, answer in present.items() if answer.candidate is None and answer.known]
    opened = [layout.title for layout in shut if asked.questions.ask(more, layout).candidate is not None]
    return Buy(
        kind=limit.kind,
        settings=settings(asked.scenario, limit, steps),
        layout=chosen.title,
        j_now=now,
        j_then=None if then is None else min(now, then) if abs(then - now) > SAME_J else now,
        opened=tuple(opened),
    )
