"""The variables of the smooth problem, with the sizes they stand for."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import belt_length_mm, centre_for_length_mm, length_gradient
from optimizer.records import Candidate, PositionSizes, Problem, StageProblem, StageSizes

__all__ = ["CENTRE_SCALE_MM", "Spot", "Variables", "locked"]

Floats = NDArray[np.float64]
CENTRE_SCALE_MM = 200.0
"""A centre distance counts as a multiple of this, so that all variables are of like size."""
POLISH_STEPS = 8


@dataclass(frozen=True)
class Spot:
    """One position: where its sizes and its centre distance stand among the variables; −1 for a constant."""

    stage: int
    position: int
    driver: int
    driven: int
    centre: int
    sizes: PositionSizes


@dataclass(frozen=True)
class Variables:
    """Layout of the vector: ln of every turned diameter [mm], centre distances, a, ln φ, δ, ε.

    A locked stage, whose window is no more than the fit, has one centre distance for all positions that have
    something to turn.
    """

    candidate: Candidate
    spots: tuple[Spot, ...]
    size: int

    @classmethod
    def of(cls, candidate: Candidate) -> Variables:
        """Number the variables of a candidate."""
        spots: list[Spot] = []
        turned = [p for s in candidate.stages for p in s.positions]
        count = sum((p.driver_source == "turned") + (p.driven_source == "turned") for p in turned)
        centre, size = count, 0
        for number, (rules, stage) in enumerate(zip(candidate.problem.stages, candidate.stages, strict=True)):
            free = [p.driver_source == "turned" or p.driven_source == "turned" for p in stage.positions]
            common = locked(rules, stage) and all(free)
            for place, position in enumerate(stage.positions):
                ends = []
                for source in (position.driver_source, position.driven_source):
                    ends.append(size if source == "turned" else -1)
                    size += source == "turned"
                own = centre if free[place] else -1
                spots.append(Spot(number, place, ends[0], ends[1], own, position))
                centre += free[place] and not (common and place < len(stage.positions) - 1)
        return cls(candidate, tuple(spots), centre + 4)

    @property
    def problem(self) -> Problem:
        """The problem that the candidate solves."""
        return self.candidate.problem

    @property
    def series(self) -> tuple[int, int, int, int]:
        """Where a, ln φ, δ and ε stand."""
        return self.size - 4, self.size - 3, self.size - 2, self.size - 1

    def at(self, stage: int, position: int) -> Spot:
        """Return the spot of a position."""
        return next(s for s in self.spots if (s.stage, s.position) == (stage, position))

    def driver_mm(self, spot: Spot, vector: Floats) -> float:
        """Return the driver's diameter [mm]."""
        return spot.sizes.driver_mm if spot.driver < 0 else exp(vector[spot.driver])

    def driven_mm(self, spot: Spot, vector: Floats) -> float:
        """Return the driven diameter [mm]."""
        return spot.sizes.driven_mm if spot.driven < 0 else exp(vector[spot.driven])

    def centre_mm(self, spot: Spot, vector: Floats) -> float:
        """Return the centre distance [mm]."""
        return spot.sizes.centre_mm if spot.centre < 0 else float(vector[spot.centre]) * CENTRE_SCALE_MM

    def start(self, line: tuple[float, float, float, float]) -> Floats:
        """Return the vector of the candidate with the line a, ln φ, δ, ε fitted to it."""
        vector = np.zeros(self.size)
        for spot in self.spots:
            if spot.driver >= 0:
                vector[spot.driver] = log(spot.sizes.driver_mm)
            if spot.driven >= 0:
                vector[spot.driven] = log(spot.sizes.driven_mm)
            if spot.centre >= 0:
                vector[spot.centre] = spot.sizes.centre_mm / CENTRE_SCALE_MM
        vector[-4:] = line
        return vector

    def stages(self, vector: Floats) -> tuple[StageSizes, ...]:
        """Return the sizes of a vector, the belt made exactly taut at every position.

        Own centre distances are solved anew; where a stage has one centre distance, a turned diameter of every
        position takes up what the solver left of the belt's length, which is below a thousandth of a millimetre.
        """
        stages = []
        for number, (rules, stage) in enumerate(zip(self.problem.stages, self.candidate.stages, strict=True)):
            spots = [s for s in self.spots if s.stage == number]
            common = len(spots) > 1 and len({s.centre for s in spots}) == 1 and spots[0].centre >= 0
            length = stage.belt.length_mm
            positions = []
            for spot in spots:
                a, b = self.driver_mm(spot, vector), self.driven_mm(spot, vector)
                centre = self.centre_mm(spot, vector)
                if common:
                    a, b = _taut(rules, length, (a, b, centre), spot)
                elif spot.centre >= 0:
                    centre = centre_for_length_mm(a, b, length, crossed=rules.crossed)
                positions.append(spot.sizes.model_copy(update={"driver_mm": a, "driven_mm": b, "centre_mm": centre}))
            stages.append(StageSizes(belt=stage.belt, positions=tuple(positions)))
        return tuple(stages)


def locked(rules: StageProblem, stage: StageSizes) -> bool:
    """Tell whether a stage lives on the belt's own fit, its shafts being fixed."""
    return len(stage.positions) > 1 and stage.belt.window_mm <= rules.fit_mm + 1e-9


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
