"""Choices of whole ticks for the positions of one stage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import centre_for_length_mm, small_wrap_deg
from optimizer.records import PositionSizes, SideSizes, StageProblem, StageSizes

__all__ = ["Options", "choices_within", "nearest_sizes", "options_of", "sizes_of", "ticks_near"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
NEIGHBOURS = 2
"""Ticks tried on either side of a size."""
MOST_ROWS = 16_000
"""Choices held while a stage's positions are joined, those that stay closest together."""


@dataclass(frozen=True)
class Options:
    """Pairs of ticks that one position may take."""

    driver_mm: Floats
    driven_mm: Floats
    centre_mm: Floats
    ratio: Floats
    """Log ratio, slip included."""
    away: Floats
    """Log ratio less that of the refined pair."""

    def take(self, kept: NDArray[np.bool_]) -> Options:
        """Return some of them."""
        parts = (self.driver_mm, self.driven_mm, self.centre_mm, self.ratio, self.away)
        return Options(*(part[kept] for part in parts))


def options_of(rules: StageProblem, sizes: StageSizes, position: PositionSizes) -> Options:
    """Return the pairs of ticks near a position's sizes that keep the rules of one position."""
    left = ticks_near(rules.driver, position.driver_mm, position.driver_source, NEIGHBOURS)
    right = ticks_near(rules.driven, position.driven_mm, position.driven_source, NEIGHBOURS)
    a, b = (grid.ravel() for grid in np.meshgrid(left, right, indexing="ij"))
    centre = np.asarray(centre_for_length_mm(a, b, sizes.belt.length_mm, crossed=rules.crossed))
    with np.errstate(invalid="ignore"):
        fits = (centre >= rules.centre_mm[0] - 1e-9) & (centre <= rules.centre_mm[1] + 1e-9)
        fits &= (a + b) / 2 + rules.clearance_mm <= centre + 1e-9
        fits &= np.asarray(small_wrap_deg(a, b, centre, crossed=rules.crossed)) >= rules.least_wrap_deg - 1e-9
    ratio = np.log(a / b * (1 - rules.slip))
    refined = np.log(position.driver_mm / position.driven_mm * (1 - rules.slip))
    return Options(a, b, centre, ratio, ratio - refined).take(fits)


def choices_within(rules: StageProblem, window_mm: float, options: Sequence[Options], limit: float) -> Rows:
    """Return choices of one option a position, shape (choices, positions).

    Their own centre distances lie in the window, cones keep their order, and the log ratios stay within a range of
    each other as they move away from the refined ones. Where they are too many, those of the smaller range.
    """
    first = options[0]
    rows: Rows = np.arange(first.away.size)[:, None]
    away = first.away, first.away
    centre = first.centre_mm, first.centre_mm
    for position in range(1, len(options)):
        before, here = options[position - 1], options[position]
        wider = np.minimum(away[0][:, None], here.away), np.maximum(away[1][:, None], here.away)
        spans = np.minimum(centre[0][:, None], here.centre_mm), np.maximum(centre[1][:, None], here.centre_mm)
        ranges = wider[1] - wider[0]
        good = (ranges <= limit) & (spans[1] - spans[0] <= window_mm + 1e-9)
        last = rows[:, -1]
        for side, sign, name in ((rules.driver, 1, "driver_mm"), (rules.driven, -1, "driven_mm")):
            if side.cone:
                rise = sign * (getattr(here, name) - getattr(before, name)[last][:, None])
                good &= (np.abs(rise) <= 1e-9) | (rise >= max(side.rise_mm, 1e-9) - 1e-9)
        grown, new = np.nonzero(good)
        if grown.size > MOST_ROWS:
            kept = np.sort(np.argsort(np.round(ranges[grown, new], 12), kind="stable")[:MOST_ROWS])
            grown, new = grown[kept], new[kept]
        rows = np.column_stack([rows[grown], new])
        away = wider[0][grown, new], wider[1][grown, new]
        centre = spans[0][grown, new], spans[1][grown, new]
    return rows


def sizes_of(sizes: StageSizes, options: Sequence[Options], row: Rows) -> StageSizes:
    """Return a stage with the options chosen."""
    positions = tuple(
        old.model_copy(
            update={
                "driver_mm": float(o.driver_mm[i]),
                "driven_mm": float(o.driven_mm[i]),
                "centre_mm": float(o.centre_mm[i]),
            }
        )
        for old, o, i in zip(sizes.positions, options, row, strict=True)
    )
    return StageSizes(belt=sizes.belt, positions=positions)


def nearest_sizes(rules: StageProblem, sizes: StageSizes) -> StageSizes | None:
    """Return a stage with every turned size at its nearest tick by itself, nothing where a limit is in the way."""
    positions = []
    for p in sizes.positions:
        left = ticks_near(rules.driver, p.driver_mm, p.driver_source, 0)
        right = ticks_near(rules.driven, p.driven_mm, p.driven_source, 0)
        if not left.size or not right.size:
            return None
        centre = centre_for_length_mm(float(left[0]), float(right[0]), sizes.belt.length_mm, crossed=rules.crossed)
        update = {"driver_mm": float(left[0]), "driven_mm": float(right[0]), "centre_mm": centre}
        positions.append(p.model_copy(update=update))
    return StageSizes(belt=sizes.belt, positions=tuple(positions))


def ticks_near(side: SideSizes, size_mm: float, source: str, reach: int) -> Floats:
    """Return the sizes on ticks near one size; the size itself where it is not turned."""
    if source != "turned" or side.turned_mm is None:
        return np.array([size_mm])
    low, high = side.turned_mm
    if side.scarce_above_mm < inf:
        high = min(high, side.most_from_disc_mm(size_mm))
    nearest = round((size_mm - side.given_shift_mm) / side.tick_mm)
    sizes = np.arange(nearest - reach, nearest + reach + 1) * side.tick_mm + side.given_shift_mm
    return np.asarray(sizes[(sizes >= low - 1e-9) & (sizes <= high + 1e-9)])
