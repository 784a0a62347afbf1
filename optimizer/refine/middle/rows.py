"""The rules of two belts with a middle shaft as rows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, permutations
from math import cos, exp, inf, log, pi, radians, sin
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.quantities.digits import meaningful
from optimizer.records import StageSizes
from optimizer.records.coupling import SharedBelt
from optimizer.records.middle import MiddleProblem, middle_logs
from optimizer.records.plate import distinct_groups
from optimizer.records.speeds import counts
from optimizer.refine.middle.variables import MiddleVariables
from optimizer.refine.rows import PER_MM, WINDOW_MARGIN_MM, Limit, Rim, Row
from optimizer.refine.variables import Spot

__all__ = [
    "Line",
    "Settings",
    "belt_rows",
    "cone_rows",
    "moving_rows",
    "order_rows",
    "ordered",
    "speed_lines",
    "speed_rows",
    "want_rows",
]

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


Floats = NDArray[np.float64]
STEEPEST = 1e3
"""Settings to a millimetre of centre distance, where the movement turns round."""


class _At(NamedTuple):
    """Figures with how each changes with its level's centre distance."""

    value: Floats
    rate: Floats
    centres: NDArray[np.intp]
    """Where the centre distance stands among the measures; -1 for a constant."""

    def join(self, other: _At) -> _At:
        return _At(*(np.concatenate(parts) for parts in zip(self, other, strict=True)))

    def pick(self, places: NDArray[np.intp]) -> _At:
        return _At(self.value[places], self.rate[places], self.centres[places])


class Settings:
    """Rows of the shared mount, if there is one.

    For every position the greatest setting of either belt less the least of the other; and for every belt that the
    movement tensions, what it may move less what it does move from where every belt goes on to where none is loose.
    """

    def __init__(self, variables: MiddleVariables) -> None:
        """Take note of where centre distances stand."""
        self.variables = variables
        self.coupling = variables.problem.coupling
        self.limits: tuple[Limit, ...] = ()
        if self.coupling is None:
            return
        positions = np.array(variables.problem.positions, dtype=np.intp)
        places = [np.array([spot.centre for spot in spots], dtype=np.intp) for spots in variables.spots]
        self.centres = places
        self.known = [np.array([spot.sizes.centre_mm for spot in spots]) for spots in variables.spots]
        moves = (places[0][positions[:, 0]] >= 0) | (places[1][positions[:, 1]] >= 0)
        self.positions = positions[moves]
        one = Limit(f"{self.coupling.key}: one setting of the mount for both belts", "", "mm", PER_MM)
        most = Limit(f"{self.coupling.key}: travel for fitting and wearing out all belts", "", "mm", PER_MM)
        self.tensioned = [belt for belt in self.coupling.belts if belt.moves]
        if len(self.tensioned) < 2:
            self.tensioned = []
        levels = sum(place.size for place in places)
        self.limits = (one,) * (2 * len(self.positions)) + (most,) * (len(self.tensioned) * levels**2)

    def values(self, vector: Floats) -> Floats:
        """Return the rows' values."""
        if self.coupling is None:
            return np.empty(0)
        return np.concatenate([least.value - most.value for least, most in self._pairs(vector)]) * PER_MM

    def gradients(self, vector: Floats) -> Floats:
        """Return the rows' gradients."""
        if self.coupling is None:
            return np.empty((0, self.variables.size))
        per_variable = self.variables.per_variable_mm(self.variables.measures_mm(vector)) * PER_MM
        found = []
        for least, most in self._pairs(vector):
            rows = np.zeros((least.value.size, self.variables.measured))
            for part, sign in ((least, 1.0), (most, -1.0)):
                at = np.flatnonzero(part.centres >= 0)
                np.add.at(rows, (at, part.centres[at]), sign * part.rate[at])
            found.append(rows @ per_variable)
        return np.vstack(found)

    def _pairs(self, vector: Floats) -> list[tuple[_At, _At]]:
        """Return figures of which the first must not be below the second."""
        assert self.coupling is not None
        measures = self.variables.measures_mm(vector)
        spans = []
        for number, shared in enumerate(self.coupling.belts):
            half = self.variables.candidate.stages[number].belt.forgives_mm / 2
            ends = [self._setting(shared, measures, part) for part in (-half, half)]
            spans.append(ends if shared.path.grows else ends[::-1])
        found = []
        for one, other in ((0, 1), (1, 0)):
            high, low = spans[one][1].pick(self.positions[:, one]), spans[other][0].pick(self.positions[:, other])
            found.append((high._replace(value=high.value - WINDOW_MARGIN_MM), low))
        if self.tensioned:
            found += self._travels(measures)
        return found

    def _travels(self, measures: Floats) -> list[tuple[_At, _At]]:
        assert self.coupling is not None
        fits, wears = [], []
        for number, shared in enumerate(self.coupling.belts):
            belt = self.variables.candidate.stages[number].belt
            fits.append(self._setting(shared, measures, -belt.inward_mm))
            wears.append(self._setting(shared, measures, belt.outward_mm))
        inward, outward = fits[0].join(fits[1]), wears[0].join(wears[1])
        first, second = (grid.ravel() for grid in np.indices((inward.value.size, outward.value.size)))
        found = []
        for shared in self.tensioned:
            most = shared.travel_mm + self.variables.candidate.stages[shared.stage].belt.forgives_mm
            near, far = _moved(shared, inward).pick(first), _moved(shared, outward).pick(second)
            found.append((near._replace(value=near.value + most - WINDOW_MARGIN_MM), far))
        return found

    def _setting(self, shared: SharedBelt, measures: Floats, add_mm: float) -> _At:
        """Return the settings at which the belt's centre distances are the levels' own and so much more."""
        centres = self.centres[shared.stage]
        own = np.where(centres >= 0, measures[centres], self.known[shared.stage]) + add_mm
        settings = shared.path.setting_mm(own)
        slope = shared.path.slope(settings)
        rate = np.where(np.abs(slope) > 1 / STEEPEST, 1 / np.where(slope == 0, 1.0, slope), 0.0)
        return _At(settings, rate, centres)


def _moved(shared: SharedBelt, settings: _At) -> _At:
    """Return the belt's centre distances at some settings."""
    rate = shared.path.slope(settings.value) * settings.rate
    return _At(shared.path.centre_mm(settings.value), rate, settings.centres)


Line = tuple[Floats, float]
"""A logarithm as a line in the variables, with its constant."""
MARGIN = 1e-8
"""How far inside its limits the solver is asked to stay, so that its own tolerance breaks no rule."""
PER_M_S = log(60_000 / pi)


def ordered(problem: MiddleProblem, stages: Sequence[StageSizes]) -> list[int]:
    """Return the positions in the order of their speeds, slowest first, the machine's ends at the ends."""
    logs = middle_logs(problem, stages)
    ends = (problem.slowest, problem.fastest)
    rank = [-1 if place == ends[0] else 1 if place == ends[1] else 0 for place in problem.positions]
    return sorted(range(len(logs)), key=lambda k: (rank[k], meaningful(logs[k]), k))


def speed_rows(variables: MiddleVariables, order: Sequence[int]) -> Iterator[Row]:
    """Yield what ties ε and g to the speeds, and the limits of the slowest and fastest.

    With the slowest first and the fastest last, no two neighbours of the order lie farther apart than g: then no two
    neighbouring speeds do, whatever their order has become, as one must step over every gap on the way up.
    """
    targets = variables.problem.targets
    speeds = [speed_lines(variables)[place] for place in order]
    for (lower, below), (upper, above) in pairwise(speeds):
        line = lower - upper
        line[variables.gap] += 1.0
        yield Row(line, below - above)
    for (speed, constant), end in ((speeds[0], log(targets.lo_rpm)), (speeds[-1], log(targets.hi_rpm))):
        for sign in (1.0, -1.0):
            line = -sign * speed
            line[variables.miss] = 1.0
            yield Row(line, sign * (end - constant))
    if targets.never_above_rpm < inf:
        line, constant = speeds[-1]
        limit = Limit("never above", "", "rpm", 1 / targets.never_above_rpm)
        yield Row(-line, log(targets.never_above_rpm) - constant, limit)
    if targets.never_below_rpm > 0:
        line, constant = speeds[0]
        limit = Limit("never below", "", "rpm", 1 / targets.never_below_rpm)
        yield Row(line, constant - log(targets.never_below_rpm), limit)


def want_rows(variables: MiddleVariables, *, every_group: bool) -> Iterator[Row]:
    """Yield that bands keep the speeds that count in them, those nearest their middle, and that these stay distinct.

    A speed counts where it is the slowest of a group of near-equals, so it stays clear of the group before. Groups may
    change all the same where a near-equal speed leaves its group; with `every_group` none does, up to the last group
    that is wanted.
    """
    targets = variables.problem.targets
    logs = middle_logs(variables.problem, variables.candidate.stages)
    groups = distinct_groups(logs, targets.distinct)
    speeds = speed_lines(variables)
    wanted: set[int] = set()
    for band in targets.bands:
        low, high = log(band.low_rpm), log(band.high_rpm)
        inside = [k for k, group in enumerate(groups) if counts(band, exp(logs[group[0]]))]
        inside.sort(key=lambda k: meaningful(abs(logs[groups[k][0]] - (low + high) / 2)))
        for k in inside[: band.want]:
            wanted.add(k)
            line, constant = speeds[groups[k][0]]
            rpm = f"{exp(logs[groups[k][0]]):.0f} rpm"
            below = Limit(f"band {band.name}: its lower edge", rpm, "rpm", 1 / band.low_rpm)
            above = Limit(f"band {band.name}: its upper edge", rpm, "rpm", 1 / band.high_rpm)
            yield Row(line, constant - low - MARGIN, below)
            yield Row(-line, high - constant - MARGIN, above)
    apart = Limit("speeds distinct", "", "percent", 0.01 / (1 + targets.distinct))
    least, last = log(1 + targets.distinct), max(wanted, default=0)
    for k in range(last + 1):
        if k and (every_group or k in wanted):
            (lower, below_log), (upper, above_log) = (speeds[groups[n][0]] for n in (k - 1, k))
            yield Row(upper - lower, above_log - below_log - least - MARGIN, apart)
        for member in groups[k][1:] if every_group and wanted else ():
            (lower, below_log), (upper, above_log) = speeds[groups[k][0]], speeds[member]
            yield Row(lower - upper, below_log - above_log + least - MARGIN)
            yield Row(upper - lower, above_log - below_log)


def order_rows(variables: MiddleVariables) -> Iterator[Row]:
    """Yield that the levels stay in the order of their speeds, where no cone sees to it."""
    problem = variables.problem
    for number, (rules, spots) in enumerate(zip(problem.stages, variables.spots, strict=True)):
        if rules.driver.cone and rules.driven.cone:
            continue
        rising = spots[::-1] if problem.shared and number == 1 else spots
        for lower, upper in pairwise(_ratio(variables, spot) for spot in rising):
            line = upper[0] - lower[0]
            if line.any():
                yield Row(line, upper[1] - lower[1])


def moving_rows(variables: MiddleVariables) -> Iterator[Row]:
    """Yield belt, rim and shaft speeds, each at the fastest that its shaft ever runs with it."""
    problem = variables.problem
    first, second = problem.stages
    levels = problem.levels[0]
    nothing = np.zeros(variables.size)
    motor: Line = (nothing, log(problem.motor_rpm * first.gain))
    middle = [_sum(motor, _ratio(variables, spot)) for spot in variables.spots[0]]
    fastest = middle[-1]
    between: Line = (nothing, log(second.gain))
    last = _sum(fastest, between, _ratio(variables, variables.spots[1][problem.fastest[1]]))
    for rules, rpm in ((first, fastest), (second, last)):
        if rules.driven_rpm < inf:
            limit = Limit(f"{rules.key}: speed of the driven shaft", "", "rpm", 1 / rules.driven_rpm)
            yield Row(-rpm[0], log(rules.driven_rpm) - rpm[1], limit)
    turning = ((motor, fastest), (_sum(fastest, between), last))
    for number, (rules, spots) in enumerate(zip(problem.stages, variables.spots, strict=True)):
        for spot in spots:
            driver, driven = (spot.driver, spot.sizes.driver_mm), (spot.driven, spot.sizes.driven_mm)
            with_it = motor
            if number:
                barred = problem.shared and spot.position == levels - 1
                with_it = _sum(middle[-2 if barred else -1], between)
            yield from (
                row
                for name, most, step, shift, rpm in (
                    ("belt speed", rules.belt_speed_m_s, driver, 0.0, with_it),
                    ("driver's rim speed", rules.driver.rim_speed_m_s, driver, rules.driver.outside_shift_mm,
                     turning[number][0]),
                    ("driven's rim speed", rules.driven.rim_speed_m_s, driven, rules.driven.outside_shift_mm,
                     turning[number][1]),
                )
                for row in _surface(Limit(f"{rules.key}: {name}", f"level {spot.position + 1}", "m/s", 1 / most),
                                    step, shift, rpm)
            )  # fmt: skip


def _surface(limit: Limit, step: tuple[int, float], shift_mm: float, rpm: Line) -> Iterator[Row]:
    """Yield that a step's surface runs no faster than its limit, if there is one."""
    if limit.per > 0:
        room = PER_M_S - log(limit.per) - rpm[1]
        index, size_mm = step
        if index >= 0:
            yield Row(-rpm[0], room, limit, rim=Rim(index, shift_mm))
        else:
            yield Row(-rpm[0], room - log(size_mm + shift_mm), limit)


def _sum(*lines: Line) -> Line:
    return np.sum([line for line, _ in lines], axis=0), sum(constant for _, constant in lines)


def _ratio(variables: MiddleVariables, spot: Spot) -> Line:
    """Return the log ratio of a level, slip included."""
    line, constant = np.zeros(variables.size), log(1 - variables.problem.stages[spot.stage].slip)
    for index, size_mm, sign in ((spot.driver, spot.sizes.driver_mm, 1.0), (spot.driven, spot.sizes.driven_mm, -1.0)):
        if index >= 0:
            line[index] += sign
        else:
            constant += sign * log(size_mm)
    return line, constant


def speed_lines(variables: MiddleVariables) -> list[Line]:
    """Return ln of the speed [rpm] at every position."""
    problem = variables.problem
    gains = problem.stages[0].gain * problem.stages[1].gain * problem.gain_out
    base: Line = (np.zeros(variables.size), log(problem.motor_rpm * gains))
    first, second = ([_ratio(variables, spot) for spot in spots] for spots in variables.spots)
    return [_sum(base, first[i], second[j]) for i, j in problem.positions]
