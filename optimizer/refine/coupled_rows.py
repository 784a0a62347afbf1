"""Rows of mounts whose one setting must fit several belts: what every two positions leave each other."""

from __future__ import annotations

from itertools import permutations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records.coupling import Coupling, SharedBelt, settings_of
from optimizer.refine.rows import Limit
from optimizer.refine.stage_rows import PER_MM, WINDOW_MARGIN_MM
from optimizer.refine.variables import Variables

__all__ = ["Shared"]

Floats = NDArray[np.float64]
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
