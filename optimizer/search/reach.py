"""How far the log ratios of the stages go, as spans and linear cuts."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records import Problem, SideSizes, StageProblem
from optimizer.search.carrying import Carrying, StageCarrying
from optimizer.search.fit import SeriesRules
from optimizer.search.index import PairIndex
from optimizer.search.pairs import PER_M_S

__all__ = ["Cut", "Reach", "ideal_series_fits", "stage_span"]

Floats = NDArray[np.float64]
TIE_FACTORS = (0.25, 0.5, 1.0, 2.0, 4.0)
"""Directions in which the first and the last position of a stage are tied; 1 is the plain difference."""
SPEED_FACTORS = (0.5, 1.0, 2.0)
"""Directions in which a log ratio is tied to the speed that limits of rims and belts leave."""
CARRYING_FACTORS = (0.0, 0.5, 1.0, 2.0)
"""Directions in which a log ratio is tied to the driver's speed at which the belt carries what it must."""
EDGE = 1e-9
SAMPLES = 8
"""Places of the first and of the last speed tried where the ends do not count."""
WIDEST = 0.5
"""How far beyond the ends those places go, as a logarithm."""


class Cut(NamedTuple):
    """``first·x_s0 + last·x_sn + before·Σ x_tn + slowest·Σ x_t0 <= most`` for the ends of stage s, over t < s."""

    stage: int
    first: float
    last: float
    before: float
    most: float
    slowest: float = 0.0


class Reach(NamedTuple):
    """How far the log ratios of every stage go."""

    spans: list[tuple[float, float]]
    """Least and greatest of any position."""
    cuts: list[Cut]
    """What belts, rims and speeds leave of first and last positions together."""

    @classmethod
    def of_limits(cls, problem: Problem) -> Reach:
        """Return the reach that the limits of sizes and speeds leave to any real diameters.

        Raises
        ------
        ValueError
            If a side has no size at all.
        """
        switches = len(problem.switches)
        ends = [(log(switch.shares[0]), 0.0) for switch in problem.switches]
        spans = [*ends, *(stage_span(stage) for stage in problem.stages)]
        cuts = [cut for number, (low, _) in enumerate(ends) for cut in _setting_cuts(number, low)]
        for number, stage in enumerate(problem.stages):
            cuts += [cut._replace(stage=switches + number) for cut in _limit_cuts(problem, number, stage)]
        return cls(spans, cuts)

    @classmethod
    def of_pairs(
        cls, indexes: tuple[PairIndex, ...], entering: tuple[float, ...], carrying: Carrying | None = None
    ) -> Reach:
        """Return the reach of listed pairs, where `entering` is ln of every stage's driver speed at unit ratios."""
        cuts = [cut for s, index in enumerate(indexes) for cut in _pair_cuts(index, s, entering[s])]
        spans = [index.reach for index in indexes]
        if carrying is None:
            return cls(spans, cuts)
        for stage, link in zip(carrying.stages, carrying.links, strict=True):
            s = link.number
            ends = [stage.may_stand(p) for p in range(len(stage.most_kw))]
            if not all(each.any() for each in ends):
                return cls(spans, [*cuts, Cut(s, 0.0, 0.0, 0.0, -1.0)])
            ratios = stage.pairs.log_ratio
            low, high = (min(float(ratios[e].min()) for e in ends), max(float(ratios[e].max()) for e in ends))
            spans[s] = (low, high)
            first, last = ratios[ends[0]], ratios[ends[-1]]
            cuts.append(Cut(s, -1.0, 0.0, 0.0, EDGE - float(first.min())))
            cuts.append(Cut(s, 0.0, 1.0, 0.0, EDGE + float(last.max())))
            if not stage.fixed:
                cuts += _carrying_cuts(stage, s, (entering[s] - link.late, entering[s]))
        return cls(spans, cuts)


def stage_span(stage: StageProblem) -> tuple[float, float]:
    """Return the least and greatest log ratio that the limits of the sizes leave to a stage.

    Raises
    ------
    ValueError
        If a side has no size at all.

    Examples
    --------
    >>> side = SideSizes(key="stage[0].driver", ready_mm=(50.0, 100.0))
    >>> stage = StageProblem(key="stage[0]", driver=side, driven=side, belts=(), centre_mm=(200, 400))
    >>> [round(limit, 4) for limit in stage_span(stage)]
    [-0.6931, 0.6931]
    """
    (a, b), (c, d) = _extent(stage.driver), _extent(stage.driven)
    kept = log(1 - stage.slip)
    return log(a / d) + kept, log(b / c) + kept


def _extent(side: SideSizes) -> tuple[float, float]:
    sizes = [*side.fixed_mm, *(side.turned_mm or ())]
    if not sizes:
        raise ValueError(f"{side.key} has no size")
    return min(sizes), max(sizes)


def _limit_cuts(problem: Problem, number: int, stage: StageProblem) -> Iterator[Cut]:
    """Yield what the speeds of belt, rims and shaft leave to real diameters.

    A driven step b on a shaft whose fastest speed is n keeps ``n·(b + shift) <= v``, so that its log ratio is at least
    ``ln a_least + ln n − ln v``; a driver step and the belt likewise bound the greatest from above. Where rims lie
    inside the pitch line, as under a flat belt, they run slower than it, by as much as the least step does.
    """
    entering = log(problem.motor_rpm) + sum(log(s.gain) for s in problem.stages[: number + 1])
    kept = log(1 - stage.slip)
    (least_a, _), (least_b, _) = _extent(stage.driver), _extent(stage.driven)
    most = _pitch_limit(stage.driven, least_b)
    if most < inf:
        yield Cut(number, -1.0, 1.0, 1.0, most + PER_M_S - log(least_a) - kept - entering + EDGE)
    most = min(log(stage.belt_speed_m_s), _pitch_limit(stage.driver, least_a))
    if most < inf:
        yield Cut(number, 0.0, 1.0, 1.0, most + PER_M_S + kept - log(least_b) - entering + EDGE)
    if stage.driven_rpm < inf:
        yield Cut(number, 0.0, 1.0, 1.0, log(stage.driven_rpm) - entering + EDGE)


def _pitch_limit(side: SideSizes, least_mm: float) -> float:
    """Return ln of the speed [m/s] that the pitch line of every step of a side keeps where its rim keeps its limit."""
    inside = 1 + min(0.0, side.outside_shift_mm) / least_mm
    return log(side.rim_speed_m_s) - log(inside) if inside > 0 else inf


def _pair_cuts(index: PairIndex, number: int, entering: float) -> Iterator[Cut]:
    pairs = index.pairs
    if not len(pairs):
        return
    for factor, most in index.ties(TIE_FACTORS).items():
        yield Cut(number, -factor, 1.0, 0.0, most)
    for factor in SPEED_FACTORS:
        least = float((pairs.log_ratio - factor * pairs.leaving).min())
        if least > -inf:
            yield Cut(number, -1.0, factor, factor, EDGE - least - factor * entering)
        most = float((pairs.log_ratio + factor * pairs.entering).max())
        if most < inf:
            yield Cut(number, 0.0, 1.0, factor, most - factor * entering + EDGE)


def _setting_cuts(number: int, slowest: float) -> Iterator[Cut]:
    """Yield what holds a switch's first setting at its share and its last at none."""
    yield Cut(number, 1.0, 0.0, 0.0, slowest + EDGE)
    yield Cut(number, 0.0, -1.0, 0.0, EDGE)


def _carrying_cuts(stage: StageCarrying, number: int, entering: tuple[float, float]) -> Iterator[Cut]:
    """Yield what limits of grip leave: the driver's slowest speed is enough for the first position, its fastest too.

    Over all pairs ``low(pair) >= least + k·x(pair)``, so that ``entering + Σ x_t0 >= least + k·x_s0``, and likewise for
    the ends from above.
    """
    ratios = stage.pairs.log_ratio
    for factor in CARRYING_FACTORS:
        for spans, position, slow in ((stage.slow[0], 0, True), (stage.fast[-1], -1, False)):
            low, high = spans
            some = np.flatnonzero(low <= high)
            if not some.size:
                continue
            at = (1.0, 0.0) if position == 0 else (0.0, 1.0)
            least = float((low[some] - factor * ratios[some]).min())
            most = float((high[some] - factor * ratios[some]).max())
            driver = entering[0] if slow else entering[1]
            for limit, sign in ((driver - least, 1.0), (most - driver, -1.0)):
                if abs(limit) < inf:
                    before, slowest = (0.0, -sign) if slow else (-sign, 0.0)
                    turned = sign * factor
                    yield Cut(number, turned * at[0], turned * at[1], before, limit + EDGE, slowest)


def ideal_series_fits(rules: SeriesRules, reach: Reach | None) -> bool:
    """Tell whether some geometric series has a J of 0, keeps every rule, and lies within the reach.

    The answer may be no where it takes the linear program to tell.
    """
    first, step = _series(rules)
    parts = [first[:, None] - rules.base + step[:, None] * rules.offsets[0]]
    parts += [step[:, None] * offsets for offsets in rules.offsets[1:]]
    rows, j = rules.judge(parts, inf)
    rows = rows[(j <= 1e-12) & (step[rows] >= rules.ratio_least)]
    if reach is None or not rows.size:
        return bool(rows.size)
    if len(rules.offsets) > 2:
        return not reach.cuts and _sums_fit(rules, reach, first[rows], step[rows])
    low, high = _places(rules, reach, first[rows], step[rows])
    return bool((low <= high + 1e-12).any())


def _series(rules: SeriesRules) -> tuple[Floats, Floats]:
    """Return ln of first speed and ratio of series that may have a J of 0."""
    count = rules.speeds
    if count == 1:
        return np.array([(rules.low + rules.high) / 2]), np.zeros(1)
    if rules.weights[0] > 0:
        return np.array([rules.low]), np.array([(rules.high - rules.low) / (count - 1)])
    wide = min(rules.caps[0], WIDEST)
    low, high = max(rules.low - wide, rules.limits[0]), min(rules.high + wide, rules.limits[1])
    firsts, lasts = np.meshgrid(np.linspace(low, high, SAMPLES), np.linspace(low, high, SAMPLES), indexing="ij")
    rising = lasts > firsts
    return firsts[rising], (lasts - firsts)[rising] / (count - 1)


def _places(rules: SeriesRules, reach: Reach, first: Floats, step: Floats) -> tuple[Floats, Floats]:
    """Return the span of the first log ratio of the first stage for every series; of one stage it is known."""
    total = first - rules.base
    ends = [offsets[-1] * step for offsets in rules.offsets]
    if len(rules.offsets) == 1:
        low, high = total.copy(), total.copy()
    else:
        low, high = np.full(total.size, -inf), np.full(total.size, inf)
    for s, (least, most) in enumerate(reach.spans):
        start, sign = (np.zeros_like(total), 1.0) if s == 0 else (total, -1.0)
        for factor, limit in ((1.0, most - ends[s]), (-1.0, np.full(total.size, -least))):
            low, high = _bounded((low, high), factor * sign, limit - factor * start)
    for cut in reach.cuts:
        start, sign = (np.zeros_like(total), 1.0) if cut.stage == 0 else (total, -1.0)
        known = (cut.first + cut.last) * start + cut.last * ends[cut.stage]
        slope = (cut.first + cut.last) * sign
        if cut.stage == 1:
            known, slope = known + cut.before * ends[0], slope + cut.before + cut.slowest
        low, high = _bounded((low, high), slope, cut.most - known)
    return low, high


def _bounded(span: tuple[Floats, Floats], slope: float, most: Floats) -> tuple[Floats, Floats]:
    """Return the span of t cut by ``slope·t <= most``."""
    low, high = span
    if abs(slope) < 1e-12:
        return np.where(most >= -1e-12, low, inf), high
    return (low, np.minimum(high, most / slope)) if slope > 0 else (np.maximum(low, most / slope), high)


def _sums_fit(rules: SeriesRules, reach: Reach, first: Floats, step: Floats) -> bool:
    total = first - rules.base
    wide = np.ones(total.size, dtype=bool)
    highest = np.zeros(total.size)
    for (low, high), offsets in zip(reach.spans, rules.offsets, strict=True):
        wide &= high - low >= step * offsets[-1] - 1e-12
        highest += high - step * offsets[-1]
    lowest = sum(low for low, _ in reach.spans)
    return bool((wide & (lowest <= total + 1e-12) & (total <= highest + 1e-12)).any())
