"""Rows of the speeds: evenness, ends, bands, distinctness."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import exp, inf, log

import numpy as np
from numpy.typing import NDArray

from optimizer.quantities.digits import meaningful
from optimizer.records.speeds import counts, log_speeds
from optimizer.refine.rows import Limit, Row
from optimizer.refine.variables import Spot, Variables

__all__ = ["MARGIN", "log_ratio", "slack_row", "speed_rows"]

Floats = NDArray[np.float64]
MARGIN = 1e-8
"""How far inside its limits the solver is asked to stay, so that its own tolerance breaks no rule."""


def speed_rows(variables: Variables) -> Iterator[Row]:
    """Yield every row of the speeds."""
    ways = _ways(variables)
    speeds: dict[int, tuple[Floats, float]] = {}
    for place, row, constant in ways:
        speeds.setdefault(place, (row, constant))
    yield from _series(variables, ways)
    yield from _wants(variables, [speeds[place] for place in sorted(speeds)])


def slack_row(variables: Variables, most: float) -> Row:
    """Return the row of a J that may not be passed."""
    targets = variables.problem.targets
    line = np.zeros(variables.size)
    _, _, delta, miss = variables.series
    line[delta], line[miss] = -targets.unevenness_weight, -targets.end_weight
    return Row(line, most - MARGIN, Limit("J within the slack", unit="percent", per=0.01))


def log_ratio(variables: Variables, spot: Spot) -> tuple[Floats, float]:
    """Return line and constant of a position's log ratio, slip included."""
    row, constant = np.zeros(variables.size), log(1 - variables.problem.stages[spot.stage].slip)
    for index, size, sign in ((spot.driver, spot.sizes.driver_mm, 1), (spot.driven, spot.sizes.driven_mm, -1)):
        if index >= 0:
            row[index] += sign
        else:
            constant += sign * log(size)
    return row, constant


def _ways(variables: Variables) -> list[tuple[int, Floats, float]]:
    """Return place, line and constant of every way of making a speed."""
    problem = variables.problem
    base = log(problem.motor_rpm * problem.gain_out) + sum(log(s.gain) for s in problem.stages)
    ratios = [[log_ratio(variables, spot) for spot in spots] for spots in variables.by_stage]
    switches, found = len(problem.switches), []
    for place, chosen in problem.layout.ways:
        shares = zip(problem.switches, chosen, strict=False)
        parts = [ratios[stage][position] for stage, position in enumerate(chosen[switches:])]
        constant = base + sum(log(switch.shares[setting]) for switch, setting in shares)
        line = np.sum([part[0] for part in parts], axis=0)
        found.append((place, line, constant + sum(part[1] for part in parts)))
    return found


def _series(variables: Variables, ways: list[tuple[int, Floats, float]]) -> Iterator[Row]:
    targets = variables.problem.targets
    start, ratio, delta, miss = variables.series
    for k, row, constant in ways:
        for sign in (1.0, -1.0):
            line = -sign * row
            line[start], line[ratio], line[delta] = sign, sign * k, 1.0
            yield Row(line, -sign * constant)
    lo, hi = log(targets.lo_rpm), log(targets.hi_rpm)
    ends = [(0, lo), (-1, hi)] if ways[-1][0] else [(0, (lo + hi) / 2)]
    for k, end in ends:
        _, row, constant = ways[k]
        for sign in (1.0, -1.0):
            line = -sign * row
            line[miss] = 1.0
            yield Row(line, sign * (end - constant))


def _wants(variables: Variables, speeds: list[tuple[Floats, float]]) -> Iterator[Row]:
    """Yield bands, distinctness and the limits of the speeds; a band keeps the speeds nearest its middle."""
    targets = variables.problem.targets
    logs = log_speeds(variables.problem, variables.candidate.stages)
    for band in targets.bands:
        low, high = log(band.low_rpm), log(band.high_rpm)
        inside = [k for k, value in enumerate(logs) if counts(band, exp(value))]
        inside.sort(key=lambda k: meaningful(abs(logs[k] - (low + high) / 2)))
        for k in inside[: band.want]:
            row, constant = speeds[k]
            below = Limit(f"band {band.name}: its lower edge", f"speed {k + 1}", "rpm", 1 / band.low_rpm)
            above = Limit(f"band {band.name}: its upper edge", f"speed {k + 1}", "rpm", 1 / band.high_rpm)
            yield Row(row, constant - low - MARGIN, below)
            yield Row(-row, high - constant - MARGIN, above)
    apart = Limit("speeds distinct", "", "percent", 0.01 / (1 + targets.distinct))
    for (lower, below_log), (upper, above_log) in pairwise(speeds):
        yield Row(upper - lower, above_log - below_log - log(1 + targets.distinct) - MARGIN, apart)
    if targets.never_above_rpm < inf:
        row, constant = speeds[-1]
        limit = Limit("never above", "", "rpm", 1 / targets.never_above_rpm)
        yield Row(-row, log(targets.never_above_rpm) - constant, limit)
    if targets.never_below_rpm > 0:
        row, constant = speeds[0]
        limit = Limit("never below", "", "rpm", 1 / targets.never_below_rpm)
        yield Row(row, constant - log(targets.never_below_rpm), limit)
