"""From the best listed sizes to the best that can be turned, and to what a maker prefers."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, inf
from typing import Literal, NamedTuple

from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.quantities.digits import meaningful
from optimizer.records.candidate import Candidate, PositionSizes, StageSizes
from optimizer.records.problem import Problem, SideSizes, StageProblem
from optimizer.records.proof import Closing, Extreme, Found
from optimizer.records.refined import Refined, Rounded
from optimizer.records.speeds import grip_of
from optimizer.refine import amount, refine
from optimizer.scoring import loosest_j
from optimizer.search import GRIP_TICK, closing_proof, round_sizes

__all__ = [
    "BEST_AT",
    "Finished",
    "Turnable",
    "extreme_of",
    "finish",
    "finish_gripping",
    "finish_preferred",
    "on_ticks",
    "turnable",
]

TICK_SHARE = 1e-6
"""How far, as a share of a tick, a size may be off it."""


class Finished(NamedTuple):
    """The final sizes with how they came about."""

    candidate: Candidate
    """Every turned size on a tick."""
    j: float
    kept: Literal["refined", "candidate", "ticks"]
    why: str
    refined: Refined
    rounded: Rounded
    """The refined sizes on ticks."""
    closing: Closing | None
    """Nothing where J was not what was made best, so that a better J says nothing."""


class Turnable(NamedTuple):
    """Sizes on ticks that might be the final ones."""

    j: float
    rank: int
    kept: Literal["refined", "candidate"]
    why: str
    candidate: Candidate


def finish(candidate: Candidate, structural: float, clock: Clock, *, close: bool) -> Finished:
    """Refine a candidate, round it, and let a last search over sizes on ticks have its say.

    Parameters
    ----------
    candidate
        The best listed design; its turned sizes need not lie on ticks.
    structural
        Lower bound of J for any real diameters.
    clock
        Ends each part; the sizes that are known are then brought to ticks all the same.
    close
        Whether to make the closing search; it is made in any case where no rounding keeps the rules.

    Raises
    ------
    NoDesignError
        No sizes on ticks keep the rules with the candidate's layout and belts, or none were found.
    """
    clock.begin("refining")
    refined = refine(candidate, structural, clock=clock)
    rounded = round_sizes(candidate.problem, refined.smooth, clock=clock)
    best = min(turnable(candidate, refined, rounded, clock), key=lambda t: (meaningful(t.j), t.rank), default=None)
    closing = None
    if close or best is None:
        clock.begin("closing proof")
        closing = closing_proof(candidate, loosest_j(candidate.problem.targets) if best is None else best.j, clock)
        if closing.candidate is not None:
            why = "the closing search found better sizes on ticks" if best else "no rounding keeps the belt fit"
            return Finished(closing.candidate, closing.j, "ticks", why, refined, rounded, closing)
    if best is None:
        tick = min(s.tick_mm for stage in candidate.problem.stages for s in (stage.driver, stage.driven))
        advice = "turn finer with making.turn_to, or allow more travel or fit"
        if closing is not None and closing.status == "not proved":
            raise NoDesignError(
                f"sizes that keep every rule exist, but the search was ended before it found any on steps of "
                f"{tick:g} mm; {advice}"
            )
        raise NoDesignError(
            f"sizes that keep every rule exist, none of them on steps of {tick:g} mm with this layout and these "
            f"belts; {advice}"
        )
    return Finished(best.candidate, best.j, best.kept, best.why, refined, rounded, closing)


def on_ticks(stages: Sequence[StageProblem], sizes_of: Sequence[StageSizes]) -> bool:
    """Tell whether every turned size can be turned as it stands."""
    return all(
        _sits(side, size)
        for rules, sizes in zip(stages, sizes_of, strict=True)
        for p in sizes.positions
        for side, size, source in _two_sides(rules.driver, rules.driven, p)
        if source == "turned"
    )


def _two_sides(driver: SideSizes, driven: SideSizes, p: PositionSizes) -> tuple[tuple[SideSizes, float, str], ...]:
    return ((driver, p.driver_mm, p.driver_source), (driven, p.driven_mm, p.driven_source))


def _sits(side: SideSizes, pitch_mm: float) -> bool:
    ticks = (pitch_mm - side.given_shift_mm) / side.tick_mm
    return abs(ticks - round(ticks)) <= TICK_SHARE


def turnable(
    candidate: Candidate, refined: Refined, rounded: Rounded, clock: Clock, most_j: float = inf
) -> list[Turnable]:
    """Return the sizes that rounding leads to, and the candidate itself where it can be turned.

    Rounding is judged by what refinement made least, within a J that may not be passed.
    """
    problem = candidate.problem
    listed: list[tuple[Literal["refined", "candidate"], str, tuple[StageSizes, ...] | None]] = []
    gain = refined.why
    if refined.kept == "refined":
        listed.append(("refined", gain, rounded.stages))
    if on_ticks(problem.stages, candidate.stages):
        listed.append(("candidate", "refined and rounded sizes are no better", candidate.stages))
    else:
        kept = refined.kept == "candidate"
        found = rounded if kept else round_sizes(problem, candidate.stages, refined.goal, most_j, clock=clock)
        listed.append(("candidate", f"rounded as it was found; {gain}", found.stages))
    turned = []
    for rank, (kept_as, why, stages) in enumerate(listed):
        if stages is not None:
            built = Candidate(problem=problem, stages=stages)
            turned.append(Turnable(amount("j", problem, stages), rank, kept_as, why, built))
    return turned


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
