"""Weighted least squares in which some combinations of the unknowns may stay open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from optimizer.asbuilt.slip_model import Model

__all__ = ["NULL", "USEFUL", "Fit", "Offset", "doubts", "fit"]

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


@dataclass(frozen=True)
class Offset:
    """What one free error somewhere would explain."""

    value: float
    """The error, in units of its column."""
    chi_square: float
    """How much less the sum of squares would be."""


@dataclass(frozen=True)
class Fit:
    """Least squares with what they rest on. Slips and shifts are in limits of use here (`Model.scale`)."""

    model: Model
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


def fit(model: Model, held: Sequence[int] = (), *, least: float = FITTED) -> Fit:
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


def _seen(model: Model, vector: Floats) -> _Seen:
    values, jacobian = model.residuals(vector)
    asked = model.at.asked
    wanted = jacobian[:, :asked] * model.scale
    basis, triangle = np.linalg.qr(jacobian[:, asked:])
    free = wanted - basis @ (basis.T @ wanted)
    padded = np.vstack([free, np.zeros((max(0, asked - len(free)), asked))])
    left, singular, right = np.linalg.svd(padded, full_matrices=False)
    return _Seen(singular, right, left[: len(free)], basis, triangle, values, wanted)
