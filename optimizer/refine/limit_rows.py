"""Limits of grip and of shared mounts as rows."""

from __future__ import annotations

from itertools import permutations
from math import log, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import small_wrap_deg
from optimizer.mechanics.carrying import carried_kw
from optimizer.records import StageProblem
from optimizer.records.coupling import Coupling, SharedBelt, settings_of
from optimizer.records.speeds import least_power_kw, log_speeds, speed_shares
from optimizer.refine.rows import MARGIN, PER_MM, WINDOW_MARGIN_MM, Limit, log_ratio
from optimizer.refine.variables import Variables

__all__ = ["Carried", "Shared"]

Floats = NDArray[np.float64]
STEP = 1e-6
"""Share of a size by which slopes of the power are taken: its factors of arc and length are tables."""
LEAST_KW = 1e-9
"""Stands for a power of 0 or less, which has no logarithm."""


class _Belt(NamedTuple):
    """The belts of one stage at all speeds at which grip is a limit; one entry for each position and speed."""

    rules: StageProblem
    length_mm: float
    places: NDArray[np.intp]
    """Where driver, driven and centre distance stand among the measures, shape (3, entries); −1 for a constant."""
    known_mm: Floats
    entering: Floats
    """Line of ln of the driver's speed, shape (entries, variables)."""
    constant: Floats
    power_kw: Floats

    def sizes_mm(self, measures_mm: Floats) -> Floats:
        return np.where(self.places >= 0, measures_mm[self.places], self.known_mm)

    def log_kw(self, sizes_mm: Floats, entering: Floats) -> Floats:
        """Return ln of the power that each carries."""
        a, b, centre = sizes_mm
        crossed = self.rules.crossed
        reach = (a + b) / 2 if crossed else np.abs(a - b) / 2
        wrap = small_wrap_deg(a, b, np.maximum(centre, reach * (1 + 1e-9)), crossed=crossed)
        speed = np.exp(entering) * a * (pi / 60_000)
        small, large = np.minimum(a, b), np.maximum(a, b)
        kw = carried_kw(self.rules.ratings, speed, small, large / small, wrap, self.length_mm)
        return np.asarray(np.log(np.maximum(kw, LEAST_KW)))


class Carried:
    """``ln(power carried / power that must be carried)`` for every belt and speed at which grip is a limit.

    The slopes of the power are central differences, as its factors of arc and length come from tables; the slopes of
    sizes and speeds are exact.
    """

    def __init__(self, variables: Variables) -> None:
        """Take note of where sizes, centre distances and speeds stand."""
        self.variables = variables
        problem = variables.problem
        rpm = np.exp(log_speeds(problem, variables.candidate.stages)).tolist()
        asked = [least_power_kw(problem.targets, speed) for speed in rpm]
        found: list[list[tuple[int, float, Floats, float, int]]] = [[] for _ in problem.stages]
        shares = [speed_shares(problem, number) for number in range(len(problem.stages))]
        for k, (power, place) in enumerate(zip(asked, problem.layout.places, strict=True)):
            line, constant = np.zeros(variables.size), log(problem.motor_rpm)
            for number, position in enumerate(place if power > 0 else ()):
                rules = problem.stages[number]
                constant += log(rules.gain)
                if rules.ratings:
                    found[number].append((position, power, line, constant + log(shares[number][k]), k))
                ratio, kept = log_ratio(variables, variables.at(number, position))
                line, constant = line + ratio, constant + kept
        self.belts = [self._belt(number, entries) for number, entries in enumerate(found) if entries]
        self.limits = tuple(
            Limit(
                f"{problem.stages[number].key}: what the belt must carry",
                f"position {p + 1}, speed {k + 1}",
                "percent",
                0.01,
            )
            for number, entries in enumerate(found)
            for p, _, _, _, k in entries
        )

    def _belt(self, number: int, entries: list[tuple[int, float, Floats, float, int]]) -> _Belt:
        variables = self.variables
        spots = [variables.at(number, position) for position, *_ in entries]
        return _Belt(
            variables.problem.stages[number],
            variables.candidate.stages[number].belt.length_mm,
            np.array([(s.driver, s.driven, s.centre) for s in spots]).T,
            np.array([(s.sizes.driver_mm, s.sizes.driven_mm, s.sizes.centre_mm) for s in spots]).T,
            np.array([line for _, _, line, _, _ in entries]),
            np.array([constant for _, _, _, constant, _ in entries]),
            np.array([power for _, power, *_ in entries]),
        )

    def values(self, vector: Floats) -> Floats:
        """Return the rows' values."""
        out = [np.empty(0)]
        if self.belts:
            measures = self.variables.measures_mm(vector)
            for belt in self.belts:
                carries = belt.log_kw(belt.sizes_mm(measures), belt.entering @ vector + belt.constant)
                out.append(carries - np.log(belt.power_kw) - MARGIN)
        return np.concatenate(out)

    def gradients(self, vector: Floats) -> Floats:
        """Return the rows' gradients."""
        out = [np.empty((0, self.variables.size))]
        if self.belts:
            measures = self.variables.measures_mm(vector)
            per_variable = self.variables.per_variable_mm(measures)
            out += [self._slopes(belt, vector, measures, per_variable) for belt in self.belts]
        return np.vstack(out)

    def _slopes(self, belt: _Belt, vector: Floats, measures: Floats, per_variable: Floats) -> Floats:
        sizes, entering = belt.sizes_mm(measures), belt.entering @ vector + belt.constant
        rows = np.arange(entering.size)
        block = np.zeros((entering.size, self.variables.measured))
        for axis, place in enumerate(belt.places):
            step = np.zeros_like(sizes)
            step[axis] = sizes[axis] * STEP
            slope = (belt.log_kw(sizes + step, entering) - belt.log_kw(sizes - step, entering)) / (2 * step[axis])
            moving = np.flatnonzero(place >= 0)
            block[rows[moving], place[moving]] += slope[moving]
        faster = (belt.log_kw(sizes, entering + STEP) - belt.log_kw(sizes, entering - STEP)) / (2 * STEP)
        return np.asarray(block @ per_variable + faster[:, None] * belt.entering)


STEEPEST = 1e3
"""Settings to a millimetre of centre distance, where the movement turns round."""


class _Side(NamedTuple):
    """The belt of one of two stages, at its positions."""

    belt: SharedBelt
    centres: NDArray[np.intp]
    """Where the centre distances stand among the measures; −1 for a constant."""
    known_mm: Floats
    forgives_mm: float

    def centre_mm(self, measures_mm: Floats) -> Floats:
        return np.where(self.centres >= 0, measures_mm[self.centres], self.known_mm)

    def settings(self, measures_mm: Floats) -> tuple[Floats, Floats]:
        return settings_of(self.belt, self.centre_mm(measures_mm), self.forgives_mm)

    def per_centre(self, settings_mm: Floats) -> Floats:
        """Return how much a setting grows with the centre distance whose end it is."""
        slope = self.belt.path.slope(settings_mm)
        return np.asarray(np.where(np.abs(slope) > 1 / STEEPEST, 1 / np.where(slope == 0, 1.0, slope), 0.0))


class Shared:
    """``greatest setting of a position − least setting of another stage's position`` for all two on a shared mount."""

    def __init__(self, variables: Variables) -> None:
        """Take note of where centre distances stand."""
        self.variables = variables
        self.pairs: list[tuple[_Side, _Side]] = []
        limits: list[Limit] = []
        for coupling in variables.problem.couplings:
            for one, other in permutations(coupling.belts, 2):
                sides = self._side(one), self._side(other)
                if (sides[0].centres < 0).all() and (sides[1].centres < 0).all():
                    continue
                self.pairs.append(sides)
                limits += [self._limit(coupling)] * (sides[0].centres.size * sides[1].centres.size)
        self.limits = tuple(limits)

    def values(self, vector: Floats) -> Floats:
        """Return the rows' values."""
        out = [np.empty(0)]
        measures = self.variables.measures_mm(vector)
        for one, other in self.pairs:
            room = one.settings(measures)[1][:, None] - other.settings(measures)[0][None, :]
            out.append((room.ravel() - WINDOW_MARGIN_MM) * PER_MM)
        return np.concatenate(out)

    def gradients(self, vector: Floats) -> Floats:
        """Return the rows' gradients."""
        out = [np.empty((0, self.variables.size))]
        if self.pairs:
            measures = self.variables.measures_mm(vector)
            per_variable = self.variables.per_variable_mm(measures) * PER_MM
            for one, other in self.pairs:
                rows = np.zeros((one.centres.size, other.centres.size, self.variables.measured))
                for axis, side, end, sign in ((0, one, 1, 1.0), (1, other, 0, -1.0)):
                    slopes = sign * side.per_centre(side.settings(measures)[end])
                    for place, (index, slope) in enumerate(zip(side.centres, slopes, strict=True)):
                        if index >= 0:
                            rows[(place, slice(None), index) if axis == 0 else (slice(None), place, index)] += slope
                out.append(rows.reshape(-1, self.variables.measured) @ per_variable)
        return np.vstack(out)

    def _side(self, belt: SharedBelt) -> _Side:
        spots = self.variables.by_stage[belt.stage]
        return _Side(
            belt,
            np.array([spot.centre for spot in spots], dtype=np.intp),
            np.array([spot.sizes.centre_mm for spot in spots]),
            self.variables.candidate.stages[belt.stage].belt.forgives_mm,
        )

    def _limit(self, coupling: Coupling) -> Limit:
        return Limit(f"{coupling.key}: one setting of the mount for all its belts", "", "mm", PER_MM)
