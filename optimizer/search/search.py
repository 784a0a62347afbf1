"""The best listed design of one layout, with its proof."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import inf
from typing import Any, NamedTuple

from optimizer.records import Found, Problem, Proof
from optimizer.search.bound import SeriesProgram, lower_bound
from optimizer.search.extremes import best_grip
from optimizer.search.extremes import extremes as extremes_of
from optimizer.search.fit import SeriesRules
from optimizer.search.gripping import Gripping, greatest_grip
from optimizer.search.limits import Meter, Stop, Watch
from optimizer.search.reach import Reach, ideal_series_fits
from optimizer.search.reasons import (
    belts_leave_too_little,
    exhausted,
    no_pairs,
    out_of_reach,
    sizeless,
    too_fast,
    wants_unmet,
)
from optimizer.search.shelf import Shelf
from optimizer.search.space import Space
from optimizer.search.threshold import Best, any_below, greatest_j, rise

__all__ = ["Searched", "look", "look_all", "search", "some_design"]


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

    def greatest_grip(self, stop: Stop | None = None) -> Gripping | None:
        """Return the design of the greatest grip with J within the slack for it; nothing where grip is not known."""
        if self.terms is None:
            return None
        space, _, bound, best = self.terms
        return greatest_grip(space, bound, best, best.j + space.problem.targets.grip_slack, stop)

    def with_extremes(self, stop: Stop | None = None, *, grip: bool = False) -> Found:
        """Return the result with the extremes within the slack; each has its own limit.

        That of grip takes as many searches as there are ticks to tell apart, so it is found where it is asked for.
        """
        if self.terms is None:
            return self.found
        extremes = extremes_of(*self.terms, stop)
        if grip:
            space, _, bound, best = self.terms
            extremes += best_grip(space, bound, best, stop)
        return self.found.model_copy(update={"extremes": extremes})


def search(problem: Problem, *, stop: Stop | None = None, watch: Watch | None = None, extremes: bool = False) -> Found:
    """Return the best design over the listed sizes, proved, or the reason why there is none.

    Parameters
    ----------
    problem
        One layout of one machine.
    stop
        Ends the search when it has looked at too much; the result then says so, with the gap.
    watch
        Hears of every threshold.
    extremes
        Whether to find the extremes within the slack too.
    """
    searched = look(problem, stop=stop, watch=watch)
    return searched.with_extremes(stop) if extremes else searched.found


def look(
    problem: Problem,
    *,
    stop: Stop | None = None,
    watch: Watch | None = None,
    most: float = inf,
    shelf: Shelf | None = None,
) -> Searched:
    """Search a layout as `search` does, for designs with J up to `most`, and keep what its extremes can be asked of.

    A shelf keeps pairs that the next layout may have in common with this one.
    """
    begun = _begun(problem, shelf)
    if isinstance(begun, Found):
        return Searched(begun)
    meter = Meter(stop, watch)
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


def look_all(
    problems: Iterable[Problem], *, stop: Stop | None = None, watch: Watch | None = None, most: float = inf
) -> Iterator[Searched]:
    """Yield what `look` says of each of many layouts, in their order, their pairs laid once for all of them."""
    shelf = Shelf()
    for problem in problems:
        yield look(problem, stop=stop, watch=watch, most=most, shelf=shelf)


def some_design(problem: Problem, *, stop: Stop | None = None, shelf: Shelf | None = None) -> Found:
    """Return any design at all, the first that is found; where there is none, the proof of it.

    The status is "no design" where there is none, else "not proved": of the design because it need not be the best,
    without one because a limit ended the search.
    """
    begun = _begun(problem, shelf)
    if isinstance(begun, Found):
        return begun
    meter = Meter(stop)
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


def _begun(problem: Problem, shelf: Shelf | None) -> _Begun | Found:
    """Return what a layout is searched on, or the proof that no design exists."""
    reason = sizeless(problem)
    if reason:
        return _none(reason)
    rules = SeriesRules.of(problem)
    limits = Reach.of_limits(problem)
    ideal = structural = 0.0
    if not ideal_series_fits(rules, limits):
        ideal = lower_bound(rules, 0.0, None)[0]
        structural = lower_bound(rules, ideal, limits)[0]
    if structural == inf:
        return _none(_unreached(problem, rules, ideal, limits), ideal=ideal, structural=inf)
    space = Space.of(problem, shelf=shelf)
    bound, program = lower_bound(rules, structural, space.reach)
    pairs = tuple(len(index.pairs) for index in space.indexes)
    reason = no_pairs(space) or (belts_leave_too_little(problem) if bound == inf else "")
    if reason:
        return _none(reason, ideal=ideal, structural=structural, pairs=pairs, combinations=space.combinations())
    return _Begun(space, program, bound, Proof(status="proved", ideal=ideal, structural=structural, pairs=pairs))


def _unreached(problem: Problem, rules: SeriesRules, ideal: float, limits: Reach) -> str:
    """Return why no real diameters could do: the wants, the sizes, or the limits of speed."""
    if ideal == inf:
        return wants_unmet(problem)
    by_sizes = lower_bound(rules, ideal, limits._replace(cuts=[]))[0]
    return out_of_reach(problem) if by_sizes == inf else too_fast(problem)


def _none(reason: str, **known: Any) -> Found:
    return Found(proof=Proof(status="no design", reason=reason, bound=inf, **known))
