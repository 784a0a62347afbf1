"""What errors do to first order: standard deviations, chances, and whether these figures can be trusted."""

from __future__ import annotations

from math import erf, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc

from optimizer.quantities.digits import first_least
from optimizer.tolerance.rows import SPEEDS, Rows, row_changes
from optimizer.tolerance.turning import Turning, slopes

__all__ = ["RULE", "Deviations", "Validity", "chance_to_spoil", "deviations", "normal", "validity"]

Array = NDArray[np.float64]

DIRECTIONS = (512, 4096)
"""Least and greatest number of directions, each with its opposite."""
DIRECTION_ROWS = 2_000_000
"""Directions times rows at most, where that leaves enough directions."""
SEED = 20_260_101
LED_BY = 3.0
"""Standard deviations by which the two positions farthest apart must lead any other two."""
FAR = 8.0
"""Rows with more standard deviations left than this are passed by no set of errors."""
TINY = 1e-9
NEAR = 5.0
"""Rows with more standard deviations left than this play no part."""
BENT = 0.02
"""Greatest share of a change that its slope may leave unexplained."""
BENT_TAIL = 0.04
"""The same times the square of the standard deviations left: it is that which moves the chance."""
AT = (2.0, 4.0)
"""Least and greatest number of standard deviations at which that is looked at."""
RULE = (
    "Every demand is worked out exactly at the likeliest errors that use up what it has left, 2 to 4 standard "
    "deviations away, and at the opposite; its slope must leave at most 2 % of the change unexplained, for the chance "
    "at most 4 % divided by the square of the standard deviations left. Spread of centre distances: the two positions "
    "farthest apart lead any other two by 3 standard deviations."
)
"""The rule by which first-order figures claim to be valid."""


class Deviations(NamedTuple):
    """Standard deviations to first order."""

    speeds: Array
    """Of the logarithm of every speed."""
    spreads_mm: Array
    """Of the spread of every stage's own centre distances; not a number where it is not known to first order."""


class Validity(NamedTuple):
    """Whether first-order figures hold."""

    speeds: bool
    spreads: NDArray[np.bool_]
    """For every stage."""
    chance: bool


def deviations(turning: Turning, rows: Rows, sd_mm: Array) -> Deviations:
    """Return the standard deviations: the root of the sum of ``(slope · σ)²``."""
    rising = rows.part == SPEEDS
    speeds = np.sqrt(rows.slope[rising][: turning.log_rpm.size] ** 2 @ sd_mm**2)
    led = [_leading(turning, number, sd_mm) for number in range(len(turning.stages))]
    return Deviations(speeds, np.array([sd for sd, _ in led]))


def chance_to_spoil(rows: Rows, sd_mm: Array) -> float | None:
    """Return the chance that some row is passed, to first order; nothing where one is passed as drawn.

    Along a random direction in units of the standard deviations the rows are first passed at a distance r; of n
    independent normal errors the sum of squares is beyond r² with the chance ``Q(n/2, r²/2)``. That is averaged over
    directions, each with its opposite. Source: directional simulation, P. Bjerager, J. Eng. Mech. 114 (1988),
    from memory.

    Examples
    --------
    One size held to two standard deviations on one side: 2.275 % (normal distribution).

    >>> one = Rows(np.array([0]), np.zeros((1, 1)), np.array([2.0]), np.array([[1.0]]))
    >>> round(chance_to_spoil(one, np.ones(1)), 6)
    0.02275
    """
    if np.any(rows.left < -1e-9):
        return None
    scaled = rows.slope * sd_mm
    length = np.sqrt(np.sum(scaled**2, axis=1))
    left = np.maximum(rows.left, 0.0)
    near = (length > 0) & (left < FAR * length)
    if not np.any(near):
        return 0.0
    held = scaled[near] / np.maximum(left[near], TINY * length[near])[:, None]
    held = held[:, np.any(held != 0, axis=0)]
    count = held.shape[1]
    tries = int(np.clip(DIRECTION_ROWS // held.shape[0], *DIRECTIONS))
    ways = np.random.default_rng(SEED).standard_normal((tries, count))
    ways /= np.sqrt(np.sum(ways**2, axis=1))[:, None]
    along = ways @ held.T
    steepest = np.concatenate([along.max(axis=1), -along.min(axis=1)])
    reach = 1 / np.maximum(steepest, TINY)
    return float(np.mean(gammaincc(count / 2, reach**2 / 2)))


def validity(turning: Turning, rows: Rows, sd_mm: Array) -> Validity:
    """Return where first-order figures hold, by this rule.

    Every row is worked out exactly at the likeliest errors that use up what it has left, at least 2, at most 4
    standard deviations away, and at the opposite. What its slope leaves unexplained there must be at most 2 % of the
    change; for the chance that share times the square of the standard deviations left at most 0.04, as it moves the
    chance by about that share. The spread of centre distances is known to first order where the two positions
    farthest apart lead any other two by 3 standard deviations of the difference.
    """
    scaled = rows.slope * sd_mm
    length = np.sqrt(np.sum(scaled**2, axis=1))
    moved = length > 1e-12
    with np.errstate(divide="ignore", invalid="ignore"):
        spare = np.where(moved, np.maximum(rows.left, 0.0) / length, np.inf)
    near = moved & ((spare < NEAR) | (rows.part == SPEEDS))
    bent = _bent(turning, rows.but(near), sd_mm, np.clip(spare[near], *AT))
    speeds = rows.part[near] == SPEEDS
    tail = np.where(spare[near] < NEAR, bent * np.maximum(spare[near], 1.0) ** 2, 0.0)
    good = bool(np.all(bent[speeds] <= BENT))
    led = np.array([_leading(turning, number, sd_mm)[1] for number in range(len(turning.stages))])
    fit = bool(np.all(rows.left >= -1e-9))
    return Validity(good, led, fit and bool(np.all(tail <= BENT_TAIL)))


def _bent(turning: Turning, rows: Rows, sd_mm: Array, away: Array) -> Array:
    """Return the share of each row's change that its slope does not explain, so many standard deviations away."""
    if not rows.left.size:
        return np.zeros(0)
    scaled = rows.slope * sd_mm
    length = np.sqrt(np.sum(scaled**2, axis=1))
    errors = (away / length)[:, None] * scaled * sd_mm
    expected = away * length
    worst = np.zeros(rows.left.size)
    for sign in (1.0, -1.0):
        exact = np.sum(rows.weights * row_changes(turning, sign * errors), axis=1)
        worst = np.maximum(worst, np.abs(exact - sign * expected) / expected)
    return worst


def _leading(turning: Turning, number: int, sd_mm: Array) -> tuple[float, bool]:
    """Return the standard deviation of a stage's spread, and whether two positions lead all others."""
    stage, first = turning.stages[number], turning.firsts[number]
    if not stage.turned:
        return float("nan"), False
    own = stage.drawn_mm
    high, low = first_least(-own), first_least(own)
    if high == low:
        return float("nan"), False
    by_error = slopes(turning)[first : first + stage.positions] * sd_mm
    sd = float(np.linalg.norm(by_error[high] - by_error[low]))
    for end, sense in ((high, 1.0), (low, -1.0)):
        for other in range(stage.positions):
            if other == end:
                continue
            lead = sense * float(own[end] - own[other])
            if lead < LED_BY * float(np.linalg.norm(by_error[end] - by_error[other])):
                return sd, False
    return sd, sd > 0


def normal(deviations_left: float) -> float:
    """Return the chance that a normal error stays below so many standard deviations.

    Examples
    --------
    >>> round(normal(2.0), 5)
    0.97725
    """
    return (1 + erf(deviations_left / sqrt(2))) / 2
