"""Every pair of facing sizes that some belt of a stage fits, as arrays sorted for range queries."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from math import inf, log, pi, radians, sin

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import belt_length_mm, centre_for_length_mm, length_gradient
from optimizer.records import SideSizes, StageProblem
from optimizer.search.sizes import TURNED, SizePairs, size_pairs

__all__ = ["StagePairs", "lay_belts"]

Floats = NDArray[np.float64]
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


def lay_belts(stage: StageProblem, *, positions: int, ticks: bool = False) -> StagePairs:
    """Return the pairs of sizes that fit a belt within the stage's own limits.

    Kept are pairs with some scale at which the centre distance is within its limits, the rims are clear and
    the wrap is enough; their span of scales is clipped to just those.
    """
    sizes = size_pairs(stage, positions=positions, ticks=ticks)
    low, high = _size_scales(stage, sizes)
    blocks = [_lay_one(stage, index, sizes, low, high) for index in range(len(stage.belts))]
    if not blocks:
        return _empty()
    return StagePairs(
        **{f.name: np.concatenate([getattr(block, f.name) for block in blocks]) for f in fields(StagePairs)}
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


def _lay_one(stage: StageProblem, belt: int, sizes: SizePairs, low: Floats, high: Floats) -> StagePairs:
    choice = stage.belts[belt]
    fits, low, high = _clip(stage, choice.length_mm, sizes, (low, high))
    a, b = sizes.driver_mm[fits], sizes.driven_mm[fits]
    nearest = centre_for_length_mm(a * high, b * high, choice.length_mm, crossed=stage.crossed)
    farthest = nearest.copy()
    ray = high > low
    farthest[ray] = centre_for_length_mm((a * low)[ray], (b * low)[ray], choice.length_mm, crossed=stage.crossed)
    ratio = np.log(a / b * (1 - stage.slip))
    disc_a, timber_a = _discs(stage.driver, a, sizes.driver_source[fits])
    disc_b, timber_b = _discs(stage.driven, b, sizes.driven_source[fits])
    return StagePairs(
        driver_mm=a,
        driven_mm=b,
        driver_source=sizes.driver_source[fits],
        driven_source=sizes.driven_source[fits],
        place=sizes.place[fits],
        variant=sizes.variant[fits],
        belt=np.full(a.size, belt, dtype=np.int16),
        window_mm=np.full(a.size, choice.window_mm),
        scale_low=low,
        scale_high=high,
        centre_low=nearest,
        centre_high=farthest,
        log_ratio=ratio,
        entering=_entering(stage, a, ratio),
        leaving=_leaving(stage, b),
        disc_mm=np.maximum(disc_a, disc_b),
        timber_mm3=timber_a + timber_b,
    )


def _clip(
    stage: StageProblem, length: float, sizes: SizePairs, scales: tuple[Floats, Floats]
) -> tuple[NDArray[np.intp], Floats, Floats]:
    """Return the pairs that fit a belt of this length with the span of their scales."""
    a, b = sizes.driver_mm, sizes.driven_mm
    centre = centre_for_length_mm(a, b, length, crossed=stage.crossed)
    lean = sin(radians(90 - stage.least_wrap_deg / 2))
    least = np.maximum(stage.centre_mm[0], (a + b) / 2 + stage.clearance_mm)
    if not stage.crossed and lean < 1:
        least = np.maximum(least, np.abs(a - b) / 2 / max(lean, 1e-12))
    with np.errstate(invalid="ignore"):
        stands = (centre >= least - TOLERANCE_MM) & (centre <= stage.centre_mm[1] + TOLERANCE_MM)
    points = np.flatnonzero(stands & (sizes.reach <= 0))
    rays = np.flatnonzero((sizes.reach > 0) & (a > 0))
    rays = rays[_near(stage, length, (a[rays], b[rays]), (scales[0][rays], scales[1][rays]))]
    low, high = _clip_rays(stage, length, (a[rays], b[rays]), (scales[0][rays], scales[1][rays]), lean)
    fits = low <= high
    rows = np.concatenate([points, rays[fits]])
    ones = np.ones(points.size)
    return rows, np.concatenate([ones, low[fits]]), np.concatenate([ones, high[fits]])


def _near(
    stage: StageProblem, length: float, pair: tuple[Floats, Floats], scales: tuple[Floats, Floats]
) -> NDArray[np.bool_]:
    """Tell which rays can come within the limits of the centre distance at all, by the length at either end."""
    (a, b), (low, high) = pair, scales
    apart = _least_centre(a, b, stage.crossed)
    far = np.maximum(stage.centre_mm[1], apart * low)
    near = np.maximum(stage.centre_mm[0], apart * low)
    shortest = belt_length_mm(a * low, b * low, near, crossed=stage.crossed)
    longest = belt_length_mm(a * high, b * high, np.maximum(far, apart * high), crossed=stage.crossed)
    return (shortest <= length) & (length <= longest)


def _clip_rays(
    stage: StageProblem, length: float, pair: tuple[Floats, Floats], scales: tuple[Floats, Floats], lean: float
) -> tuple[Floats, Floats]:
    (a, b), (low, high) = pair, scales
    low = np.maximum(low, _scale_at(a, b, length, (0.0, stage.centre_mm[1]), stage.crossed))
    high = np.minimum(high, _scale_at(a, b, length, (0.0, stage.centre_mm[0]), stage.crossed))
    high = np.minimum(high, _scale_at(a, b, length, ((a + b) / 2, stage.clearance_mm), stage.crossed))
    if not stage.crossed and lean < 1:
        reach = np.maximum(np.abs(a - b) / 2 / max(lean, 1e-12), 1e-9)
        high = np.minimum(high, length / belt_length_mm(a, b, reach))
    return low, high


def _scale_at(a: Floats, b: Floats, length: float, line: tuple[Floats | float, float], crossed: bool) -> Floats:
    """Return the scale s at which the belt is taut at the centre distance ``line[0]·s + line[1]``.

    ``L(s·a, s·b, m·s + c) = length`` has one root in s, as the length grows with s; Newton from the scale of
    the pair's own centre distance.
    """
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
