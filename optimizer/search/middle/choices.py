"""What every step of a cone may be, and how every belt lies over every two of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from optimizer.records import SideSizes, Source, StageProblem
from optimizer.search.pairs import CODES, KEPT, READY, TURNED, StagePairs, lay_belts

__all__ = ["BeltOver", "Choices", "Run", "runs_of"]

Floats = NDArray[np.float64]
Run = tuple[tuple[float, ...] | None, ...]
"""For every level the sizes that a standing cone has there, nothing where its step is open; empty without a cone."""


@dataclass(frozen=True)
class Choices:
    """The sizes of one side with their sources, as arrays of one length; turned ones first."""

    side: SideSizes
    size_mm: Floats
    source: NDArray[np.int8]
    stands: NDArray[np.bool_]
    """Whether it is the size of a step that stands."""
    timber_mm3: Floats

    @classmethod
    def of(cls, side: SideSizes) -> Choices:
        """List the sizes of a side: turned, ready, and those of a cone that stands."""
        turned = list(side.listed_mm) if side.turned_mm is not None else []
        steps = zip(side.standing_mm, _sources(side), strict=True)
        standing = sorted({(CODES[source], size) for step, source in steps if step is not None for size in step})
        sizes = [*turned, *side.ready_mm, *(size for _, size in standing)]
        source = [TURNED] * len(turned) + [READY] * len(side.ready_mm) + [code for code, _ in standing]
        stands = np.arange(len(sizes)) >= len(sizes) - len(standing)
        timber = [side.timber_mm3(size) if code == TURNED else 0.0 for size, code in zip(sizes, source, strict=True)]
        return cls(side, np.array(sizes, dtype=float), np.array(source, dtype=np.int8), stands, np.array(timber))

    @property
    def rays(self) -> NDArray[np.bool_]:
        """Which sizes may be scaled with those they face: listed ones that are turned."""
        return np.asarray((self.source == TURNED) & ~self.stands)

    def levels(self, run: Run) -> NDArray[np.int64]:
        """Return, for every size, the levels it may stand at, one bit each."""
        bits = np.full(self.size_mm.size, -1, dtype=np.int64)
        if not run:
            return bits
        open_ = sum(1 << level for level, step in enumerate(run) if step is None)
        bits[~self.stands] = open_
        for place in np.flatnonzero(self.stands):
            size, code = self.size_mm[place], self.source[place]
            steps = enumerate(zip(run, _sources(self.side)[: len(run)], strict=True))
            bits[place] = sum(
                1 << level for level, (step, source) in steps if step and size in step and CODES[source] == code
            )
        return bits


@dataclass(frozen=True)
class BeltOver:
    """How every belt of a stage lies over every choice of driver and driven: arrays (belts, drivers, drivens).

    Two turned sizes are a ray: both times a common scale; all others are points. Not a number where a belt does not
    fit.
    """

    stage: StageProblem
    driver: Choices
    driven: Choices
    near_mm: Floats
    """Least centre distance of the ray."""
    far_mm: Floats
    scale_low: Floats
    scale_high: Floats
    point_mm: Floats
    """Centre distance of the sizes as they are, rays too: a turned size that meets a given one is not scaled."""

    @classmethod
    def of(cls, stage: StageProblem, driver: Choices, driven: Choices) -> BeltOver:
        """Lay all belts of a stage."""
        shape = (len(stage.belts), driver.size_mm.size, driven.size_mm.size)
        near, far, low, high, point = (np.full(shape, np.nan) for _ in range(5))
        points = _laid(stage, [np.unique(side.size_mm) for side in (driver, driven)], rays=False)
        for belt, rows, columns, take in _spread(points, driver, driven, turned_only=False):
            point[belt, rows, columns] = points.centre_low[take]
        near[:], far[:] = point, point
        low[:] = high[:] = np.where(np.isnan(point), np.nan, 1.0)
        turned = np.ix_(np.ones(shape[0], dtype=bool), driver.rays, driven.rays)
        if driver.rays.any() and driven.rays.any():
            for array in (near, far, low, high):
                array[turned] = np.nan
            rays = _laid(stage, [], rays=True)
            for belt, rows, columns, take in _spread(rays, driver, driven, turned_only=True):
                near[belt, rows, columns], far[belt, rows, columns] = rays.centre_low[take], rays.centre_high[take]
                low[belt, rows, columns], high[belt, rows, columns] = rays.scale_low[take], rays.scale_high[take]
        return cls(stage, driver, driven, near, far, low, high, point)

    @property
    def pairs(self) -> int:
        """Number of choices of a belt with two sizes that fit it."""
        return int((~np.isnan(self.near_mm)).sum())


def _laid(stage: StageProblem, points_mm: Sequence[Floats], *, rays: bool) -> StagePairs:
    """Return the pairs of a stage whose sides have only turned sizes, or only the points given."""
    bare = {"standing_mm": (), "scarce_mm": (), "scarce_above_mm": np.inf, "placed": False}
    if rays:
        sides = [side.model_copy(update={**bare, "ready_mm": ()}) for side in (stage.driver, stage.driven)]
    else:
        sides = [
            side.model_copy(update={**bare, "turned_mm": None, "listed_mm": (), "ready_mm": tuple(map(float, sizes))})
            for side, sizes in zip((stage.driver, stage.driven), points_mm, strict=True)
        ]
    return lay_belts(stage.model_copy(update={"driver": sides[0], "driven": sides[1]}), positions=1)


def _spread(
    pairs: StagePairs, driver: Choices, driven: Choices, *, turned_only: bool
) -> list[tuple[NDArray[np.intp], ...]]:
    """Return belt, driver, driven and row of every pair, in parts such that each choice of one size has its own."""
    parts: list[tuple[NDArray[np.intp], ...]] = []
    for one, other in product(_copies(driver, turned_only), _copies(driven, turned_only)):
        row, column = _places(one, driver, pairs.driver_mm), _places(other, driven, pairs.driven_mm)
        take = np.flatnonzero((row >= 0) & (column >= 0))
        parts.append((pairs.belt[take].astype(np.intp), row[take], column[take], take))
    return parts


def _sources(side: SideSizes) -> tuple[Source, ...]:
    """Return where every step of a standing cone comes from; all are alike where the cone has no place of its own."""
    kept: Source = "kept"
    return side.standing_sources or (kept,) * len(side.standing_mm)


def _copies(choices: Choices, turned_only: bool) -> list[NDArray[np.intp]]:
    """Return the places of the choices by source, within which no size comes twice."""
    return [
        np.flatnonzero(choices.source == source) for source in ((TURNED,) if turned_only else (TURNED, READY, KEPT))
    ]


def _places(among: NDArray[np.intp], choices: Choices, sizes_mm: Floats) -> NDArray[np.intp]:
    """Return the place of every size among some choices, -1 where it is none of them."""
    if not among.size:
        return np.full(sizes_mm.size, -1, dtype=np.intp)
    order = among[np.argsort(choices.size_mm[among], kind="stable")]
    known = choices.size_mm[order]
    at = np.minimum(np.searchsorted(known, sizes_mm), known.size - 1)
    return np.where(known[at] == sizes_mm, order[at], -1)


def runs_of(sides: Sequence[SideSizes], levels: int) -> list[tuple[Run, ...]]:
    """Return the runs of the standing cones among some sides, first level first, that may face each other.

    A cone longer than the levels uses any run of neighbouring steps. All may be read from the other end together
    where none of them has its levels already; those that are reversible, each by itself.

    Examples
    --------
    >>> cone = SideSizes(key="stage[0].driver", standing_mm=((60,), (80,), (100,)))
    >>> runs_of([cone, SideSizes(key="stage[0].driven")], 2)[0]
    (((60.0,), (80.0,)), ())
    >>> len(runs_of([cone, SideSizes(key="stage[0].driven")], 2))
    4
    """
    windows = [_windows(side.standing_mm, levels) for side in sides]
    found = [tuple(chosen) for chosen in product(*windows)]
    flips = [(False, True) if side.standing_mm and side.reversible and not side.placed else (False,) for side in sides]
    found = [_flipped(runs, flip) for flip in product(*flips) for runs in found]
    if not any(side.placed for side in sides):
        found += [_flipped(runs, [True] * len(sides)) for runs in found]
    return list(dict.fromkeys(found))


def _flipped(runs: Sequence[Run], flip: Sequence[bool]) -> tuple[Run, ...]:
    return tuple(run[::-1] if turned else run for run, turned in zip(runs, flip, strict=True))


def _windows(standing: Run, levels: int) -> list[Run]:
    if not standing:
        return [()]
    return [standing[start : start + levels] for start in range(len(standing) - levels + 1)]
