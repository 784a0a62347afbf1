"""Every rule of the smooth problem as a row, with the sentence to say when it binds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise, permutations
from math import exp, inf, log, pi, radians, sin

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import belt_length_mm, length_gradient
from optimizer.records import StageProblem
from optimizer.records.rules import counts
from optimizer.records.speeds import log_speeds
from optimizer.refine.variables import CENTRE_SCALE_MM, Spot, Variables

__all__ = ["Row", "bounds_of", "rows_of"]

Floats = NDArray[np.float64]
MARGIN = 1e-8
"""How far inside its limits the solver is asked to stay, so that its own tolerance breaks no rule."""
WINDOW_MARGIN_MM = 1e-4
"""The same for the positions' own centre distances [mm], which are solved anew from the answer."""
LENGTH_SCALE_MM = 20.0
"""An error of the belt's length counts as a multiple of this."""
PER_M_S = log(60_000 / pi)


@dataclass(frozen=True)
class Row:
    """One constraint: a function that must be 0 (`equal`) or not below 0, with its gradient."""

    sentence: str
    value: Callable[[Floats], tuple[float, Floats]]
    equal: bool = False
    series: bool = False
    """Whether it only ties the measure of evenness to the speeds, and so limits no size."""
    linear: tuple[Floats, float] | None = None
    """Gradient and constant, where the function is linear."""


def rows_of(variables: Variables) -> list[Row]:
    """Return all constraints but the plain bounds."""
    rows = [*_series(variables), *_wants(variables), *_moving(variables)]
    for number, rules in enumerate(variables.problem.stages):
        spots = [s for s in variables.spots if s.stage == number]
        window = variables.candidate.stages[number].belt.window_mm
        for spot in spots:
            rows += _position(variables, rules, spot)
        rows += _windows(variables, rules, spots, window)
        rows += _cones(variables, rules, spots)
    return rows


def bounds_of(variables: Variables) -> tuple[Floats, Floats]:
    """Return least and greatest value of every variable."""
    low, high = np.full(variables.size, -inf), np.full(variables.size, inf)
    for spot in variables.spots:
        rules = variables.problem.stages[spot.stage]
        for index, side in ((spot.driver, rules.driver), (spot.driven, rules.driven)):
            if index >= 0 and side.turned_mm is not None:
                low[index], high[index] = (log(limit) for limit in side.turned_mm)
        if spot.centre >= 0:
            low[spot.centre], high[spot.centre] = (limit / CENTRE_SCALE_MM for limit in rules.centre_mm)
    targets = variables.problem.targets
    _, ratio, delta, miss = variables.series
    low[ratio] = log(targets.ratio_least)
    low[delta], high[delta] = 0.0, targets.unevenness_most
    low[miss], high[miss] = 0.0, targets.end_miss_most
    return low, high


def _linear(sentence: str, row: Floats, constant: float, *, equal: bool = False, series: bool = False) -> Row:
    return Row(sentence, lambda vector: (float(row @ vector) + constant, row), equal, series, (row, constant))


def _ratio(variables: Variables, spot: Spot) -> tuple[Floats, float]:
    """Return row and constant of a position's log ratio, slip included."""
    row, constant = np.zeros(variables.size), log(1 - variables.problem.stages[spot.stage].slip)
    for index, size, sign in ((spot.driver, spot.sizes.driver_mm, 1), (spot.driven, spot.sizes.driven_mm, -1)):
        if index >= 0:
            row[index] += sign
        else:
            constant += sign * log(size)
    return row, constant


def _speeds(variables: Variables) -> list[tuple[Floats, float]]:
    problem = variables.problem
    base = log(problem.motor_rpm * problem.gain_out) + sum(log(s.gain) for s in problem.stages)
    speeds = []
    for place in problem.layout.places:
        row, constant = np.zeros(variables.size), base
        for stage, position in enumerate(place):
            part = _ratio(variables, variables.at(stage, position))
            row, constant = row + part[0], constant + part[1]
        speeds.append((row, constant))
    return speeds


def _series(variables: Variables) -> Iterator[Row]:
    targets = variables.problem.targets
    start, ratio, delta, miss = variables.series
    speeds = _speeds(variables)
    for k, (row, constant) in enumerate(speeds):
        for sign in (1.0, -1.0):
            line = -sign * row
            line[start], line[ratio], line[delta] = sign, sign * k, 1.0
            yield _linear("evenness", line, -sign * constant, series=True)
    lo, hi = log(targets.lo_rpm), log(targets.hi_rpm)
    ends = [(0, lo), (-1, hi)] if len(speeds) > 1 else [(0, (lo + hi) / 2)]
    for k, end in ends:
        row, constant = speeds[k]
        for sign in (1.0, -1.0):
            line = -sign * row
            line[miss] = 1.0
            yield _linear("ends", line, sign * (end - constant), series=True)


def _wants(variables: Variables) -> Iterator[Row]:
    """Yield bands, distinctness and the limits of the speeds; a band keeps the speeds nearest its middle."""
    targets = variables.problem.targets
    speeds = _speeds(variables)
    logs = log_speeds(variables.problem, variables.candidate.stages)
    for band in targets.bands:
        low, high = log(band.low_rpm), log(band.high_rpm)
        inside = [k for k, value in enumerate(logs) if counts(band, exp(value))]
        inside.sort(key=lambda k: abs(logs[k] - (low + high) / 2))
        for k in inside[: band.want]:
            row, constant = speeds[k]
            yield _linear(f"band {band.name}: its lower edge", row, constant - low - MARGIN)
            yield _linear(f"band {band.name}: its upper edge", -row, high - constant - MARGIN)
    for (lower, below), (upper, above) in pairwise(speeds):
        yield _linear("speeds distinct", upper - lower, above - below - log(1 + targets.distinct) - MARGIN)
    if targets.never_above_rpm < inf:
        row, constant = speeds[-1]
        yield _linear("never above", -row, log(targets.never_above_rpm) - constant)
    if targets.never_below_rpm > 0:
        row, constant = speeds[0]
        yield _linear("never below", row, constant - log(targets.never_below_rpm))


def _moving(variables: Variables) -> Iterator[Row]:
    """Yield belt, rim and shaft speeds with every shaft at its fastest."""
    problem = variables.problem
    entering, constant = np.zeros(variables.size), log(problem.motor_rpm)
    for number, rules in enumerate(problem.stages):
        constant += log(rules.gain)
        spots = [s for s in variables.spots if s.stage == number]
        fastest, more = _ratio(variables, spots[-1])
        for spot in spots:
            ratio, kept = _ratio(variables, spot)
            if rules.driven_rpm < inf:
                room = log(rules.driven_rpm) - constant - kept
                yield _linear(f"{rules.key}: speed of the driven shaft", -entering - ratio, room)
            for name, side, speed, row, known in (
                ("belt speed", "driver", rules.belt_speed_m_s, entering, constant),
                ("driver's rim speed", "driver", rules.driver.rim_speed_m_s, entering, constant),
                ("driven's rim speed", "driven", rules.driven.rim_speed_m_s, entering + fastest, constant + more),
            ):
                shift = 0.0
                if name != "belt speed":
                    shift = rules.driver.outside_shift_mm if side == "driver" else rules.driven.outside_shift_mm
                if speed < inf:
                    room = log(speed) + PER_M_S - known
                    yield _rim(variables, spot, (f"{rules.key}: {name}", side, shift), (row, room))
        entering, constant = entering + fastest, constant + more


def _rim(variables: Variables, spot: Spot, what: tuple[str, str, float], linear: tuple[Floats, float]) -> Row:
    """Return the row ``room − row·z − ln(diameter + shift) >= 0``."""
    sentence, side, shift = what
    row, room = linear
    index = spot.driver if side == "driver" else spot.driven
    diameter = variables.driver_mm if side == "driver" else variables.driven_mm

    def value(vector: Floats) -> tuple[float, Floats]:
        size = diameter(spot, vector)
        gradient = -row.copy()
        if index >= 0:
            gradient[index] -= size / (size + shift)
        return room - float(row @ vector) - log(size + shift), gradient

    return Row(sentence, value)


def _position(variables: Variables, rules: StageProblem, spot: Spot) -> Iterator[Row]:
    length = variables.candidate.stages[spot.stage].belt.length_mm
    name = f"{rules.key}, position {spot.position + 1}"
    if spot.centre < 0:
        return

    def belt(vector: Floats) -> tuple[float, Floats]:
        a, b, c = _sizes(variables, spot, vector)
        per = length_gradient(a, b, c, crossed=rules.crossed)
        error = belt_length_mm(a, b, c, crossed=rules.crossed) - length
        return error / LENGTH_SCALE_MM, _gradient(variables, spot, (a, b), per) / LENGTH_SCALE_MM

    yield Row(f"{name}: belt length", belt, equal=True)

    def plane(sentence: str, parts: tuple[float, float, float], constant: float) -> Row:
        def value(vector: Floats) -> tuple[float, Floats]:
            a, b, c = _sizes(variables, spot, vector)
            total = parts[0] * a + parts[1] * b + parts[2] * c + constant
            return total / CENTRE_SCALE_MM, _gradient(variables, spot, (a, b), parts) / CENTRE_SCALE_MM

        return Row(sentence, value)

    yield plane(f"{name}: clearance of the rims", (-0.5, -0.5, 1.0), -rules.clearance_mm)
    if not rules.crossed and rules.least_wrap_deg > 0:
        lean = sin(radians(90 - rules.least_wrap_deg / 2))
        yield plane(f"{name}: wrap of the driver", (0.5, -0.5, lean), 0.0)
        yield plane(f"{name}: wrap of the driven", (-0.5, 0.5, lean), 0.0)


def _sizes(variables: Variables, spot: Spot, vector: Floats) -> tuple[float, float, float]:
    a, b = variables.driver_mm(spot, vector), variables.driven_mm(spot, vector)
    return a, b, max(variables.centre_mm(spot, vector), (abs(a - b) / 2 + 1e-6))


def _gradient(variables: Variables, spot: Spot, sizes: tuple[float, float], per: tuple[float, float, float]) -> Floats:
    row = np.zeros(variables.size)
    if spot.driver >= 0:
        row[spot.driver] = per[0] * sizes[0]
    if spot.driven >= 0:
        row[spot.driven] = per[1] * sizes[1]
    row[spot.centre] += per[2] * CENTRE_SCALE_MM
    return row


def _windows(variables: Variables, rules: StageProblem, spots: list[Spot], window: float) -> Iterator[Row]:
    for one, other in permutations(spots, 2):
        if one.centre == other.centre:
            continue
        row, constant = np.zeros(variables.size), (window - WINDOW_MARGIN_MM) / CENTRE_SCALE_MM
        for spot, sign in ((one, -1.0), (other, 1.0)):
            if spot.centre >= 0:
                row[spot.centre] += sign
            else:
                constant += sign * spot.sizes.centre_mm / CENTRE_SCALE_MM
        yield _linear(f"{rules.key}: travel left for the positions' own centre distances", row, constant)


def _cones(variables: Variables, rules: StageProblem, spots: list[Spot]) -> Iterator[Row]:
    for side, sign, cone in ((rules.driver, 1.0, "driver"), (rules.driven, -1.0, "driven")):
        if not side.cone:
            continue
        for lower, upper in pairwise(spots):
            indices = (getattr(lower, cone), getattr(upper, cone))
            if max(indices) < 0:
                continue
            known = (getattr(lower.sizes, f"{cone}_mm"), getattr(upper.sizes, f"{cone}_mm"))
            sentence = f"{side.key}: rise from step {lower.position + 1} to {upper.position + 1}"
            rise = side.rise_mm if abs(known[1] - known[0]) > 1e-9 else None
            yield _step(variables.size, sentence, (indices, known), (sign, rise))


def _step(
    size: int, sentence: str, steps: tuple[tuple[int, int], tuple[float, float]], rule: tuple[float, float | None]
) -> Row:
    """Return the row of two neighbouring steps: equal where they were, else apart by the rise."""
    (low, high), known = steps
    sign, rise = rule

    def value(vector: Floats) -> tuple[float, Floats]:
        a = known[0] if low < 0 else exp(vector[low])
        b = known[1] if high < 0 else exp(vector[high])
        row = np.zeros(size)
        if low >= 0:
            row[low] = -sign * a
        if high >= 0:
            row[high] = sign * b
        return (sign * (b - a) - (rise or 0.0)) / CENTRE_SCALE_MM, row / CENTRE_SCALE_MM

    return Row(sentence, value, equal=rise is None)
