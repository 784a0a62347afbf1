"""A shared middle cone over point sizes as a mixed-integer linear program for a general solver.

A binary variable puts a choice of three sizes on a level. The speeds are put in order by one binary variable for every
speed and place; neighbouring places are at most the largest gap apart. Logarithms are written in thousandths, as in
`tests.truth.milp`. Wants and limits on what moves are left out: problems are asked without them.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, product
from math import log

from optimizer.records.middle import MiddleProblem
from optimizer.records.problem import BeltChoice
from tests.truth.middle import Level, Step, level_choices
from tests.truth.milp import THOUSANDTHS, Program, Terms, _sum

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
    levels = [[program.variable(0, 1, whole=True) for _ in rows] for _ in range(problem.levels[0])]
    for level in levels:
        program.row(dict.fromkeys(level, 1.0), 1, 1)
    for lower, upper in pairwise(levels):
        _rising(problem, program, rows, lower, upper)
    for number in (0, 1):
        lowest = program.variable(0, 10_000)
        for level in levels:
            centre = {variable: row[number].centre_mm for variable, row in zip(level, rows, strict=True)}
            program.row({**centre, lowest: -1.0}, 0, belts[number].window_mm + TOLERANCE_MM)
    speeds = _speeds(problem, levels, rows)
    _ends(problem, program, speeds)
    _gap(problem, program, speeds, rows)
    values = program.solve()
    if values is None:
        return None
    return sum(cost * value for cost, value in zip(program.cost, values, strict=True)) / THOUSANDTHS


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
            program.row({variable: 1.0, **dict.fromkeys(barred, 1.0)}, high=1)


def _sizes(row: Row) -> tuple[float, float, float]:
    return row[0].driver.size_mm, row[0].driven.size_mm, row[1].driven.size_mm


def _speeds(
    problem: MiddleProblem, levels: Sequence[Sequence[int]], rows: Sequence[Row]
) -> dict[tuple[int, int], Terms]:
    """Return the logarithm of the speed of every position, less that of the motor, in thousandths."""
    first, second = problem.stages
    one = [THOUSANDTHS * log(a / b * (1 - first.slip)) for a, b, _ in map(_sizes, rows)]
    other = [THOUSANDTHS * log(b / c * (1 - second.slip)) for _, b, c in map(_sizes, rows)]
    return {
        (i, j): _sum([dict(zip(levels[i], one, strict=True)), dict(zip(levels[j], other, strict=True))])
        for i, j in problem.positions
    }


def _base(problem: MiddleProblem) -> float:
    return log(problem.motor_rpm * problem.stages[0].gain * problem.stages[1].gain * problem.gain_out)


def _ends(problem: MiddleProblem, program: Program, speeds: dict[tuple[int, int], Terms]) -> None:
    targets = problem.targets
    miss = program.variable(0, THOUSANDTHS * targets.end_miss_most, cost=targets.end_weight)
    for position, goal in ((problem.slowest, targets.lo_rpm), (problem.fastest, targets.hi_rpm)):
        there = THOUSANDTHS * (log(goal) - _base(problem))
        program.row({**speeds[position], miss: 1.0}, there)
        program.row({**speeds[position], miss: -1.0}, high=there)


def _gap(problem: MiddleProblem, program: Program, speeds: dict[tuple[int, int], Terms], rows: Sequence[Row]) -> None:
    """Put the speeds in order, with neighbours at most the largest gap apart."""
    count = len(speeds)
    gap = program.variable(0, 10 * THOUSANDTHS, cost=problem.targets.unevenness_weight)
    places = [program.variable(-10 * THOUSANDTHS, 10 * THOUSANDTHS) for _ in range(count)]
    reach = [min(a / b for a, b, _ in map(_sizes, rows)), max(a / b for a, b, _ in map(_sizes, rows))]
    reach = [
        reach[0] * min(b / c for _, b, c in map(_sizes, rows)),
        reach[1] * max(b / c for _, b, c in map(_sizes, rows)),
    ]
    wide = THOUSANDTHS * log(reach[1] / reach[0])
    at = {}
    for position, speed in speeds.items():
        # a position is faster than every other whose first belt is no higher and whose second is no lower
        slower = sum(i <= position[0] and j >= position[1] for i, j in speeds) - 1
        faster = sum(i >= position[0] and j <= position[1] for i, j in speeds) - 1
        for place in range(count):
            if slower <= place < count - faster:
                at[position, place] = here = program.variable(0, 1, whole=True)
                apart = _sum([speed, {places[place]: -1.0}])
                program.row({**apart, here: wide}, high=wide)
                program.row({**apart, here: -wide}, low=-wide)
        program.row({at[position, place]: 1.0 for place in range(count) if (position, place) in at}, 1, 1)
    for place in range(count):
        program.row({at[position, place]: 1.0 for position in speeds if (position, place) in at}, 1, 1)
    for lower, upper in pairwise(places):
        program.row({upper: 1.0, lower: -1.0}, 0)
        program.row({upper: 1.0, lower: -1.0, gap: -1.0}, high=0)
