"""Three shafts, the middle one with a cone that both belts share, or with a cone for each belt."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import log, pi
from typing import Self

import numpy as np
from pydantic import model_validator

from optimizer.geometry.belts import small_wrap_deg
from optimizer.records.candidate import StageSizes
from optimizer.records.coupling import SETTING_TOLERANCE_MM, Coupling, settings_of
from optimizer.records.plate import Plate, PlateRules, Way, chosen_plate, distinct_groups
from optimizer.records.problem import SideSizes, StageProblem, Targets
from optimizer.records.proof import Proof
from optimizer.records.rules import SIZE_TOLERANCE_MM, cone_faults, position_faults, travel_faults
from optimizer.records.speeds import LOG_TOLERANCE, counts
from optimizer.scenario.base import Model
from optimizer.series import end_miss

__all__ = [
    "MOST_POSITIONS",
    "MiddleCandidate",
    "MiddleFound",
    "MiddleProblem",
    "broken_middle_rules",
    "f_of",
    "largest_gap",
    "middle_logs",
    "plate_of",
]


Stages = Sequence[StageSizes]


def middle_logs(problem: MiddleProblem, stages: Stages) -> list[float]:
    """Return the natural logarithm of the spindle speed [rpm] at every one of the problem's positions."""
    base = log(problem.motor_rpm * problem.stages[0].gain * problem.stages[1].gain * problem.gain_out)
    first, second = _ratios(problem, stages)
    return [base + first[i] + second[j] for i, j in problem.positions]


def largest_gap(logs: Sequence[float]) -> float:
    """Return the greatest difference of neighbouring logarithms; 0 for one speed."""
    return max((upper - lower for lower, upper in pairwise(sorted(logs))), default=0.0)


def f_of(problem: MiddleProblem, stages: Stages) -> float:
    """Return what designs of a machine with a middle shaft are judged by, the less the better.

    ``F = w_e·ε + w_u·g`` with the targets' weights of end miss and unevenness; ε is the end miss, g the largest gap of
    all speeds, near-equal ones and all, as natural logarithms.
    """
    targets = problem.targets
    logs = sorted(middle_logs(problem, stages))
    miss = end_miss(logs, targets.lo_rpm, targets.hi_rpm)
    return targets.end_weight * miss + targets.unevenness_weight * largest_gap(logs)


def broken_middle_rules(problem: MiddleProblem, stages: Stages) -> list[str]:
    """Return one sentence for every hard rule that the sizes break; an empty list where all are kept."""
    if tuple(len(sizes.positions) for sizes in stages) != problem.levels:
        return ["the sizes do not have the levels of the machine"]
    faults = []
    for number, (rules, sizes) in enumerate(zip(problem.stages, stages, strict=True)):
        faults += [f"{rules.key}: {fault}" for fault in _stage_faults(problem, number, sizes)]
    faults += _centre_faults(problem, stages)
    faults += _moving_faults(problem, stages)
    faults += _series_faults(problem, stages)
    return faults


def _ratios(problem: MiddleProblem, stages: Stages) -> list[list[float]]:
    """Return the natural logarithm of the ratio of either belt at each of its levels, slip included."""
    return [
        [log(p.driver_mm / p.driven_mm * (1 - rules.slip)) for p in sizes.positions]
        for rules, sizes in zip(problem.stages, stages, strict=True)
    ]


def _stage_faults(problem: MiddleProblem, number: int, sizes: StageSizes) -> Iterator[str]:
    rules = problem.stages[number]
    if sizes.belt not in rules.belts:
        yield f"the belt {sizes.belt.marking} is not one of those that may be used"
    for level, position in enumerate(sizes.positions, 1):
        for fault in position_faults(rules, sizes.belt, position):
            yield f"level {level}: {fault}"
    falls = problem.shared and number == 1
    slowest_first = sizes.positions[::-1] if falls else sizes.positions
    yield from cone_faults(rules.driver, [p.driver_mm for p in slowest_first])
    yield from cone_faults(rules.driven, [-p.driven_mm for p in slowest_first])
    ratios = [p.driver_mm / p.driven_mm for p in slowest_first]
    if any(upper < lower * (1 - LOG_TOLERANCE) for lower, upper in pairwise(ratios)):
        yield "the levels do not stand in the order of their speeds"


def _centre_faults(problem: MiddleProblem, stages: Stages) -> Iterator[str]:
    if problem.shared:
        for level, (one, other) in enumerate(zip(stages[0].positions, stages[1].positions, strict=True), 1):
            if abs(one.driven_mm - other.driver_mm) > SIZE_TOLERANCE_MM or one.driven_source != other.driver_source:
                yield f"level {level}: the belts do not run on one and the same step of the middle cone"
    if problem.coupling is not None:
        yield from _setting_faults(problem, problem.coupling, stages)
        yield from travel_faults(problem.coupling, stages)
    for rules, sizes in zip(problem.stages, stages, strict=True):
        centres = [p.centre_mm for p in sizes.positions]
        apart, window = max(centres) - min(centres), sizes.belt.window_mm
        if apart > window + SIZE_TOLERANCE_MM:
            yield f"{rules.key}: the levels' own centre distances lie {apart:.3f} mm apart, more than {window:.3f} mm"


def _setting_faults(problem: MiddleProblem, coupling: Coupling, stages: Stages) -> Iterator[str]:
    """Yield the positions for which no one setting fits both belts."""
    spans = [
        settings_of(shared, np.array([p.centre_mm for p in sizes.positions]), sizes.belt.forgives_mm)
        for shared, sizes in zip(coupling.belts, stages, strict=True)
    ]
    for i, j in problem.positions:
        low, high = max(spans[0][0][i], spans[1][0][j]), min(spans[0][1][i], spans[1][1][j])
        if low > high + SETTING_TOLERANCE_MM:
            yield (
                f"{coupling.key}: no one setting fits both belts with the first on level {i + 1}, the second on level "
                f"{j + 1}: they lie {low - high:.3f} mm apart"
            )


def _moving_faults(problem: MiddleProblem, stages: Stages) -> Iterator[str]:
    """Yield what is wrong with belt, rim and shaft speeds, each at the fastest that its shaft ever runs with it."""
    ratios = _ratios(problem, stages)
    first, second = problem.stages
    entering = problem.motor_rpm * first.gain
    middle = [entering * np.exp(ratio) * second.gain for ratio in ratios[0]]
    fastest = max(middle)
    last = max(middle[i] * np.exp(ratios[1][j]) for i, j in problem.positions)
    yield from _rim_faults(first.driver, [p.driver_mm for p in stages[0].positions], entering)
    yield from _rim_faults(first.driven, [p.driven_mm for p in stages[0].positions], fastest / second.gain)
    yield from _rim_faults(second.driver, [p.driver_mm for p in stages[1].positions], fastest)
    yield from _rim_faults(second.driven, [p.driven_mm for p in stages[1].positions], last)
    for i, p in enumerate(stages[0].positions, 1):
        if _faster(p.driver_mm, entering, first.belt_speed_m_s):
            yield f"{first.key}: level {i}: the belt speed passes {first.belt_speed_m_s:g} m/s"
    for j, p in enumerate(stages[1].positions):
        with_it = max(rpm for i, rpm in enumerate(middle) if (i, j) in problem.positions)
        if _faster(p.driver_mm, with_it, second.belt_speed_m_s):
            yield f"{second.key}: level {j + 1}: the belt speed passes {second.belt_speed_m_s:g} m/s"
    for rules, rpm in ((first, fastest / second.gain), (second, last)):
        if rpm > rules.driven_rpm * (1 + LOG_TOLERANCE):
            yield f"{rules.key}: the driven shaft runs at {rpm:.1f} rpm, above {rules.driven_rpm:g} rpm"


def _rim_faults(side: SideSizes, sizes_mm: Sequence[float], rpm: float) -> Iterator[str]:
    if any(_faster(size + side.outside_shift_mm, rpm, side.rim_speed_m_s) for size in sizes_mm):
        yield f"{side.key}: the rim speed passes {side.rim_speed_m_s:g} m/s"


def _faster(size_mm: float, rpm: float, most_m_s: float) -> bool:
    return pi * size_mm * rpm / 60_000 > most_m_s * (1 + LOG_TOLERANCE)


def _series_faults(problem: MiddleProblem, stages: Stages) -> Iterator[str]:
    targets = problem.targets
    logs = middle_logs(problem, stages)
    ordered = sorted(logs)
    if np.exp(ordered[-1]) > targets.never_above_rpm * (1 + LOG_TOLERANCE):
        yield f"the fastest speed passes {targets.never_above_rpm:g} rpm"
    if np.exp(ordered[0]) < targets.never_below_rpm * (1 - LOG_TOLERANCE):
        yield f"the slowest speed is below {targets.never_below_rpm:g} rpm"
    if end_miss(ordered, targets.lo_rpm, targets.hi_rpm) > targets.end_miss_most + LOG_TOLERANCE:
        yield f"the end miss passes {targets.end_miss_most:.1%}"
    rpm = [float(np.exp(logs[group[0]])) for group in distinct_groups(logs, targets.distinct)]
    for band in targets.bands:
        have = sum(counts(band, speed) for speed in rpm)
        if have < band.want:
            yield f"band {band.name}: {have} distinct speeds where {band.want} are wanted"


MOST_POSITIONS = 20
"""Most positions of both belts together: a shared cone of five steps, or two cones of four and five."""


class MiddleProblem(Model):
    """Everything the search knows of a motor, a middle and a last shaft joined by two belts.

    With a shared middle cone the steps of the three cones that face each other are a *level*. Along the levels the
    motor's cone rises, the middle one falls and the last one rises, so that the first belt drives faster and the
    second slower; each step of the middle cone carries one belt at most. With two cones on the middle shaft either
    belt has levels of its own, slowest first.
    """

    motor_rpm: float
    stages: tuple[StageProblem, StageProblem]
    """First and second belt; with a shared cone the driven of the first is the driver of the second.

    A belt's window is how far the levels' own centre distances may lie apart. With a coupling it also counts how much
    the belt forgives at the common setting."""
    levels: tuple[int, int]
    """Number of steps of the cones of either belt; the same for both where the middle cone is shared."""
    shared: bool = True
    coupling: Coupling | None = None
    """The mount whose one movement changes both centre distances; nothing where they are set independently."""
    gain_out: float = 1.0
    """Fixed ratio between the last shaft and the spindle."""
    targets: Targets

    @model_validator(mode="after")
    def _levels_make_positions(self) -> Self:
        if self.shared:
            if self.levels[0] != self.levels[1] or self.levels[0] < 2:
                raise ValueError("a shared cone has as many levels for either belt, at least 2")
            if _made_of(self.stages[0].driven) != _made_of(self.stages[1].driver):
                raise ValueError("the first belt's driven and the second's driver must be made of the same sizes")
            if self.stages[1].gain != 1:
                raise ValueError("nothing can stand between the belts where they share a cone")
        if self.coupling is not None and [belt.stage for belt in self.coupling.belts] != [0, 1]:
            raise ValueError("a coupling must be of the first and the second belt")
        if min(self.levels) < 1 or not 2 <= len(self.positions) <= MOST_POSITIONS:
            raise ValueError(f"the belts must have 2 to {MOST_POSITIONS} positions together")
        return self

    @property
    def positions(self) -> tuple[tuple[int, int], ...]:
        """Levels (from 0) of the first and second belt at every position they may take.

        Examples
        --------
        >>> from optimizer.records.middle import MiddleProblem
        >>> MiddleProblem.model_construct(levels=(2, 2), shared=True).positions
        ((0, 1), (1, 0))
        >>> len(MiddleProblem.model_construct(levels=(4, 4), shared=True).positions)
        12
        """
        first, second = self.levels
        return tuple((i, j) for i in range(first) for j in range(second) if not (self.shared and i == j))

    @property
    def slowest(self) -> tuple[int, int]:
        """Position of the slowest speed."""
        return (0, self.levels[1] - 1) if self.shared else (0, 0)

    @property
    def fastest(self) -> tuple[int, int]:
        """Position of the fastest speed."""
        return (self.levels[0] - 1, 0) if self.shared else (self.levels[0] - 1, self.levels[1] - 1)


def _made_of(side: SideSizes) -> tuple[object, ...]:
    return (side.turned_mm, side.listed_mm, side.grid_mm, side.ready_mm, side.standing_mm, side.reversible, side.placed)


class MiddleCandidate(Model):
    """Sizes for every level of both belts; it cannot be built if a hard rule is broken.

    Positions of a stage stand in the order of its levels: slowest first, but for the second belt on a shared cone,
    whose slowest level is its last.
    """

    problem: MiddleProblem
    stages: tuple[StageSizes, StageSizes]

    @model_validator(mode="after")
    def _keeps_every_hard_rule(self) -> Self:
        faults = broken_middle_rules(self.problem, self.stages)
        if faults:
            raise ValueError("; ".join(faults))
        return self


class MiddleFound(Model):
    """The result of searching a machine with a middle shaft."""

    candidate: MiddleCandidate | None = None
    proof: Proof
    """Its figures are of F, the weighted sum of end miss and largest gap, in place of J."""
    end_miss: float = 0.0
    largest_gap: float = 0.0
    """Greatest difference of neighbouring speeds' natural logarithms, near-equal speeds and all."""
    distinct: int = 0
    """Number of distinct speeds."""
    plate: Plate | None = None


def plate_of(candidate: MiddleCandidate) -> Plate:
    """Return the plate of a design, positions as levels (from 0) of the first and second belt."""
    problem = candidate.problem
    ways = []
    for speed, position in zip(middle_logs(problem, candidate.stages), problem.positions, strict=True):
        wraps, pulleys = [], []
        for rules, sizes, level in zip(problem.stages, candidate.stages, position, strict=True):
            p = sizes.positions[level]
            wraps.append(float(small_wrap_deg(p.driver_mm, p.driven_mm, p.centre_mm, crossed=rules.crossed)))
            pulleys += [p.driver_mm, p.driven_mm]
        ways.append(Way(speed, position, min(wraps), min(pulleys)))
    return chosen_plate(ways, PlateRules(problem.targets.bands, problem.targets.distinct))
