"""How a turned cone may come out, and what every check makes of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from math import isfinite, log

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import centre_for_length_mm, length_gradient

__all__ = [
    "BELT",
    "EVENNESS",
    "NO_BELT_MM",
    "PARTS",
    "SIZES",
    "SPEEDS",
    "Rows",
    "Stage",
    "Turning",
    "changes",
    "row_changes",
    "rows_of",
    "slopes",
    "speed_weights",
    "spreads_mm",
]

Array = NDArray[np.float64]
Places = NDArray[np.intp]

NO_BELT_MM = 1e6
"""Change of centre distance that stands for a belt that no longer goes round."""
LEAST_MM = 1e-3
"""No running diameter is taken to be smaller."""


@dataclass(frozen=True)
class Stage:
    """One belt stage as drawn, positions from the slowest."""

    driver_mm: Array
    driven_mm: Array
    """Running diameters."""
    length_mm: float
    crossed: bool
    centres_mm: tuple[float, float]
    """Between which every position's own centre distance has to stay; infinite where nothing holds it."""
    window_mm: float
    """How far the positions' own centre distances may lie apart."""
    driver_size: Places
    driven_size: Places
    """Column of every step's error, −1 for a step that is not turned."""

    @property
    def turned(self) -> bool:
        """Whether any step is turned."""
        return bool(np.any(self.driver_size >= 0) or np.any(self.driven_size >= 0))

    @property
    def positions(self) -> int:
        """Number of positions."""
        return int(self.driver_mm.size)

    @cached_property
    def drawn_mm(self) -> Array:
        """Every position's own centre distance as drawn."""
        return centre_for_length_mm(self.driver_mm, self.driven_mm, self.length_mm, crossed=self.crossed)


@dataclass(frozen=True)
class Turning:
    """A machine with its turned sizes, and what they are held to."""

    stages: tuple[Stage, ...]
    places: Places
    """For every speed, slowest first, the position of every stage."""
    log_rpm: Array
    """Natural logarithm of every speed as drawn."""
    speed_within: float
    """Share by which a speed may lie off, either way."""
    log_within: tuple[Array, Array]
    """Natural logarithms of the least and greatest that every speed may be, so that its band keeps the speeds it wants;
    infinite where none is."""
    unevenness_most: float
    """Unevenness allowed; infinite where it is not held to any."""
    down_mm: Array
    up_mm: Array
    """How much smaller and larger every turned size may be within its limits of size."""
    in_series: Places | None = None
    """Which speeds are to lie in an even series; all of them where nothing is said."""
    limits: tuple[Array, Array] | None = None
    """Weights of the sizes' errors, a row a limit of the machine, and what is left of it; nothing for no limit."""

    @cached_property
    def series(self) -> Places:
        """The speeds that are to lie in an even series, slowest first."""
        return np.arange(self.log_rpm.size) if self.in_series is None else self.in_series

    @property
    def sizes(self) -> int:
        """Number of turned sizes."""
        return int(self.down_mm.size)

    @cached_property
    def firsts(self) -> list[int]:
        """Column of the first position of every stage, among the changes of one kind."""
        return [0, *np.cumsum([stage.positions for stage in self.stages])[:-1].tolist()]

    @cached_property
    def positions(self) -> int:
        """Number of positions of all stages."""
        return sum(stage.positions for stage in self.stages)


def changes(turning: Turning, errors_mm: Array) -> Array:
    """Return what errors of the running diameters change, exactly.

    Parameters
    ----------
    turning
        The machine.
    errors_mm
        Errors, one row a set, one column a turned size [mm].

    Returns
    -------
    One row a set; first the change of every position's own centre distance [mm], stage by stage, `NO_BELT_MM` where
    the belt does not go round, then the change of the natural logarithm of every position's ratio.
    """
    centres, ratios = [], []
    for stage in turning.stages:
        driver = np.maximum(stage.driver_mm + _of(stage.driver_size, errors_mm), LEAST_MM)
        driven = np.maximum(stage.driven_mm + _of(stage.driven_size, errors_mm), LEAST_MM)
        ratios.append(np.log(driver / stage.driver_mm) - np.log(driven / stage.driven_mm))
        centres.append(_centre_changes(stage, driver, driven))
    return np.concatenate([*centres, *ratios], axis=1)


def slopes(turning: Turning) -> Array:
    """Return the derivatives of all changes by the errors, one row a change, at the machine as drawn [per mm].

    ``∂C/∂d = −(∂L/∂d)/(∂L/∂C)`` at a constant length of the belt, ``∂ ln(ratio)/∂d = ±1/d``.

    Examples
    --------
    Two equal pulleys of 100 mm: half the wrap, π/2, on each, and two strands, so that a driver 1 mm larger
    brings the shafts π/4 mm nearer and the driven shaft runs 1 % faster.

    >>> one = Stage(np.array([100.0]), np.array([100.0]), 914.16, False, (0, 1e3), 1.0, np.array([0]), np.array([-1]))
    >>> none, some = np.full(1, np.inf), np.zeros((1, 1), dtype=np.intp)
    >>> held = Turning((one,), some, np.zeros(1), 0.01, (-none, none), np.inf, none, none)
    >>> slopes(held).round(4).tolist()
    [[-0.7854], [0.01]]
    """
    found = np.zeros((2 * turning.positions, turning.sizes))
    for first, stage in zip(turning.firsts, turning.stages, strict=True):
        if not stage.turned:
            continue
        sizes = stage.driver_mm, stage.driven_mm
        by_driver, by_driven, by_centre = length_gradient(*sizes, stage.drawn_mm, crossed=stage.crossed)
        sides = (
            (stage.driver_size, -by_driver / by_centre, 1 / stage.driver_mm),
            (stage.driven_size, -by_driven / by_centre, -1 / stage.driven_mm),
        )
        for size, by_size, by_log in sides:
            for place in np.flatnonzero(size >= 0):
                found[first + place, size[place]] += by_size[place]
                found[turning.positions + first + place, size[place]] += by_log[place]
    return np.nan_to_num(found)


def spreads_mm(turning: Turning, changed: Array) -> Array:
    """Return how far every stage's own centre distances lie apart [mm], one row a set, one column a stage.

    Not a number in the stages that no turned size is in.
    """
    found = np.full((changed.shape[0], len(turning.stages)), np.nan)
    for number, (first, stage) in enumerate(zip(turning.firsts, turning.stages, strict=True)):
        if stage.turned:
            own = stage.drawn_mm + changed[:, first : first + stage.positions]
            found[:, number] = own.max(axis=1) - own.min(axis=1)
    return found


def _of(size: Places, errors_mm: Array) -> Array:
    """Return the error of every step, 0 for those that are not turned."""
    return np.where(size >= 0, errors_mm[:, np.maximum(size, 0)], 0.0)


def _centre_changes(stage: Stage, driver: Array, driven: Array) -> Array:
    if not stage.turned:
        return np.zeros((driver.shape[0], stage.positions))
    own = centre_for_length_mm(driver, driven, stage.length_mm, crossed=stage.crossed)
    return np.nan_to_num(own - stage.drawn_mm, nan=NO_BELT_MM)


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
