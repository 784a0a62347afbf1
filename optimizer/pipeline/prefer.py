"""What a maker prefers to the least J, made least within the slack."""

from __future__ import annotations

from math import floor
from typing import Literal

from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.pipeline.finish import Finished, Turnable, finish, turnable
from optimizer.quantities.digits import meaningful
from optimizer.records.candidate import Candidate
from optimizer.records.problem import Problem, SideSizes
from optimizer.records.proof import Extreme, Found
from optimizer.records.speeds import grip_of
from optimizer.refine import amount, refine
from optimizer.search import GRIP_TICK, round_sizes

__all__ = ["BEST_AT", "extreme_of", "finish_gripping", "finish_preferred"]

Wish = Literal["timber", "disc", "grip"]
BEST_AT = {"timber": "least timber", "disc": "smallest largest disc", "grip": "best grip"}


def extreme_of(found: Found, prefer: Wish) -> Extreme | None:
    """Return the extreme preferred; nothing where the search has none, as where nothing is turned."""
    return next((e for e in found.extremes if e.best_at == BEST_AT[prefer]), None)


def finish_preferred(found: Found, prefer: Wish, clock: Clock) -> Finished | None:
    """Refine an extreme so that what is preferred is least within the slack, and round it so.

    J may be as much above the least listed one as the slack allows. What comes out is the best of the refined sizes
    rounded and the extreme itself, rounded where it must be; both roundings are judged by what is preferred. Where
    none stays within the slack J is made least instead, no turned size growing beyond the extreme's.

    Parameters
    ----------
    found
        The search of the layout, extremes included.
    prefer
        What is made least.
    clock
        Ends each part; the closing search is made only where no rounding keeps the rules.

    Returns
    -------
    The finished design, found, not proved; nothing where the search has no such extreme.

    Raises
    ------
    NoDesignError
        No sizes on ticks keep the rules with the extreme's layout and belts.
    """
    extreme = extreme_of(found, prefer)
    if extreme is None:
        return None
    if prefer == "grip":
        limit = found.proof.listed + extreme.candidate.problem.targets.slack
        return finish_gripping(extreme.candidate, limit, found.proof.structural, clock)
    candidate = extreme.candidate
    most_j = found.proof.listed + candidate.problem.targets.slack
    clock.begin("refining")
    refined = refine(candidate, found.proof.structural, prefer, most_j, clock=clock)
    rounded = round_sizes(candidate.problem, refined.smooth, prefer, most_j, clock=clock)

    def merit(sizes: Turnable) -> tuple[float, float, int]:
        had = amount(prefer, candidate.problem, sizes.candidate.stages)
        return meaningful(had), meaningful(sizes.j), sizes.rank

    within = [sizes for sizes in turnable(candidate, refined, rounded, clock, most_j) if sizes.j <= most_j + 1e-12]
    if not within:
        capped = Candidate(problem=_no_larger(extreme, prefer), stages=candidate.stages)
        finished = finish(capped, found.proof.structural, clock, close=False)
        return finished._replace(why=f"no rounding of less {prefer} stays within the slack; {finished.why}")
    best = min(within, key=merit)
    return Finished(best.candidate, best.j, best.kept, best.why, refined, rounded, None)


def finish_gripping(candidate: Candidate, most_j: float, structural: float, clock: Clock) -> Finished | None:
    """Refine and round a design for the least J, its grip kept to the whole tick.

    Where no sizes that can be turned have that grip with a J within the limit, it is lowered by a tick, until some
    have.

    Returns
    -------
    The finished design; nothing where the grip falls to nothing.
    """
    grip = grip_of(candidate.problem, candidate.stages)
    for ticks in range(floor(grip / GRIP_TICK + 1e-9), 0, -1):
        held = _gripping(candidate, ticks * GRIP_TICK)
        try:
            finished = finish(held, structural, clock, close=True)
        except NoDesignError:
            continue
        if finished.j > most_j + 1e-9:
            continue
        return finished._replace(why=f"a grip of {ticks * GRIP_TICK:.2f} was kept; {finished.why}")
    return None


def _gripping(candidate: Candidate, grip: float) -> Candidate:
    """Return a design as one of its problem with its grip as a limit."""
    targets = candidate.problem.targets.model_copy(update={"least_grip": grip})
    return Candidate(problem=candidate.problem.model_copy(update={"targets": targets}), stages=candidate.stages)


def _no_larger(extreme: Extreme, prefer: Literal["timber", "disc"]) -> Problem:
    problem = extreme.candidate.problem
    stages = []
    for rules, sizes in zip(problem.stages, extreme.candidate.stages, strict=True):
        driver = [p.driver_mm for p in sizes.positions if p.driver_source == "turned"]
        driven = [p.driven_mm for p in sizes.positions if p.driven_source == "turned"]
        largest = extreme.value if prefer == "disc" else None
        stages.append(
            rules.model_copy(
                update={
                    "driver": _capped(rules.driver, driver, largest),
                    "driven": _capped(rules.driven, driven, largest),
                }
            )
        )
    return problem.model_copy(update={"stages": tuple(stages)})


def _capped(side: SideSizes, used_mm: list[float], disc_mm: float | None) -> SideSizes:
    """Return a side whose turned sizes come from no larger disc than given, or are no larger than those used."""
    if side.turned_mm is None or not used_mm:
        return side
    most = max(used_mm) if disc_mm is None else disc_mm - side.truing_mm - side.outside_shift_mm
    high = min(side.turned_mm[1], max(most, max(used_mm)))
    listed = tuple(size for size in side.listed_mm if size <= high + 1e-9)
    return side.model_copy(update={"turned_mm": (side.turned_mm[0], high), "listed_mm": listed})
