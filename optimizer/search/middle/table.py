"""The rows that a level may be, sorted so that those near a place in centre distance and speed are found at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Between", "Table", "Within"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
CELL = 1.33
"""Width of a cell in half widths of the widest interval."""
MOST_CELLS = 1000
"""Most cells of either belt, so that keys keep their digits."""
ROUNDING = 1e-8
"""How far keys may be off."""


@dataclass(frozen=True)
class Within:
    """What rows already chosen leave of either belt's place: two intervals meet which both hold what lies between.

    Arrays (3, states): a line for each belt, and one for the difference of both. Infinite where nothing is chosen yet.
    """

    low: Floats
    """Greatest of the least places of the chosen rows: a further row's greatest place is not below it."""
    high: Floats
    """Least of the greatest places."""

    def take(self, states: NDArray[np.int64] | NDArray[np.intp]) -> Within:
        """Return what is left to some of the states."""
        return Within(self.low[:, states], self.high[:, states])

    @classmethod
    def nothing(cls, states: int) -> Within:
        """Return what is left where nothing is chosen."""
        return cls(np.full((3, states), -np.inf), np.full((3, states), np.inf))


@dataclass(frozen=True)
class Between:
    """Least and greatest sort value of the rows asked for, one for each state."""

    low: Floats
    high: Floats


@dataclass(frozen=True)
class Table:
    """Rows that a level may be, one element of every array each.

    Places tell where the belts want the shafts: intervals of centre distance, relative to half the belt's length, or
    of settings, each widened by half a window, so that two rows agree where their intervals meet.
    """

    choice: Ints
    """(rows, sides): which size of every side."""
    size_mm: Floats
    """(rows, sides), listed."""
    ray: NDArray[np.bool_]
    """Whether all sizes are turned, so that they may be scaled together."""
    first: Floats
    """Natural logarithm of the first belt's ratio; 0 where the row has none of it."""
    second: Floats
    """The same of the second belt."""
    low: Floats
    """(3, rows): least place of either belt, minus infinity where the row has none of it; then that of the first less
    that of the second, by the same scale, minus infinity where nothing is known of it."""
    high: Floats
    levels: Ints
    """Levels at which the row may stand, one bit each."""
    middle_most: Floats
    """ln of the greatest speed [rpm] of the middle shaft that the rims on it stand, whatever carries a belt."""
    belt_most: Floats
    """ln of the greatest speed [rpm] of the middle shaft at which the second belt may run on the row."""
    last_most: Floats
    """ln of the greatest speed [rpm] of the last shaft that the rims on it stand."""
    timber_mm3: Floats
    sort: Floats
    """What rows of a cell are sorted by: `first`, or `second` where there is no first belt."""
    key: Floats
    """Cell and sort value in one."""
    cells: tuple[tuple[float, float, int], tuple[float, float, int]]
    """Start, width and number of the cells of either belt."""
    half: tuple[float, float]
    """Half the widest interval of either belt."""

    def __len__(self) -> int:
        return self.sort.size

    @property
    def held_bytes(self) -> int:
        """Memory that the rows take."""
        return sum(array.nbytes for array in vars(self).values() if isinstance(array, np.ndarray))

    @classmethod
    def of(cls, columns: Mapping[str, Any]) -> Table:
        """Put rows in cells, those of a cell by their sort value."""
        spans = [_cells(columns["low"][belt], columns["high"][belt]) for belt in (0, 1)]
        sort = columns["sort"]
        bare = cls(**columns, key=sort, cells=(spans[0][0], spans[1][0]), half=(spans[0][1], spans[1][1]))
        middles = [_middle(bare.low[belt], bare.high[belt]) for belt in (0, 1)]
        number = bare._cell(0, middles[0]) * bare.cells[1][2] + bare._cell(1, middles[1])
        key = number * bare._span + (sort - bare._least)
        order = np.argsort(key, kind="stable")
        sorted_ = {
            name: array[:, order] if name in ("low", "high") else array[order] for name, array in columns.items()
        }
        return replace(bare, **sorted_, key=key[order])

    def thinned(self, most: int) -> Table:
        """Return every second size of each side, every third, and so on, until there are so many rows at most."""
        rows, stride = np.arange(len(self)), 1
        while rows.size > most:
            stride += 1
            rows = np.flatnonzero((self.choice % stride == 0).all(axis=1))
        if stride == 1:
            return self
        kept: dict[str, Any] = {}
        for name in (f.name for f in fields(self)):
            array = getattr(self, name)
            if isinstance(array, np.ndarray):
                kept[name] = array[:, rows] if name in ("low", "high") else array[rows]
        return replace(self, **kept)

    def ask(self, within: Within, between: Between) -> tuple[Ints, Ints, Ints]:
        """Return ranges of rows that may agree with what is chosen: which state asked, first row, row after the last.

        Every row that agrees is in them; others may be.
        """
        firsts, lasts = [], []
        for belt in (0, 1):
            firsts.append(self._cell(belt, within.low[belt] - self.half[belt]))
            lasts.append(self._cell(belt, within.high[belt] + self.half[belt]))
        low = np.clip(between.low - self._least - ROUNDING, 0, self._span - 0.5)
        high = np.clip(between.high - self._least + ROUNDING, -1, self._span - 0.5)
        some = high >= low
        asked, start, stop = [], [], []
        for one in range(int((lasts[0] - firsts[0]).max(initial=-1)) + 1):
            for other in range(int((lasts[1] - firsts[1]).max(initial=-1)) + 1):
                here = np.flatnonzero(some & (firsts[0] + one <= lasts[0]) & (firsts[1] + other <= lasts[1]))
                cell = (firsts[0][here] + one) * self.cells[1][2] + firsts[1][here] + other
                begin = np.searchsorted(self.key, cell * self._span + low[here], side="left")
                end = np.searchsorted(self.key, cell * self._span + high[here], side="right")
                filled = begin < end
                asked.append(here[filled])
                start.append(begin[filled])
                stop.append(end[filled])
        if not asked:
            none = np.empty(0, dtype=np.int64)
            return none, none, none
        return np.concatenate(asked), np.concatenate(start), np.concatenate(stop)

    @cached_property
    def _least(self) -> float:
        return float(self.sort.min(initial=np.inf)) if len(self) else 0.0

    @cached_property
    def _span(self) -> float:
        return float(np.ptp(self.sort)) + 1.0 if len(self) else 1.0

    def _cell(self, belt: int, place: Floats) -> Ints:
        start, width, count = self.cells[belt]
        return np.clip(np.floor((place - start) / width), 0, count - 1).astype(np.int64)


def _cells(low: Floats, high: Floats) -> tuple[tuple[float, float, int], float]:
    """Return the cells of one belt and half the width of the widest interval."""
    if not low.size or not np.isfinite(low).all():
        return (0.0, 1.0, 1), 0.0
    middle = _middle(low, high)
    half = float((high - low).max()) / 2 + ROUNDING
    reach = float(np.ptp(middle))
    width = max(CELL * half, reach / MOST_CELLS, 1e-6)
    return (float(middle.min()), width, int(reach / width) + 1), half


def _middle(low: Floats, high: Floats) -> Floats:
    return np.where(np.isfinite(low), (low + np.where(np.isfinite(high), high, low)) / 2, 0.0)
