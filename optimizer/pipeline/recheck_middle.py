"""Sizes that mend a made machine whose speeds are free: open steps anew, or the least skimming."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from optimizer.pipeline.free import final_of
from optimizer.pipeline.recheck_levels import by_position, held, on_ticks
from optimizer.pipeline.recheck_problem import as_it_stands
from optimizer.records.candidate import StageSizes
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.records.middle_rules import middle_logs
from optimizer.records.plate import PlateRules, plate_holds
from optimizer.records.problem import Targets
from optimizer.refine.middle import refine_middle
from optimizer.search import Stop
from optimizer.search.middle import search_middle
from optimizer.search.middle.skimming import least_middle_skimming

__all__ = ["Ask", "Mended", "any_plate", "mended", "plate_as_good"]

Accepts = Callable[[Sequence[float]], bool]
WEIGHT = 2
"""Combinations that one counts for which is looked at for the least skimming, by the time it takes."""


class Mended(NamedTuple):
    """A set of sizes that does."""

    stages: tuple[StageSizes, StageSizes]
    """By position, slowest first."""
    proved: bool
    """Whether no less skimming does it, over the sizes that were looked at."""


def any_plate(_: Sequence[float]) -> bool:
    """Accept all speeds."""
    return True


def plate_as_good(targets: Targets, speeds: int) -> Accepts:
    """Return a rule that accepts speeds of which at least so many make a plate as even as is advised."""
    rules = PlateRules(targets.bands, targets.distinct)
    return lambda logs: plate_holds(logs, rules, speeds)


class Ask(NamedTuple):
    """What is asked of sizes that mend a machine."""

    accepts: Accepts
    """Tells of the speeds' natural logarithms, ascending, whether they will do."""
    is_open: bool
    """Whether some steps are open."""
    skims: bool = True
    """Whether steps may be skimmed at all."""


def mended(problem: MiddleProblem, ask: Ask, stop: Stop | None) -> Mended | None:
    """Return the accepted sizes with the least skimming, open steps as good as they can be; nothing without any.

    Where steps are open it is first asked whether any sizes of theirs do without skimming.

    Parameters
    ----------
    problem
        The machine, standing steps with the sizes that they may be skimmed to.
    ask
        What is asked of the sizes.
    stop
        Ends each search; one for the least skimming after a fraction of what others may look at.
    """
    most = None if stop is None else _sooner(stop)
    if not ask.is_open:
        skimmed = least_middle_skimming(problem, ask.accepts, stop=most) if ask.skims else None
        return None if skimmed is None else Mended(by_position(skimmed.candidate), skimmed.proved)
    zero = _opened(as_it_stands(problem), stop)
    if zero is not None and ask.accepts(_logs(zero)):
        return Mended(by_position(zero), proved=True)
    fine = on_ticks(problem)
    skimmed = least_middle_skimming(fine, ask.accepts, stop=most) if ask.skims else None
    best = None if skimmed is None else _opened(held(skimmed.candidate), stop)
    if skimmed is None or best is None or not ask.accepts(_logs(best)):
        return None
    return Mended(by_position(best), skimmed.proved and fine is not problem)


def _sooner(stop: Stop) -> Stop:
    return lambda examined: stop(examined * WEIGHT)


def _logs(candidate: MiddleCandidate) -> list[float]:
    return sorted(middle_logs(candidate.problem, candidate.stages))


def _opened(problem: MiddleProblem, stop: Stop | None) -> MiddleCandidate | None:
    """Return the sizes of least F of the open steps, refined and on ticks; those that stand are as they are."""
    found = search_middle(on_ticks(problem), stop=stop)
    if found.candidate is None:
        return None
    return final_of(found.candidate, refine_middle(found.candidate, found.proof.structural))
