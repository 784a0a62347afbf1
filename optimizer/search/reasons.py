"""Why a layout has no design, in a sentence."""

from __future__ import annotations

from math import exp, inf, log

from optimizer.records import Problem
from optimizer.search.fit import SeriesRules
from optimizer.search.reach import stage_span
from optimizer.search.space import Space

__all__ = ["belts_leave_too_little", "exhausted", "no_pairs", "out_of_reach", "sizeless", "too_fast", "wants_unmet"]


def sizeless(problem: Problem) -> str:
    """Return which side has no size at all, or nothing."""
    for stage in problem.stages:
        for side in (stage.driver, stage.driven):
            if not (side.fixed_mm or side.turned_mm):
                return f"{side.key} has no size"
    return ""


def wants_unmet(problem: Problem) -> str:
    """Return why no series of this many speeds meets the wants, whatever the sizes."""
    targets = problem.targets
    wanted = sum(band.want for band in targets.bands)
    if wanted > problem.layout.speeds:
        return f"the bands want {wanted} speeds together, more than the layout makes"
    barred = (
        f", none above {targets.never_above_rpm * targets.idle_gain:.0f} rpm without load"
        if targets.never_above_rpm < inf
        else ""
    )
    if targets.never_below_rpm > 0:
        barred += (
            f", none below {targets.never_below_rpm:.1f} rpm, where a gear gives all the torque that it may (let the "
            "bands begin there, or take a gear rated for more),"
        )
    return (
        f"speeds spread evenly from {targets.lo_rpm:.0f} to {targets.hi_rpm:.0f} rpm{barred} do not put the wanted "
        f"number into every band, even with {_limits(problem)}"
    )


def out_of_reach(problem: Problem) -> str:
    """Return how far the limits of the sizes reach, where that is not enough."""
    rules = SeriesRules.of(problem)
    spans = [*((log(s.shares[0]), 0.0) for s in problem.switches), *(stage_span(stage) for stage in problem.stages)]
    slowest, fastest = (exp(rules.base + sum(span[end] for span in spans)) for end in (0, 1))
    targets = problem.targets
    reach = f"the sizes let the spindle run from {slowest:.0f} to {fastest:.0f} rpm"
    if slowest <= targets.lo_rpm and targets.hi_rpm <= fastest:
        return (
            f"{reach}, but one stage would have to change its ratio by more than its sizes allow to spread the speeds "
            f"from {targets.lo_rpm:.0f} to {targets.hi_rpm:.0f} rpm with {_limits(problem)}"
        )
    return (
        f"{reach}; the bands ask for {targets.lo_rpm:.0f} to {targets.hi_rpm:.0f} rpm, which is out of reach "
        f"with {_limits(problem)}"
    )


def too_fast(problem: Problem) -> str:
    """Return that the sizes would reach, but not within the limits of rim, belt and shaft speed."""
    targets = problem.targets
    return (
        f"the limits of rim, belt and shaft speed leave the sizes too little for speeds from {targets.lo_rpm:.0f} "
        f"to {targets.hi_rpm:.0f} rpm with {_limits(problem)}"
    )


def no_pairs(space: Space) -> str:
    """Return which stage has no belt, or no pair of sizes that takes one; or nothing."""
    for stage, index in zip(space.problem.stages, space.stages, strict=True):
        if not stage.belts:
            return f"{stage.key}: no belt fits the centre distances and the travel"
        if not len(index.pairs):
            return (
                f"{stage.key}: no pair of sizes takes any of its belts within centres, wrap, clearance and speed limits"
            )
    return ""


def belts_leave_too_little(problem: Problem) -> str:
    """Return that the sizes would reach, but not on one belt within its travel, at the speeds that are allowed."""
    mounts = " and ".join(coupling.shaft for coupling in problem.couplings)
    one = f", one setting of {mounts} for all its belts" if mounts else ""
    return (
        f"belts, centre distances, travel{one} and limits of {_held(problem)} leave the stages too little difference "
        f"in ratio for the wanted speeds with {_limits(problem)}"
    )


def exhausted(problem: Problem) -> str:
    """Return that everything was looked at."""
    return (
        "every combination of listed sizes was ruled out: none takes one belt per stage, "
        f"keeps the cones' order and the limits of {_held(problem)}, {_there(problem)}"
        f"and meets the wants with {_limits(problem)}"
    )


def _there(problem: Problem) -> str:
    hand = "goes round with what is in hand, " if problem.pieces or problem.discs else ""
    mounts = " and ".join(coupling.shaft for coupling in problem.couplings)
    return f"lets one setting of {mounts} fit all its belts, {hand}" if mounts else hand


def _held(problem: Problem) -> str:
    targets = problem.targets
    grip = any(max(band.least_grip, targets.least_grip) for band in targets.bands) or targets.least_grip
    return "speed and grip" if grip else "speed"


def _limits(problem: Problem) -> str:
    targets = problem.targets
    return f"end miss up to {targets.end_miss_most:.0%} and unevenness up to {targets.unevenness_most:.0%}"
