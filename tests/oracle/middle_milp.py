"""A shared middle cone over point sizes as a mixed-integer linear program for a general solver.

A binary variable puts a choice of three sizes on a level. The speeds are put in order by one binary variable for every
speed and place; neighbouring places are at most the largest gap apart. Wants and limits on what moves are left out:
problems are asked without them.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, product
from math import log

import numpy as np

from optimizer.records.middle import MiddleProblem
from optimizer.records.problem import BeltChoice
from tests.oracle.middle import Level, Step, level_choices
from tests.oracle.program import Program, Terms, Unit

__all__ = ["least_f_by_milp"]

TOLERANCE_MM = 1e-6
Row = tuple[Level, Level]


def least_f_by_milp(problem: MiddleProblem) -> float | None:
    """Return the least F of a machine with a shared cone and no wants, or nothing where there is no design."""
    found = [
        value
        for one, other in product(problem.stages[0].belts, problem.stages[1].belts)
        if (value := _on_belts(problem, (one, other))) is not None
    ]
    return min(found, default=None)


def _on_belts(problem: MiddleProblem, belts: tuple[BeltChoice, BeltChoice]) -> float | None:
    first, second = problem.stages
    sides = [[Step(size, "ready") for size in side.ready_mm] for side in (first.driver, first.driven, second.driven)]
    rows: list[Row] = [
        (lower, upper)
        for lower in level_choices(first, belts[0], sides[0], sides[1])
        for upper in level_choices(second, belts[1], sides[1], sides[2])
        if lower.driven == upper.driver
    ]
    if not rows:
        return None
    program = Program()
    levels = [program.binaries(len(rows)).tolist() for _ in range(problem.levels[0])]
    for level in levels:
        program.sum_row(dict.fromkeys(level, 1.0), 1, 1)
    for lower, upper in pairwise(levels):
        _rising(problem, program, rows, lower, upper)
    for number in (0, 1):
        lowest = program.variable(0, 10_000, unit=Unit.MM)
        for level in levels:
            centre = {variable: row[number].centre_mm for variable, row in zip(level, rows, strict=True)}
            program.sum_row({**centre, lowest: -1.0}, 0, belts[number].window_mm + TOLERANCE_MM, unit=Unit.MM)
    speeds = _speeds(problem, levels, rows)
    _ends(problem, program, speeds)
    _gap(problem, program, speeds, rows)
    values = program.solve()
    if values is None:
        return None
    return float(np.dot(program.cost, values))


def _rising(
    problem: MiddleProblem, program: Program, rows: Sequence[Row], lower: Sequence[int], upper: Sequence[int]
) -> None:
    first, second = problem.stages
    sides = ((first.driver, 1), (first.driven, -1), (second.driven, 1))
    for variable, row in zip(lower, rows, strict=True):
        barred = [
            other
            for other, above in zip(upper, rows, strict=True)
            if any(
                side.cone and rise != 0 and (rise < 0 or rise < side.rise_mm - TOLERANCE_MM)
                for (side, sign), a, b in zip(sides, _sizes(row), _sizes(above), strict=True)
                for rise in (sign * (b - a),)
            )
            or _sizes(above)[0] / _sizes(above)[1] < _sizes(row)[0] / _sizes(row)[1]
            or _sizes(above)[1] / _sizes(above)[2] > _sizes(row)[1] / _sizes(row)[2]
        ]
        if barred:
            program.sum_row({variable: 1.0, **dict.fromkeys(barred, 1.0)}, high=1)


def _sizes(row: Row) -> tuple[float, float, float]:
    return row[0].driver.size_mm, row[0].driven.size_mm, row[1].driven.size_mm


def _speeds(
    problem: MiddleProblem, levels: Sequence[Sequence[int]], rows: Sequence[Row]
) -> dict[tuple[int, int], Terms]:
    """Return the logarithm of the speed of every position, less that of the motor."""
    first, second = problem.stages
    one = [log(a / b * (1 - first.slip)) for a, b, _ in map(_sizes, rows)]
    other = [log(b / c * (1 - second.slip)) for _, b, c in map(_sizes, rows)]
    return {
        (i, j): _sum(dict(zip(levels[i], one, strict=True)), dict(zip(levels[j], other, strict=True)))
        for i, j in problem.positions
    }


def _sum(one: Terms, other: Terms) -> Terms:
    return {variable: one.get(variable, 0.0) + other.get(variable, 0.0) for variable in {**one, **other}}


def _base(problem: MiddleProblem) -> float:
    return log(problem.motor_rpm * problem.stages[0].gain * problem.stages[1].gain * problem.gain_out)


def _ends(problem: MiddleProblem, program: Program, speeds: dict[tuple[int, int], Terms]) -> None:
    targets = problem.targets
    miss = program.variable(0, targets.end_miss_most, unit=Unit.LOG, cost=targets.end_weight)
    for position, goal in ((problem.slowest, targets.lo_rpm), (problem.fastest, targets.hi_rpm)):
        there = log(goal) - _base(problem)
        program.sum_row({**speeds[position], miss: 1.0}, there, unit=Unit.LOG)
        program.sum_row({**speeds[position], miss: -1.0}, high=there, unit=Unit.LOG)


def _gap(problem: MiddleProblem, program: Program, speeds: dict[tuple[int, int], Terms], rows: Sequence[Row]) -> None:
    """Put the speeds in order, with neighbours at most the largest gap apart."""
    count = len(speeds)
    gap = program.variable(0, 10, unit=Unit.LOG, cost=problem.targets.unevenness_weight)
    places = [program.variable(-10, 10, unit=Unit.LOG) for _ in range(count)]
    reach = [min(a / b for a, b, _ in map(_sizes, rows)), max(a / b for a, b, _ in map(_sizes, rows))]
    reach = [
        reach[0] * min(b / c for _, b, c in map(_sizes, rows)),
        reach[1] * max(b / c for _, b, c in map(_sizes, rows)),
    ]
    wide = log(reach[1] / reach[0])
    at = {}
    for position, speed in speeds.items():
        # a position is faster than every other whose first belt is no higher and whose second is no lower
        slower = sum(i <= position[0] and j >= position[1] for i, j in speeds) - 1
        faster = sum(i >= position[0] and j <= position[1] for i, j in speeds) - 1
        for place in range(count):
            if slower <= place < count - faster:
                at[position, place] = here = int(program.binaries(1)[0])
                apart = _sum(speed, {places[place]: -1.0})
                program.sum_row({**apart, here: wide}, high=wide, unit=Unit.LOG)
                program.sum_row({**apart, here: -wide}, low=-wide, unit=Unit.LOG)
        program.sum_row({at[position, place]: 1.0 for place in range(count) if (position, place) in at}, 1, 1)
    for place in range(count):
        program.sum_row({at[position, place]: 1.0 for position in speeds if (position, place) in at}, 1, 1)
    for lower, upper in pairwise(places):
        program.sum_row({upper: 1.0, lower: -1.0}, 0, unit=Unit.LOG)
        program.sum_row({upper: 1.0, lower: -1.0, gap: -1.0}, high=0, unit=Unit.LOG)
