"""The best listed design of one layout, with its proof, or why there is none."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import exp, inf, log
from typing import Any, NamedTuple

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.records import Found, Problem, Proof
from optimizer.search.bound import SeriesProgram, lower_bound
from optimizer.search.extremes import Gripping, best_grip, greatest_grip
from optimizer.search.extremes import extremes as extremes_of
from optimizer.search.fit import SeriesRules
from optimizer.search.index import Shelf
from optimizer.search.limits import Meter
from optimizer.search.reach import Reach, ideal_series_fits, stage_span
from optimizer.search.space import Space
from optimizer.search.threshold import Best, any_below, greatest_j, rise, why_stopped

__all__ = [
    "Searched",
    "belts_leave_too_little",
    "exhausted",
    "look",
    "look_all",
    "no_pairs",
    "out_of_reach",
    "search",
    "sizeless",
    "some_design",
    "too_fast",
    "wants_unmet",
]


def sizeless(problem: Problem) -> str:
    """Return which side has no size at all, or nothing."""
    for stage in problem.stages:
        for side in (stage.driver, stage.driven):
            if not (side.fixed_mm or side.turned_mm):
                return f"{side.key} has no size"
    return ""


def wants_unmet(problem: Problem) -> str:
    """Return why no series of this many speeds meets the wants, whatever the sizes."""
    targets = problem.targets
    wanted = sum(band.want for band in targets.bands)
    if wanted > problem.layout.speeds:
        return f"the bands want {wanted} speeds together, more than the layout makes"
    barred = (
        f", none above {targets.never_above_rpm * targets.idle_gain:.0f} rpm without load"
        if targets.never_above_rpm < inf
        else ""
    )
    if targets.never_below_rpm > 0:
        barred += (
            f", none below {targets.never_below_rpm:.1f} rpm, where a gear gives all the torque that it may (let the "
            "bands begin there, or take a gear rated for more),"
        )
    return (
        f"speeds spread evenly from {targets.lo_rpm:.0f} to {targets.hi_rpm:.0f} rpm{barred} do not put the wanted "
        f"number into every band, even with {_limits(problem)}"
    )


def out_of_reach(problem: Problem) -> str:
    """Return how far the limits of the sizes reach, where that is not enough."""
    rules = SeriesRules.of(problem)
    spans = [*((log(s.shares[0]), 0.0) for s in problem.switches), *(stage_span(stage) for stage in problem.stages)]
    slowest, fastest = (exp(rules.base + sum(span[end] for span in spans)) for end in (0, 1))
    targets = problem.targets
    reach = f"the sizes let the spindle run from {slowest:.0f} to {fastest:.0f} rpm"
    if slowest <= targets.lo_rpm and targets.hi_rpm <= fastest:
        return (
            f"{reach}, but one stage would have to change its ratio by more than its sizes allow to spread the speeds "
            f"from {targets.lo_rpm:.0f} to {targets.hi_rpm:.0f} rpm with {_limits(problem)}"
        )
    return (
        f"{reach}; the bands ask for {targets.lo_rpm:.0f} to {targets.hi_rpm:.0f} rpm, which is out of reach "
        f"with {_limits(problem)}"
    )


def too_fast(problem: Problem) -> str:
    """Return that the sizes would reach, but not within the limits of rim, belt and shaft speed."""
    targets = problem.targets
    return (
        f"the limits of rim, belt and shaft speed leave the sizes too little for speeds from {targets.lo_rpm:.0f} "
        f"to {targets.hi_rpm:.0f} rpm with {_limits(problem)}"
    )


def no_pairs(space: Space) -> str:
    """Return which stage has no belt, or no pair of sizes that takes one; or nothing."""
    for stage, index in zip(space.problem.stages, space.stages, strict=True):
        if not stage.belts:
            return f"{stage.key}: no belt fits the centre distances and the travel"
        if not len(index.pairs):
            return (
                f"{stage.key}: no pair of sizes takes any of its belts within centres, wrap, clearance and speed limits"
            )
    return ""


def belts_leave_too_little(problem: Problem) -> str:
    """Return that the sizes would reach, but not on one belt within its travel, at the speeds that are allowed."""
    mounts = " and ".join(coupling.shaft for coupling in problem.couplings)
    one = f", one setting of {mounts} for all its belts" if mounts else ""
    return (
        f"belts, centre distances, travel{one} and limits of {_held(problem)} leave the stages too little difference "
        f"in ratio for the wanted speeds with {_limits(problem)}"
    )


def exhausted(problem: Problem) -> str:
    """Return that everything was looked at."""
    return (
        "every combination of listed sizes was ruled out: none takes one belt per stage, "
        f"keeps the cones' order and the limits of {_held(problem)}, {_there(problem)}"
        f"and meets the wants with {_limits(problem)}"
    )


def _there(problem: Problem) -> str:
    hand = "goes round with what is in hand, " if problem.pieces or problem.discs else ""
    mounts = " and ".join(coupling.shaft for coupling in problem.couplings)
    return f"lets one setting of {mounts} fit all its belts, {hand}" if mounts else hand


def _held(problem: Problem) -> str:
    targets = problem.targets
    grip = any(max(band.least_grip, targets.least_grip) for band in targets.bands) or targets.least_grip
    return "speed and grip" if grip else "speed"


def _limits(problem: Problem) -> str:
    targets = problem.targets
    return f"end miss up to {targets.end_miss_most:.0%} and unevenness up to {targets.unevenness_most:.0%}"


class Terms(NamedTuple):
    """On what a layout was searched."""

    space: Space
    program: SeriesProgram
    bound: float
    """Lower bound of J over the listed pairs."""
    best: Best


@dataclass(frozen=True)
class Searched:
    """A searched layout with what is needed to ask it further."""

    found: Found
    terms: Terms | None = None
    """Nothing where there is no design."""

    def greatest_grip(self, clock: Clock = ENDLESS) -> Gripping | None:
        """Return the design of the greatest grip with J within the slack for it; nothing where grip is not known."""
        if self.terms is None:
            return None
        space, _, bound, best = self.terms
        return greatest_grip(space, bound, best, best.j + space.problem.targets.grip_slack, clock)

    def with_extremes(self, clock: Clock = ENDLESS, *, grip: bool = False) -> Found:
        """Return the result with the extremes within the slack; each has its own limit.

        That of grip takes as many searches as there are ticks to tell apart, so it is found where it is asked for.
        """
        if self.terms is None:
            return self.found
        extremes = extremes_of(*self.terms, clock)
        if grip:
            space, _, bound, best = self.terms
            extremes += best_grip(space, bound, best, clock)
        return self.found.model_copy(update={"extremes": extremes})


def search(problem: Problem, clock: Clock = ENDLESS, *, extremes: bool = False) -> Found:
    """Return the best design over the listed sizes, proved, or the reason why there is none.

    Parameters
    ----------
    problem
        One layout of one machine.
    clock
        Ends the search when it has gone too far; the result then says so, with the gap. Hears of every threshold.
    extremes
        Whether to find the extremes within the slack too.
    """
    searched = look(problem, clock)
    return searched.with_extremes(clock) if extremes else searched.found


def look(problem: Problem, clock: Clock = ENDLESS, *, most: float = inf, shelf: Shelf | None = None) -> Searched:
    """Search a layout as `search` does, for designs with J up to `most`, and keep what its extremes can be asked of.

    A shelf keeps pairs that the next layout may have in common with this one.
    """
    begun = _begun(problem, shelf, clock)
    if isinstance(begun, Found):
        return Searched(begun)
    meter = Meter(clock)
    greatest = greatest_j(begun.space)
    asked = min(most, greatest)
    best = rise(begun.space, begun.program, (begun.bound, asked), meter)
    reason, status = best.stopped, "not proved" if best.stopped else "proved"
    if not best.candidate and not best.stopped:
        status = "set aside" if asked < greatest else "no design"
        reason = f"no listed design has a J up to {asked:.2%}" if asked < greatest else exhausted(problem)
    proof = begun.proof.model_copy(
        update={
            "status": status,
            "reason": reason,
            "listed": best.j,
            "bound": best.bound,
            "combinations": begun.space.combinations(),
            "examined": meter.examined,
            "held_bytes": meter.held_bytes,
        }
    )
    terms = Terms(begun.space, begun.program, begun.bound, best) if best.candidate else None
    return Searched(Found(candidate=best.candidate, proof=proof), terms)


def look_all(problems: Iterable[Problem], clock: Clock = ENDLESS, *, most: float = inf) -> Iterator[Searched]:
    """Yield what `look` says of each of many layouts, in their order, their pairs laid once for all of them."""
    shelf = Shelf()
    for problem in problems:
        yield look(problem, clock, most=most, shelf=shelf)


def some_design(problem: Problem, clock: Clock = ENDLESS, *, shelf: Shelf | None = None) -> Found:
    """Return any design at all, the first that is found; where there is none, the proof of it.

    The status is "no design" where there is none, else "not proved": of the design because it need not be the best,
    without one because a limit ended the search.
    """
    begun = _begun(problem, shelf, clock)
    if isinstance(begun, Found):
        return begun
    meter = Meter(clock)
    best = any_below(begun.space, begun.program, (begun.bound, greatest_j(begun.space)), meter)
    none = not best.candidate and not best.stopped
    update = {
        "status": "no design" if none else "not proved",
        "reason": exhausted(problem) if none else best.stopped or "any design was asked for, not the best",
        "listed": best.j,
        "bound": inf if none else begun.bound,
        "examined": meter.examined,
    }
    return Found(candidate=best.candidate, proof=begun.proof.model_copy(update=update))


class _Begun(NamedTuple):
    """A layout of which a design may exist, with what it is to be searched on."""

    space: Space
    program: SeriesProgram
    bound: float
    proof: Proof


def _begun(problem: Problem, shelf: Shelf | None, clock: Clock) -> _Begun | Found:
    """Return what a layout is searched on, or the proof that no design exists, or that time or memory ended it here."""
    try:
        return _ready(problem, shelf, clock)
    except (LimitReachedError, MemoryError) as limit:
        return Found(proof=Proof(status="not proved", reason=why_stopped(limit), bound=0.0))


def _ready(problem: Problem, shelf: Shelf | None, clock: Clock) -> _Begun | Found:
    clock.ask()
    shelf = shelf or Shelf()
    reason = sizeless(problem)
    if reason:
        return _none(reason)
    rules = SeriesRules.of(problem)
    limits = Reach.of_limits(problem)
    ideal = structural = 0.0
    if not ideal_series_fits(rules, limits):
        key = (problem.layout, problem.targets, rules.base)
        if key not in shelf.ideal:
            shelf.ideal[key] = lower_bound(rules, 0.0, None, clock)[0]
        ideal = shelf.ideal[key]
        structural = lower_bound(rules, ideal, limits, clock)[0]
    if structural == inf:
        return _none(_unreached(problem, rules, ideal, limits, clock), ideal=ideal, structural=inf)
    space = Space.of(problem, shelf=shelf, clock=clock)
    bound, program = lower_bound(rules, structural, space.reach, clock)
    pairs = tuple(len(index.pairs) for index in space.indexes)
    reason = no_pairs(space) or (belts_leave_too_little(problem) if bound == inf else "")
    if reason:
        return _none(reason, ideal=ideal, structural=structural, pairs=pairs, combinations=space.combinations())
    return _Begun(space, program, bound, Proof(status="proved", ideal=ideal, structural=structural, pairs=pairs))


def _unreached(problem: Problem, rules: SeriesRules, ideal: float, limits: Reach, clock: Clock) -> str:
    """Return why no real diameters could do: the wants, the sizes, or the limits of speed."""
    if ideal == inf:
        return wants_unmet(problem)
    by_sizes = lower_bound(rules, ideal, limits._replace(cuts=[]), clock)[0]
    return out_of_reach(problem) if by_sizes == inf else too_fast(problem)


def _none(reason: str, **known: Any) -> Found:
    return Found(proof=Proof(status="no design", reason=reason, bound=inf, **known))
