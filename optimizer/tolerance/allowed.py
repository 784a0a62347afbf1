"""How far turned sizes may be off, to first order: each alone, all together at worst, all together by chance."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.tolerance.rows import SIZES, Rows

__all__ = ["Allowed", "alone", "by_chance", "shares", "together"]

Array = NDArray[np.float64]


class Allowed(NamedTuple):
    """How far every size may be off, infinite where nothing holds it."""

    down_mm: Array
    up_mm: Array
    down_row: NDArray[np.intp]
    """The row that holds a size from being smaller, −1 where none does."""
    up_row: NDArray[np.intp]


def alone(rows: Rows) -> Allowed:
    """Return how far one size may be off while all others are as drawn: ``min over rows of left/slope``.

    Examples
    --------
    >>> one = Rows(np.array([0, 1]), np.zeros((2, 1)), np.array([0.6, 0.5]), np.array([[2.0], [-1.0]]))
    >>> [float(side[0]) for side in alone(one)[:2]]
    [0.5, 0.3]
    """
    return _least(rows, np.ones_like(rows.slope))


def together(rows: Rows, accuracy_mm: Array) -> Allowed:
    """Return how far every size may be off while all others are off too, at worst.

    What a row has left is shared out in proportion to what each size uses at its stated accuracy t:
    ``t_i · min over rows of left/Σ_j |slope_j|·t_j``; any mixture of such errors keeps every row.
    """
    used = np.abs(rows.slope) @ accuracy_mm
    return _least(rows, _scaled(rows, used, accuracy_mm))


def by_chance(rows: Rows, accuracy_mm: Array) -> Allowed:
    """Return how far every size may be off, at two standard deviations, where errors are independent.

    ``t_i · min over rows of left/sqrt(Σ_j (slope_j·t_j)²)``: every row by itself then keeps 39 of 40 machines.
    """
    used = np.sqrt(rows.slope**2 @ accuracy_mm**2)
    return _least(rows, _scaled(rows, used, accuracy_mm))


def shares(rows: Rows, accuracy_mm: Array) -> Array:
    """Return the share of what is allowed that every size uses by its own error, limits of size left out.

    ``max over rows of |slope_i|·t_i/left``; above 1 the stated accuracy alone can spoil the machine.
    """
    kept = rows.but(rows.part != SIZES)
    if not kept.left.size:
        return np.zeros(accuracy_mm.size)
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.abs(kept.slope) * accuracy_mm / np.maximum(kept.left, 0.0)[:, None]
    return np.asarray(np.nanmax(np.where(kept.slope == 0, 0.0, found), axis=0))


def _scaled(rows: Rows, used: Array, accuracy_mm: Array) -> Array:
    """Return the slope that every size would have alone, were it to leave the others their part."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(used[:, None] / (np.abs(rows.slope) * accuracy_mm))


def _least(rows: Rows, factor: Array) -> Allowed:
    """Return the least of ``left/(slope · factor)`` over the rows that grow, and over those that fall."""
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.maximum(rows.left, 0.0)[:, None] / (np.abs(rows.slope) * factor)
    room = np.where(rows.slope == 0, np.inf, room)
    falls = np.vstack([np.where(rows.slope < 0, room, np.inf), np.full(rows.slope.shape[1], np.inf)])
    grows = np.vstack([np.where(rows.slope > 0, room, np.inf), np.full(rows.slope.shape[1], np.inf)])
    down, up = falls.min(axis=0), grows.min(axis=0)
    return Allowed(
        down,
        up,
        np.where(np.isfinite(down), np.round(falls, 9).argmin(axis=0), -1),
        np.where(np.isfinite(up), np.round(grows, 9).argmin(axis=0), -1),
    )
