"""What is asked of sizes on ticks: the best near refined ones, and whether any other can be turned and is better."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from math import inf
from typing import NamedTuple

from pydantic import ValidationError

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.records import Candidate, Closing, Problem, SideSizes, Source, StageSizes
from optimizer.records.candidate import nearest_sizes
from optimizer.records.refined import Goal, Rounded
from optimizer.scoring import j_of_sizes, loosest_j, score
from optimizer.search.bound import SeriesProgram
from optimizer.search.extremes import boxes_within, smallest_disc
from optimizer.search.limits import Meter
from optimizer.search.reach import ideal_series_fits
from optimizer.search.space import Space
from optimizer.search.threshold import Best, improving, least, rise, why_stopped

__all__ = ["closing_proof", "round_sizes"]

BETTER = 1e-9
"""A design counts as better when its J is less by this."""
Stages = tuple[StageSizes, ...]
SAME = 1e-12
"""A design near the refined sizes that is better than every size at its nearest tick has a J less by this."""
NEIGHBOURS = 2
"""Ticks tried on either side of a refined size."""
MOST_ROUNDED = 1_000_000
"""Combinations of ticks near the refined sizes after which the best so far is taken."""


class _OnTicks(NamedTuple):
    """A problem whose sizes are all on ticks, made ready to be searched."""

    space: Space
    program: SeriesProgram
    bound: float

    @classmethod
    def of(cls, problem: Problem, clock: Clock) -> _OnTicks:
        """Lay the belts over the ticks."""
        space = Space.of(problem, ticks=True, clock=clock)
        reach = space.reach
        ideal = ideal_series_fits(space.rules, reach)
        program = SeriesProgram(space.rules, reach, wants=not ideal, clock=clock)
        return cls(space, program, 0.0 if ideal else max(0.0, program.least_j))

    def best(self, most_j: float, meter: Meter) -> Best:
        """Return the best design with J up to a limit."""
        if not all(len(index.pairs) for index in self.space.indexes):
            return Best.none(most_j)
        return rise(self.space, self.program, (self.bound, most_j), meter)


def round_sizes(
    problem: Problem, stages: Sequence[StageSizes], goal: Goal = "j", most_j: float = inf, *, clock: Clock = ENDLESS
) -> Rounded:
    """Return the best sizes with every turned one on one of the ticks nearest to it.

    Every size at its nearest tick, where that keeps the rules, is what has to be beaten.

    Parameters
    ----------
    problem
        The layout's problem.
    stages
        Sizes that keep its rules.
    goal, most_j
        What is made least, and the J that may then not be passed; where none keeps it, J is made least.
    clock
        Leaves some time to this even where it is over.

    Returns
    -------
    The rounded sizes with their J, and J of rounding every size to its nearest tick by itself.
    """
    nearest = _nearest(problem, stages)
    nearest_j = inf if nearest is None else j_of_sizes(problem, nearest)
    chosen, clock = nearest, clock.with_grace().counting(MOST_ROUNDED)
    with suppress(LimitReachedError):
        near = _OnTicks.of(_near(problem, stages), clock)
        best = near.best(min(nearest_j - SAME, loosest_j(problem.targets)), Meter(clock))
        chosen = best.candidate.stages if best.candidate else nearest
        if goal != "j":
            within = [sizes for sizes in (chosen, nearest) if sizes and j_of_sizes(problem, sizes) <= most_j + SAME]
            chosen = _wished(near, within, goal, most_j, clock) if within else chosen
    if chosen is None:
        return Rounded(stages=None, nearest_j=nearest_j)
    return Rounded(stages=chosen, j=j_of_sizes(problem, chosen), nearest_j=nearest_j)


def closing_proof(candidate: Candidate, j: float, clock: Clock = ENDLESS) -> Closing:
    """Search the candidate's layout and belts again with every size on a tick.

    Parameters
    ----------
    candidate
        A design whose layout and belts are kept.
    j
        The J to beat.
    clock
        Ends the search.

    Returns
    -------
    The best turnable design if one is better than `j`, else the statement that there is none.
    """
    chosen = [
        stage.model_copy(update={"belts": (sizes.belt,)})
        for stage, sizes in zip(candidate.problem.stages, candidate.stages, strict=True)
    ]
    meter = Meter(clock)
    try:
        every = _OnTicks.of(candidate.problem.model_copy(update={"stages": tuple(chosen)}), clock)
    except (LimitReachedError, MemoryError) as limit:
        return Closing(status="not proved", reason=why_stopped(limit))
    state = every.best(j - BETTER, meter)
    # the better design is one of the original problem, with all its belts to choose from
    better = Candidate(problem=candidate.problem, stages=state.candidate.stages) if state.candidate else None
    return Closing(
        status="not proved" if state.stopped else "better" if better else "none better",
        reason=state.stopped,
        candidate=better,
        j=state.j,
        bound=state.bound if state.stopped or better else j,
        examined=meter.examined,
        combinations=every.space.combinations(),
    )


def _near(problem: Problem, stages: Sequence[StageSizes]) -> Problem:
    """Return the problem whose steps have only the ticks near given sizes to choose from, with the same belts."""
    near = []
    for rules, sizes in zip(problem.stages, stages, strict=True):
        driver = _steps(rules.driver, [(p.driver_mm, p.driver_source) for p in sizes.positions])
        driven = _steps(rules.driven, [(p.driven_mm, p.driven_source) for p in sizes.positions])
        near.append(rules.model_copy(update={"driver": driver, "driven": driven, "belts": (sizes.belt,)}))
    return problem.model_copy(update={"stages": tuple(near), "pieces": (), "discs": ()})


def _steps(side: SideSizes, steps: Sequence[tuple[float, Source]]) -> SideSizes:
    """Return a side whose steps stand at the ticks near given sizes; what is in hand goes round as it did."""
    sizes_mm = [side.ticks_near_mm(size_mm, source, NEIGHBOURS) for size_mm, source in steps]
    return side.standing_at(sizes_mm, [source for _, source in steps])


def _nearest(problem: Problem, stages: Sequence[StageSizes]) -> Stages | None:
    """Return every turned size at its nearest tick; nothing where that breaks a rule."""
    rounded = [nearest_sizes(rules, sizes) for rules, sizes in zip(problem.stages, stages, strict=True)]
    built = tuple(sizes for sizes in rounded if sizes is not None)
    if len(built) < len(rounded):
        return None
    try:
        return Candidate(problem=problem, stages=built).stages
    except ValidationError:
        return None


def _wished(near: _OnTicks, known: Sequence[Stages], goal: Goal, most_j: float, clock: Clock) -> Stages:
    """Return the sizes near given ones that have least of what is wished, with J up to a limit; some are known."""
    problem = near.space.problem

    def merit(stages: Stages) -> tuple[float, float]:
        figures = score(problem, stages)
        return (figures.timber_mm3 if goal == "timber" else figures.largest_disc_mm, figures.j)

    stages = min(known, key=merit)
    value, j = merit(stages)
    boxes = boxes_within(near.space, near.program, near.bound, most_j)
    if goal == "disc":
        known_best = Best(Candidate(problem=problem, stages=stages), j, inf, near.bound)
        smallest = smallest_disc(near.space, boxes, known_best, clock)
        stages = smallest.candidate.stages
        with suppress(LimitReachedError):
            even = least(near.space.restricted(smallest.value + 1e-9), boxes, Meter(clock))
            stages = even.candidate.stages if even and even.candidate else stages
        return stages
    with suppress(LimitReachedError):
        for better in improving(near.space, boxes, Meter(clock), value * (1 + SAME), "timber"):
            if better.candidate and better.timber_mm3 < value * (1 - SAME):
                stages = better.candidate.stages
    return stages
