"""Rows of a mount whose one movement sets both belts: a common setting for every position, and its travel."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records.coupling import SharedBelt
from optimizer.refine.middle.variables import MiddleVariables
from optimizer.refine.rows import Limit
from optimizer.refine.stage_rows import PER_MM, WINDOW_MARGIN_MM

__all__ = ["Settings"]

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
