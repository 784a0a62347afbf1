"""Everything that changing limits would do, as a record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import isfinite
from typing import NamedTuple

from optimizer.changes.limit import StatedLimit, changed, settings
from optimizer.changes.limits import let_out, purchases, tightened
from optimizer.changes.moving import Moved, can_be_turned, least, scanned, tightest, turnable
from optimizer.changes.questions import MOST_EXAMINED, MOST_EXAMINED_IN_ALL, Inquiry, Place, Questions, nearest_first
from optimizer.changes.together import MOST_UNITS, LimitPair, PairSought, pair_values, together
from optimizer.clock import ENDLESS, Clock
from optimizer.errors import NoDesignError
from optimizer.layouts.problem import problem_for
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Buy, Change, Changes, LimitKind, Setting, Spare, Together, Unmoved
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Found
from optimizer.scenario import Scenario
from optimizer.search import search

__all__ = ["Known", "changes_for_none", "changes_for_one", "usual_first"]

MOST_FOR_J = 1_000_000
"""Combinations looked at for the best J with a little more of one limit."""
MOST_FOR_SPARE, MOST_FOR_SPARE_IN_ALL = 400_000, 20_000_000
"""Combinations looked at for one question about tightening, and for all of them together."""
MOST_FOR_FREE, MOST_FOR_FREE_IN_ALL = 500_000, 40_000_000
"""Combinations looked at for one question, and for all together, where speeds are free."""
FARTHEST_FREE, UNITS_FREE = 40, 10
"""Ticks, or where that is more units, by which a limit is let out at the most where speeds are free: as far as it goes
may be another machine, and slow to ask."""
NO_PART: frozenset[LimitKind] = frozenset({"unevenness", "grip"})
"""Limits that machines with free speeds do not have."""
SAME_J = 1e-9
RISKS = {
    "rim_speed": "a rim that runs too fast bursts and throws its pieces; no published limit for timber rims was found",
    "smallest": "a belt bent tighter than its maker allows cracks, slips and wears out early",
    "belt_speed": "a belt that runs faster than its maker allows lifts off, flaps and may break",
    "wrap": "with so little wrap the belt slips under load and gets hot",
    "least_grip": "a belt that carries less than it must slips under load and gets hot",
    "carry": "a belt that carries less than it must slips under load and gets hot",
}
"""What is risked by the keys that a maker of belts or pulleys, or safety, limits; common practice, no source."""


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
    most = (MOST_FOR_FREE, MOST_FOR_FREE_IN_ALL) if scenario.free else (MOST_EXAMINED, MOST_EXAMINED_IN_ALL)
    questions = Questions(known=_problems(scenario, found), most=most[0], in_all=most[1], clock=clock)
    asked = Inquiry(scenario, layouts, questions)
    changes: list[Change] = []
    unmoved: list[Unmoved] = []
    for whole in let_out(scenario):
        if scenario.free and whole.kind in NO_PART:
            continue
        clock.begin(f"what {whole.kind} would do")
        limit = _near(whole) if scenario.free else whole
        moved, certain = (least if limit.nested else scanned)(asked, limit)
        if moved is None:
            far = settings(scenario, limit, limit.ticks)
            unmoved.append(Unmoved(kind=limit.kind, settings=far, proved=certain and limit.ticks == whole.ticks))
        else:
            changes.append(_change(asked, limit, moved))
    told = usual_first(changes)
    tried = not scenario.free and not (told and told[0].remedy == "usual")
    pair, certain = together(asked, let_out(scenario)) if tried else PairSought(None, True)
    return Changes(
        least=told,
        together=_together(scenario, pair, clock) if pair else None,
        together_tried=tried,
        together_proved=certain,
        together_units=MOST_UNITS if tried else 0,
        unmoved=tuple(unmoved),
        searches=questions.searches,
    )


def _near(limit: StatedLimit) -> StatedLimit:
    """Return a limit that is not let out so far."""
    return replace(limit, ticks=min(limit.ticks, max(FARTHEST_FREE, limit.ticks_of(UNITS_FREE))))


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
    asked = Inquiry(scenario, (chosen, *others), questions)
    spare = []
    for limit in tightened(scenario):
        clock.begin(f"what {limit.kind} would do")
        spare.append(_spare(scenario, limit, tightest(asked, limit, Place(0, candidate), chosen)))
    buys = []
    for limit in purchases(scenario):
        clock.begin(f"what {limit.kind} would do")
        buys.append(_buy(asked, limit, found))
    return Changes(spare=tuple(spare), buys=tuple(buys), searches=questions.searches + len(buys))


def usual_first(changes: Iterable[Change]) -> tuple[Change, ...]:
    """Return changes with their classes, the usual ones first, else in their order.

    Risky is what lets out a limit of a maker of belts or pulleys, or of safety, by one of its keys.
    """
    return tuple(sorted(map(_with_risk, changes), key=lambda change: change.remedy != "usual"))


def _with_risk(change: Change) -> Change:
    last = (setting.key.rpartition(".")[2] for setting in change.settings)
    risk = next((RISKS[key] for key in last if key in RISKS), "")
    return change.model_copy(update={"remedy": "risky", "risk": risk}) if risk else change


def _problems(scenario: Scenario, found: dict[Layout, Found]) -> Iterable[tuple[Problem, Found]]:
    for layout, said in found.items():
        try:
            yield problem_for(scenario, layout), said
        except NoDesignError:
            continue


def _change(asked: Inquiry, limit: StatedLimit, moved: Moved) -> Change:
    moved, turned = turnable(asked, limit, moved)
    told = settings(asked.scenario, limit, moved.steps, moved.steps - 1)
    needed = _needed(asked, limit, moved, told)
    return Change(kind=limit.kind, settings=needed, layout=moved.layout.title, proved=moved.known, turned=turned)


def _needed(asked: Inquiry, limit: StatedLimit, moved: Moved, told: tuple[Setting, ...]) -> tuple[Setting, ...]:
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


def _together(scenario: Scenario, pair: LimitPair, clock: Clock) -> Together:
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


def _spare(scenario: Scenario, limit: StatedLimit, moved: Moved) -> Spare:
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


def _buy(asked: Inquiry, limit: StatedLimit, found: dict[Layout, Found]) -> Buy:
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
