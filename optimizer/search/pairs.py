"""Sizes that may face each other, and which of those pairs take which belt."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from itertools import product
from math import ceil, floor, inf, log, pi, radians, sin
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.clock import ENDLESS, Clock
from optimizer.geometry.belts import belt_length_mm, centre_for_length_mm, length_gradient
from optimizer.records import SideSizes, Source, StageProblem

__all__ = [
    "ANY_PLACE",
    "KEPT",
    "PER_M_S",
    "READY",
    "TURNED",
    "SizePairs",
    "StagePairs",
    "lay_belts",
    "settings",
    "size_pairs",
    "tick_sizes_mm",
]

Floats = NDArray[np.float64]

TURNED, READY, KEPT = 0, 1, 2
CODES: dict[Source, int] = {"turned": TURNED, "ready": READY, "kept": KEPT}
ANY_PLACE = -1
SIZES_TOGETHER = 200_000
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
                together = max(1, SIZES_TOGETHER // max(1, b.size))
                for start in range(0, a.size, together):
                    some = a[start : start + together]
                    blocks.append(_block((some, a_source), (b, b_source), _grids(stage, rays), (place, variant)))
                    rows += some.size * b.size
                    if rows >= SIZES_TOGETHER:
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


Ints = NDArray[np.int64]
BLOCK = 200_000
"""Pairs of sizes and belts looked at together, so that memory stays bounded."""
ROW_BYTES = 150
"""Memory that a pair takes once it is sorted."""
TOLERANCE_MM = 1e-9
NEWTON_STEPS = 6
PER_M_S = log(60_000 / pi)
"""ln of the speed [rpm] of a rim of 1 mm at 1 m/s."""


@dataclass(frozen=True)
class StagePairs:
    """Pairs that fit, one row each; all arrays have the same length.

    A pair of turned sizes is a ray: both sizes times a common scale between `scale_low` and `scale_high`. The
    larger the scale the smaller the pair's own centre distance, which so spans `centre_low` to `centre_high`.
    """

    driver_mm: Floats
    driven_mm: Floats
    driver_source: NDArray[np.int8]
    driven_source: NDArray[np.int8]
    place: NDArray[np.int16]
    variant: NDArray[np.int16]
    belt: NDArray[np.int16]
    """Index of the belt in the stage's list."""
    window_mm: Floats
    """Window of that belt."""
    scale_low: Floats
    scale_high: Floats
    centre_low: Floats
    centre_high: Floats
    log_ratio: Floats
    """Natural logarithm of driven speed over driver speed, slip included."""
    entering: Floats
    """Logarithm of the greatest driver speed [rpm] at which belt, driver's rim and driven shaft keep their limits."""
    leaving: Floats
    """Logarithm of the greatest speed [rpm] of the driven shaft, at any position, that the driven's rim stands."""
    disc_mm: Floats
    """Larger of the discs that the pair's turned sizes are cut from; 0 where none is turned."""
    timber_mm3: Floats
    """Volume of those discs."""

    def __len__(self) -> int:
        return self.log_ratio.size

    def take(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> StagePairs:
        """Return the chosen rows as pairs of their own."""
        return replace(self, **{f.name: getattr(self, f.name)[rows] for f in fields(self)})

    def reordered(self, order: NDArray[np.intp]) -> StagePairs:
        """Return the rows in another order, giving up each column as it is taken: nothing stands twice in memory."""
        columns = vars(self)
        return StagePairs(**{f.name: columns.pop(f.name)[order] for f in fields(self)})


def lay_belts(stage: StageProblem, *, positions: int, ticks: bool = False, clock: Clock = ENDLESS) -> StagePairs:
    """Return the pairs of sizes that fit a belt within the stage's own limits.

    Kept are pairs with some scale at which the centre distance is within its limits, the rims are clear and
    the wrap is enough; their span of scales is clipped to just those.
    """
    belts, blocks, rows = np.arange(len(stage.belts)), [], 0
    for listed in size_pairs(stage, positions=positions, ticks=ticks):
        sizes, scales = _by_disc(stage, listed, _size_scales(stage, listed))
        together = max(1, BLOCK // max(1, sizes.driver_mm.size))
        for start in range(0, belts.size, together):
            # the last block still has to be joined to the others and sorted, for which a few columns stand twice
            clock.ask_room(rows * ROW_BYTES / 2)
            laid = _lay(stage, belts[start : start + together], sizes, scales)
            rows += len(laid)
            blocks.append(vars(laid))
    if not blocks:
        return _empty()
    # column by column, each block's given up as it is taken, so that little stands twice
    return StagePairs(**{f.name: np.concatenate([block.pop(f.name) for block in blocks]) for f in fields(StagePairs)})


def settings(shares: tuple[float, ...]) -> StagePairs:
    """Return the settings of a switch as pairs without sizes, each of which has its place: they bind nothing."""
    count = len(shares)
    nothing, free = np.zeros(count), np.full(count, inf)
    return replace(
        _empty(),
        **{field.name: nothing.astype(getattr(_empty(), field.name).dtype) for field in fields(StagePairs)}
        | {
            "place": np.arange(count, dtype=np.int16),
            "scale_low": nothing + 1,
            "scale_high": nothing + 1,
            "log_ratio": np.log(shares),
            "entering": free,
            "leaving": free,
        },
    )


def _size_scales(stage: StageProblem, sizes: SizePairs) -> tuple[Floats, Floats]:
    """Return the scales allowed by the ray's reach and by the limits of the turned sizes."""
    low, high = 1 - sizes.reach, 1 + sizes.reach
    ray = sizes.reach > 0
    for side, size in ((stage.driver, sizes.driver_mm), (stage.driven, sizes.driven_mm)):
        if side.turned_mm is not None:
            low = np.where(ray, np.maximum(low, side.turned_mm[0] / size), low)
            high = np.where(ray, np.minimum(high, side.turned_mm[1] / size), high)
    return low, high


def _by_disc(
    stage: StageProblem, sizes: SizePairs, scales: tuple[Floats, Floats]
) -> tuple[SizePairs, tuple[Floats, Floats]]:
    """Return the rays, with a shorter one beside every ray that reaches past what a disc gives where discs are few.

    So every ray comes from discs of the same sizes throughout.
    """
    low, high = scales
    rows = np.arange(low.size)
    for side, all_mm in ((stage.driver, sizes.driver_mm), (stage.driven, sizes.driven_mm)):
        if side.scarce_above_mm == inf:
            continue
        for disc_mm in side.discs_mm:
            size = all_mm[rows]
            cap = (disc_mm - side.truing_mm - side.outside_shift_mm) / size
            past = np.flatnonzero((sizes.reach[rows] > 0) & (low < cap) & (cap < high))
            rows = np.concatenate([rows, rows[past]])
            low, high = np.concatenate([low, low[past]]), np.concatenate([high, cap[past]])
    return (sizes, scales) if rows.size == low.size == scales[0].size else (sizes.take(rows), (low, high))


def _lay(stage: StageProblem, belts: Ints, sizes: SizePairs, scales: tuple[Floats, Floats]) -> StagePairs:
    """Return the pairs that fit any of some belts."""
    lengths = np.array([belt.length_mm for belt in stage.belts])
    windows = np.array([belt.window_mm for belt in stage.belts])
    points, rays = np.flatnonzero(sizes.reach <= 0), np.flatnonzero((sizes.reach > 0) & (sizes.driver_mm > 0))
    which: list[tuple[Ints, Ints]] = []
    spans: list[tuple[Floats, Floats, Floats, Floats]] = []
    for rows, fitting in ((points, _fitting_points), (rays, _fitting_rays)):
        row, belt = np.tile(rows, belts.size), np.repeat(belts, rows.size)
        pairs = _Laid(sizes.driver_mm[row], sizes.driven_mm[row], lengths[belt], scales[0][row], scales[1][row])
        chosen, span, centres = fitting(stage, pairs)
        which.append((row[chosen], belt[chosen]))
        spans.append((*span, *centres))
    row, belt = (np.concatenate(column) for column in zip(*which, strict=True))
    order = np.argsort(belt, kind="stable")
    row, belt = row[order], belt[order]
    low, high, near, far = (np.concatenate(column)[order] for column in zip(*spans, strict=True))
    a, b = sizes.driver_mm[row], sizes.driven_mm[row]
    ratio = np.log(a / b * (1 - stage.slip))
    disc_a, timber_a = _discs(stage.driver, a, sizes.driver_source[row])
    disc_b, timber_b = _discs(stage.driven, b, sizes.driven_source[row])
    return StagePairs(
        driver_mm=a,
        driven_mm=b,
        driver_source=sizes.driver_source[row],
        driven_source=sizes.driven_source[row],
        place=sizes.place[row],
        variant=sizes.variant[row],
        belt=belt.astype(np.int16),
        window_mm=windows[belt],
        scale_low=low,
        scale_high=high,
        centre_low=near,
        centre_high=far,
        log_ratio=ratio,
        entering=_entering(stage, a, ratio),
        leaving=_leaving(stage, b),
        disc_mm=np.maximum(disc_a, disc_b),
        timber_mm3=timber_a + timber_b,
    )


class _Laid(NamedTuple):
    """Pairs with a belt each, and the span of their scales."""

    driver_mm: Floats
    driven_mm: Floats
    length_mm: Floats
    low: Floats
    high: Floats

    def take(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> _Laid:
        return _Laid(*(column[rows] for column in self))

    def centre_mm(self, stage: StageProblem, scale: Floats | float) -> Floats:
        return np.asarray(
            centre_for_length_mm(self.driver_mm * scale, self.driven_mm * scale, self.length_mm, crossed=stage.crossed)
        )


Fitting = tuple[NDArray[np.intp], tuple[Floats, Floats], tuple[Floats, Floats]]
"""Rows that fit, the span of their scales, the span of their centre distances."""


def _fitting_points(stage: StageProblem, pairs: _Laid) -> Fitting:
    """Return the pairs that fit as they are."""
    centre = pairs.centre_mm(stage, 1.0)
    least = np.maximum(stage.centre_mm[0], (pairs.driver_mm + pairs.driven_mm) / 2 + stage.clearance_mm)
    least = np.maximum(least, _wrapping_mm(stage, pairs))
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero((centre >= least - TOLERANCE_MM) & (centre <= stage.centre_mm[1] + TOLERANCE_MM))
    ones = np.ones(rows.size)
    return rows, (ones, ones), (centre[rows], centre[rows])


def _fitting_rays(stage: StageProblem, pairs: _Laid) -> Fitting:
    """Return the rays of which some scale fits, with the span of their scales clipped to the limits.

    A larger scale brings the shafts closer, so that the smallest scale meets the greatest centre distance, the
    largest all other limits.
    """
    rows = np.flatnonzero(_near(stage, pairs))
    pairs = pairs.take(rows)
    low, high = pairs.low.copy(), pairs.high.copy()
    near, far = pairs.centre_mm(stage, high), pairs.centre_mm(stage, low)
    nothing = np.zeros(rows.size)
    rims = (pairs.driver_mm + pairs.driven_mm) / 2
    wrapping = _wrapping_mm(stage, pairs)
    with np.errstate(invalid="ignore"):
        for over, line in (
            (~(near >= stage.centre_mm[0]), (nothing, stage.centre_mm[0])),
            (~(near >= rims * high + stage.clearance_mm), (rims, stage.clearance_mm)),
            (~(near >= wrapping * high), (np.maximum(wrapping, 1e-9), 0.0)),
        ):
            some = np.flatnonzero(over)
            high[some] = np.minimum(high[some], _scale_at(stage, pairs.take(some), (line[0][some], line[1])))
        some = np.flatnonzero(~(far <= stage.centre_mm[1]))
        low[some] = np.maximum(low[some], _scale_at(stage, pairs.take(some), (nothing[some], stage.centre_mm[1])))
    for scale, known, centre in ((high, pairs.high, near), (low, pairs.low, far)):
        some = np.flatnonzero((scale != known) & (low <= high))
        centre[some] = pairs.take(some).centre_mm(stage, scale[some])
    fits = low <= high
    return rows[fits], (low[fits], high[fits]), (near[fits], far[fits])


def _wrapping_mm(stage: StageProblem, pairs: _Laid) -> Floats:
    """Return the least centre distance that leaves enough wrap, at the listed scale."""
    lean = sin(radians(90 - stage.least_wrap_deg / 2))
    if stage.crossed or lean >= 1:
        return np.zeros(pairs.driver_mm.size)
    return np.asarray(np.abs(pairs.driver_mm - pairs.driven_mm) / 2 / max(lean, 1e-12))


def _near(stage: StageProblem, pairs: _Laid) -> NDArray[np.bool_]:
    """Tell which rays can come within the limits of the centre distance at all, by the length at either end."""
    a, b, length, low, high = pairs
    apart = _least_centre(a, b, stage.crossed)
    far = np.maximum(stage.centre_mm[1], apart * low)
    near = np.maximum(stage.centre_mm[0], apart * low)
    shortest = belt_length_mm(a * low, b * low, near, crossed=stage.crossed)
    longest = belt_length_mm(a * high, b * high, np.maximum(far, apart * high), crossed=stage.crossed)
    # no number where rounding puts the shafts nearer than they can be: such rays are looked at more closely
    return ~((shortest > length) | (length > longest))


def _scale_at(stage: StageProblem, pairs: _Laid, line: tuple[Floats, float]) -> Floats:
    """Return the scale s at which the belt is taut at the centre distance ``line[0]·s + line[1]``.

    ``L(s·a, s·b, m·s + c) = length`` has one root in s, as the length grows with s; Newton from the scale of
    the pair's own centre distance.
    """
    a, b, length = pairs[:3]
    crossed = stage.crossed
    slope, fixed = line
    scale = np.ones_like(a)
    for _ in range(NEWTON_STEPS):
        centre = np.maximum(slope * scale + fixed, _least_centre(a, b, crossed) * scale * (1 + 1e-12) + 1e-12)
        per_a, per_b, per_centre = length_gradient(a * scale, b * scale, centre, crossed=crossed)
        error = belt_length_mm(a * scale, b * scale, centre, crossed=crossed) - length
        step = error / (a * per_a + b * per_b + slope * per_centre)
        scale = np.maximum(scale - step, scale / 4)
        if not step.size or np.abs(step).max() < 1e-13:
            break
    return scale


def _least_centre(a: Floats, b: Floats, crossed: bool) -> Floats:
    return (a + b) / 2 if crossed else np.abs(a - b) / 2


def _entering(stage: StageProblem, a: Floats, ratio: Floats) -> Floats:
    entering = np.full(a.size, inf)
    for speed, size in (
        (stage.belt_speed_m_s, a),
        (stage.driver.rim_speed_m_s, a + stage.driver.outside_shift_mm),
    ):
        if speed < inf:
            entering = np.minimum(entering, log(speed) + PER_M_S - np.log(size))
    if stage.driven_rpm < inf:
        entering = np.minimum(entering, log(stage.driven_rpm) - ratio)
    return entering


def _leaving(stage: StageProblem, b: Floats) -> Floats:
    if stage.driven.rim_speed_m_s == inf:
        return np.full(b.size, inf)
    return np.asarray(log(stage.driven.rim_speed_m_s) + PER_M_S - np.log(b + stage.driven.outside_shift_mm))


def _discs(side: SideSizes, sizes: Floats, source: NDArray[np.int8]) -> tuple[Floats, Floats]:
    """Return diameter and volume of the disc of every turned size, 0 for the others."""
    turned = source == TURNED
    needed = sizes + side.outside_shift_mm + side.truing_mm
    if side.discs_mm:
        discs = np.array([*sorted(side.discs_mm), inf])
        given = discs[np.searchsorted(discs, needed - 1e-9)]
        needed = np.where(np.isfinite(given), given, needed)
    disc = np.where(turned, needed, 0.0)
    return disc, pi / 4 * disc**2 * side.width_mm


def _empty() -> StagePairs:
    kinds = {
        "driver_source": np.int8,
        "driven_source": np.int8,
        "place": np.int16,
        "variant": np.int16,
        "belt": np.int16,
    }
    return StagePairs(**{f.name: np.empty(0, dtype=kinds.get(f.name, np.float64)) for f in fields(StagePairs)})
