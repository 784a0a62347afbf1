"""The best listed design of one layout, with its proof."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import NamedTuple

from optimizer.records import Found, Problem, Proof
from optimizer.search.bound import SeriesProgram
from optimizer.search.extremes import extremes as extremes_of
from optimizer.search.fit import SeriesRules
from optimizer.search.limits import Meter, Stop, Watch
from optimizer.search.reach import Reach, ideal_series_fits
from optimizer.search.reasons import (
    belts_leave_too_little,
    exhausted,
    no_pairs,
    out_of_reach,
    sizeless,
    wants_unmet,
)
from optimizer.search.space import Space
from optimizer.search.threshold import Best, rise

__all__ = ["Searched", "look", "search"]


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

    def with_extremes(self, stop: Stop | None = None) -> Found:
        """Return the result with the extremes within the slack; each has its own limit."""
        extremes = extremes_of(*self.terms, stop) if self.terms else ()
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


def look(problem: Problem, *, stop: Stop | None = None, watch: Watch | None = None, most: float = inf) -> Searched:
    """Search a layout as `search` does, for designs with J up to `most`, and keep what its extremes can be asked of."""
    reason = sizeless(problem)
    if reason:
        return Searched(Found(proof=Proof(status="no design", reason=reason, bound=inf)))
    rules = SeriesRules.of(problem)
    ideal = _bound(rules, 0.0, None)[0]
    structural = _bound(rules, ideal, Reach.of_limits(problem))[0]
    if structural == inf:
        reason = wants_unmet(problem) if ideal == inf else out_of_reach(problem)
        return Searched(Found(proof=Proof(status="no design", reason=reason, ideal=ideal, structural=inf, bound=inf)))
    space = Space.of(problem)
    start, program = _bound(rules, structural, space.reach)
    reason = no_pairs(space) or (belts_leave_too_little(problem) if start == inf else "")
    meter = Meter(stop, watch)
    asked = min(most, _greatest(space))
    best = Best.none(inf) if reason else rise(space, program, (start, asked), meter)
    aside = not reason and asked < _greatest(space)
    if not reason and not best.candidate and not best.stopped:
        reason = f"no listed design has a J up to {asked:.2%}" if aside else exhausted(problem)
    proof = Proof(
        status="not proved" if best.stopped else "proved" if best.candidate else "set aside" if aside else "no design",
        reason=reason or best.stopped,
        ideal=ideal,
        structural=structural,
        listed=best.j,
        bound=best.bound,
        combinations=space.combinations(),
        examined=meter.examined,
        pairs=tuple(len(index.pairs) for index in space.indexes),
    )
    terms = Terms(space, program, start, best) if best.candidate else None
    return Searched(Found(candidate=best.candidate, proof=proof), terms)


def _bound(rules: SeriesRules, known: float, reach: Reach | None) -> tuple[float, SeriesProgram]:
    """Return a lower bound of J within a reach, where `known` is one without it, and the program of that reach."""
    program = SeriesProgram(rules, reach)
    if known == inf or (known == 0.0 and ideal_series_fits(rules, reach)):
        return known, program
    return max(known, program.least_j), program


def _greatest(space: Space) -> float:
    """Return a J that no design with finite limits passes."""
    rules = space.rules
    wide = sum(high - low for low, high in space.spans) + abs(rules.base) + abs(rules.low) + abs(rules.high) + 1
    return sum(weight * min(cap, wide) for weight, cap in zip(rules.weights, rules.caps, strict=True))
