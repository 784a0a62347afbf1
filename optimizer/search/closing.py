"""The closing proof: is there a better design that can be turned?"""

from __future__ import annotations

from optimizer.records import Candidate, Closing
from optimizer.search.bound import SeriesProgram
from optimizer.search.limits import Meter, Stop, Watch
from optimizer.search.reach import ideal_series_fits
from optimizer.search.space import Space
from optimizer.search.threshold import Best, rise

__all__ = ["closing_proof"]

BETTER = 1e-9
"""A design counts as better when its J is less by this."""


def closing_proof(candidate: Candidate, j: float, *, stop: Stop | None = None, watch: Watch | None = None) -> Closing:
    """Search the candidate's layout and belts again with every size on a tick.

    Parameters
    ----------
    candidate
        A design whose layout and belts are kept.
    j
        The J to beat.
    stop, watch
        Limit and listener.

    Returns
    -------
    The best turnable design if one is better than `j`, else the statement that there is none.
    """
    chosen = [
        stage.model_copy(update={"belts": (sizes.belt,)})
        for stage, sizes in zip(candidate.problem.stages, candidate.stages, strict=True)
    ]
    problem = candidate.problem.model_copy(update={"stages": tuple(chosen)})
    space = Space.of(problem, ticks=True)
    reach = space.reach
    ideal = ideal_series_fits(space.rules, reach)
    program = SeriesProgram(space.rules, reach, wants=not ideal)
    start = 0.0 if ideal else max(0.0, program.least_j)
    meter = Meter(stop, watch)
    some = all(len(index.pairs) for index in space.indexes)
    state = rise(space, program, (start, j - BETTER), meter) if some else Best.none(j)
    return Closing(
        status="not proved" if state.stopped else "better" if state.candidate else "none better",
        reason=state.stopped,
        candidate=_in_problem(candidate, state.candidate),
        j=state.j,
        bound=state.bound if state.stopped or state.candidate else j,
        examined=meter.examined,
        combinations=space.combinations(),
    )


def _in_problem(candidate: Candidate, better: Candidate | None) -> Candidate | None:
    """Return the better design as one of the original problem, with all its belts to choose from."""
    return None if better is None else Candidate(problem=candidate.problem, stages=better.stages)
