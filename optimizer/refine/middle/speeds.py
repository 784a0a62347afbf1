"""Rows of what two belts with free speeds make: gaps, ends, wants, and how fast belts, rims and shafts run."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import exp, inf, log, pi

import numpy as np
from numpy.typing import NDArray

from optimizer.quantities.digits import meaningful
from optimizer.records import StageSizes
from optimizer.records.middle import MiddleProblem, middle_logs
from optimizer.records.plate import distinct_groups
from optimizer.records.speeds import counts
from optimizer.refine.middle.variables import MiddleVariables
from optimizer.refine.rows import Limit, Rim, Row
from optimizer.refine.variables import Spot

__all__ = ["Line", "moving_rows", "order_rows", "ordered", "speed_lines", "speed_rows", "want_rows"]

Floats = NDArray[np.float64]
Line = tuple[Floats, float]
"""A logarithm as a line in the variables, with its constant."""
MARGIN = 1e-8
"""How far inside its limits the solver is asked to stay, so that its own tolerance breaks no rule."""
PER_M_S = log(60_000 / pi)


def ordered(problem: MiddleProblem, stages: Sequence[StageSizes]) -> list[int]:
    """Return the positions in the order of their speeds, slowest first, the machine's ends at the ends."""
    logs = middle_logs(problem, stages)
    ends = (problem.slowest, problem.fastest)
    rank = [-1 if place == ends[0] else 1 if place == ends[1] else 0 for place in problem.positions]
    return sorted(range(len(logs)), key=lambda k: (rank[k], meaningful(logs[k]), k))


def speed_rows(variables: MiddleVariables, order: Sequence[int]) -> Iterator[Row]:
    """Yield what ties ε and g to the speeds, and the limits of the slowest and fastest.

    With the slowest first and the fastest last, no two neighbours of the order lie farther apart than g: then no two
    neighbouring speeds do, whatever their order has become, as one must step over every gap on the way up.
    """
    targets = variables.problem.targets
    speeds = [speed_lines(variables)[place] for place in order]
    for (lower, below), (upper, above) in pairwise(speeds):
        line = lower - upper
        line[variables.gap] += 1.0
        yield Row(line, below - above)
    for (speed, constant), end in ((speeds[0], log(targets.lo_rpm)), (speeds[-1], log(targets.hi_rpm))):
        for sign in (1.0, -1.0):
            line = -sign * speed
            line[variables.miss] = 1.0
            yield Row(line, sign * (end - constant))
    if targets.never_above_rpm < inf:
        line, constant = speeds[-1]
        limit = Limit("never above", "", "rpm", 1 / targets.never_above_rpm)
        yield Row(-line, log(targets.never_above_rpm) - constant, limit)
    if targets.never_below_rpm > 0:
        line, constant = speeds[0]
        limit = Limit("never below", "", "rpm", 1 / targets.never_below_rpm)
        yield Row(line, constant - log(targets.never_below_rpm), limit)


def want_rows(variables: MiddleVariables, *, every_group: bool) -> Iterator[Row]:
    """Yield that bands keep the speeds that count in them, those nearest their middle, and that these stay distinct.

    A speed counts where it is the slowest of a group of near-equals, so it stays clear of the group before. Groups may
    change all the same where a near-equal speed leaves its group; with `every_group` none does, up to the last group
    that is wanted.
    """
    targets = variables.problem.targets
    logs = middle_logs(variables.problem, variables.candidate.stages)
    groups = distinct_groups(logs, targets.distinct)
    speeds = speed_lines(variables)
    wanted: set[int] = set()
    for band in targets.bands:
        low, high = log(band.low_rpm), log(band.high_rpm)
        inside = [k for k, group in enumerate(groups) if counts(band, exp(logs[group[0]]))]
        inside.sort(key=lambda k: meaningful(abs(logs[groups[k][0]] - (low + high) / 2)))
        for k in inside[: band.want]:
            wanted.add(k)
            line, constant = speeds[groups[k][0]]
            rpm = f"{exp(logs[groups[k][0]]):.0f} rpm"
            below = Limit(f"band {band.name}: its lower edge", rpm, "rpm", 1 / band.low_rpm)
            above = Limit(f"band {band.name}: its upper edge", rpm, "rpm", 1 / band.high_rpm)
            yield Row(line, constant - low - MARGIN, below)
            yield Row(-line, high - constant - MARGIN, above)
    apart = Limit("speeds distinct", "", "percent", 0.01 / (1 + targets.distinct))
    least, last = log(1 + targets.distinct), max(wanted, default=0)
    for k in range(last + 1):
        if k and (every_group or k in wanted):
            (lower, below_log), (upper, above_log) = (speeds[groups[n][0]] for n in (k - 1, k))
            yield Row(upper - lower, above_log - below_log - least - MARGIN, apart)
        for member in groups[k][1:] if every_group and wanted else ():
            (lower, below_log), (upper, above_log) = speeds[groups[k][0]], speeds[member]
            yield Row(lower - upper, below_log - above_log + least - MARGIN)
            yield Row(upper - lower, above_log - below_log)


def order_rows(variables: MiddleVariables) -> Iterator[Row]:
    """Yield that the levels stay in the order of their speeds, where no cone sees to it."""
    problem = variables.problem
    for number, (rules, spots) in enumerate(zip(problem.stages, variables.spots, strict=True)):
        if rules.driver.cone and rules.driven.cone:
            continue
        rising = spots[::-1] if problem.shared and number == 1 else spots
        for lower, upper in pairwise(_ratio(variables, spot) for spot in rising):
            line = upper[0] - lower[0]
            if line.any():
                yield Row(line, upper[1] - lower[1])


def moving_rows(variables: MiddleVariables) -> Iterator[Row]:
    """Yield belt, rim and shaft speeds, each at the fastest that its shaft ever runs with it."""
    problem = variables.problem
    first, second = problem.stages
    levels = problem.levels[0]
    nothing = np.zeros(variables.size)
    motor: Line = (nothing, log(problem.motor_rpm * first.gain))
    middle = [_sum(motor, _ratio(variables, spot)) for spot in variables.spots[0]]
    fastest = middle[-1]
    between: Line = (nothing, log(second.gain))
    last = _sum(fastest, between, _ratio(variables, variables.spots[1][problem.fastest[1]]))
    for rules, rpm in ((first, fastest), (second, last)):
        if rules.driven_rpm < inf:
            limit = Limit(f"{rules.key}: speed of the driven shaft", "", "rpm", 1 / rules.driven_rpm)
            yield Row(-rpm[0], log(rules.driven_rpm) - rpm[1], limit)
    turning = ((motor, fastest), (_sum(fastest, between), last))
    for number, (rules, spots) in enumerate(zip(problem.stages, variables.spots, strict=True)):
        for spot in spots:
            driver, driven = (spot.driver, spot.sizes.driver_mm), (spot.driven, spot.sizes.driven_mm)
            with_it = motor
            if number:
                barred = problem.shared and spot.position == levels - 1
                with_it = _sum(middle[-2 if barred else -1], between)
            yield from (
                row
                for name, most, step, shift, rpm in (
                    ("belt speed", rules.belt_speed_m_s, driver, 0.0, with_it),
                    ("driver's rim speed", rules.driver.rim_speed_m_s, driver, rules.driver.outside_shift_mm,
                     turning[number][0]),
                    ("driven's rim speed", rules.driven.rim_speed_m_s, driven, rules.driven.outside_shift_mm,
                     turning[number][1]),
                )
                for row in _surface(Limit(f"{rules.key}: {name}", f"level {spot.position + 1}", "m/s", 1 / most),
                                    step, shift, rpm)
            )  # fmt: skip


def _surface(limit: Limit, step: tuple[int, float], shift_mm: float, rpm: Line) -> Iterator[Row]:
    """Yield that a step's surface runs no faster than its limit, if there is one."""
    if limit.per > 0:
        room = PER_M_S - log(limit.per) - rpm[1]
        index, size_mm = step
        if index >= 0:
            yield Row(-rpm[0], room, limit, rim=Rim(index, shift_mm))
        else:
            yield Row(-rpm[0], room - log(size_mm + shift_mm), limit)


def _sum(*lines: Line) -> Line:
    return np.sum([line for line, _ in lines], axis=0), sum(constant for _, constant in lines)


def _ratio(variables: MiddleVariables, spot: Spot) -> Line:
    """Return the log ratio of a level, slip included."""
    line, constant = np.zeros(variables.size), log(1 - variables.problem.stages[spot.stage].slip)
    for index, size_mm, sign in ((spot.driver, spot.sizes.driver_mm, 1.0), (spot.driven, spot.sizes.driven_mm, -1.0)):
        if index >= 0:
            line[index] += sign
        else:
            constant += sign * log(size_mm)
    return line, constant


def speed_lines(variables: MiddleVariables) -> list[Line]:
    """Return ln of the speed [rpm] at every position."""
    problem = variables.problem
    gains = problem.stages[0].gain * problem.stages[1].gain * problem.gain_out
    base: Line = (np.zeros(variables.size), log(problem.motor_rpm * gains))
    first, second = ([_ratio(variables, spot) for spot in spots] for spots in variables.spots)
    return [_sum(base, first[i], second[j]) for i, j in problem.positions]
