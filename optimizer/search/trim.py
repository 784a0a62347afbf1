"""Scales for the rays of a chosen design, so that its sizes keep every hard rule."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, pi

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import belt_length_mm, centre_for_length_mm, length_gradient
from optimizer.records import PositionSizes, SideSizes, Source, StageProblem, StageSizes
from optimizer.search.pairs import StagePairs

__all__ = ["trimmed"]

Floats = NDArray[np.float64]
TOLERANCE_MM = 1e-9
ANCHORS = 17
"""Places of the window that are tried."""
SOURCES: tuple[Source, Source, Source] = ("turned", "ready", "kept")


@dataclass(frozen=True)
class _Span:
    """What the positions of a stage may be scaled by."""

    stage: StageProblem
    length_mm: float
    window_mm: float
    driver_mm: Floats
    driven_mm: Floats
    low: Floats
    high: Floats

    def centre(self, scale: Floats) -> Floats:
        return np.asarray(
            centre_for_length_mm(
                self.driver_mm * scale, self.driven_mm * scale, self.length_mm, crossed=self.stage.crossed
            )
        )

    def scale(self, centre: Floats) -> Floats:
        """Return the scales at which the belt is taut at the centre distances."""
        scale, crossed = np.ones_like(centre), self.stage.crossed
        for _ in range(4):
            a, b = self.driver_mm * scale, self.driven_mm * scale
            per_a, per_b, _unused = length_gradient(a, b, centre, crossed=crossed)
            error = belt_length_mm(a, b, centre, crossed=crossed) - self.length_mm
            scale = scale - error / (self.driver_mm * per_a + self.driven_mm * per_b)
        return scale


Scales = tuple[Floats | float, Floats | float]


def trimmed(
    stage: StageProblem,
    pairs: StagePairs,
    rows: NDArray[np.int64],
    entering_log: float,
    within: Scales = (-np.inf, np.inf),
    aim: tuple[float, float] | None = None,
) -> StageSizes | None:
    """Return the sizes of one stage with the rays scaled to fit, as near as may be to the listed sizes.

    Listed sizes that are equal stay equal; others stay at least `rise_mm` apart.

    Parameters
    ----------
    stage, pairs
        The stage and its pairs.
    rows
        Rows of the pairs, slowest position first.
    entering_log
        ln of the driver's greatest speed [rpm].
    within
        Least and greatest scale of every position.
    aim
        Least and greatest own centre distance that rays may be scaled to; nothing where that is all the same.

    Returns
    -------
    The sizes, or nothing where no scales were found.
    """
    belt = stage.belts[int(pairs.belt[rows[0]])]
    span = _Span(
        stage,
        belt.length_mm,
        belt.window_mm,
        pairs.driver_mm[rows],
        pairs.driven_mm[rows],
        np.maximum(pairs.scale_low[rows], within[0]),
        np.minimum(np.minimum(pairs.scale_high[rows], within[1]), _fastest_scale(stage, pairs, rows, entering_log)),
    )
    if np.any(span.low > span.high + 1e-12):
        return None
    scale = _scales(span, aim)
    if scale is None:
        return None
    a, b = span.driver_mm * scale, span.driven_mm * scale
    centre = centre_for_length_mm(a, b, belt.length_mm, crossed=stage.crossed)
    positions = tuple(
        PositionSizes(
            driver_mm=float(a[i]),
            driven_mm=float(b[i]),
            centre_mm=float(centre[i]),
            driver_source=SOURCES[pairs.driver_source[row]],
            driven_source=SOURCES[pairs.driven_source[row]],
        )
        for i, row in enumerate(rows)
    )
    return StageSizes(belt=belt, positions=positions)


def _fastest_scale(stage: StageProblem, pairs: StagePairs, rows: NDArray[np.int64], entering_log: float) -> Floats:
    """Return the scales at which belt or rim speed meets its limit."""
    a, b = pairs.driver_mm[rows], pairs.driven_mm[rows]
    rpm = exp(entering_log)
    leaving = rpm * float(np.exp(pairs.log_ratio[rows]).max())
    belt = stage.belt_speed_m_s * 60_000 / pi / rpm / a
    driver = (stage.driver.rim_speed_m_s * 60_000 / pi / rpm - stage.driver.outside_shift_mm) / a
    driven = (stage.driven.rim_speed_m_s * 60_000 / pi / leaving - stage.driven.outside_shift_mm) / b
    fastest = np.minimum(np.minimum(belt, driver), driven)
    rays = pairs.scale_high[rows] > pairs.scale_low[rows]
    return np.where(rays, fastest, np.inf)


def _scales(span: _Span, aim: tuple[float, float] | None) -> Floats | None:
    rays = span.high > span.low
    own = span.centre(np.clip(1.0, span.low, span.high))
    near, far = np.where(rays, span.centre(span.high), own), np.where(rays, span.centre(span.low), own)
    if aim is not None:
        near, far = np.where(rays, np.maximum(near, aim[0]), own), np.where(rays, np.minimum(far, aim[1]), own)
        if np.any(near > far + 2 * TOLERANCE_MM):
            return None
    first, last = float(near.max()) - span.window_mm, float(far.min())
    if first > last + 2 * TOLERANCE_MM:
        return None
    if not rays.any():
        return np.ones_like(own)
    middle = (float(own.max()) + float(own.min()) - span.window_mm) / 2
    anchors = np.linspace(first, last, ANCHORS)
    nearest_first = np.argsort(np.abs(anchors - middle), kind="stable")
    for anchor in [min(max(middle, first), last), *anchors[nearest_first]]:
        low_centre = np.maximum(near, anchor)
        high_centre = np.minimum(far, anchor + span.window_mm)
        if np.any(low_centre > high_centre + 2 * TOLERANCE_MM):
            continue
        high_centre = np.maximum(low_centre, high_centre)
        low = np.where(rays, span.scale(high_centre), 1.0)
        high = np.where(rays, span.scale(low_centre), 1.0)
        scale = _chain(span, np.maximum(low, span.low), np.minimum(np.maximum(low, high), span.high))
        if scale is not None:
            return scale
    return None


def _chain(span: _Span, low: Floats, high: Floats) -> Floats | None:
    """Return scales within their spans that keep the cones' order, going up the positions and back down."""
    lows, highs = [float(low[0])], [float(high[0])]
    for i in range(1, low.size):
        lows.append(max(float(low[i]), _least(span, i, lows[-1])))
        highs.append(min(float(high[i]), _most(span, i, highs[-1])))
        if lows[-1] > highs[-1] + 1e-12:
            return None
    scale = np.empty_like(low)
    scale[-1] = min(max(1.0, lows[-1]), highs[-1])
    for i in range(low.size - 2, -1, -1):
        upper = min(highs[i], _least(span, i + 1, scale[i + 1], back=True))
        lower = max(lows[i], _most(span, i + 1, scale[i + 1], back=True))
        if lower > upper + 1e-12:
            return None
        scale[i] = min(max(1.0, lower), max(lower, upper))
    return scale


def _bounds(span: _Span, i: int) -> list[tuple[Floats, float, int]]:
    """Return sizes and least rise of the cones that tie position i to the one before it; -1 for the driven."""
    ties = []
    for side, sizes, sign in ((span.stage.driver, span.driver_mm, 1), (span.stage.driven, span.driven_mm, -1)):
        if side.cone:
            ties.append((sizes, _rise(side, sizes, i), sign))
    return ties


def _rise(side: SideSizes, sizes: Floats, i: int) -> float:
    return 0.0 if abs(sizes[i] - sizes[i - 1]) <= TOLERANCE_MM else side.rise_mm


def _least(span: _Span, i: int, scale: float, *, back: bool = False) -> float:
    """Return the least of position i for a scale of i − 1, or with `back` the most of i − 1 for a scale of i."""
    limits = []
    for sizes, rise, sign in _bounds(span, i):
        equal = rise == 0.0 and abs(sizes[i] - sizes[i - 1]) <= TOLERANCE_MM
        if sign > 0 or equal:
            before, after = sizes[i - 1], sizes[i]
            limits.append((scale * after - rise) / before if back else (scale * before + rise) / after)
    return (min(limits) if back else max(limits)) if limits else (np.inf if back else 0.0)


def _most(span: _Span, i: int, scale: float, *, back: bool = False) -> float:
    """Return the most of position i for a scale of i − 1, or with `back` the least of i − 1 for a scale of i."""
    limits = []
    for sizes, rise, sign in _bounds(span, i):
        equal = rise == 0.0 and abs(sizes[i] - sizes[i - 1]) <= TOLERANCE_MM
        if sign < 0 or equal:
            before, after = sizes[i - 1], sizes[i]
            limits.append((scale * after + rise) / before if back else (scale * before - rise) / after)
    return (max(limits) if back else min(limits)) if limits else (0.0 if back else np.inf)
