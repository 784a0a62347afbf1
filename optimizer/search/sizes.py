"""The pairs of sizes that facing steps may take, before any belt is laid."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from itertools import product
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from optimizer.records import SideSizes, Source, StageProblem

__all__ = ["ANY_PLACE", "KEPT", "READY", "TURNED", "SizePairs", "size_pairs", "tick_sizes_mm"]

Floats = NDArray[np.float64]

TURNED, READY, KEPT = 0, 1, 2
CODES: dict[Source, int] = {"turned": TURNED, "ready": READY, "kept": KEPT}
ANY_PLACE = -1
BLOCK = 200_000
"""Pairs that are taken together."""


@dataclass(frozen=True)
class SizePairs:
    """Pairs of facing sizes as arrays of one length; `reach` is the half width of a ray, 0 for a point."""

    driver_mm: Floats
    driven_mm: Floats
    driver_source: NDArray[np.int8]
    driven_source: NDArray[np.int8]
    reach: Floats
    """A pair of turned sizes may be scaled by any factor within 1 ± reach."""
    place: NDArray[np.int16]
    """Position the pair must stand at, or `ANY_PLACE`."""
    variant: NDArray[np.int16]
    """Which run of the standing cones the pair belongs to; a stage uses one variant throughout."""

    def take(self, rows: NDArray[np.intp]) -> SizePairs:
        """Return the chosen rows as pairs of their own."""
        return SizePairs(**{f.name: getattr(self, f.name)[rows] for f in fields(self)})


Step = tuple[Source, tuple[float, ...]] | None
"""Where a step of a standing cone comes from and the sizes it may have; nothing where it is open."""
Run = tuple[Step, ...]
"""The steps of a standing cone at every position; empty without one."""


def tick_sizes_mm(side: SideSizes) -> Floats:
    """Return every pitch diameter [mm] that can be turned: whole ticks on the maker's line, within the limits.

    Examples
    --------
    >>> side = SideSizes(key="stage[0].driver", turned_mm=(63.2, 64.3), tick_mm=0.5, given_shift_mm=0.1)
    >>> tick_sizes_mm(side).tolist()
    [63.6, 64.1]
    """
    if side.turned_mm is None:
        return np.empty(0)
    low, high = (limit - side.given_shift_mm for limit in side.turned_mm)
    first, last = ceil(low / side.tick_mm - 1e-9), floor(high / side.tick_mm + 1e-9)
    return np.arange(first, last + 1, dtype=np.float64) * side.tick_mm + side.given_shift_mm


def size_pairs(stage: StageProblem, *, positions: int, ticks: bool) -> Iterator[SizePairs]:
    """Yield all pairs of sizes for a stage, in blocks, so that memory stays bounded.

    Two turned sides are paired over their listed sizes, or over ticks where `ticks` is set; one turned side
    is paired over ticks; sides without turned sizes as they are. A standing cone gives each position its own
    pairs, once for every run of it that may be used.
    """
    driver, driven = stage.driver, stage.driven
    blocks, rows = [], 0
    for variant, (driver_run, driven_run) in enumerate(_runs(stage, positions)):
        standing = bool(driver_run or driven_run)
        for place in range(positions) if standing else (ANY_PLACE,):
            left = _options(driver, driver_run, place)
            right = _options(driven, driven_run, place)
            for (a_source, a_sizes), (b_source, b_sizes) in product(left, right):
                rays = not ticks and a_sizes is b_sizes is None
                a = _turned(driver, rays) if a_sizes is None else a_sizes
                b = _turned(driven, rays) if b_sizes is None else b_sizes
                together = max(1, BLOCK // max(1, b.size))
                for start in range(0, a.size, together):
                    some = a[start : start + together]
                    blocks.append(_block((some, a_source), (b, b_source), _grids(stage, rays), (place, variant)))
                    rows += some.size * b.size
                    if rows >= BLOCK:
                        yield _joined(blocks)
                        blocks, rows = [], 0
    if rows:
        yield _joined(blocks)


def _joined(blocks: list[tuple[NDArray[np.generic], ...]]) -> SizePairs:
    return SizePairs(*(np.concatenate(column) for column in zip(*blocks, strict=True)))


def _grids(stage: StageProblem, rays: bool) -> tuple[float, float]:
    return (stage.driver.grid_mm, stage.driven.grid_mm) if rays else (0.0, 0.0)


def _turned(side: SideSizes, listed: bool) -> Floats:
    return np.array(side.listed_mm) if listed else tick_sizes_mm(side)


def _options(side: SideSizes, run: Run, place: int) -> list[tuple[int, Floats | None]]:
    """Return the sources of one side with their sizes; those that may be any turned one are left to the caller."""
    standing = run[place] if run else None
    if standing is not None:
        return [(CODES[standing[0]], np.array(standing[1]))]
    options: list[tuple[int, Floats | None]] = [(READY, np.array(side.ready_mm))] if side.ready_mm else []
    return options + ([(TURNED, None)] if side.turned_mm is not None else [])


def _block(
    left: tuple[Floats, int], right: tuple[Floats, int], grids: tuple[float, float], belongs: tuple[int, int]
) -> tuple[NDArray[np.generic], ...]:
    a, b = (grid.ravel() for grid in np.meshgrid(left[0], right[0], indexing="ij"))
    larger = np.maximum(a, b)
    reach = np.where(a >= b, grids[0], grids[1]) / 2 / larger if a.size else np.empty(0)
    return (
        a,
        b,
        np.full(a.size, left[1], dtype=np.int8),
        np.full(a.size, right[1], dtype=np.int8),
        reach,
        np.full(a.size, belongs[0], dtype=np.int16),
        np.full(a.size, belongs[1], dtype=np.int16),
    )


def _runs(stage: StageProblem, positions: int) -> list[tuple[Run, Run]]:
    """Return the runs of the standing cones, slowest position first, that may face each other."""
    driver, driven = stage.driver, stage.driven
    if not driver.standing_mm and not driven.standing_mm:
        return [((), ())]
    a, b = _windows(driver, positions), _windows(driven, positions)
    pairs = list(product(a, b))
    if driver.standing_mm and driven.standing_mm and (driver.reversible or driven.reversible):
        pairs += [(x, y[::-1]) for x, y in pairs]
    if not driver.placed and not driven.placed:
        pairs += [(x[::-1], y[::-1]) for x, y in pairs]
    return list(dict.fromkeys(pairs))


def _windows(side: SideSizes, positions: int) -> list[Run]:
    """Return the runs of a cone as long as the positions; an empty one where there is no cone."""
    if not side.standing_mm:
        return [()]
    kept: Source = "kept"
    sources = side.standing_sources or (kept,) * len(side.standing_mm)
    standing: list[Step] = [
        None if sizes is None else (source, sizes) for source, sizes in zip(sources, side.standing_mm, strict=True)
    ]
    return [tuple(standing[start : start + positions]) for start in range(len(standing) - positions + 1)]
