"""Random machines of any real diameters, thousands at a time.

A machine is drawn near a known one, or between it and the geometric series aimed at: belts, centre distances and noisy
ratios are drawn, and each pair is solved for its ratio. What breaks a rule is then thrown away.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import inf, log, pi, prod
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records.candidate import PositionSizes, StageSizes
from optimizer.records.problem import Problem, SideSizes, StageProblem
from optimizer.records.speeds import position_logs

__all__ = ["Drawn", "DrawnStage", "draw", "keeps", "machine", "only", "worth"]

Array = NDArray[np.float64]
HAIR_MM = 1e-9


class DrawnStage(NamedTuple):
    """One stage of many machines; a row a machine, a column a position."""

    belt: NDArray[np.intp]
    driver_mm: Array
    driven_mm: Array
    centre_mm: Array


Drawn = tuple[DrawnStage, ...]


def draw(problem: Problem, near: Sequence[StageSizes], rng: np.random.Generator, count: int) -> Drawn:
    """Return many machines, legal or not, strewn between a known machine and the geometric series aimed at."""
    targets = problem.targets
    lo, hi = log(targets.lo_rpm), log(targets.hi_rpm)
    step = (hi - lo) / max(1, problem.layout.speeds - 1)
    spread = rng.choice([0.0, 0.0005, 0.005, 0.03], size=count)[:, None]
    toward = rng.random((count, 1)) * rng.integers(0, 2, size=(count, 1))
    own = position_logs(problem, near)
    base = log(problem.motor_rpm * problem.gain_out * prod(rules.gain for rules in problem.stages))
    missing = (lo - base - sum(row[0] for row in own)) / len(own)
    shift = 0.3 * spread * rng.standard_normal((count, len(own)))
    shift -= shift.mean(axis=1, keepdims=True)
    stages = []
    for number, (rules, sizes) in enumerate(zip(problem.stages, near, strict=True)):
        offsets = np.array(problem.layout.offsets[number])
        ideal = own[number][0] + missing + step * offsets
        logs = np.array(own[number]) * (1 - toward) + ideal * toward
        logs = logs + shift[:, [number]] + spread * rng.standard_normal((count, len(offsets)))
        stages.append(_draw_stage(rules, sizes, rng, logs))
    return tuple(stages)


def keeps(problem: Problem, drawn: Drawn) -> NDArray[np.bool_]:
    """Return for every machine whether it keeps all hard rules."""
    good = np.ones(len(drawn[0].belt), dtype=bool)
    entering: Array | float = problem.motor_rpm
    for rules, stage in zip(problem.stages, drawn, strict=True):
        entering = entering * rules.gain
        good &= _stage_keeps(rules, stage)
        leaving = np.reshape(entering, (-1, 1)) * stage.driver_mm / stage.driven_mm * (1 - rules.slip)
        good &= leaving.max(axis=1) <= rules.driven_rpm
        good &= (_rim(stage.driver_mm, np.reshape(entering, (-1, 1))) <= rules.belt_speed_m_s).all(axis=1)
        entering = leaving.max(axis=1)
    return good & _series_keeps(problem, drawn)


def only(drawn: Drawn, good: NDArray[np.bool_]) -> Drawn:
    """Return the machines marked good."""
    return tuple(
        DrawnStage(
            stage.belt[good],
            stage.driver_mm[good],
            stage.driven_mm[good],
            stage.centre_mm[good],
        )
        for stage in drawn
    )


def worth(problem: Problem, drawn: Drawn) -> Array:
    """Return J of every machine."""
    targets = problem.targets
    logs = _logs(problem, drawn)
    return targets.end_weight * _end_miss(problem, logs) + targets.unevenness_weight * _unevenness(logs)


def machine(problem: Problem, drawn: Drawn, number: int) -> tuple[StageSizes, ...]:
    """Return the record of one of the machines."""
    return tuple(
        StageSizes(
            belt=rules.belts[int(stage.belt[number])],
            positions=tuple(
                PositionSizes(driver_mm=float(d), driven_mm=float(other), centre_mm=float(c))
                for d, other, c in zip(
                    stage.driver_mm[number], stage.driven_mm[number], stage.centre_mm[number], strict=True
                )
            ),
        )
        for rules, stage in zip(problem.stages, drawn, strict=True)
    )


def _length(driver: Array, driven: Array, centre: Array, *, crossed: bool) -> Array:
    if crossed:
        both = (driver + driven) / 2
        return 2 * np.sqrt(centre**2 - both**2) + both * (pi + 2 * np.arcsin(both / centre))
    gap = (driver - driven) / 2
    return 2 * np.sqrt(centre**2 - gap**2) + pi * (driver + driven) / 2 + 2 * gap * np.arcsin(gap / centre)


def _draw_stage(rules: StageProblem, near: StageSizes, rng: np.random.Generator, logs: Array) -> DrawnStage:
    """Return pairs with these logarithms of their ratios where a cone is turned, and near those known where bought."""
    belt = np.where(
        rng.random(len(logs)) < 0.7, rules.belts.index(near.belt), rng.integers(len(rules.belts), size=len(logs))
    )
    window = np.array([choice.window_mm for choice in rules.belts])[belt]
    length = np.array([choice.length_mm for choice in rules.belts])[belt]
    known = np.array([position.centre_mm for position in near.positions])
    strewn = rng.choice([0.0, 0.0, 2.0, 20.0], size=(len(logs), 1)) * rng.uniform(-1, 1, size=(len(logs), 1))
    apart = rng.choice([0.0, 0.001, 0.03, 0.3], size=(len(logs), 1)) * window[:, None]
    drawn_in = rng.choice([0.0, 0.0, 0.5] if rules.driver.turned_mm else [1.0], size=(len(logs), 1))
    middle = (known.min() + known.max()) / 2
    centre = middle + (known - middle) * drawn_in + strewn + apart * rng.uniform(-1, 1, size=logs.shape)
    ratio = np.exp(logs) / (1 - rules.slip)
    driver = None if rules.driver.turned_mm else _bought(rules.driver, near, rng, logs.shape)
    low = np.full(logs.shape, 1.0)
    high = 1.9 * centre / (1 + ratio) if driver is None else driver + 1.9 * centre
    for _ in range(48):
        driven = (low + high) / 2
        one = driven * ratio if driver is None else driver
        short = _length(one, driven, centre, crossed=rules.crossed) < length[:, None]
        low, high = np.where(short, driven, low), np.where(short, high, driven)
    driven = (low + high) / 2
    return DrawnStage(belt, driven * ratio if driver is None else driver, driven, centre)


def _bought(side: SideSizes, near: StageSizes, rng: np.random.Generator, shape: tuple[int, ...]) -> Array:
    """Return bought pulleys, those of the known machine or a neighbour in the list."""
    at = np.array([side.ready_mm.index(position.driver_mm) for position in near.positions])
    at = np.clip(at + rng.choice([-1, 0, 0, 0, 1], size=shape), 0, len(side.ready_mm) - 1)
    sizes: Array = np.array(side.ready_mm)
    chosen: Array = sizes[at]
    return chosen


def _stage_keeps(rules: StageProblem, stage: DrawnStage) -> NDArray[np.bool_]:
    length = np.array([choice.length_mm for choice in rules.belts])[stage.belt]
    window = np.array([choice.window_mm for choice in rules.belts])[stage.belt]
    both = (stage.driver_mm + stage.driven_mm) / 2
    gap = np.abs(stage.driver_mm - stage.driven_mm) / 2
    wrap = pi + 2 * np.arcsin(both / stage.centre_mm) if rules.crossed else pi - 2 * np.arcsin(gap / stage.centre_mm)
    taut = _length(stage.driver_mm, stage.driven_mm, stage.centre_mm, crossed=rules.crossed)
    good: NDArray[np.bool_] = (
        (np.abs(taut - length[:, None]) < HAIR_MM)
        & (stage.centre_mm >= rules.centre_mm[0])
        & (stage.centre_mm <= rules.centre_mm[1])
        & (both + rules.clearance_mm <= stage.centre_mm)
        & (np.degrees(wrap) >= rules.least_wrap_deg)
    ).all(axis=1)
    good &= np.ptp(stage.centre_mm, axis=1) <= window
    good &= _side_keeps(rules.driver, stage.driver_mm, stage.driver_mm)
    good &= _side_keeps(rules.driven, stage.driven_mm, -stage.driven_mm)
    return good


def _side_keeps(side: SideSizes, sizes: Array, rising: Array) -> NDArray[np.bool_]:
    good = np.ones(len(sizes), dtype=bool)
    if side.turned_mm is not None:
        good &= (sizes >= side.turned_mm[0]).all(axis=1) & (sizes <= side.turned_mm[1]).all(axis=1)
    if side.cone:
        steps = np.diff(rising, axis=1)
        good &= ((steps == 0) | (steps >= max(side.rise_mm, 0.0))).all(axis=1)
    return good


def _series_keeps(problem: Problem, drawn: Drawn) -> NDArray[np.bool_]:
    targets = problem.targets
    logs = _logs(problem, drawn)
    good = np.ones(len(logs), dtype=bool)
    good &= (np.diff(logs, axis=1) >= log(1 + targets.distinct)).all(axis=1)
    if targets.never_above_rpm < inf:
        good &= logs[:, -1] <= log(targets.never_above_rpm)
    if targets.never_below_rpm > 0:
        good &= logs[:, 0] >= log(targets.never_below_rpm)
    for band in targets.bands:
        inside = (logs >= log(band.low_rpm)) & (logs < log(band.high_rpm))
        good &= inside.sum(axis=1) >= band.want
    good &= _end_miss(problem, logs) <= targets.end_miss_most
    good &= _unevenness(logs) <= targets.unevenness_most
    return good


def _logs(problem: Problem, drawn: Drawn) -> Array:
    base = log(problem.motor_rpm * problem.gain_out)
    logs = np.full((len(drawn[0].belt), problem.layout.speeds), base)
    for number, (rules, stage) in enumerate(zip(problem.stages, drawn, strict=True)):
        ratios = np.log(stage.driver_mm / stage.driven_mm) + log(rules.gain * (1 - rules.slip))
        logs += ratios[:, [place[number] for place in problem.layout.places]]
    return logs


def _end_miss(problem: Problem, logs: Array) -> Array:
    lo, hi = log(problem.targets.lo_rpm), log(problem.targets.hi_rpm)
    if logs.shape[1] == 1:
        return np.abs(logs[:, 0] - (lo + hi) / 2)
    return np.maximum(np.abs(logs[:, 0] - lo), np.abs(logs[:, -1] - hi))


def _unevenness(logs: Array) -> Array:
    worst = np.zeros(len(logs))
    for i, j, k in combinations(range(logs.shape[1]), 3):
        chord = (logs[:, i] * (k - j) + logs[:, k] * (j - i)) / (k - i)
        worst = np.maximum(worst, np.abs(logs[:, j] - chord) / 2)
    return worst


def _rim(diameter_mm: Array, rpm: Array | float) -> Array:
    return pi * diameter_mm * rpm / 60_000
