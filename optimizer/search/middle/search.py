"""The best listed design of a machine with a middle shaft, with its proof."""

from __future__ import annotations

from math import inf

from optimizer.clock import ENDLESS, Clock
from optimizer.records import Proof
from optimizer.records.middle import MiddleFound, MiddleProblem, largest_gap, middle_logs, plate_of
from optimizer.records.plate import distinct_groups
from optimizer.search.limits import Meter
from optimizer.search.middle.rising import risen
from optimizer.search.middle.space import spaces_of
from optimizer.search.middle.targets import SpeedRules
from optimizer.series import end_miss

__all__ = ["search_middle"]


def search_middle(problem: MiddleProblem, clock: Clock = ENDLESS, *, any_design: bool = False) -> MiddleFound:
    """Return the design of least F over the listed sizes, proved, or the reason why there is none.

    ``F = w_e·ε + w_u·g`` with the weights of end miss and unevenness, ε the end miss and g the largest gap of all
    speeds, near-equal ones and all, as natural logarithms. Ties go to more distinct speeds, then less timber, then
    smaller sizes.

    Parameters
    ----------
    problem
        The machine.
    clock
        Ends the search when it has gone too far; the result then says so, with the gap. Hears of every threshold.
    any_design
        Whether the first design that is found will do; it is then not proved to be the best.
    """
    meter = Meter(clock)
    spaces = spaces_of(problem)
    if not spaces:
        reason = "no sizes fit any belt on every level within the limits"
        return MiddleFound(proof=Proof(status="no design", reason=reason, bound=inf))
    rules = SpeedRules.of(problem, spaces[0].base)
    meter.hold(sum(space.held_bytes for space in spaces))
    found = risen(spaces, rules, meter, any_design=any_design)
    best = found.best
    status, reason = ("not proved", found.stopped) if found.stopped else ("proved", "")
    if any_design and best.candidate is not None:
        status, reason = "not proved", "any design was asked for, not the best"
    if best.candidate is None and not found.stopped:
        status, reason = "no design", "no listed sizes meet the wants, the ends and the limits on both belts"
    proof = Proof.model_validate(
        {
            "status": status,
            "reason": reason,
            "structural": rules.bound,
            "listed": best.f,
            "bound": inf if status == "no design" else found.bound,
            "combinations": sum(space.combinations for space in spaces),
            "examined": meter.examined,
            "pairs": tuple(over.pairs for over in spaces[0].over),
            "held_bytes": meter.held_bytes,
        }
    )
    if best.candidate is None:
        return MiddleFound(proof=proof)
    logs = middle_logs(problem, best.candidate.stages)
    return MiddleFound(
        candidate=best.candidate,
        proof=proof,
        end_miss=end_miss(sorted(logs), problem.targets.lo_rpm, problem.targets.hi_rpm),
        largest_gap=largest_gap(logs),
        distinct=len(distinct_groups(logs, problem.targets.distinct)),
        plate=plate_of(best.candidate),
    )
