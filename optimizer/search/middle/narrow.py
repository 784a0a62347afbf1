"""Narrower places for rays on a shared cone, whose one scale moves both belts at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.search.middle.choices import BeltOver

__all__ = ["narrow"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
ROUNDING_MM = 1e-7


def narrow(
    over: tuple[BeltOver, BeltOver],
    belts: tuple[Sequence[int], Sequence[int]],
    choice: Ints,
    ray: NDArray[np.bool_],
    low: Floats,
    high: Floats,
) -> NDArray[np.bool_]:
    """Narrow the places of rows in place and tell which rows have a scale that does for both belts.

    One scale of a row moves both own centre distances the same way by nearly as much, so that their difference is
    hardly free: where two rows come within both windows, their differences come within the sum of the windows. At any
    scale a place lies between the least and the greatest over the belts of lines through each belt's ends; the former
    is concave in the scale and the latter convex, so that bounds hold at the ends of the span. What a belt's centre
    distance leaves its line by is added: its second derivative by the scale is about ``−(a − b)²/(4·C)`` (a + b for a
    crossed belt), of which twice is allowed for.

    Parameters
    ----------
    over, belts
        How the belts of either stage lie, and which of them count.
    choice, ray
        The rows: places of their sizes, and whether they are rays.
    low, high
        (3, rows): places of both belts, and of their difference.
    """
    lines = [_Lines.of(over[stage], belts[stage], choice[:, stage : stage + 2], ray) for stage in (0, 1)]
    start = np.maximum(lines[0].low, lines[1].low)
    stop = np.minimum(lines[0].high, lines[1].high)
    at_start, at_stop = ([line.at(scale) for line in lines] for scale in (start, stop))
    for stage, line in enumerate(lines):
        least = np.minimum(at_start[stage][0], at_stop[stage][0]) - line.half_mm
        most = np.maximum(at_start[stage][1], at_stop[stage][1]) + line.half_mm
        low[stage], high[stage] = np.maximum(low[stage], least), np.minimum(high[stage], most)
    half = lines[0].half_mm + lines[1].half_mm
    ends = (at_start, at_stop)
    low[2] = np.minimum(*(one[0] - other[1] for one, other in ends)) - half
    high[2] = np.maximum(*(one[1] - other[0] for one, other in ends)) + half
    return np.asarray((start <= stop) & (low[0] <= high[0]) & (low[1] <= high[1]))


class _Lines(NamedTuple):
    """Places of rows by every belt as lines in the scale, (belts, rows)."""

    place: Floats
    """At scale 1, less half the belt's length."""
    slope: Floats
    low: Floats
    """(rows,): least scale on any belt."""
    high: Floats
    half_mm: float
    """Half the widest window."""
    off_mm: Floats
    """How far a place may be off its line."""

    @classmethod
    def of(cls, over: BeltOver, belts: Sequence[int], choice: Ints, ray: NDArray[np.bool_]) -> _Lines:
        """Return the lines of some rows."""
        pick = np.array(belts)[:, None], choice[:, 0][None, :], choice[:, 1][None, :]
        point = over.point_mm[pick]
        near, far = np.where(ray, over.near_mm[pick], point), np.where(ray, over.far_mm[pick], point)
        ones = np.where(np.isnan(point), np.nan, 1.0)
        low, high = np.where(ray, over.scale_low[pick], ones), np.where(ray, over.scale_high[pick], ones)
        span = high - low
        slope = np.where(span > 0, (near - far) / np.where(span > 0, span, 1.0), 0.0)
        chosen = [over.stage.belts[belt] for belt in belts]
        lengths = np.array([belt.length_mm for belt in chosen])[:, None]
        a, b = over.driver.size_mm[choice[:, 0]], over.driven.size_mm[choice[:, 1]]
        bent = (a + b if over.stage.crossed else a - b) ** 2 / (2 * np.maximum(near, 1e-9))
        least, most = np.fmin.reduce(low), np.fmax.reduce(high)
        off = np.fmax.reduce(bent) * (most - least) ** 2 / 2
        half = max(belt.window_mm for belt in chosen) / 2 + ROUNDING_MM
        return cls(far + slope * (1.0 - low) - lengths / 2, slope, least, most, half, off)

    def at(self, scale: Floats) -> tuple[Floats, Floats]:
        """Return the least and greatest place of every row at a scale."""
        place = self.place + self.slope * (scale - 1.0)
        return np.fmin.reduce(place) - self.off_mm, np.fmax.reduce(place) + self.off_mm
