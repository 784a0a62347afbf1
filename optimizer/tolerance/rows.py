"""What a machine is held to, as rows: sums of changes that must not pass what is left to them.

Every demand is linear in the *exact* changes of centre distances and of the ratios' logarithms, so that the same rows
serve exact errors and first-order figures.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, permutations
from math import isfinite, log

import numpy as np
from numpy.typing import NDArray

from optimizer.tolerance.turning import Turning, changes, slopes

__all__ = ["BELT", "EVENNESS", "PARTS", "SIZES", "SPEEDS", "Rows", "row_changes", "rows_of"]

Array = NDArray[np.float64]

BELT, SPEEDS, EVENNESS, SIZES = range(4)
PARTS = ("belt fit", "speeds", "evenness", "limits of size")
"""The names of the four."""
Row = tuple[int, dict[int, float], float]
"""Part, weights by column, what is left."""


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
    share, none above the one never to be passed. Evenness: the unevenness of a series is the greatest, over any three
    speeds, of half the middle one's distance from the chord of the outer two. Limits of size: each by itself.
    """
    found = [*_belt_rows(turning), *_speed_rows(turning), *_even_rows(turning), *_size_rows(turning)]
    weights = np.zeros((len(found), 2 * turning.positions + turning.sizes))
    for number, (_, columns, _) in enumerate(found):
        for column, weight in columns.items():
            weights[number, column] += weight
    by_error = np.vstack([slopes(turning), np.eye(turning.sizes)])
    part = np.array([row[0] for row in found], dtype=np.intp)
    left = np.array([row[2] for row in found], dtype=np.float64)
    return Rows(part, weights, left, weights @ by_error)


def row_changes(turning: Turning, errors_mm: Array) -> Array:
    """Return the columns that rows are weighed with: exact changes, then the errors themselves."""
    return np.concatenate([changes(turning, errors_mm), errors_mm], axis=1)


def _belt_rows(turning: Turning) -> Iterator[Row]:
    for first, stage in zip(turning.firsts, turning.stages, strict=True):
        if not stage.turned:
            continue
        own = stage.drawn_mm
        low, high = stage.centres_mm
        for place in range(stage.positions):
            if not (stage.driver_size[place] >= 0 or stage.driven_size[place] >= 0):
                continue
            if isfinite(low):
                yield BELT, {first + place: -1.0}, float(own[place]) - low
            if isfinite(high):
                yield BELT, {first + place: 1.0}, high - float(own[place])
        for one, other in permutations(range(stage.positions), 2):
            yield BELT, {first + one: 1.0, first + other: -1.0}, stage.window_mm - float(own[one] - own[other])


def _speed_rows(turning: Turning) -> Iterator[Row]:
    up, down = log(1 + turning.speed_within), -log(1 - turning.speed_within)
    for speed, log_rpm in zip(range(turning.log_rpm.size), turning.log_rpm, strict=True):
        yield SPEEDS, _speed(turning, speed, 1.0), min(up, turning.log_fastest - float(log_rpm))
        yield SPEEDS, _speed(turning, speed, -1.0), down


def _even_rows(turning: Turning) -> Iterator[Row]:
    if not isfinite(turning.unevenness_most):
        return
    for low, middle, high in combinations(range(turning.log_rpm.size), 3):
        share = (high - middle) / (high - low)
        parts = ((low, share / 2), (high, (1 - share) / 2), (middle, -0.5))
        value = sum(weight * float(turning.log_rpm[speed]) for speed, weight in parts)
        for sign in (1.0, -1.0):
            columns: dict[int, float] = {}
            for speed, weight in parts:
                for column, own in _speed(turning, speed, sign * weight).items():
                    columns[column] = columns.get(column, 0.0) + own
            yield EVENNESS, columns, turning.unevenness_most - sign * value


def _size_rows(turning: Turning) -> Iterator[Row]:
    first = 2 * turning.positions
    for size in range(turning.sizes):
        if isfinite(turning.up_mm[size]):
            yield SIZES, {first + size: 1.0}, float(turning.up_mm[size])
        if isfinite(turning.down_mm[size]):
            yield SIZES, {first + size: -1.0}, float(turning.down_mm[size])


def _speed(turning: Turning, speed: int, weight: float) -> dict[int, float]:
    """Return the columns whose sum is the change of a speed's logarithm, weighed."""
    places = turning.places[speed]
    return {turning.positions + first + int(place): weight for first, place in zip(turning.firsts, places, strict=True)}
