"""What sizes to aim at, and how much to leave on at the first cut."""

from __future__ import annotations

from math import inf, log

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from optimizer.tolerance.allowed import together
from optimizer.tolerance.first_order import normal
from optimizer.tolerance.rows import Rows

__all__ = ["SAFE", "aims_mm", "left_on_mm", "windows_mm"]

Array = NDArray[np.float64]

SAFE = 3.0
"""Standard deviations of room beyond which an aim is moved no farther."""
SEEN = 5.0
"""Standard deviations by which no aim is moved farther."""
ROWS_AT_FIRST, ROUNDS = 64, 8
"""Rows that are looked at first, those with least room; how often those that are broken then are added."""
BROKEN = 1e-9
WEIGHT = 1e3
"""What one standard deviation of room is worth, in standard deviations of aims moved."""


def aims_mm(rows: Rows, sd_mm: Array) -> Array:
    """Return by how much every size should be aimed off the drawing, above 0 where larger [mm].

    The aims that leave the row with least room the most standard deviations, up to 3 of them, moved no farther than
    that takes: a linear program, ``max t: slope·x + t·σ_row ≤ left, t ≤ 3``, and the least sum of ``|x|/σ`` at that t.

    Examples
    --------
    A size that stands at its upper limit is aimed three standard deviations below it:

    >>> one = Rows(np.array([3]), np.zeros((1, 1)), np.array([0.0]), np.array([[1.0]]))
    >>> aims_mm(one, np.array([0.1])).round(6).tolist()
    [-0.3]
    """
    scaled = rows.slope * sd_mm
    length = np.sqrt(np.sum(scaled**2, axis=1))
    moved = length > 1e-12
    if not np.any(moved) or float(np.min(rows.left[moved] / length[moved])) >= SAFE:
        return np.zeros(sd_mm.size)
    held, room = scaled[moved] / length[moved][:, None], rows.left[moved] / length[moved]
    some = np.argsort(np.round(room, 9), kind="stable")[:ROWS_AT_FIRST]
    for _ in range(ROUNDS):
        units, worst = _solved(held[some], room[some])
        broken = np.flatnonzero(held @ units + worst > room + BROKEN)
        if not broken.size:
            break
        some = np.union1d(some, broken)
    return np.asarray(np.where(np.abs(units) < BROKEN, 0.0, units) * sd_mm)


def _solved(held: Array, room: Array) -> tuple[Array, float]:
    """Return the aims in standard deviations, with the room they leave, by some of the rows; as drawn if unsolved."""
    count = held.shape[1]
    matrix = np.hstack([held, -held, np.ones((held.shape[0], 1))])
    cost = np.concatenate([np.ones(2 * count), [-WEIGHT]])
    bounds = [(0.0, SEEN)] * (2 * count) + [(-inf, SAFE)]
    solved = linprog(cost, A_ub=matrix, b_ub=room, bounds=bounds, method="highs")
    if solved.status != 0 or solved.x is None:
        return np.zeros(count), -inf
    return solved.x[:count] - solved.x[count:-1], float(solved.x[-1])


def windows_mm(rows: Rows, sd_mm: Array, aim_mm: Array) -> tuple[Array, Array]:
    """Return how far below and above its aim every size may be found, all others off too [mm]."""
    left = np.maximum(rows.left - rows.slope @ aim_mm, 0.0)
    allowed = together(Rows(rows.part, rows.weights, left, rows.slope), 2 * sd_mm)
    return allowed.down_mm, allowed.up_mm


def left_on_mm(down_mm: float, up_mm: float, sd_mm: float) -> float:
    """Return how much above the aim the first cut should stop, when one measures and cuts once more [mm].

    Below the window nothing can be put back; above it a second cut aims at the middle m of the window and hits it with
    the chance ``P = 2·Φ(a/σ) − 1``, a being half its width. The chance of both together,
    ``P(in) + P(above)·P``, is greatest for a first cut aimed at ``m − σ²·ln(1 − P)/(2·a)``. Where less than one in a
    thousand would fall below the window anyway, less is enough.

    Examples
    --------
    A window of two standard deviations either way: ``ln(0.0455) = −3.09``, so 0.77 of one is left on.

    >>> round(left_on_mm(2.0, 2.0, 1.0), 3), round(left_on_mm(6.0, 6.0, 1.0), 3), left_on_mm(inf, 1.0, 1.0)
    (0.773, 0.0, 0.0)
    """
    if down_mm == inf or sd_mm <= 0:
        return 0.0
    high = min(up_mm, down_mm + 20 * sd_mm)
    half, middle = max((down_mm + high) / 2, 1e-6 * sd_mm), (high - down_mm) / 2
    missed = 2 * (1 - normal(half / sd_mm))
    best = middle - sd_mm**2 * log(max(missed, 1e-300)) / (2 * half)
    return min(max(best, 0.0), max(3.1 * sd_mm - down_mm, 0.0))
