"""The variables of the smooth problem, with the sizes they stand for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import exp, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import belt_length_mm, centre_for_length_mm, length_gradient
from optimizer.records import Candidate, PositionSizes, Problem, StageProblem, StageSizes
from optimizer.records.candidate import Source

__all__ = ["CENTRE_SCALE_MM", "Spot", "Variables", "locked"]

Floats = NDArray[np.float64]
CENTRE_SCALE_MM = 200.0
"""A centre distance counts as a multiple of this, so that all variables are of like size."""
POLISH_STEPS = 8
SERIES = 4
"""Number of variables that describe the series."""


@dataclass(frozen=True)
class Spot:
    """One position: where its sizes and its centre distance stand among the measures; −1 for a constant."""

    stage: int
    position: int
    driver: int
    driven: int
    centre: int
    sizes: PositionSizes


@dataclass(frozen=True)
class Variables:
    """Layout of the vector: ln of every turned diameter [mm], common centre distances, the series, the largest disc.

    The series is a, ln φ, δ and ε; of the largest disc [mm] the logarithm stands there, and only counts where it is
    made least.

    A locked stage, whose window is no more than the fit, has one centre distance for all positions that have
    something to turn. Any other position has its own, which follows from its diameters and the belt: no variable, but
    one of the measures that rows are stated in.
    """

    candidate: Candidate
    spots: tuple[Spot, ...]
    turned: int
    """Number of turned diameters, which come first."""
    common: int
    """Number of common centre distances, which come next."""

    @classmethod
    def of(cls, candidate: Candidate) -> Variables:
        """Number the variables of a candidate."""
        stages = tuple(zip(candidate.problem.stages, candidate.stages, strict=True))
        one = [locked(rules, stage) and all(map(_moves, stage.positions)) for rules, stage in stages]
        turned = sum(source == "turned" for _, stage in stages for p in stage.positions for source in _sources(p))
        size = turned + sum(one) + SERIES + 1
        spots: list[Spot] = []
        diameter, shared, own = 0, turned, size
        for number, (_, stage) in enumerate(stages):
            for place, position in enumerate(stage.positions):
                ends = []
                for source in _sources(position):
                    ends.append(diameter if source == "turned" else -1)
                    diameter += source == "turned"
                centre = -1
                if one[number]:
                    centre = shared
                elif _moves(position):
                    centre, own = own, own + 1
                spots.append(Spot(number, place, ends[0], ends[1], centre, position))
            shared += one[number]
        return cls(candidate, tuple(spots), turned, sum(one))

    @property
    def problem(self) -> Problem:
        """The problem that the candidate solves."""
        return self.candidate.problem

    @property
    def first(self) -> int:
        """Where a stands."""
        return self.turned + self.common

    @property
    def size(self) -> int:
        """How many variables there are."""
        return self.first + SERIES + 1

    @cached_property
    def measured(self) -> int:
        """How many measures there are: the variables' and the own centre distances."""
        return self.size + sum(spot.centre >= self.size for spot in self.spots)

    @property
    def series(self) -> tuple[int, int, int, int]:
        """Where a, ln φ, δ and ε stand."""
        return self.first, self.first + 1, self.first + 2, self.first + 3

    @property
    def disc(self) -> int:
        """Where ln of the largest disc stands."""
        return self.first + SERIES

    @cached_property
    def by_stage(self) -> tuple[tuple[Spot, ...], ...]:
        """The spots of every stage."""
        stages = range(len(self.candidate.stages))
        return tuple(tuple(s for s in self.spots if s.stage == number) for number in stages)

    def at(self, stage: int, position: int) -> Spot:
        """Return the spot of a position."""
        return self.by_stage[stage][position]

    def measures_mm(self, vector: Floats) -> Floats:
        """Return diameters and centre distances in millimetres, in their places; the other variables as they are.

        The solver asks for rows and gradients at the same vector, so the last answer is kept.
        """
        if self._last and np.array_equal(self._last[0], vector):
            return self._last[1]
        out = np.empty(self.measured)
        out[: self.size] = vector
        out[: self.turned] = np.exp(vector[: self.turned])
        out[self.turned : self.first] *= CENTRE_SCALE_MM
        for own in self._own:
            a, b = own.sizes_mm(out)
            out[own.centres] = _centres_mm(a, b, own)
        self._last[:] = vector.copy(), out
        return out

    def per_variable_mm(self, measures_mm: Floats) -> Floats:
        """Return how every measure changes with every variable, shape (measures, variables).

        An own centre distance keeps its belt's length: ``dC = −(∂L/∂D·dD + ∂L/∂d·dd)/(∂L/∂C)``.
        """
        out = np.zeros((self.measured, self.size))
        scales = np.ones(self.size)
        scales[: self.turned] = measures_mm[: self.turned]
        scales[self.turned : self.first] = CENTRE_SCALE_MM
        np.fill_diagonal(out, scales)
        for own in self._own:
            a, b = own.sizes_mm(measures_mm)
            *parts, per_centre = length_gradient(a, b, measures_mm[own.centres], crossed=own.crossed)
            for indices, part in zip((own.drivers, own.drivens), parts, strict=True):
                turned = np.flatnonzero(indices >= 0)
                places = indices[turned]
                out[own.centres[turned], places] = -part[turned] / per_centre[turned] * scales[places]
        return out

    @cached_property
    def _last(self) -> list[Floats]:
        """The vector asked for last with its measures, once there is one."""
        return []

    @cached_property
    def _own(self) -> tuple[_Own, ...]:
        """What the own centre distances of every stage follow from."""
        found = []
        for rules, stage, spots in zip(self.problem.stages, self.candidate.stages, self.by_stage, strict=True):
            own = [s for s in spots if s.centre >= self.size]
            if own:
                found.append(
                    _Own(
                        drivers=np.array([s.driver for s in own]),
                        drivens=np.array([s.driven for s in own]),
                        known_mm=np.array([(s.sizes.driver_mm, s.sizes.driven_mm) for s in own]).T,
                        centres=np.array([s.centre for s in own]),
                        length_mm=stage.belt.length_mm,
                        crossed=rules.crossed,
                    )
                )
        return tuple(found)

    def start(self, line: tuple[float, float, float, float]) -> Floats:
        """Return the vector of the candidate with the line a, ln φ, δ, ε fitted to it."""
        vector = np.zeros(self.size)
        discs = [0.0]
        for spot in self.spots:
            rules = self.problem.stages[spot.stage]
            for index, side, size_mm in (
                (spot.driver, rules.driver, spot.sizes.driver_mm),
                (spot.driven, rules.driven, spot.sizes.driven_mm),
            ):
                if index >= 0:
                    vector[index] = log(size_mm)
                    discs.append(log(size_mm + side.outside_shift_mm + side.truing_mm))
            if 0 <= spot.centre < self.size:
                vector[spot.centre] = spot.sizes.centre_mm / CENTRE_SCALE_MM
        vector[list(self.series)] = line
        vector[self.disc] = max(discs)
        return vector

    def stages(self, vector: Floats) -> tuple[StageSizes, ...]:
        """Return the sizes of a vector, the belt made exactly taut at every position.

        Own centre distances are solved anew; where a stage has one centre distance, a turned diameter of every
        position takes up what the solver left of the belt's length, which is below a thousandth of a millimetre.
        """
        stages = []
        for rules, stage, spots in zip(self.problem.stages, self.candidate.stages, self.by_stage, strict=True):
            length = stage.belt.length_mm
            positions = []
            for spot in spots:
                a = spot.sizes.driver_mm if spot.driver < 0 else exp(vector[spot.driver])
                b = spot.sizes.driven_mm if spot.driven < 0 else exp(vector[spot.driven])
                centre = spot.sizes.centre_mm
                if spot.centre >= self.size:
                    centre = centre_for_length_mm(a, b, length, crossed=rules.crossed)
                elif spot.centre >= 0:
                    centre = float(vector[spot.centre]) * CENTRE_SCALE_MM
                    a, b = _taut(rules, length, (a, b, centre), spot)
                positions.append(spot.sizes.model_copy(update={"driver_mm": a, "driven_mm": b, "centre_mm": centre}))
            stages.append(StageSizes(belt=stage.belt, positions=tuple(positions)))
        return tuple(stages)


def locked(rules: StageProblem, stage: StageSizes) -> bool:
    """Tell whether a stage lives on the belt's own fit, its shafts being fixed."""
    return len(stage.positions) > 1 and stage.belt.window_mm <= rules.fit_mm + 1e-9


class _Own(NamedTuple):
    """What the own centre distances of one stage follow from."""

    drivers: NDArray[np.intp]
    drivens: NDArray[np.intp]
    known_mm: Floats
    centres: NDArray[np.intp]
    length_mm: float
    crossed: bool

    def sizes_mm(self, measures_mm: Floats) -> tuple[Floats, Floats]:
        """Return drivers and driven diameters."""
        driver = np.where(self.drivers >= 0, measures_mm[self.drivers], self.known_mm[0])
        return driver, np.where(self.drivens >= 0, measures_mm[self.drivens], self.known_mm[1])


def _centres_mm(driver_mm: Floats, driven_mm: Floats, own: _Own) -> Floats:
    """Return own centre distances; where the belt is too short for any, that at which it would leave no room."""
    centre_mm = centre_for_length_mm(driver_mm, driven_mm, own.length_mm, crossed=own.crossed)
    reach_mm = (driver_mm + driven_mm) / 2 if own.crossed else np.abs(driver_mm - driven_mm) / 2
    return np.where(np.isfinite(centre_mm), centre_mm, reach_mm * (1 + 1e-6))


def _sources(position: PositionSizes) -> tuple[Source, Source]:
    return position.driver_source, position.driven_source


def _moves(position: PositionSizes) -> bool:
    return "turned" in _sources(position)


def _taut(rules: StageProblem, length: float, sizes: tuple[float, float, float], spot: Spot) -> tuple[float, float]:
    """Return the two diameters with the turned ones scaled until the belt is taut at the centre distance."""
    a, b, centre = sizes
    for _ in range(POLISH_STEPS):
        error = belt_length_mm(a, b, centre, crossed=rules.crossed) - length
        if abs(error) < 1e-11 * length:
            break
        per_a, per_b, _unused = length_gradient(a, b, centre, crossed=rules.crossed)
        slope = (a * per_a if spot.driver >= 0 else 0.0) + (b * per_b if spot.driven >= 0 else 0.0)
        scale = 1 - error / slope
        a, b = (a * scale if spot.driver >= 0 else a), (b * scale if spot.driven >= 0 else b)
    return a, b
