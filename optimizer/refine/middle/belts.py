"""Rows of what either belt and every cone of a machine with a middle shaft leave the sizes."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise, permutations
from math import cos, inf, pi, radians, sin

import numpy as np

from optimizer.refine.middle.variables import MiddleVariables
from optimizer.refine.rows import Limit, Row
from optimizer.refine.stage_rows import PER_MM, WINDOW_MARGIN_MM
from optimizer.refine.variables import Spot

__all__ = ["belt_rows", "cone_rows"]

Term = tuple[int, float, float]
"""Where a measure stands, -1 for a constant; its value then [mm]; its factor."""


def belt_rows(variables: MiddleVariables) -> Iterator[Row]:
    """Yield the limits of every level's centre distance, of rims and wrap, and either belt's window."""
    coupling = variables.problem.coupling
    for number, (rules, spots) in enumerate(zip(variables.problem.stages, variables.spots, strict=True)):
        low, high = rules.centre_mm
        off = radians(90 - rules.least_wrap_deg / 2)
        for spot in spots:
            if spot.centre < 0:
                continue
            place = f"level {spot.position + 1}"
            driver, driven, centre = _terms(spot)
            lines = [
                ("the smallest centre distance", (0.0, 0.0, 1.0), -low, ("mm", PER_MM)),
                ("the largest centre distance", (0.0, 0.0, -1.0), high, ("mm", PER_MM)),
                ("clearance of the rims", (-0.5, -0.5, 1.0), -rules.clearance_mm, ("mm", PER_MM)),
            ]
            if not rules.crossed and rules.least_wrap_deg > 0:
                degree = ("degree", cos(off) * pi / 360 * spot.sizes.centre_mm * PER_MM)
                lines += [
                    ("wrap of the driver", (0.5, -0.5, sin(off)), 0.0, degree),
                    ("wrap of the driven", (-0.5, 0.5, sin(off)), 0.0, degree),
                ]
            for name, parts, room, unit in lines:
                terms = [(*at, part) for at, part in zip((driver, driven, centre), parts, strict=True)]
                yield _row(variables, terms, room, Limit(f"{rules.key}: {name}", place, *unit))
            if coupling is not None:
                yield from _turning_round(variables, number, centre)
        yield from _windows(variables, number)


def cone_rows(variables: MiddleVariables) -> Iterator[Row]:
    """Yield that neighbouring steps of a cone which are not equal differ by the least rise."""
    for cone, row in zip(variables.cones, variables.places, strict=True):
        if not cone.ordered:
            continue
        steps = [(place, step.size_mm) for place, step in zip(row, cone.steps, strict=True)]
        for number, (before, after) in enumerate(pairwise(steps), 1):
            if max(before[0], after[0]) < 0 or before[0] == after[0]:
                continue
            limit = Limit(f"{cone.sides[0].key}: least rise between steps", f"{number} and {number + 1}", "mm", PER_MM)
            yield _row(variables, [(*before, -cone.sign), (*after, cone.sign)], -cone.rise_mm, limit)


def _windows(variables: MiddleVariables, number: int) -> Iterator[Row]:
    """Yield that every two levels' own centre distances lie within the belt's window."""
    window = variables.candidate.stages[number].belt.window_mm - WINDOW_MARGIN_MM
    key = variables.problem.stages[number].key
    limit = Limit(f"{key}: travel left for the levels' own centre distances", "", "mm", PER_MM)
    for one, other in permutations(variables.spots[number], 2):
        if max(one.centre, other.centre) >= 0:
            yield _row(variables, [(*_terms(one)[2], -1.0), (*_terms(other)[2], 1.0)], window, limit)


def _turning_round(variables: MiddleVariables, number: int, centre: tuple[int, float]) -> Iterator[Row]:
    """Yield that what the belt needs over its life lies within where the shared movement turns round."""
    coupling = variables.problem.coupling
    assert coupling is not None
    shared, belt = coupling.belts[number], variables.candidate.stages[number].belt
    low, high = shared.path.span_mm
    inward, outward = (belt.inward_mm, belt.outward_mm) if shared.moves else (0.0, 0.0)
    limit = Limit(f"{coupling.key}: where the movement turns round", "", "mm", PER_MM)
    yield _row(variables, [(*centre, 1.0)], -low - inward - WINDOW_MARGIN_MM, limit)
    if high < inf:
        yield _row(variables, [(*centre, -1.0)], high - outward - WINDOW_MARGIN_MM, limit)


def _terms(spot: Spot) -> tuple[tuple[int, float], tuple[int, float], tuple[int, float]]:
    return (
        (spot.driver, spot.sizes.driver_mm),
        (spot.driven, spot.sizes.driven_mm),
        (spot.centre, spot.sizes.centre_mm),
    )


def _row(variables: MiddleVariables, terms: list[Term], constant: float, limit: Limit) -> Row:
    line = np.zeros(variables.measured)
    for index, known_mm, part in terms:
        if index >= 0:
            line[index] += part * PER_MM
        else:
            constant += part * known_mm
    return Row(line, constant * PER_MM, limit, of="measures")
