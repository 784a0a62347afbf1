"""Least squares in which some combinations of the unknowns may stay open, and what readings would close them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from optimizer.recheck.slip_model import SlipModel

__all__ = [
    "MOST_MORE",
    "NULL",
    "USEFUL",
    "Fit",
    "Further",
    "Offset",
    "Outlook",
    "and_listed",
    "doubts",
    "fit",
    "shaft_name",
    "state_words",
]

Floats = NDArray[np.float64]
NULL = 1e-3
"""Below this singular value, in limits of use, a combination counts as not seen at all."""
UNSEEN = 0.01
"""Below it a combination would be known to a hundred limits of use, which is to say not at all."""
FITTED = 0.1
"""Above it a combination is fitted: known to ten limits of use, so that all within one limit hardly feels the rest."""
USEFUL = 1.0
"""Above it a combination is known to its limit of use."""
HELD = 1e3
"""Weight that holds a shift at 0 as long as anything else can explain the readings."""
MOST_STEPS = 50
SETTLED = 1e-9
"""Largest last step, in limits of use."""
LARGEST_STEP = 10.0
"""Steps are cut to it, in limits of use: a tenth of a slip, a tenth of the least diameter."""
FURTHEST = 30.0
"""No shift passes it: three tenths of the least diameter, more than any belt is thick."""
MOST_MORE = 12
"""What so many more readings of every kind would not tell counts as not to be known."""
MOST_PLACES = 150
"""Combinations of positions that are looked at; beyond, each stage's are thinned evenly, its ends kept."""
USUAL_RPM = 0.3
"""Standard uncertainty of a speed where none was stated: a tachometer that shows whole revolutions."""
USUAL_MOTOR_RPM = 1450.0
"""Motor speed where nobody stated one: four poles at 50 Hz."""
WORTH = 0.5
"""Gain, in ln of the determinant, that makes reading more shafts worth while."""


@dataclass(frozen=True)
class Offset:
    """What one free error somewhere would explain."""

    value: float
    """The error, in units of its column."""
    chi_square: float
    """How much less the sum of squares would be."""


@dataclass(frozen=True)
class Fit:
    """Least squares with what they rest on. Slips and shifts are in limits of use here (`SlipModel.scale`)."""

    model: SlipModel
    vector: Floats
    """All unknowns."""
    singular: Floats
    """Singular values of what is asked, all else fitted, largest first."""
    directions: Floats
    """Their combinations of what is asked, a row each, orthonormal."""
    residuals: Floats
    """In standard uncertainties."""
    checked: Floats
    """Orthonormal columns of all that was fitted to the readings."""
    settled: bool

    @property
    def asked(self) -> Floats:
        """Slips as ln(1 − slip) and shifts, in limits of use."""
        return np.asarray(self.vector[: self.model.at.asked] / self.model.scale)

    @property
    def chi_square(self) -> float:
        """Sum of the squares."""
        return float(self.residuals @ self.residuals)

    @property
    def freedom(self) -> int:
        """Degrees of freedom: how many readings check the others."""
        return len(self.residuals) - int(self.checked.shape[1])

    def doubt(self, weights: Floats) -> float:
        """Return the standard uncertainty of a combination of what is asked, all in limits of use."""
        along = self.directions @ weights
        return float(np.sqrt(np.sum((along / np.maximum(self.singular, NULL)) ** 2)))

    def unseen(self, weights: Floats) -> bool:
        """Return whether a combination has a part that no reading bears on."""
        along = (self.directions @ weights)[self.singular < UNSEEN]
        return bool(np.linalg.norm(along) > NULL)

    def offset(self, column: Floats) -> Offset | None:
        """Return the error along a column of the residuals that explains most; nothing where no reading checks it.

        With the column's part `c` that the fit leaves free and the residuals `r`: error ``−c·r/c·c``, decrease of the
        sum of squares ``(c·r)²/c·c``.
        """
        free = column - self.checked @ (self.checked.T @ column)
        length = float(free @ free)
        if length < 1e-6 * float(column @ column) or length == 0:
            return None
        along = float(free @ self.residuals)
        return Offset(-along / length, along**2 / length)


def fit(model: SlipModel, held: Sequence[int] = (), *, least: float = FITTED) -> Fit:
    """Return slips and shifts with the least sum of squares, by Gauss-Newton steps with the exact Jacobian.

    True diameters and motor speeds are fitted with them, each held by its own measurement, so that errors of
    diameters are common to all readings at their position. What is asked is seen through what these leave free:
    with their Jacobian's orthonormal columns `Q`, ``(I − Q·Qᵀ)·J``. Its singular values, in limits of use, are the
    reciprocals of standard uncertainties. Only what is seen well enough is fitted; of all slips and shifts that
    agree with it those with the least sum of squares, in limits of use, are taken, so that nothing runs away.

    Parameters
    ----------
    model
        The readings.
    held
        Places of shifts to be left at 0 wherever something else can explain the readings.
    least
        Least singular value that is fitted.
    """
    vector, scale, asked = model.start(), model.scale, model.at.asked
    ease = np.ones(asked)
    ease[list(held)] = 1 / HELD**2
    count = int(np.sum(_seen(model, vector).singular >= least))
    shifts = slice(2 * model.at.stages, asked)
    sizes = slice(asked, asked + len(model.furthest))
    settled = False
    for _ in range(MOST_STEPS):
        seen = _seen(model, vector)
        rows = seen.directions[:count]
        now = vector[:asked] / scale
        goal = rows @ now - seen.columns.T[:count] @ seen.values / seen.singular[:count]
        step = ease * (np.linalg.solve((rows * ease) @ rows.T, goal) @ rows) - now
        step *= min(1.0, LARGEST_STEP / max(float(np.max(np.abs(step))), LARGEST_STEP))
        rest = solve_triangular(seen.triangle, -seen.basis.T @ (seen.values + seen.wanted @ step))
        vector = np.concatenate([vector[:asked] + step * scale, vector[asked:] + rest])
        vector[shifts] = np.clip(vector[shifts], -FURTHEST * scale[shifts], FURTHEST * scale[shifts])
        vector[sizes] = np.clip(vector[sizes], -model.furthest, model.furthest)
        if max(float(np.max(np.abs(step))), float(np.max(np.abs(rest)))) < SETTLED:
            settled = True
            break
    seen = _seen(model, vector)
    checked = np.hstack([seen.basis, seen.columns[:, seen.singular >= least]])
    free = seen.values - checked @ (checked.T @ seen.values)
    return Fit(model, vector, seen.singular, seen.directions, free, checked, settled)


def doubts(information: Floats) -> Floats:
    """Return the standard uncertainty of each thing asked, in limits of use, from its information matrix.

    Source: the covariance is the inverse of the information; what is not seen counts as 1/NULL limits.
    """
    values, directions = np.linalg.eigh(information)
    return np.asarray(np.sqrt((directions**2) @ (1 / np.maximum(values, NULL**2))))


class _Seen(NamedTuple):
    """What is asked as the readings see it: a singular value decomposition, and that of all else."""

    singular: Floats
    directions: Floats
    columns: Floats
    basis: Floats
    triangle: Floats
    values: Floats
    """The residuals."""
    wanted: Floats
    """Their derivatives by what is asked, in limits of use."""


def _seen(model: SlipModel, vector: Floats) -> _Seen:
    values, jacobian = model.residuals(vector)
    asked = model.at.asked
    wanted = jacobian[:, :asked] * model.scale
    basis, triangle = np.linalg.qr(jacobian[:, asked:])
    free = wanted - basis @ (basis.T @ wanted)
    padded = np.vstack([free, np.zeros((max(0, asked - len(free)), asked))])
    left, singular, right = np.linalg.svd(padded, full_matrices=False)
    return _Seen(singular, right, left[: len(free)], basis, triangle, values, wanted)


def state_words(loaded: bool) -> str:
    """Return `idle` or `loaded`."""
    return "loaded" if loaded else "idle"


def shaft_name(shaft: int, stages: int) -> str:
    """Return what a shaft is called, 0 being the motor."""
    return "motor" if shaft == 0 else "spindle" if shaft == stages else f"shaft that stage {shaft} drives"


def and_listed(words: Sequence[str]) -> str:
    """Return words as a sentence lists them.

    Examples
    --------
    >>> and_listed(["1"]), and_listed(["1", "2", "3"])
    ('1', '1, 2 and 3')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


@dataclass(frozen=True)
class Further:
    """A reading not made yet."""

    positions: tuple[int, ...]
    loaded: bool
    shafts: tuple[int, ...]
    """Those whose speeds to read; 0 is the motor."""

    @property
    def text(self) -> str:
        """What to do, in words."""
        places = ", ".join(f"position {p + 1} of stage {s + 1}" for s, p in enumerate(self.positions))
        shafts = and_listed([f"the {shaft_name(shaft, len(self.positions))}" for shaft in self.shafts])
        return f"read the speeds of {shafts}, {state_words(self.loaded)}, belt at {places}"


class Outlook:
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

    def following(self) -> Further | None:
        """Return the best further reading; nothing where all that can be known is, and some reading checks another."""
        wanted = self.wanted()
        could = self.known(self.now + MOST_MORE * self._adds.sum(axis=0))[wanted]
        if np.all(self.known(self.now)[wanted] | ~could) and self.fit.freedom:
            return None
        return self.best(self.now)[0]

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


def _motor_rpm(model: SlipModel, loaded: bool) -> float:
    read = [r.speeds_rpm[0] for r in model.readings if r.loaded == loaded and r.speeds_rpm[0] is not None]
    if read:
        return float(np.median(np.array(read, float)))
    said = model.machine.loaded_motor or model.machine.idle_motor
    return said.rpm if said else USUAL_MOTOR_RPM
