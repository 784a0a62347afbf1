"""Which further tachometer readings would tell what is not known yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from optimizer.asbuilt.slip_fit import Fit, doubts
from optimizer.asbuilt.slip_model import Model

__all__ = ["MOST_MORE", "Further", "Prospect"]

Floats = NDArray[np.float64]
MOST_MORE = 12
"""Further readings are counted up to this."""
MOST_PLACES = 150
"""Combinations of positions that are looked at; beyond, each stage's are thinned evenly, its ends kept."""
USUAL_RPM = 0.3
"""Standard uncertainty of a speed where none was stated: a tachometer that shows whole revolutions."""
USUAL_MOTOR_RPM = 1450.0
"""Motor speed where nobody stated one: four poles at 50 Hz."""
WORTH = 0.5
"""Gain, in ln of the determinant, that makes reading more shafts worth while."""


@dataclass(frozen=True)
class Further:
    """A reading not made yet."""

    positions: tuple[int, ...]
    loaded: bool
    shafts: tuple[int, ...]


class Prospect:
    """What would be known after further readings, by adding their information to that of a fit.

    Candidates are readings of motor and spindle, and of all shafts, at combinations of positions.

    Parameters
    ----------
    fit
        What is known now.
    states
        Whether idle (false) or loaded (true) readings, or both, are of interest.
    """

    def __init__(self, fit: Fit, states: Sequence[bool]) -> None:
        self.fit, self.states = fit, tuple(states)
        model = self.model = fit.model
        _, jacobian = model.residuals(fit.vector)
        self.asked, self.core = model.at.asked, model.at.motors
        jacobian[:, : self.asked] *= model.scale
        full = jacobian.T @ jacobian
        motors = np.diag(full)[self.core :]
        across = full[: self.core, self.core :]
        self.now = full[: self.core, : self.core] - (across / motors) @ across.T
        stated = [reading.uncertainty_rpm for reading in model.readings]
        self.doubt_rpm = float(np.median(stated)) if stated else USUAL_RPM
        self.motor_rpm = {loaded: _motor_rpm(model, loaded) for loaded in (False, True)}
        self.candidates = self._candidates()
        self._adds = np.stack([self._information(further) for further in self.candidates])

    def wanted(self) -> list[int]:
        """Return the places of what is of interest: slips in the states, all shifts."""
        at = self.model.at
        slips = [at.slip(stage, loaded) for stage in range(at.stages) for loaded in self.states]
        return sorted(slips) + [at.shift(stage) for stage in range(at.stages)]

    def known(self, information: Floats) -> NDArray[np.bool_]:
        """Return what is known to better than its limit of use."""
        return np.asarray(doubts(self._of_asked(information)) <= 1)

    def with_shafts(self) -> Floats:
        """Return the information if every shaft's speed had been read in every reading made."""
        shafts = tuple(range(self.model.at.stages + 1))
        return self._again([Further(r.positions, r.loaded, shafts) for r in self.model.readings])

    def with_motor(self) -> Floats:
        """Return the information if the motor's speed had been read in every reading made."""
        return self._again(
            [
                Further(r.positions, r.loaded, (0, *(s for s, rpm in enumerate(r.speeds_rpm) if rpm is not None)))
                for r in self.model.readings
                if r.speeds_rpm[0] is None
            ]
        )

    def with_places(self, *, all_shafts: bool) -> Floats:
        """Return the information if all combinations of positions were read as well."""
        most = max(len(f.shafts) for f in self.candidates)
        kept = np.array([all_shafts == (len(f.shafts) == most) or most == 2 for f in self.candidates])
        return np.asarray(self.now + self._adds[kept].sum(axis=0))

    def best(self, information: Floats) -> tuple[Further, Floats]:
        """Return the further reading that tells most, with the information it would leave.

        The gain is that in ``ln det(I + S)``, with `S` the information on what is asked in limits of use, all else
        fitted. All shafts are asked for only where that gains much over motor and spindle. The first counts on ties.
        """
        after = information + self._adds
        lifted = after + np.diag([1.0] * self.asked + [0.0] * (self.core - self.asked))
        gains = np.linalg.slogdet(lifted)[1] - np.linalg.slogdet(after[:, self.asked :, self.asked :])[1]
        few = np.array([len(f.shafts) == 2 for f in self.candidates])
        best_of_few = float(np.max(gains[few]))
        pool = few if best_of_few >= float(np.max(gains)) - WORTH else ~few
        place = int(np.flatnonzero(pool & (gains >= np.max(gains[pool]) - 1e-6))[0])
        return self.candidates[place], after[place]

    def plan(self) -> tuple[Further | None, int | None]:
        """Return the best further reading, and how many it takes to know all that can be known.

        No reading where all is known already and one reading at least checks the others; no number above `MOST_MORE`.
        """
        wanted = self.wanted()
        could = self.known(self.now + MOST_MORE * self._adds.sum(axis=0))[wanted]
        information, first = self.now, None
        for count in range(MOST_MORE + 1):
            if np.all(self.known(information)[wanted] | ~could):
                unchecked = first is None and self.fit.freedom == 0
                return (self.best(information)[0] if unchecked else first), count
            following, information = self.best(information)
            first = first or following
        return first, None

    def _choices(self) -> list[list[int]]:
        counts = [len(stage.driver_mm) for stage in self.model.machine.stages]
        kept = list(counts)
        while np.prod(kept) > MOST_PLACES and max(kept) > 2:
            kept[kept.index(max(kept))] -= 1
        return [
            sorted({round(place) for place in np.linspace(0, count - 1, keep)})
            for count, keep in zip(counts, kept, strict=True)
        ]

    def _candidates(self) -> list[Further]:
        last = self.model.at.stages
        shafts = {(0, last), tuple(range(last + 1))}
        return [
            Further(positions, loaded, which)
            for which in sorted(shafts, key=len)
            for loaded in self.states
            for positions in product(*self._choices())
            if self.model.machine.can_be(positions)
        ]

    def _again(self, readings: Sequence[Further]) -> Floats:
        return np.asarray(self.now + sum(self._information(reading) for reading in readings))

    def _information(self, further: Further) -> Floats:
        """Return what a reading with its own unknown motor speed would add."""
        model = self.model
        logs, gradients = model.chain(self.fit.vector, further.positions, further.loaded)
        shafts = list(further.shafts)
        weights = self.motor_rpm[further.loaded] * np.exp(logs[shafts]) / self.doubt_rpm
        block = gradients[shafts, : self.core] * weights[:, None]
        block[:, : self.asked] *= model.scale
        free = block - np.outer(weights, weights @ block) / (weights @ weights)
        return np.asarray(free.T @ free)

    def _of_asked(self, information: Floats) -> Floats:
        own, rest = information[: self.asked, : self.asked], information[self.asked :, self.asked :]
        across = information[: self.asked, self.asked :]
        return np.asarray(own - across @ np.linalg.solve(rest, across.T))


def _motor_rpm(model: Model, loaded: bool) -> float:
    read = [r.speeds_rpm[0] for r in model.readings if r.loaded == loaded and r.speeds_rpm[0] is not None]
    if read:
        return float(np.median(np.array(read, float)))
    said = model.machine.loaded_motor or model.machine.idle_motor
    return said.rpm if said else USUAL_MOTOR_RPM
