"""From the best listed sizes to the best that can be turned."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import Literal, NamedTuple

from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.quantities.digits import meaningful
from optimizer.records.candidate import Candidate, PositionSizes, StageSizes
from optimizer.records.problem import SideSizes, StageProblem
from optimizer.records.proof import Closing
from optimizer.records.refined import Refined, Rounded
from optimizer.refine import amount, refine
from optimizer.scoring import loosest_j
from optimizer.search import closing_proof, round_sizes

__all__ = ["Finished", "Turnable", "finish", "on_ticks", "turnable"]

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
