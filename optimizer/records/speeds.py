"""Speeds that sizes give, bands they count in, grip there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf, log, pi, prod
from typing import NamedTuple, Protocol

from optimizer.geometry.belts import small_wrap_deg
from optimizer.mechanics.carrying import carried_kw
from optimizer.records.problem import BandTarget, BeltChoice, Problem, StageProblem, Targets

__all__ = [
    "LOG_TOLERANCE",
    "BeltGrip",
    "HasBelt",
    "HasPositions",
    "HasSizes",
    "belt_grips",
    "carries_kw",
    "counts",
    "grip_of",
    "least_power_kw",
    "limits_grip",
    "log_speeds",
    "log_ways",
    "must_carry_kw",
    "position_logs",
    "speed_shares",
    "speeds_rpm",
]

LOG_TOLERANCE = 1e-9
"""How far speeds and ratios may pass a limit before it counts as broken, as a natural logarithm."""


def counts(band: BandTarget, speed_rpm: float) -> bool:
    """Tell whether a speed counts in a band; an edge speed counts in the upper of two bands only.

    Examples
    --------
    >>> band = BandTarget(name="middle", low_rpm=450, high_rpm=900)
    >>> counts(band, 450.0), counts(band, 900.0)
    (True, False)
    """
    value = log(speed_rpm)
    edge = LOG_TOLERANCE if band.top else -LOG_TOLERANCE
    return log(band.low_rpm) - LOG_TOLERANCE <= value <= log(band.high_rpm) + edge


def limits_grip(targets: Targets) -> bool:
    """Tell whether grip is a limit at any speed.

    Examples
    --------
    >>> limits_grip(Targets(bands=(), lo_rpm=100, hi_rpm=400, power_kw=0.75))
    False
    """
    asked = [band.power_kw * max(band.least_grip, targets.least_grip) for band in targets.bands]
    return max([targets.power_kw * targets.least_grip, *asked]) > 0


def must_carry_kw(targets: Targets, speed_rpm: float) -> float:
    """Return the power [kW] that every belt must carry at a spindle speed, duty included; 0 where it is not known.

    In several bands it is the greatest of theirs.

    Examples
    --------
    >>> rough = BandTarget(name="rough", low_rpm=100, high_rpm=400, power_kw=0.5)
    >>> targets = Targets(bands=(rough,), lo_rpm=100, hi_rpm=400, power_kw=0.75)
    >>> must_carry_kw(targets, 200), must_carry_kw(targets, 500)
    (0.5, 0.75)
    """
    within = [band.power_kw for band in targets.bands if counts(band, speed_rpm)]
    return max(within, default=targets.power_kw)


def least_power_kw(targets: Targets, speed_rpm: float) -> float:
    """Return the power [kW] below which a belt breaks a limit of grip at a spindle speed.

    Examples
    --------
    >>> rough = BandTarget(name="rough", low_rpm=100, high_rpm=400, power_kw=0.5, least_grip=1.0)
    >>> targets = Targets(bands=(rough,), lo_rpm=100, hi_rpm=400, power_kw=0.75, least_grip=0.8)
    >>> least_power_kw(targets, 200), round(least_power_kw(targets, 500), 9)
    (0.5, 0.6)
    """
    within = [band for band in targets.bands if counts(band, speed_rpm)]
    if not within:
        return targets.power_kw * targets.least_grip
    return max(band.power_kw * max(band.least_grip, targets.least_grip) for band in within)


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
