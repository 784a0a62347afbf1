"""Every combination of a tiny catalogue, looked at one after another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product
from math import exp, inf, log, pi
from typing import NamedTuple

from optimizer.records.candidate import StageSizes
from optimizer.records.problem import BandTarget, Problem, SideSizes, StageProblem
from tests.oracle.choices import Pair, Variant, sizes_of, variants
from tests.oracle.in_hand import goes_round
from tests.oracle.plain import end_miss, half_open, unevenness

__all__ = ["Chosen", "best_by_brute_force", "every_design", "keeps_the_rules", "stages_of", "worth"]


class Chosen(NamedTuple):
    """A belt with a pair for every position of a stage."""

    variant: Variant
    pairs: tuple[Pair, ...]


def best_by_brute_force(problem: Problem) -> tuple[float, tuple[Chosen, ...]] | None:
    """Return the least J with a design that has it, or nothing where no design keeps the rules."""
    best: tuple[float, tuple[Chosen, ...]] | None = None
    for design in every_design(problem):
        if not keeps_the_rules(problem, design):
            continue
        value = worth(problem, design)
        if best is None or value < best[0]:
            best = value, design
    return best


def every_design(problem: Problem) -> Iterator[tuple[Chosen, ...]]:
    """Yield every combination of stages, each of which keeps the rules of belts and cones."""
    choices = [
        list(_stage_choices(rules, count))
        for rules, count in zip(problem.stages, problem.layout.positions, strict=True)
    ]
    yield from product(*choices)


def stages_of(design: Sequence[Chosen]) -> tuple[StageSizes, ...]:
    """Return the records of a design."""
    return tuple(sizes_of(stage.variant.belt, stage.pairs) for stage in design)


def worth(problem: Problem, design: Sequence[Chosen]) -> float:
    """Return J, the weighted sum of end miss and unevenness."""
    targets = problem.targets
    logs = [log(rpm) for rpm in _speeds(problem, design)]
    miss = end_miss(logs, targets.lo_rpm, targets.hi_rpm)
    return targets.end_weight * miss + targets.unevenness_weight * unevenness(logs, targets.ratio_least)


def keeps_the_rules(problem: Problem, design: Sequence[Chosen]) -> bool:
    """Tell whether a combination keeps the rules that hold for the whole machine."""
    targets = problem.targets
    speeds = _speeds(problem, design)
    for lower, upper in pairwise(speeds):
        if upper < lower * (1 + targets.distinct) * (1 - 1e-9) or upper <= lower:
            return False
    if speeds[0] < targets.never_below_rpm * (1 - 1e-9) or speeds[-1] > targets.never_above_rpm * (1 + 1e-9):
        return False
    if any(_counted(band, speeds) < band.want for band in targets.bands):
        return False
    logs = [log(rpm) for rpm in speeds]
    return (
        end_miss(logs, targets.lo_rpm, targets.hi_rpm) <= targets.end_miss_most + 1e-9
        and unevenness(logs) <= targets.unevenness_most + 1e-9
        and _moves_within_limits(problem, design)
        and goes_round(problem, stages_of(design))
    )


def _stage_choices(rules: StageProblem, count: int) -> Iterator[Chosen]:
    for variant in variants(rules, count):
        for pairs in product(*variant.rows):
            centres = [pair.centre_mm for pair in pairs]
            if (
                max(centres) - min(centres) <= variant.belt.window_mm + 1e-6
                and all(lower.log_ratio < upper.log_ratio for lower, upper in pairwise(pairs))
                and _is_cone(rules.driver, [pair.driver_mm for pair in pairs])
                and _is_cone(rules.driven, [-pair.driven_mm for pair in pairs])
            ):
                yield Chosen(variant, pairs)


def _is_cone(side: SideSizes, rising: Sequence[float]) -> bool:
    if not side.cone:
        return True
    return all(
        lower == upper or (upper > lower and upper - lower >= side.rise_mm - 1e-6) for lower, upper in pairwise(rising)
    )


def _speeds(problem: Problem, design: Sequence[Chosen]) -> list[float]:
    speeds = []
    for place, settings in zip(problem.layout.places, problem.layout.settings, strict=True):
        rpm = problem.motor_rpm * problem.gain_out
        for switch, setting in zip(problem.switches, settings, strict=True):
            rpm *= switch.shares[setting]
        for rules, stage, position in zip(problem.stages, design, place, strict=True):
            pair = stage.pairs[position]
            rpm *= rules.gain * pair.driver_mm / pair.driven_mm * (1 - rules.slip)
        speeds.append(rpm)
    return speeds


def _counted(band: BandTarget, speeds: Sequence[float]) -> int:
    return sum(half_open(rpm, band.low_rpm, band.high_rpm, top=band.top) for rpm in speeds)


def _moves_within_limits(problem: Problem, design: Sequence[Chosen]) -> bool:
    """Tell whether belts, rims and shafts keep within their speeds at the fastest setting of all before them."""
    entering = problem.motor_rpm
    for rules, stage in zip(problem.stages, design, strict=True):
        entering *= rules.gain
        fastest = 0.0
        for pair in stage.pairs:
            leaving = entering * exp(pair.log_ratio)
            fastest = max(fastest, leaving)
            if (
                _rim(pair.driver_mm, entering) > rules.belt_speed_m_s
                or _rim(pair.driver_mm + rules.driver.outside_shift_mm, entering) > rules.driver.rim_speed_m_s
            ):
                return False
        if fastest > rules.driven_rpm * (1 + 1e-9):
            return False
        largest = max(pair.driven_mm for pair in stage.pairs)
        if _rim(largest + rules.driven.outside_shift_mm, fastest) > rules.driven.rim_speed_m_s:
            return False
        entering = fastest
    return entering < inf


def _rim(diameter_mm: float, rpm: float) -> float:
    """Return a speed at the rim [m/s], the least bit lower, so that a speed just at its limit keeps it."""
    return pi * diameter_mm * rpm / 60_000 * (1 - 1e-9)
