"""Rows of one stage: rims, wrap, windows, cones, rim speeds."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise, permutations
from math import cos, inf, log, pi, radians, sin

import numpy as np
from numpy.typing import NDArray

from optimizer.records import SideSizes, StageProblem
from optimizer.refine.rows import Limit, Rim, Row
from optimizer.refine.speed_rows import log_ratio
from optimizer.refine.variables import CENTRE_SCALE_MM, Spot, Variables

__all__ = ["PER_MM", "WINDOW_MARGIN_MM", "disc_rows", "moving_rows", "stage_rows"]

Floats = NDArray[np.float64]
WINDOW_MARGIN_MM = 1e-5
"""How far inside the window [mm] the solver is asked to stay, so that its own tolerance breaks no rule."""
PER_M_S = log(60_000 / pi)
PER_MM = 1 / CENTRE_SCALE_MM
"""A length in a row counts as this share of its millimetres."""


def stage_rows(variables: Variables, number: int) -> Iterator[Row]:
    """Yield what limits the sizes and centre distances of a stage."""
    rules, spots = variables.problem.stages[number], variables.by_stage[number]
    for spot in spots:
        if spot.centre >= 0:
            yield from _position(variables, rules, spot)
    yield from _windows(variables, rules, spots)
    for side, sign, cone in ((rules.driver, 1.0, "driver"), (rules.driven, -1.0, "driven")):
        if side.cone:
            yield from _rises(
                variables, side, sign, [(getattr(s, cone), getattr(s.sizes, f"{cone}_mm")) for s in spots]
            )


def moving_rows(variables: Variables) -> Iterator[Row]:
    """Yield belt, rim and shaft speeds with every shaft at its fastest."""
    problem = variables.problem
    entering, constant = np.zeros(variables.size), log(problem.motor_rpm)
    for rules, spots in zip(problem.stages, variables.by_stage, strict=True):
        constant += log(rules.gain)
        fastest, more = log_ratio(variables, spots[-1])
        for spot in spots:
            place = f"position {spot.position + 1}"
            ratio, kept = log_ratio(variables, spot)
            if rules.driven_rpm < inf:
                room = log(rules.driven_rpm) - constant - kept
                limit = Limit(f"{rules.key}: speed of the driven shaft", place, "rpm", 1 / rules.driven_rpm)
                yield Row(-entering - ratio, room, limit)
            driver, driven = (spot.driver, spot.sizes.driver_mm), (spot.driven, spot.sizes.driven_mm)
            left, right = rules.driver, rules.driven
            for name, most, (index, size), shift, line, known in (
                ("belt speed", rules.belt_speed_m_s, driver, 0.0, entering, constant),
                ("driver's rim speed", left.rim_speed_m_s, driver, left.outside_shift_mm, entering, constant),
                (
                    "driven's rim speed",
                    right.rim_speed_m_s,
                    driven,
                    right.outside_shift_mm,
                    entering + fastest,
                    constant + more,
                ),
            ):
                if most < inf:
                    room = log(most) + PER_M_S - known
                    limit = Limit(f"{rules.key}: {name}", place, "m/s", 1 / most)
                    if index >= 0:
                        yield Row(-line, room, limit, rim=Rim(index, shift))
                    else:
                        yield Row(-line, room - log(size + shift), limit)
        entering, constant = entering + fastest, constant + more


def disc_rows(variables: Variables) -> Iterator[Row]:
    """Yield, for every turned step, that its disc is no larger than the largest."""
    for spot in variables.spots:
        rules = variables.problem.stages[spot.stage]
        for index, side in ((spot.driver, rules.driver), (spot.driven, rules.driven)):
            if index >= 0:
                line = np.zeros(variables.size)
                line[variables.disc] = 1.0
                yield Row(line, 0.0, rim=Rim(index, side.outside_shift_mm + side.truing_mm))


def _position(variables: Variables, rules: StageProblem, spot: Spot) -> Iterator[Row]:
    place = f"position {spot.position + 1}"

    def plane(name: str, parts: tuple[float, float, float], constant: float, unit: tuple[str, float]) -> Row:
        line = np.zeros(variables.measured)
        for index, part, size in (
            (spot.driver, parts[0], spot.sizes.driver_mm),
            (spot.driven, parts[1], spot.sizes.driven_mm),
            (spot.centre, parts[2], spot.sizes.centre_mm),
        ):
            if index >= 0:
                line[index] += part * PER_MM
            else:
                constant += part * size
        return Row(line, constant * PER_MM, Limit(f"{rules.key}: {name}", place, *unit), of="measures")

    if spot.centre >= variables.size:
        low, high = rules.centre_mm
        yield plane("the smallest centre distance", (0.0, 0.0, 1.0), -low, ("mm", PER_MM))
        yield plane("the largest centre distance", (0.0, 0.0, -1.0), high, ("mm", PER_MM))
    yield plane("clearance of the rims", (-0.5, -0.5, 1.0), -rules.clearance_mm, ("mm", PER_MM))
    if not rules.crossed and rules.least_wrap_deg > 0:
        off = radians(90 - rules.least_wrap_deg / 2)
        per_degree = cos(off) * pi / 360 * spot.sizes.centre_mm * PER_MM
        yield plane("wrap of the driver", (0.5, -0.5, sin(off)), 0.0, ("degree", per_degree))
        yield plane("wrap of the driven", (-0.5, 0.5, sin(off)), 0.0, ("degree", per_degree))


def _windows(variables: Variables, rules: StageProblem, spots: tuple[Spot, ...]) -> Iterator[Row]:
    window = variables.candidate.stages[spots[0].stage].belt.window_mm
    limit = Limit(f"{rules.key}: travel left for the positions' own centre distances", "", "mm", PER_MM)
    for one, other in permutations(spots, 2):
        if one.centre == other.centre:  # one for all, or neither moves
            continue
        line, constant = np.zeros(variables.measured), window - WINDOW_MARGIN_MM
        for spot, sign in ((one, -1.0), (other, 1.0)):
            if spot.centre >= 0:
                line[spot.centre] += sign * PER_MM
            else:
                constant += sign * spot.sizes.centre_mm
        yield Row(line, constant * PER_MM, limit, of="measures")


def _rises(variables: Variables, side: SideSizes, sign: float, steps: list[tuple[int, float]]) -> Iterator[Row]:
    """Yield neighbouring steps: equal where they were, else apart by the rise."""
    for number, ((low, below), (high, above)) in enumerate(pairwise(steps), 1):
        if max(low, high) < 0:
            continue
        if abs(above - below) <= 1e-9:
            yield _alike(variables.size, (low, below), (high, above))
            continue
        line, constant = np.zeros(variables.measured), -side.rise_mm
        for index, size, turn in ((low, below, -sign), (high, above, sign)):
            if index >= 0:
                line[index] = turn * PER_MM
            else:
                constant += turn * size
        limit = Limit(f"{side.key}: least rise between steps", f"{number} and {number + 1}", "mm", PER_MM)
        yield Row(line, constant * PER_MM, limit, of="measures")


def _alike(size: int, *steps: tuple[int, float]) -> Row:
    line, constant = np.zeros(size), 0.0
    for (index, known), sign in zip(steps, (1.0, -1.0), strict=True):
        if index >= 0:
            line[index] = sign
        else:
            constant += sign * log(known)
    return Row(line, constant, equal=True)
