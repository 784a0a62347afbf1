"""What a machine is held to, as rows: sums of changes that must not pass what is left to them.

Every demand is linear in the *exact* changes of centre distances and of the ratios' logarithms, so that the same rows
serve exact errors and first-order figures.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import isfinite, log

import numpy as np
from numpy.typing import NDArray

from optimizer.tolerance.turning import Turning, changes, slopes

__all__ = ["BELT", "EVENNESS", "PARTS", "SIZES", "SPEEDS", "Rows", "row_changes", "rows_of", "speed_weights"]

Array = NDArray[np.float64]

BELT, SPEEDS, EVENNESS, SIZES = range(4)
PARTS = ("belt fit", "speeds", "evenness", "limits of size")
"""The names of the four."""
Block = tuple[Array, Array]
"""Weights, a row a demand, and what is left."""


@dataclass(frozen=True)
class Rows:
    """Demands: ``weights · changes ≤ left``."""

    part: NDArray[np.intp]
    weights: Array
    """One row a demand; columns are those of `changes`, then one a turned size for its own error."""
    left: Array
    slope: Array
    """The same by the errors, to first order."""

    def but(self, keep: NDArray[np.bool_]) -> Rows:
        """Return some of the rows."""
        return Rows(self.part[keep], self.weights[keep], self.left[keep], self.slope[keep])


def rows_of(turning: Turning) -> Rows:
    """Return everything a machine is held to.

    Belt fit: own centre distances within their limits, any two of them within the window. Speeds: within the stated
    share, as many as a band wants within its edges. Evenness: the unevenness of a series is the greatest, over any
    three speeds, of half the middle one's distance from the chord of the outer two. Limits of size: each by itself, and
    what the checks hold sizes to beyond that, such as the speed of a rim.
    """
    blocks = (_belt_rows(turning), _speed_rows(turning), _even_rows(turning), _size_rows(turning))
    weights = np.vstack([block[0] for block in blocks])
    by_error = np.vstack([slopes(turning), np.eye(turning.sizes)])
    part = np.repeat(np.arange(len(PARTS)), [len(block[1]) for block in blocks])
    return Rows(part, weights, np.concatenate([block[1] for block in blocks]), weights @ by_error)


def row_changes(turning: Turning, errors_mm: Array) -> Array:
    """Return the columns that rows are weighed with: exact changes, then the errors themselves."""
    return np.concatenate([changes(turning, errors_mm), errors_mm], axis=1)


def speed_weights(turning: Turning) -> Array:
    """Return the weights whose sums are the changes of the speeds' logarithms, a row a speed."""
    found = np.zeros((turning.log_rpm.size, _columns(turning)))
    speeds = np.arange(turning.log_rpm.size)
    for number, first in enumerate(turning.firsts):
        found[speeds, turning.positions + first + turning.places[:, number]] = 1.0
    return found


def _belt_rows(turning: Turning) -> Block:
    weights, left = [np.zeros((0, _columns(turning)))], [np.zeros(0)]
    for first, stage in zip(turning.firsts, turning.stages, strict=True):
        if not stage.turned:
            continue
        own = np.zeros((stage.positions, _columns(turning)))
        own[np.arange(stage.positions), first + np.arange(stage.positions)] = 1.0
        moves = (stage.driver_size >= 0) | (stage.driven_size >= 0)
        for sense, limit in ((-1.0, -stage.centres_mm[0]), (1.0, stage.centres_mm[1])):
            if isfinite(limit):
                weights.append(sense * own[moves])
                left.append(limit - sense * stage.drawn_mm[moves])
        one, other = np.nonzero(~np.eye(stage.positions, dtype=bool))
        weights.append(own[one] - own[other])
        left.append(stage.window_mm - (stage.drawn_mm[one] - stage.drawn_mm[other]))
    return np.vstack(weights), np.concatenate(left)


def _speed_rows(turning: Turning) -> Block:
    up, down = log(1 + turning.speed_within), -log(1 - turning.speed_within)
    own = speed_weights(turning)
    least, most = turning.log_within
    above, below = np.minimum(up, most - turning.log_rpm), np.minimum(down, turning.log_rpm - least)
    return np.vstack([own, -own]), np.concatenate([above, below])


def _even_rows(turning: Turning) -> Block:
    count = turning.series.size
    if not isfinite(turning.unevenness_most) or count < 3:
        return np.zeros((0, _columns(turning))), np.zeros(0)
    low, middle, high = np.array(list(combinations(range(count), 3))).T
    share = (high - middle) / (high - low)
    three = np.zeros((low.size, count))
    row = np.arange(low.size)
    three[row, low], three[row, high], three[row, middle] = share / 2, (1 - share) / 2, -0.5
    three = np.vstack([three, -three])
    weights, logs = speed_weights(turning)[turning.series], turning.log_rpm[turning.series]
    return three @ weights, turning.unevenness_most - three @ logs


def _size_rows(turning: Turning) -> Block:
    own = np.zeros((turning.sizes, _columns(turning)))
    own[:, 2 * turning.positions :] = np.eye(turning.sizes)
    up, down = np.isfinite(turning.up_mm), np.isfinite(turning.down_mm)
    weights, left = turning.limits or (np.zeros((0, turning.sizes)), np.zeros(0))
    blocks = own[up], -own[down], weights @ own
    return np.vstack(blocks), np.concatenate([turning.up_mm[up], turning.down_mm[down], left])


def _columns(turning: Turning) -> int:
    return 2 * turning.positions + turning.sizes
