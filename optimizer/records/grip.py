"""Grip: the power that belts can carry over the power they must carry."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf, pi
from typing import NamedTuple

from optimizer.geometry.belts import small_wrap_deg
from optimizer.mechanics.carrying import carried_kw
from optimizer.records.bands import least_power_kw, must_carry_kw
from optimizer.records.problem import Problem, StageProblem
from optimizer.records.speeds import HasBelt, HasSizes, speed_shares, speeds_rpm

__all__ = ["BeltGrip", "belt_grips", "carries_kw", "grip_of"]


class BeltGrip(NamedTuple):
    """What one belt carries at one spindle speed."""

    key: str
    """Place of the stage in the scenario."""
    position: int
    """The belt's position, from 1."""
    rpm: float
    """The spindle's speed."""
    carries_kw: float
    must_kw: float
    """Power that it must carry, duty included; 0 where that is not known."""
    limit_kw: float
    """Power below which it breaks a limit of grip."""


def belt_grips(problem: Problem, stages: Sequence[HasBelt]) -> Iterator[BeltGrip]:
    """Yield what every belt carries at every spindle speed at which it must carry something, slowest first."""
    targets = problem.targets
    shares = [speed_shares(problem, number) for number in range(len(stages))]
    for k, (rpm, place) in enumerate(zip(speeds_rpm(problem, stages), problem.layout.places, strict=True)):
        must, limit = must_carry_kw(targets, rpm), least_power_kw(targets, rpm)
        entering = problem.motor_rpm
        for rules, sizes, p, share in zip(problem.stages, stages, place, shares, strict=True) if must > 0 else ():
            entering *= rules.gain
            position = sizes.positions[p]
            if rules.ratings:
                carries = carries_kw(rules, position, sizes.belt.length_mm, entering * share[k])
                yield BeltGrip(rules.key, p + 1, rpm, carries, must, limit)
            entering *= position.driver_mm / position.driven_mm * (1 - rules.slip)


def carries_kw(rules: StageProblem, sizes: HasSizes, length_mm: float, entering_rpm: float) -> float:
    """Return the power [kW] that a stage's belt can carry at one position with its driver at a speed."""
    small, large = sorted((sizes.driver_mm, sizes.driven_mm))
    wrap = small_wrap_deg(sizes.driver_mm, sizes.driven_mm, sizes.centre_mm, crossed=rules.crossed)
    speed = pi * sizes.driver_mm * entering_rpm / 60_000
    return float(carried_kw(rules.ratings, speed, small, large / small, wrap, length_mm))


def grip_of(problem: Problem, stages: Sequence[HasBelt]) -> float:
    """Return the grip of a machine: the least over all belts and speeds; infinity where nothing must be carried."""
    return min((belt.carries_kw / belt.must_kw for belt in belt_grips(problem, stages)), default=inf)
