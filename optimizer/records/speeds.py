"""The spindle speeds that sizes give."""

from __future__ import annotations

from collections.abc import Sequence
from math import log, prod
from typing import Protocol

from optimizer.records.problem import BeltChoice, Problem

__all__ = [
    "HasBelt",
    "HasPositions",
    "HasSizes",
    "log_speeds",
    "log_ways",
    "position_logs",
    "speed_shares",
    "speeds_rpm",
]


class HasSizes(Protocol):
    """A position with pitch diameters."""

    @property
    def driver_mm(self) -> float:
        """Pitch diameter of the driver."""

    @property
    def driven_mm(self) -> float:
        """Pitch diameter of the driven."""

    @property
    def centre_mm(self) -> float:
        """Centre distance at which the belt is taut."""

    @property
    def driver_source(self) -> str:
        """Whether the driver is turned, ready, or kept."""

    @property
    def driven_source(self) -> str:
        """Whether the driven is turned, ready, or kept."""


class HasPositions(Protocol):
    """A stage with positions, slowest first."""

    @property
    def positions(self) -> Sequence[HasSizes]:
        """The positions, slowest first."""


class HasBelt(HasPositions, Protocol):
    """A stage with its belt."""

    @property
    def belt(self) -> BeltChoice:
        """The belt it runs on."""


def position_logs(problem: Problem, stages: Sequence[HasPositions]) -> list[list[float]]:
    """Return, for every stage, the natural logarithm of each position's speed ratio, slip included."""
    return [
        [log(p.driver_mm / p.driven_mm * (1 - rules.slip)) for p in sizes.positions]
        for rules, sizes in zip(problem.stages, stages, strict=True)
    ]


def log_speeds(problem: Problem, stages: Sequence[HasPositions]) -> list[float]:
    """Return the natural logarithms of the spindle speeds [rpm] in the order of the series."""
    logs = position_logs(problem, stages)
    base = log(problem.motor_rpm * problem.gain_out * prod(s.gain for s in problem.stages))
    return [
        base + log(share) + sum(row[p] for row, p in zip(logs, place, strict=True))
        for share, place in zip(speed_shares(problem), problem.layout.places, strict=True)
    ]


def log_ways(problem: Problem, stages: Sequence[HasPositions]) -> tuple[list[int], list[float]]:
    """Return the place in the series of every way of making a speed, with ln of that speed [rpm]."""
    logs = [[log(share) for share in switch.shares] for switch in problem.switches] + position_logs(problem, stages)
    base = log(problem.motor_rpm * problem.gain_out * prod(s.gain for s in problem.stages))
    ways = problem.layout.ways
    found = [base + sum(row[p] for row, p in zip(logs, chosen, strict=True)) for _, chosen in ways]
    return [place for place, _ in ways], found


def speed_shares(problem: Problem, before: int | None = None) -> list[float]:
    """Return, for every speed of the series, what the switches make of it: 1 where all have their fastest setting.

    With `before`, only those count that come before the belt stage of this number.
    """
    return [
        prod(
            switch.shares[setting]
            for switch, setting in zip(problem.switches, settings, strict=True)
            if before is None or switch.before <= before
        )
        for settings in problem.layout.settings
    ]


def speeds_rpm(problem: Problem, stages: Sequence[HasPositions]) -> list[float]:
    """Return the spindle speeds [rpm] in the order of the series."""
    rpm = []
    for share, place in zip(speed_shares(problem), problem.layout.places, strict=True):
        speed = problem.motor_rpm * problem.gain_out * share
        for rules, sizes, p in zip(problem.stages, stages, place, strict=True):
            position = sizes.positions[p]
            speed *= rules.gain * position.driver_mm / position.driven_mm * (1 - rules.slip)
        rpm.append(speed)
    return rpm
