"""The best listed design of one layout, with its proof."""

from __future__ import annotations

from math import inf

from optimizer.records import Found, Problem, Proof
from optimizer.search.bound import SeriesProgram, ideal_series_fits, stage_span
from optimizer.search.limits import LimitReachedError, Meter, Stop, Watch
from optimizer.search.threshold import Best, Space, rise

__all__ = ["search"]


def search(problem: Problem, *, stop: Stop | None = None, watch: Watch | None = None) -> Found:
    """Return the best design over the listed sizes, proved, or the reason why there is none."""
    try:
        spans = [stage_span(stage) for stage in problem.stages]
    except ValueError as error:
        return Found(proof=Proof(status="no design", reason=str(error)))
    program = SeriesProgram(problem, spans)
    ideal = 0.0 if ideal_series_fits(problem, None) else max(0.0, SeriesProgram(problem, None).least(program.j))
    structural = 0.0 if ideal == 0.0 and ideal_series_fits(problem, spans) else max(ideal, program.least(program.j))
    space = Space.of(problem)
    meter = Meter(stop, watch)
    state, reason = Best(None, None, inf, structural, False), ""
    most = _greatest(space)
    if structural < inf and all(len(index.pairs) for index in space.indexes):
        try:
            for state in rise(space, program, structural, most, meter):
                pass
        except LimitReachedError as limit:
            reason = str(limit)
    else:
        state = Best(None, None, inf, inf, True)
    status = "not proved" if reason else ("proved" if state.candidate else "no design")
    proof = Proof(
        status=status,
        reason=reason,
        ideal=ideal,
        structural=structural,
        listed=state.j,
        bound=state.bound,
        combinations=space.combinations(),
        examined=meter.examined,
        pairs=tuple(len(index.pairs) for index in space.indexes),
    )
    return Found(candidate=state.candidate, proof=proof)


def _greatest(space: Space) -> float:
    """Return a J that no design with finite limits passes."""
    rules = space.rules
    wide = sum(high - low for low, high in space.spans) + abs(rules.base) + abs(rules.low) + abs(rules.high) + 1
    return sum(weight * min(cap, wide) for weight, cap in zip(rules.weights, rules.caps, strict=True))
