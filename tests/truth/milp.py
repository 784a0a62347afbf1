"""The design problem over point sizes as a mixed-integer linear program for a general solver.

One binary variable chooses the belt of a stage (with the placing of kept cones), one each pair of every position.
Logarithms are written in thousandths, so that the solver's own tolerance of 1e-7 is 1e-10 of a logarithm. The
solver's answer is never taken at its word: J is worked out again from the pairs it chose.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import inf, isfinite, log, pi
from typing import NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from optimizer.records.candidate import StageSizes
from optimizer.records.problem import Problem
from tests.truth.choices import Pair, Variant, sizes_of, variants
from tests.truth.plain import end_miss, unevenness

__all__ = ["Best", "best_by_milp"]

THOUSANDTHS = 1000.0
TOLERANCE_LOG = 1e-9
TOLERANCE_MM = 1e-6

Terms = dict[int, float]


class Best(NamedTuple):
    """The best design there is, or nothing where there is none."""

    j: float
    stages: tuple[StageSizes, ...]


class Choice(NamedTuple):
    """One binary variable that puts a pair in a position."""

    variable: int
    variant: int
    pair: Pair


class Program:
    """Variables and rows of a mixed-integer program in the making."""

    def __init__(self) -> None:
        self.cost: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []
        self.whole: list[int] = []
        self.rows: list[tuple[Terms, float, float]] = []

    def variable(self, low: float, high: float, *, cost: float = 0.0, whole: bool = False) -> int:
        """Add a variable; return its number."""
        self.cost.append(cost)
        self.low.append(low)
        self.high.append(high)
        self.whole.append(int(whole))
        return len(self.cost) - 1

    def row(self, terms: Terms, low: float = -inf, high: float = inf) -> None:
        """Ask that a sum lies between two values."""
        self.rows.append((terms, low, high))

    def solve(self) -> list[float] | None:
        """Return the values of an optimum, or nothing where the rows cannot be met."""
        entries = [(r, c, v) for r, (terms, _, _) in enumerate(self.rows) for c, v in sorted(terms.items())]
        at, column, value = (list(part) for part in zip(*entries, strict=True))
        matrix = coo_array((value, (at, column)), shape=(len(self.rows), len(self.cost))).tocsr()
        limits = LinearConstraint(
            matrix, np.array([low for _, low, _ in self.rows]), np.array([high for _, _, high in self.rows])
        )
        for presolve in (True, False):
            answer = milp(
                np.array(self.cost),
                integrality=np.array(self.whole),
                bounds=Bounds(np.array(self.low), np.array(self.high)),
                constraints=limits,
                options={"mip_rel_gap": 0.0, "presolve": presolve},
            )
            if answer.status in (0, 2):
                break
        if answer.status == 2:
            return None
        if answer.status != 0:
            raise RuntimeError(f"the solver says: {answer.message}")
        return [float(v) for v in answer.x]


class Chain:
    """The program of one problem, built part by part."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.targets = problem.targets
        self.program = Program()
        self.variants: list[list[Variant]] = [
            variants(rules, count) for rules, count in zip(problem.stages, problem.layout.positions, strict=True)
        ]
        self.choices: list[list[list[Choice]]] = []
        self.base = log(problem.motor_rpm * problem.gain_out)
        self.base += sum(log(rules.gain) for rules in problem.stages)

    def build(self) -> None:
        """Write all variables and rows."""
        for stage in range(len(self.variants)):
            self._stage(stage)
            self._cones(stage)
        self._moving()
        speeds = [self._speed(place) for place in self.problem.layout.places]
        self._order(speeds)
        self._bands(speeds)
        self._ends(speeds)
        self._evenness(speeds)

    def chosen(self, values: Sequence[float]) -> tuple[StageSizes, ...]:
        """Return the stages that a solution stands for."""
        stages = []
        for stage, rows in enumerate(self.choices):
            picked = [max(row, key=lambda choice: values[choice.variable]) for row in rows]
            if any(values[choice.variable] < 0.999 for choice in picked):
                raise RuntimeError("the solver left a choice open")
            belt = self.variants[stage][picked[0].variant].belt
            stages.append(sizes_of(belt, [choice.pair for choice in picked]))
        return tuple(stages)

    def _stage(self, stage: int) -> None:
        program = self.program
        uses = [program.variable(0, 1, whole=True) for _ in self.variants[stage]]
        program.row(dict.fromkeys(uses, 1.0), 1, 1)
        lowest = program.variable(0, inf)
        rows = []
        for position in range(self.problem.layout.positions[stage]):
            row = [
                Choice(program.variable(0, 1, whole=True), number, pair)
                for number, variant in enumerate(self.variants[stage])
                for pair in variant.rows[position]
            ]
            for number, use in enumerate(uses):
                of_this = {choice.variable: 1.0 for choice in row if choice.variant == number}
                program.row({**of_this, use: -1.0}, 0, 0)
            centre = {choice.variable: choice.pair.centre_mm for choice in row}
            program.row({**centre, lowest: -1.0}, 0)
            window = {
                use: -variant.belt.window_mm - TOLERANCE_MM
                for use, variant in zip(uses, self.variants[stage], strict=True)
            }
            program.row({**centre, lowest: -1.0, **window}, high=0)
            rows.append(row)
        self.choices.append(rows)

    def _cones(self, stage: int) -> None:
        """Forbid neighbouring sizes that run the wrong way or differ by less than a step."""
        rules = self.problem.stages[stage]
        for lower, upper in pairwise(self.choices[stage]):
            if rules.driver.cone:
                self._rising(
                    [(c.pair.driver_mm, c.variable) for c in lower],
                    [(c.pair.driver_mm, c.variable) for c in upper],
                    rules.driver.rise_mm,
                )
            if rules.driven.cone:
                self._rising(
                    [(-c.pair.driven_mm, c.variable) for c in lower],
                    [(-c.pair.driven_mm, c.variable) for c in upper],
                    rules.driven.rise_mm,
                )

    def _rising(self, lower: list[tuple[float, int]], upper: list[tuple[float, int]], rise: float) -> None:
        for size in sorted({size for size, _ in lower}):
            terms = {variable: 1.0 for value, variable in lower if value == size}
            barred = {variable: 1.0 for value, variable in upper if _too_little(value - size, rise)}
            if barred:
                self.program.row({**terms, **barred}, high=1)

    def _speed(self, place: tuple[int, ...]) -> Terms:
        """Return the logarithm of a speed, less the constant part, in thousandths."""
        return _sum(self._logs(stage, position) for stage, position in enumerate(place))

    def _logs(self, stage: int, position: int) -> Terms:
        return {c.variable: THOUSANDTHS * c.pair.log_ratio for c in self.choices[stage][position]}

    def _moving(self) -> None:
        """Hold belts, rims and shafts within their speeds while every shaft before runs its fastest."""
        entering: Terms = {}
        known = log(self.problem.motor_rpm)
        for stage, rules in enumerate(self.problem.stages):
            known += log(rules.gain)
            for row in self.choices[stage]:
                belt: Terms = {}
                driver: Terms = {}
                driven: Terms = {}
                for choice in row:
                    pair = choice.pair
                    belt[choice.variable] = log(pair.driver_mm)
                    driver[choice.variable] = log(pair.driver_mm + rules.driver.outside_shift_mm)
                    driven[choice.variable] = log(pair.driven_mm + rules.driven.outside_shift_mm)
                self._below(belt, entering, known, _log_rpm_mm(rules.belt_speed_m_s))
                self._below(driver, entering, known, _log_rpm_mm(rules.driver.rim_speed_m_s))
                # every step of the driven cone turns as fast as its shaft does at the last position
                fastest = _sum([entering, self._logs(stage, len(self.choices[stage]) - 1)])
                self._below(driven, fastest, known, _log_rpm_mm(rules.driven.rim_speed_m_s))
                leaving = {c.variable: c.pair.log_ratio for c in row}
                self._below(leaving, entering, known, log(rules.driven_rpm) if rules.driven_rpm < inf else inf)
            # the speeds rise with the position, so the last position of a stage is its fastest
            entering = _sum([entering, self._logs(stage, len(self.choices[stage]) - 1)])

    def _below(self, terms: Terms, entering: Terms, known: float, most: float) -> None:
        if isfinite(most):
            scaled = {variable: THOUSANDTHS * value for variable, value in terms.items()}
            self.program.row(_sum([scaled, entering]), high=THOUSANDTHS * (most + TOLERANCE_LOG - known))

    def _order(self, speeds: list[Terms]) -> None:
        least = max(log(1 + self.targets.distinct) - TOLERANCE_LOG, 2 * TOLERANCE_LOG)
        for lower, upper in pairwise(speeds):
            self.program.row(_sum([upper, {v: -x for v, x in lower.items()}]), THOUSANDTHS * least)
        top, bottom = self.targets.never_above_rpm, self.targets.never_below_rpm
        if isfinite(top):
            self._edge(speeds[-1], high=log(top) + TOLERANCE_LOG)
        if bottom > 0:
            self._edge(speeds[0], low=log(bottom) - TOLERANCE_LOG)

    def _edge(self, speed: Terms, low: float = -inf, high: float = inf) -> None:
        self.program.row(speed, THOUSANDTHS * (low - self.base), THOUSANDTHS * (high - self.base))

    def _bands(self, speeds: list[Terms]) -> None:
        for band in self.targets.bands:
            low = THOUSANDTHS * (log(band.low_rpm) - TOLERANCE_LOG - self.base)
            edge = TOLERANCE_LOG if band.top else -TOLERANCE_LOG
            high = THOUSANDTHS * (log(band.high_rpm) + edge - self.base)
            counted: Terms = {}
            for place, speed in zip(self.problem.layout.places, speeds, strict=True):
                counted.update(self._counted(place, speed, low, high))
            if band.want > 0:
                self.program.row(counted, band.want)

    def _counted(self, place: tuple[int, ...], speed: Terms, low: float, high: float) -> Terms:
        """Return a sum that is 1 only where a speed lies between two edges."""
        if len(place) == 1:
            return {c.variable: 1.0 for c in self.choices[0][place[0]] if low <= THOUSANDTHS * c.pair.log_ratio <= high}
        least, most = self._reach(place)
        inside = self.program.variable(0, 1, whole=True)
        self.program.row(_sum([speed, {inside: min(0.0, least - low)}]), min(least, low))
        self.program.row(_sum([speed, {inside: max(0.0, most - high)}]), high=max(most, high))
        return {inside: 1.0}

    def _reach(self, place: tuple[int, ...]) -> tuple[float, float]:
        parts = [self._logs(stage, position).values() for stage, position in enumerate(place)]
        return sum(min(part) for part in parts), sum(max(part) for part in parts)

    def _ends(self, speeds: list[Terms]) -> None:
        targets = self.targets
        lo, hi = log(targets.lo_rpm), log(targets.hi_rpm)
        miss = self.program.variable(0, THOUSANDTHS * (targets.end_miss_most + TOLERANCE_LOG), cost=targets.end_weight)
        wanted = [(speeds[0], lo), (speeds[-1], hi)] if len(speeds) > 1 else [(speeds[0], (lo + hi) / 2)]
        for speed, goal in wanted:
            there = THOUSANDTHS * (goal - self.base)
            self.program.row(_sum([speed, {miss: 1.0}]), there)
            self.program.row(_sum([speed, {miss: -1.0}]), high=there)

    def _evenness(self, speeds: list[Terms]) -> None:
        targets = self.targets
        if len(speeds) <= 2:
            return
        cap = THOUSANDTHS * (targets.unevenness_most + TOLERANCE_LOG)
        uneven = self.program.variable(0, cap, cost=targets.unevenness_weight)
        start = self.program.variable(-inf, inf)
        slope = self.program.variable(THOUSANDTHS * log(targets.ratio_least), inf)
        for k, speed in enumerate(speeds):
            line = {start: -1.0, slope: -float(k)}
            self.program.row(_sum([speed, line, {uneven: 1.0}]), 0)
            self.program.row(_sum([speed, line, {uneven: -1.0}]), high=0)


def best_by_milp(problem: Problem) -> Best | None:
    """Return a best design of a problem whose sizes are all points, or nothing where none keeps the rules."""
    chain = Chain(problem)
    if not all(chain.variants):
        return None
    chain.build()
    values = chain.program.solve()
    if values is None:
        return None
    stages = chain.chosen(values)
    found = Best(_worth(problem, stages), stages)
    said = sum(c * v for c, v in zip(chain.program.cost, values, strict=True)) / THOUSANDTHS
    if abs(found.j - said) > 2e-8:
        raise RuntimeError(f"the solver says {said!r}, its choice gives {found.j!r}")
    return found


def _worth(problem: Problem, stages: Sequence[StageSizes]) -> float:
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


def _too_little(rise_mm: float, least_mm: float) -> bool:
    return rise_mm < -TOLERANCE_MM or TOLERANCE_MM < rise_mm < least_mm - TOLERANCE_MM


def _log_rpm_mm(speed_m_s: float) -> float:
    return log(speed_m_s * 60_000 / pi) if isfinite(speed_m_s) else inf


def _sum(parts: Iterable[Terms]) -> Terms:
    total: defaultdict[int, float] = defaultdict(float)
    for terms in parts:
        for variable, value in terms.items():
            total[variable] += value
    return dict(total)
