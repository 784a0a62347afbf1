"""The best listed design of one layout, with its proof."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from optimizer.records import Found, Problem, Proof
from optimizer.search.bound import Reach, SeriesProgram, ideal_series_fits, stage_span
from optimizer.search.extremes import extremes as extremes_of
from optimizer.search.limits import Meter, Stop, Watch
from optimizer.search.space import Space
from optimizer.search.threshold import Best, rise

__all__ = ["Searched", "look", "search"]


@dataclass(frozen=True)
class Searched:
    """A searched layout with what is needed to ask it further."""

    found: Found
    space: Space
    program: SeriesProgram
    bound: float
    """Lower bound of J over the listed pairs."""
    best: Best

    def with_extremes(self, stop: Stop | None = None) -> Found:
        """Return the result with the extremes within the slack; each has its own limit."""
        extremes = extremes_of(self.space, self.program, self.bound, self.best, stop)
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


def look(problem: Problem, *, stop: Stop | None = None, watch: Watch | None = None) -> Searched:
    """Search a layout as `search` does, and keep what its extremes can be asked of."""
    space = Space.of(problem)
    ideal = 0.0 if ideal_series_fits(problem, None) else max(0.0, SeriesProgram(problem, None).least_j)
    sizeless = _sizeless(problem)
    reach = Reach.of([stage_span(stage) for stage in problem.stages]) if not sizeless else space.reach
    structural = inf if sizeless else _bound(problem, ideal, reach)[0]
    start, program = _bound(problem, structural, space.reach)
    meter = Meter(stop, watch)
    hopeless = sizeless or _hopeless(space, (structural, start))
    best = Best.none(inf) if hopeless else rise(space, program, (start, _greatest(space)), meter)
    proof = Proof(
        status="not proved" if best.stopped else "proved" if best.candidate else "no design",
        reason=hopeless or best.stopped or ("" if best.candidate else _exhausted(space)),
        ideal=ideal,
        structural=structural,
        listed=best.j,
        bound=best.bound,
        combinations=space.combinations(),
        examined=meter.examined,
        pairs=tuple(len(index.pairs) for index in space.indexes),
    )
    return Searched(Found(candidate=best.candidate, proof=proof), space, program, start, best)


def _sizeless(problem: Problem) -> str:
    """Return which side has no size at all, or nothing."""
    for stage in problem.stages:
        for side in (stage.driver, stage.driven):
            if not (side.ready_mm or side.kept_mm or side.turned_mm):
                return f"{side.key} has no size"
    return ""


def _bound(problem: Problem, known: float, reach: Reach) -> tuple[float, SeriesProgram]:
    """Return a lower bound of J within a reach, where `known` is one without it, and the program of that reach."""
    program = SeriesProgram(problem, reach)
    if known == inf or (known == 0.0 and ideal_series_fits(problem, reach)):
        return known, program
    return max(known, program.least_j), program


def _hopeless(space: Space, bounds: tuple[float, float]) -> str:
    """Return why there can be no design before anything is searched, or nothing."""
    for stage, index in zip(space.problem.stages, space.indexes, strict=True):
        if not stage.belts:
            return f"{stage.key}: no belt of the stock fits the centre distances and the travel"
        if not len(index.pairs):
            return (
                f"{stage.key}: no pair of sizes takes any of its belts within centres, wrap, clearance and speed limits"
            )
    if bounds[0] == inf:
        return (
            "the wanted speeds do not fit the layout's number of speeds, its ratios, "
            "and the limits on end miss and unevenness"
        )
    if bounds[1] == inf:
        return (
            "belts, centre distances and travel leave the stages too little difference in ratio "
            "for the wanted speeds within the limits on end miss and unevenness"
        )
    return ""


def _exhausted(space: Space) -> str:
    limits = space.problem.targets
    return (
        "every combination of listed sizes was ruled out: none takes one belt per stage, "
        "keeps the cones' order and meets the wants "
        f"with end miss up to {limits.end_miss_most:.0%} and unevenness up to {limits.unevenness_most:.0%}"
    )


def _greatest(space: Space) -> float:
    """Return a J that no design with finite limits passes."""
    rules = space.rules
    wide = sum(high - low for low, high in space.spans) + abs(rules.base) + abs(rules.low) + abs(rules.high) + 1
    return sum(weight * min(cap, wide) for weight, cap in zip(rules.weights, rules.caps, strict=True))
