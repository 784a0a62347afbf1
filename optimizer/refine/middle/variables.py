"""Cones of a middle shaft, and their sizes as a vector."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import exp, log
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import centre_for_length_mm, length_gradient
from optimizer.records import SideSizes, StageSizes
from optimizer.records.candidate import Source
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.records.rules import SIZE_TOLERANCE_MM
from optimizer.refine.variables import Spot

__all__ = ["Cone", "MiddleVariables", "Step", "cones_of"]


class Step(NamedTuple):
    """One step of a cone."""

    size_mm: float
    source: Source


class Cone(NamedTuple):
    """A cone with its steps in the order of the levels."""

    sides: tuple[SideSizes, ...]
    """What it may be made of, as every belt that runs on it sees it."""
    stages: tuple[int, ...]
    """The belt of each of these sides."""
    names: tuple[Literal["driver", "driven"], ...]
    """What the cone is to each of them."""
    sign: float
    """1 where the sizes rise with the level, -1 where they fall."""
    steps: tuple[Step, ...]

    @property
    def ordered(self) -> bool:
        """Whether its steps must rise or fall along the shaft."""
        return any(side.cone for side in self.sides)

    @property
    def rise_mm(self) -> float:
        """By how much neighbouring steps differ at least where they are not equal."""
        return max((side.rise_mm for side in self.sides if side.cone), default=0.0)

    @property
    def turned_mm(self) -> tuple[float, float] | None:
        """Smallest and largest size that may be turned for every belt."""
        spans = [side.turned_mm for side in self.sides if side.turned_mm is not None]
        return (max(low for low, _ in spans), min(high for _, high in spans)) if spans else None


def cones_of(problem: MiddleProblem, stages: Sequence[StageSizes]) -> tuple[Cone, ...]:
    """Return the motor's, the middle and the last cone where the middle one is shared, else those of either belt."""
    first, second = problem.stages
    one, other = (sizes.positions for sizes in stages)
    left = tuple(Step(p.driver_mm, p.driver_source) for p in one)
    middle = tuple(Step(p.driven_mm, p.driven_source) for p in one)
    own = tuple(Step(p.driver_mm, p.driver_source) for p in other)
    right = tuple(Step(p.driven_mm, p.driven_source) for p in other)
    motor = Cone((first.driver,), (0,), ("driver",), 1.0, left)
    if problem.shared:
        both = Cone((first.driven, second.driver), (0, 1), ("driven", "driver"), -1.0, middle)
        return motor, both, Cone((second.driven,), (1,), ("driven",), 1.0, right)
    return (
        motor,
        Cone((first.driven,), (0,), ("driven",), -1.0, middle),
        Cone((second.driver,), (1,), ("driver",), 1.0, own),
        Cone((second.driven,), (1,), ("driven",), -1.0, right),
    )


Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
ENDS = 2
"""Number of variables beside the sizes: end miss and largest gap."""


@dataclass(frozen=True)
class _Belt:
    """What the own centre distances of one belt follow from, as arrays over its levels."""

    drivers: Ints
    drivens: Ints
    centres: Ints
    """Where sizes and centre distances stand among the measures; -1 for a constant."""
    known_mm: Floats
    """Driver, driven and centre distance of the candidate, (3, levels)."""
    length_mm: float
    crossed: bool

    def sizes_mm(self, measures_mm: Floats) -> tuple[Floats, Floats]:
        """Return drivers and drivens of the levels whose centre distance moves."""
        places = np.flatnonzero(self.centres >= 0)
        found = []
        for indices, known in zip((self.drivers, self.drivens), self.known_mm, strict=False):
            found.append(np.where(indices >= 0, measures_mm[indices], known)[places])
        return found[0], found[1]


@dataclass(frozen=True)
class MiddleVariables:
    """Layout of the vector: ln of every turned diameter [mm], a shared cone's step once; end miss ε; largest gap g.

    Neighbouring steps that are equal stay so: they are one variable, or constant where one of them is not turned. The
    measures are the sizes [mm], ε, g, and the own centre distances [mm] that follow from the sizes and the belt.
    """

    candidate: MiddleCandidate
    cones: tuple[Cone, ...]
    places: tuple[tuple[int, ...], ...]
    """For every cone where its steps stand among the variables; -1 for a constant."""

    @classmethod
    def of(cls, candidate: MiddleCandidate) -> MiddleVariables:
        """Number the variables of a candidate."""
        cones = cones_of(candidate.problem, candidate.stages)
        places: list[tuple[int, ...]] = []
        count = 0
        for cone in cones:
            row: list[int] = []
            for run in _runs(cone):
                moves = all(step.source == "turned" for step in run)
                row += [count if moves else -1] * len(run)
                count += moves
            places.append(tuple(row))
        return cls(candidate, cones, tuple(places))

    @property
    def problem(self) -> MiddleProblem:
        """The problem that the candidate solves."""
        return self.candidate.problem

    @cached_property
    def turned(self) -> int:
        """Number of sizes that move; they come first."""
        return 1 + max(max(row) for row in self.places)

    @property
    def miss(self) -> int:
        """Where ε stands."""
        return self.turned

    @property
    def gap(self) -> int:
        """Where g stands."""
        return self.turned + 1

    @cached_property
    def f_line(self) -> Floats:
        """What F grows by with every variable."""
        targets, line = self.problem.targets, np.zeros(self.size)
        line[self.miss], line[self.gap] = targets.end_weight, targets.unevenness_weight
        return line

    @property
    def size(self) -> int:
        """How many variables there are."""
        return self.turned + ENDS

    @cached_property
    def measured(self) -> int:
        """How many measures there are: the variables' and the own centre distances that move."""
        return self.size + sum(spot.centre >= 0 for spots in self.spots for spot in spots)

    @cached_property
    def spots(self) -> tuple[tuple[Spot, ...], tuple[Spot, ...]]:
        """Where sizes and centre distances of every level stand among the measures, for either belt."""
        where = {
            (stage, name): row
            for cone, row in zip(self.cones, self.places, strict=True)
            for stage, name in zip(cone.stages, cone.names, strict=True)
        }
        found: list[tuple[Spot, ...]] = []
        centre = self.size
        for number, sizes in enumerate(self.candidate.stages):
            spots = []
            for level, position in enumerate(sizes.positions):
                driver, driven = where[number, "driver"][level], where[number, "driven"][level]
                moves = driver >= 0 or driven >= 0
                spots.append(Spot(number, level, driver, driven, centre if moves else -1, position))
                centre += moves
            found.append(tuple(spots))
        return found[0], found[1]

    def measures_mm(self, vector: Floats) -> Floats:
        """Return sizes and centre distances in millimetres, in their places; ε and g as they are.

        The solver asks for rows and gradients at the same vector, so the last answer is kept.
        """
        if self._last and np.array_equal(self._last[0], vector):
            return self._last[1]
        out = np.empty(self.measured)
        out[: self.size] = vector
        out[: self.turned] = np.exp(vector[: self.turned])
        for belt in self._belts:
            a, b = belt.sizes_mm(out)
            centre = centre_for_length_mm(a, b, belt.length_mm, crossed=belt.crossed)
            # a belt too short for any centre distance: that at which it would leave no room
            least = (a + b) / 2 if belt.crossed else np.abs(a - b) / 2
            out[belt.centres[belt.centres >= 0]] = np.where(np.isfinite(centre), centre, least * (1 + 1e-6))
        self._last[:] = vector.copy(), out
        return out

    def per_variable_mm(self, measures_mm: Floats) -> Floats:
        """Return how every measure changes with every variable, shape (measures, variables).

        An own centre distance keeps its belt's length: ``dC = −(∂L/∂D·dD + ∂L/∂d·dd)/(∂L/∂C)``.
        """
        out = np.zeros((self.measured, self.size))
        scales = np.ones(self.size)
        scales[: self.turned] = measures_mm[: self.turned]
        np.fill_diagonal(out, scales)
        for belt in self._belts:
            moving = belt.centres >= 0
            centres = belt.centres[moving]
            a, b = belt.sizes_mm(measures_mm)
            *parts, per_centre = length_gradient(a, b, measures_mm[centres], crossed=belt.crossed)
            for indices, part in zip((belt.drivers[moving], belt.drivens[moving]), parts, strict=True):
                turned = np.flatnonzero(indices >= 0)
                out[centres[turned], indices[turned]] = (
                    -part[turned] / per_centre[turned] * measures_mm[indices[turned]]
                )
        return out

    def start(self, miss: float, gap: float) -> Floats:
        """Return the vector of the candidate with its end miss and largest gap."""
        vector = np.zeros(self.size)
        for cone, row in zip(self.cones, self.places, strict=True):
            for step, place in zip(cone.steps, row, strict=True):
                if place >= 0:
                    vector[place] = log(step.size_mm)
        vector[self.miss], vector[self.gap] = miss, gap
        return vector

    def stages(self, vector: Floats) -> tuple[StageSizes, StageSizes]:
        """Return the sizes of a vector, the belt exactly taut at every level."""
        found = []
        for rules, sizes, spots in zip(self.problem.stages, self.candidate.stages, self.spots, strict=True):
            positions = []
            for spot in spots:
                a = spot.sizes.driver_mm if spot.driver < 0 else exp(vector[spot.driver])
                b = spot.sizes.driven_mm if spot.driven < 0 else exp(vector[spot.driven])
                centre = spot.sizes.centre_mm
                if spot.centre >= 0:
                    centre = centre_for_length_mm(a, b, sizes.belt.length_mm, crossed=rules.crossed)
                positions.append(spot.sizes.model_copy(update={"driver_mm": a, "driven_mm": b, "centre_mm": centre}))
            found.append(StageSizes(belt=sizes.belt, positions=tuple(positions)))
        return found[0], found[1]

    @cached_property
    def _last(self) -> list[Floats]:
        """The vector asked for last with its measures, once there is one."""
        return []

    @cached_property
    def _belts(self) -> tuple[_Belt, ...]:
        return tuple(
            _Belt(
                drivers=np.array([spot.driver for spot in spots], dtype=np.intp),
                drivens=np.array([spot.driven for spot in spots], dtype=np.intp),
                centres=np.array([spot.centre for spot in spots], dtype=np.intp),
                known_mm=np.array([(s.sizes.driver_mm, s.sizes.driven_mm, s.sizes.centre_mm) for s in spots]).T,
                length_mm=sizes.belt.length_mm,
                crossed=rules.crossed,
            )
            for rules, sizes, spots in zip(self.problem.stages, self.candidate.stages, self.spots, strict=True)
        )


def _runs(cone: Cone) -> Sequence[list[Step]]:
    """Return the steps in runs of neighbours that are equal; each by itself where the cone has no order."""
    runs: list[list[Step]] = []
    for step in cone.steps:
        if runs and cone.ordered and abs(step.size_mm - runs[-1][-1].size_mm) <= SIZE_TOLERANCE_MM:
            runs[-1].append(step)
        else:
            runs.append([step])
    return runs
