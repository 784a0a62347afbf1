"""The rising threshold: all designs with J up to T, for a T that grows until there is one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.records import Candidate
from optimizer.search.bound import SeriesProgram
from optimizer.search.boxes import Boxes, boxes_at, boxes_by_program
from optimizer.search.chains import Designs
from optimizer.search.limits import AllowanceSpentError, LimitReachedError, Meter
from optimizer.search.space import Space

__all__ = ["Best", "Wish", "least", "rise"]

FIRST_STEP = 1e-5
GROWTH = 4.0
"""Factor between thresholds while passes cost next to nothing."""
WIDE = 0.008
"""Step beyond which a pass may suddenly cost much."""
CHEAP = 20_000
"""Combinations looked at in a pass that costs next to nothing."""
DEAR = 300_000
"""Combinations after which a pass with boxes in closed form is begun again with narrower ones."""
DEARER = 16.0
"""How much dearer a later pass may be than the one before it."""
KEPT = (64, 4096, 65_536)
"""Designs kept in order of merit while a threshold is searched: more only where none of the fewer can be trimmed."""
SAME = 1e-12
"""Values of J closer than this are a tie."""
Wish = Literal["j", "timber"]


@dataclass(frozen=True)
class Best:
    """The best design of a space, or the bound at which the search stood."""

    candidate: Candidate | None
    j: float
    timber_mm3: float
    bound: float
    """No design of the space has a J below this."""
    stopped: str = ""
    """The limit that ended the search."""

    @classmethod
    def none(cls, bound: float, stopped: str = "") -> Best:
        """Return the state of having found nothing."""
        return cls(None, inf, inf, bound, stopped)


def rise(space: Space, program: SeriesProgram, span: tuple[float, float], meter: Meter) -> Best:
    """Return the best design with J up to the last threshold; where there is none, the bound reached.

    Parameters
    ----------
    space
        What to search.
    program
        The linear program whose boxes are used where the lower bound is above 0.
    span
        A lower bound of J, and the last threshold.
    meter
        Counts combinations and may stop the search.
    """
    start, most = span
    step, bound = FIRST_STEP, start
    while bound < most:
        threshold = min(start + step, most)
        meter.tell(threshold)
        before = meter.examined
        try:
            found = _pass(space, program, (start, threshold), meter)
        except LimitReachedError as limit:
            return Best.none(bound, str(limit))
        if found:
            return found
        bound = threshold
        careful = step > WIDE or meter.examined - before >= CHEAP
        step *= _careful_growth(space) if careful else GROWTH
    return Best.none(bound)


def _careful_growth(space: Space) -> float:
    """Return a factor that makes the next pass dearer by no more than intended.

    The number of designs below a threshold grows as its power, one for every position that the first of its
    stage ties to the series, one for the end.
    """
    free = sum(len(offsets) - 1 for offsets in space.rules.offsets) + 1
    return float(DEARER ** (1 / free))


def _pass(space: Space, program: SeriesProgram, span: tuple[float, float], meter: Meter) -> Best | None:
    """Return the best design with J up to the threshold `span[1]`, or nothing.

    Boxes in closed form do where J can be 0 or where little is left to look at; the linear program narrows them
    when that turns out dear.
    """
    bound, threshold = span
    closed = boxes_at(space.rules, space.spans, threshold)
    if bound <= 0:
        return least(space, closed, meter)
    try:
        with meter.allowance(DEAR):
            return least(space, closed, meter)
    except AllowanceSpentError:
        return least(space, boxes_by_program(program, space.spans, threshold), meter)


def least(space: Space, boxes: Boxes, meter: Meter, timber_most: float = inf, wish: Wish = "j") -> Best | None:
    """Return the design in the boxes that has least of what is wished, and can be trimmed; or nothing.

    Designs are tried in the order of merit. Should none of those kept be trimmable where more were found, they
    are listed again and more of them kept.

    Raises
    ------
    LimitReachedError
        If no more designs may be looked at, or more than can be kept could not be trimmed.
    """
    if boxes.empty:
        return None
    for kept in KEPT:
        pool, dropped = _pool(space, space.designs(boxes, meter, timber_most), kept, wish)
        for entry in pool:
            candidate = space.candidate(list(entry.rows))
            if candidate is not None:
                return Best(candidate, entry.j, entry.timber_mm3, entry.j)
        if not dropped:
            return None
    raise LimitReachedError(f"none of the best {KEPT[-1]:,} designs could be trimmed to fit")


def _pool(space: Space, stream: Iterator[Designs], kept: int, wish: Wish) -> tuple[list[_Entry], bool]:
    """Return the best of the designs in order of merit, and whether any were left out."""
    pool: list[_Entry] = []
    dropped = False
    for designs in stream:
        timber = _timber(space, designs)
        merit = designs.j if wish == "j" else timber
        pool += [
            _Entry(float(designs.j[i]), float(timber[i]), tuple(rows[i] for rows in designs.rows))
            for i in np.argsort(merit, kind="stable")[:kept]
        ]
        pool.sort(key=lambda entry: entry.rank(space, wish))
        dropped = dropped or len(designs) > kept or len(pool) > kept
        del pool[kept:]
    return pool, dropped


def _timber(space: Space, designs: Designs) -> NDArray[np.float64]:
    timber = np.zeros(len(designs))
    for index, rows in zip(space.indexes, designs.rows, strict=True):
        timber += index.pairs.timber_mm3[rows].sum(axis=1)
    return timber


@dataclass(frozen=True)
class _Entry:
    j: float
    timber_mm3: float
    rows: tuple[NDArray[np.int64], ...]

    def rank(self, space: Space, wish: Wish) -> tuple[float, ...]:
        """Return what is wished to within a tie, then the other, then the sizes themselves: a total order."""
        sizes = []
        for index, rows in zip(space.indexes, self.rows, strict=True):
            for column in (index.pairs.belt, index.pairs.driver_mm, index.pairs.driven_mm):
                sizes += [float(value) for value in column[rows]]
        j, timber = round(self.j / SAME) * SAME, round(self.timber_mm3, 3)
        return (j, timber, *sizes) if wish == "j" else (timber, j, *sizes)
