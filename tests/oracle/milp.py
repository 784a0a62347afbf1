"""The design problem over point sizes as a mixed-integer linear program, as strong as a modeller would make it.

One binary variable stands for each pair of sizes in each position, one for each belt. Centre distances are cut into
cells as wide as the window, so that the pairs of a stage lie in two neighbouring cells, beside the exact rows; cones
are held by cumulative rows, one a size; unevenness is half the sum of the stages' own spreads about a common ratio.
Pairs that no place of the series can use are left out beforehand.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import ceil, inf, isfinite, log, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records.candidate import StageSizes
from optimizer.records.problem import Problem, SideSizes, StageProblem
from tests.oracle.choices import Variant, sizes_of, variants
from tests.oracle.plain import end_miss, unevenness
from tests.oracle.program import Program, Unit

__all__ = ["Best", "Formulation", "best_by_milp", "formulate", "j_of_design", "tables_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
EDGE_LOG = 1e-9
EDGE_MM = 1e-6
CELLS_LEAST, CELLS_MOST = 60, 400
"""Cells of centre distance that a stage is cut into: with fewer they only burden the solvers, which was tried."""


class Best(NamedTuple):
    """The best design there is."""

    j: float
    stages: tuple[StageSizes, ...]


class Block(NamedTuple):
    """The choices of one position with one belt: a binary variable for every pair."""

    variables: Ints
    rows: Ints
    """Which pairs of the position's table they stand for."""
    logs: Floats
    centres_mm: Floats
    drivers_mm: Floats
    drivens_mm: Floats


class Formulation(NamedTuple):
    """A program with what its variables stand for."""

    problem: Problem
    tables: list[list[Variant]]
    program: Program
    blocks: list[list[list[Block]]]
    """By stage, position, belt."""

    def stages(self, values: Floats) -> tuple[StageSizes, ...]:
        """Return the design that a solution stands for.

        Raises
        ------
        ValueError
            If a choice is left open.
        """
        return tuple(self._chosen(stage, values) for stage in range(len(self.blocks)))

    def _chosen(self, stage: int, values: Floats) -> StageSizes:
        picks = []
        for blocks in self.blocks[stage]:
            best = [float(values[block.variables].max(initial=0.0)) for block in blocks]
            number = int(np.argmax(best))
            if best[number] < 0.999:
                raise ValueError("the solver left a choice open")
            block = blocks[number]
            picks.append((number, int(block.rows[np.argmax(values[block.variables])])))
        numbers = {number for number, _ in picks}
        if len(numbers) > 1:
            raise ValueError("the solver put two belts on one stage")
        variant = self.tables[stage][numbers.pop()]
        return sizes_of(variant.belt, [variant.rows[position][row] for position, (_, row) in enumerate(picks)])


class StageColumns(NamedTuple):
    """Continuous variables of a stage, by position."""

    logs: list[int]
    centres: list[int]


def tables_of(problem: Problem) -> list[list[Variant]]:
    """Return for every stage the belts with the pairs that fit, worked out apart from the package."""
    return [variants(rules, count) for rules, count in zip(problem.stages, problem.layout.positions, strict=True)]


def formulate(problem: Problem, tables: list[list[Variant]]) -> Formulation:
    """Return the program of a problem."""
    program = Program()
    blocks: list[list[list[Block]]] = []
    columns = []
    for stage, table in enumerate(tables):
        blocks.append(_pick(problem, program, stage, tables))
        columns.append(_stage(program, table, blocks[-1]))
        _cones(program, problem.stages[stage], blocks[-1])
    _moving(problem, program, blocks, columns)
    series = _Series(problem, program, [column.logs for column in columns])
    series.order()
    series.bands()
    series.ends()
    series.evenness()
    return Formulation(problem, tables, program, blocks)


def best_by_milp(problem: Problem) -> Best | None:
    """Return a best design of a problem whose sizes are all points, or nothing where none keeps the rules.

    The solver's answer is not taken at its word: J is worked out again from the pairs that it chose.

    Raises
    ------
    RuntimeError
        If the solver fails, or its J is not that of its choice.
    """
    tables = tables_of(problem)
    if not all(tables):
        return None
    form = formulate(problem, tables)
    values = form.program.solve()
    if values is None:
        return None
    stages = form.stages(values)
    j = j_of_design(problem, stages)
    said = float(np.dot(form.program.cost, values))
    if abs(j - said) > 2e-8:
        raise RuntimeError(f"the solver says {said!r}, its choice gives {j!r}")
    return Best(j, stages)


def j_of_design(problem: Problem, stages: Sequence[StageSizes]) -> float:
    """Return J of a design, from its sizes and plain arithmetic."""
    targets = problem.targets
    logs = []
    for place in problem.layout.places:
        speed = log(problem.motor_rpm * problem.gain_out)
        for rules, sizes, position in zip(problem.stages, stages, place, strict=True):
            chosen = sizes.positions[position]
            speed += log(rules.gain * (1 - rules.slip) * chosen.driver_mm / chosen.driven_mm)
        logs.append(speed)
    miss = end_miss(logs, targets.lo_rpm, targets.hi_rpm)
    return targets.end_weight * miss + targets.unevenness_weight * unevenness(logs, targets.ratio_least)


# Sizes, belts, centre distances


def _pick(problem: Problem, program: Program, stage: int, tables: list[list[Variant]]) -> list[list[Block]]:
    positions = []
    for position in range(problem.layout.positions[stage]):
        low, high = _useful(problem, tables, stage, position)
        row = []
        for variant in tables[stage]:
            pairs = variant.rows[position]
            logs = np.array([pair.log_ratio for pair in pairs])
            rows = np.flatnonzero((logs >= low) & (logs <= high))
            row.append(
                Block(
                    variables=program.binaries(rows.size),
                    rows=rows,
                    logs=logs[rows],
                    centres_mm=np.array([pair.centre_mm for pair in pairs])[rows],
                    drivers_mm=np.array([pair.driver_mm for pair in pairs])[rows],
                    drivens_mm=np.array([pair.driven_mm for pair in pairs])[rows],
                )
            )
        positions.append(row)
    return positions


def _useful(problem: Problem, tables: list[list[Variant]], stage: int, position: int) -> tuple[float, float]:
    """Return between which log ratios a position can lie, by the spans of the other stages and what the ends may be."""
    targets, base = problem.targets, _base(problem)
    spans = [_span(table) for table in tables]
    least = max(
        log(targets.lo_rpm) - targets.end_miss_most, log(targets.never_below_rpm) if targets.never_below_rpm else -inf
    )
    most = min(
        log(targets.hi_rpm) + targets.end_miss_most,
        log(targets.never_above_rpm) if isfinite(targets.never_above_rpm) else inf,
    )
    step = log(1 + targets.distinct)
    lower = least + step * problem.layout.offsets[stage][position] - base
    upper = most - step * (problem.layout.offsets[stage][-1] - problem.layout.offsets[stage][position]) - base
    lower -= sum(high for other, (_, high) in enumerate(spans) if other != stage)
    upper -= sum(low for other, (low, _) in enumerate(spans) if other != stage)
    return lower - 1e-6, upper + 1e-6


def _span(table: list[Variant]) -> tuple[float, float]:
    logs = [pair.log_ratio for variant in table for row in variant.rows for pair in row]
    return min(logs), max(logs)


def _stage(program: Program, table: list[Variant], positions: list[list[Block]]) -> StageColumns:
    uses = program.binaries(len(table))
    program.row(uses, np.ones(uses.size), 1, 1)
    centres_mm = np.concatenate([block.centres_mm for row in positions for block in row])
    span = (float(centres_mm.min(initial=1e6)), float(centres_mm.max(initial=0.0)))
    lowest = program.variable(*span, unit=Unit.MM)
    columns = StageColumns([], [])
    for row in positions:
        for block, use in zip(row, uses, strict=True):
            program.row([*block.variables, use], [*np.ones(block.variables.size), -1], 0, 0)
        variables = np.concatenate([block.variables for block in row])
        for kept, unit, parts in (
            (columns.logs, Unit.LOG, [block.logs for block in row]),
            (columns.centres, Unit.MM, [block.centres_mm for block in row]),
        ):
            values = np.concatenate(parts)
            column = program.variable(float(values.min(initial=0.0)), float(values.max(initial=0.0)), unit=unit)
            program.row([*variables, column], [*values, -1], 0, 0, unit=unit)
            kept.append(column)
        program.row([columns.centres[-1], lowest], [1, -1], low=0, unit=Unit.MM)
        windows = [-variant.belt.window_mm - EDGE_MM for variant in table]
        program.row([columns.centres[-1], lowest, *uses], [1, -1, *windows], high=0, unit=Unit.MM)
    for number, variant in enumerate(table):
        _cells(program, variant.belt.window_mm, int(uses[number]), [row[number] for row in positions])
    return columns


def _cells(program: Program, window_mm: float, use: int, blocks: Sequence[Block]) -> None:
    """Put the pairs of a stage into two neighbouring cells of centre distance, each a little wider than the window."""
    every = np.concatenate([block.centres_mm for block in blocks])
    if not every.size:
        return
    start, width = every.min(), window_mm + EDGE_MM
    width = max(width, (every.max() - start) / CELLS_MOST)
    number = ceil((every.max() - start) / width) + 1
    if number < CELLS_LEAST:
        return
    first = program.binaries(number)
    program.row([*first, use], [*np.ones(number), -1], 0, 0)
    for block in blocks:
        cell = np.floor((block.centres_mm - start) / width).astype(np.int64)
        for k in np.unique(cell):
            inside = block.variables[cell == k]
            around = first[[k]] if k == 0 else first[[k - 1, k]]
            program.row([*inside, *around], [*np.ones(inside.size), *-np.ones(around.size)], high=0)


def _cones(program: Program, rules: StageProblem, positions: list[list[Block]]) -> None:
    """Let the sizes of a cone run one way: from each size up, no more of the lower position than of the upper."""
    _one_way(program, rules.driver, [[(b.variables, b.drivers_mm) for b in row] for row in positions])
    _one_way(program, rules.driven, [[(b.variables, -b.drivens_mm) for b in row] for row in positions])


def _one_way(program: Program, side: SideSizes, positions: list[list[tuple[Ints, Floats]]]) -> None:
    if not side.cone or len(positions) < 2:
        return
    sizes = np.unique(np.concatenate([values for row in positions for _, values in row]))
    above: list[list[int]] = []
    for row in positions:
        variables = np.concatenate([part for part, _ in row])
        values = np.concatenate([part for _, part in row])
        columns: list[int] = []
        for size in sizes[:0:-1]:  # share of the position that has at least this size, from the largest down
            column = program.variable(0, 1, unit=Unit.COUNT)
            this = variables[values == size]
            before = columns[-1:]
            program.row([*this, *before, column], [*np.ones(this.size + len(before)), -1], 0, 0)
            columns.append(column)
        above.append(columns)
    for below, here in pairwise(positions) if side.rise_mm > 0 else ():
        _risen(program, side.rise_mm, below, here)
    for lower, upper in pairwise(above):
        for one, other in zip(lower, upper, strict=True):
            program.row([other, one], [1, -1], low=0)


def _risen(
    program: Program, rise_mm: float, lower: list[tuple[Ints, Floats]], upper: list[tuple[Ints, Floats]]
) -> None:
    """Bar neighbouring sizes that are neither equal nor a step apart."""
    one, other = (tuple(np.concatenate(column) for column in zip(*row, strict=True)) for row in (lower, upper))
    for size in np.unique(one[1]):
        near = other[0][(other[1] > size + EDGE_MM) & (other[1] < size + rise_mm - EDGE_MM)]
        here = one[0][one[1] == size]
        if near.size:
            program.row([*here, *near], np.ones(here.size + near.size), high=1)


# Speeds


def _moving(
    problem: Problem, program: Program, positions: list[list[list[Block]]], columns: list[StageColumns]
) -> None:
    """Hold belts, rims and shafts within their speeds while every shaft before runs its fastest."""
    entering: list[int] = []
    known = log(problem.motor_rpm)
    for rules, rows, column in zip(problem.stages, positions, columns, strict=True):
        known += log(rules.gain)
        last = column.logs[-1]
        for row, ratio in zip(rows, column.logs, strict=True):
            variables = np.concatenate([block.variables for block in row])
            driver = np.concatenate([block.drivers_mm for block in row])
            driven = np.concatenate([block.drivens_mm for block in row])
            for sizes, limit, shafts in (
                (driver, rules.belt_speed_m_s, entering),
                (driver + rules.driver.outside_shift_mm, rules.driver.rim_speed_m_s, entering),
                # every step of the driven cone turns as fast as its shaft does at the last position
                (driven + rules.driven.outside_shift_mm, rules.driven.rim_speed_m_s, [*entering, last]),
            ):
                if isfinite(limit):
                    most = log(limit * 60_000 / pi) + EDGE_LOG - known
                    values = [*np.log(sizes), *np.ones(len(shafts))]
                    program.row([*variables, *shafts], values, high=most, unit=Unit.LOG)
            if isfinite(rules.driven_rpm):
                most = log(rules.driven_rpm) + EDGE_LOG - known
                program.row([ratio, *entering], np.ones(1 + len(entering)), high=most, unit=Unit.LOG)
        # the speeds rise with the position, so the last position of a stage is its fastest
        entering.append(last)


def _base(problem: Problem) -> float:
    return log(problem.motor_rpm * problem.gain_out) + sum(log(rules.gain) for rules in problem.stages)


class _Series:
    """Writes the rows of the speed series."""

    def __init__(self, problem: Problem, program: Program, logs: list[list[int]]) -> None:
        self.layout, self.targets, self.program, self.logs = problem.layout, problem.targets, program, logs
        self.base = _base(problem)
        self.speeds = [[logs[stage][p] for stage, p in enumerate(place)] for place in problem.layout.places]

    def order(self) -> None:
        """Keep neighbouring speeds apart, the outer ones within their limits."""
        least = max(log(1 + self.targets.distinct) - EDGE_LOG, 2 * EDGE_LOG)
        for lower, upper in pairwise(self.speeds):
            rising = [c for c in upper if c not in lower]
            falling = [c for c in lower if c not in upper]
            columns, values = [*rising, *falling], [*np.ones(len(rising)), *-np.ones(len(falling))]
            self.program.row(columns, values, least, unit=Unit.LOG)
        if isfinite(self.targets.never_above_rpm):
            self._speed(self.speeds[-1], high=log(self.targets.never_above_rpm) + EDGE_LOG)
        if self.targets.never_below_rpm > 0:
            self._speed(self.speeds[0], low=log(self.targets.never_below_rpm) - EDGE_LOG)

    def bands(self) -> None:
        """Meet the wants: a speed is counted only where it lies between the edges."""
        wanted = [band for band in self.targets.bands if band.want > 0]
        counts = [self.program.binaries(len(self.speeds)) for _ in wanted]
        for band, counted in zip(wanted, counts, strict=True):
            low = log(band.low_rpm) - EDGE_LOG
            high = log(band.high_rpm) + (EDGE_LOG if band.top else -EDGE_LOG)
            for speed, inside in zip(self.speeds, counted, strict=True):
                self._inside(speed, int(inside), low - self.base, high - self.base)
            self.program.row(counted, np.ones(counted.size), low=band.want)
        edges = sorted((band.low_rpm, band.high_rpm) for band in wanted)
        if all(below[1] <= above[0] for below, above in pairwise(edges)):  # a speed lies in one of them at most
            for several in zip(*counts, strict=True):
                self.program.row(several, np.ones(len(several)), high=1)

    def ends(self) -> None:
        """Measure how far the ends are from where they should be."""
        targets = self.targets
        lo, hi = log(targets.lo_rpm), log(targets.hi_rpm)
        miss = self.program.variable(
            0, min(targets.end_miss_most + EDGE_LOG, 20.0), unit=Unit.LOG, cost=targets.end_weight
        )
        goals = [(self.speeds[0], lo), (self.speeds[-1], hi)]
        for speed, goal in goals if len(self.speeds) > 1 else [(self.speeds[0], (lo + hi) / 2)]:
            ones = [*np.ones(len(speed))]
            self.program.row([*speed, miss], [*ones, 1], low=goal - self.base, unit=Unit.LOG)
            self.program.row([*speed, miss], [*ones, -1], high=goal - self.base, unit=Unit.LOG)

    def evenness(self) -> None:
        """Measure the unevenness: half the sum of how far each stage spreads about a common ratio."""
        targets, program = self.targets, self.program
        if len(self.speeds) <= 2:
            return
        uneven = program.variable(
            0, min(targets.unevenness_most + EDGE_LOG, 20.0), unit=Unit.LOG, cost=targets.unevenness_weight
        )
        steepest = sum(program.high[row[-1]] - program.low[row[0]] for row in self.logs) / (len(self.speeds) - 1)
        ratio = program.variable(log(targets.ratio_least), max(steepest, log(targets.ratio_least)) + 1, unit=Unit.LOG)
        spreads: list[int] = []
        for row, offsets in zip(self.logs, self.layout.offsets, strict=True):
            if len(row) == 1:
                continue
            reach = 20.0 + offsets[-1] * program.high[ratio]
            least, most = (program.variable(-reach, reach, unit=Unit.LOG) for _ in range(2))
            for column, offset in zip(row, offsets, strict=True):
                program.row([column, ratio, most], [1, -offset, -1], high=0, unit=Unit.LOG)
                program.row([column, ratio, least], [1, -offset, -1], low=0, unit=Unit.LOG)
            spreads += [most, least]
        signs = [(-1.0) ** k for k in range(len(spreads))]
        program.row([uneven, *spreads], [2, *(-sign for sign in signs)], low=0, unit=Unit.LOG)

    def _speed(self, speed: list[int], low: float = -inf, high: float = inf) -> None:
        self.program.row(speed, np.ones(len(speed)), low - self.base, high - self.base, unit=Unit.LOG)

    def _inside(self, speed: list[int], inside: int, low: float, high: float) -> None:
        least = sum(self.program.low[column] for column in speed)
        most = sum(self.program.high[column] for column in speed)
        ones = [*np.ones(len(speed))]
        if most < low or least > high:
            self.program.high[inside] = 0.0
            return
        self.program.row([*speed, inside], [*ones, min(0.0, least - low)], low=min(least, low), unit=Unit.LOG)
        self.program.row([*speed, inside], [*ones, max(0.0, most - high)], high=max(most, high), unit=Unit.LOG)
