"""The spans that a threshold leaves to ratio, ends, places and differences."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

import numpy as np
from numpy.typing import NDArray

from optimizer.search.bound import SeriesProgram
from optimizer.search.fit import SeriesRules

__all__ = ["Boxes", "StageBoxes", "boxes_at", "boxes_by_program", "narrowed"]

Floats = NDArray[np.float64]
MARGIN = 1e-7
"""How much wider the linear program's answers are taken, for its own tolerance."""


@dataclass(frozen=True)
class StageBoxes:
    """Spans for one stage; one row a position, least and most."""

    place: Floats
    """Log ratio of each position."""
    rise: Floats
    """Log ratio of each position less that of the first."""


@dataclass(frozen=True)
class Boxes:
    """What any design with J up to a threshold must keep, in natural logarithms."""

    most: float
    """The threshold."""
    spread: float
    """Twice the greatest unevenness."""
    ratio: tuple[float, float]
    """ln φ of the fitted series."""
    first: tuple[float, float]
    """ln of the slowest speed."""
    last: tuple[float, float]
    """ln of the fastest speed."""
    stages: tuple[StageBoxes, ...]

    @property
    def empty(self) -> bool:
        """Whether some span has nothing in it, so that no design keeps them all."""
        spans = [self.ratio, self.first, self.last]
        arrays = [a for s in self.stages for a in (s.place, s.rise)]
        return any(low > high for low, high in spans) or any(bool((a[:, 0] > a[:, 1]).any()) for a in arrays)


def boxes_at(rules: SeriesRules, spans: list[tuple[float, float]], most: float) -> Boxes:
    """Return the spans that a threshold leaves, in closed form.

    With J up to T the ends miss by ε and the series by δ, where ``w_e·ε + w_u·δ <= T``; what a sum of them can
    reach is the greatest over the corners of that triangle cut by the limits on ε and δ.
    """
    count = rules.speeds
    reach = _Reach.of(rules, most)
    if count == 1:
        middle = (rules.low + rules.high) / 2
        first = last = (middle - reach.miss, middle + reach.miss)
        ratio = (rules.ratio_least, inf)
    else:
        first = (rules.low - reach.miss, rules.low + reach.miss)
        last = (rules.high - reach.miss, rules.high + reach.miss)
        swing = reach.sum(2, 2) / (count - 1)
        step = (rules.high - rules.low) / (count - 1)
        ratio = (max(rules.ratio_least, step - swing), step + swing)
    ratio = (ratio[0], min(ratio[1], sum(high - low for low, high in spans) + rules.ratio_least + 1.0))
    first = (max(first[0], rules.limits[0]), min(first[1], rules.limits[1]))
    last = (max(last[0], rules.limits[0]), min(last[1], rules.limits[1]))
    return _with_stages(rules, spans, Boxes(most, 2 * reach.delta, ratio, first, last, ()))


def boxes_by_program(program: SeriesProgram, spans: list[tuple[float, float]], most: float) -> list[Boxes]:
    """Return the spans that a threshold leaves to each choice of the speeds that count, by the linear program.

    They are narrower than in closed form where wants or reach bind.
    """
    rules = program.rules
    closed = boxes_at(rules, spans, most)
    positions = [(s, p) for s, offsets in enumerate(rules.offsets) for p in range(1, offsets.size)]
    ends = [(s, p) for s, offsets in enumerate(rules.offsets) for p in (0, offsets.size - 1)]
    rows = [program.speed(0), program.speed(rules.speeds - 1), program.ratio]
    rows += [program.rise(s, p) for s, p in positions] + [program.place(s, p) for s, p in ends]
    found = []
    for least in program.least([*rows, *(-row for row in rows), -program.delta], most):
        first, last, ratio, *others = [
            (low - MARGIN, MARGIN - high) for low, high in zip(least[: len(rows)], least[len(rows) : -1], strict=True)
        ]
        tight = Boxes(
            most,
            min(closed.spread, 2 * (MARGIN - least[-1])),
            _both(closed.ratio, ratio) if rules.speeds > 1 else closed.ratio,
            _both(closed.first, _shifted(first, rules.base)),
            _both(closed.last, _shifted(last, rules.base)),
            (),
        )
        boxes = _with_stages(rules, spans, tight)
        limits = [boxes.stages[s].rise[p] for s, p in positions] + [boxes.stages[s].place[p] for s, p in ends]
        for limit, (low, high) in zip(limits, others, strict=True):
            limit[:] = max(limit[0], low), min(limit[1], high)
        found.append(boxes)
    return found


def narrowed(
    rules: SeriesRules, spans: list[tuple[float, float]], boxes: Boxes, spread: float, ratio: tuple[float, float]
) -> Boxes:
    """Return what is left to the other stages once one stage's choices are known.

    Parameters
    ----------
    rules, spans
        The series, and the log ratios of every stage, those of the known one from its choices.
    boxes
        The boxes so far.
    spread
        The least spread of the known choices: the other stages share what is left of the unevenness.
    ratio
        The span of ln φ that the known choices leave.
    """
    miss = inf
    if rules.weights[0] > 0:
        miss = (boxes.most - rules.weights[1] * spread / 2) / rules.weights[0] + MARGIN
    ends = (rules.low, rules.high) if rules.speeds > 1 else ((rules.low + rules.high) / 2,) * 2
    tight = Boxes(
        boxes.most,
        boxes.spread - spread,
        _both(boxes.ratio, ratio),
        _both(boxes.first, (ends[0] - miss, ends[0] + miss)),
        _both(boxes.last, (ends[1] - miss, ends[1] + miss)),
        (),
    )
    fresh = _with_stages(rules, spans, tight)
    stages = tuple(
        StageBoxes(_overlap(new.place, old.place), _overlap(new.rise, old.rise))
        for new, old in zip(fresh.stages, boxes.stages, strict=True)
    )
    return replace(fresh, stages=stages)


def _overlap(a: Floats, b: Floats) -> Floats:
    return np.column_stack([np.maximum(a[:, 0], b[:, 0]), np.minimum(a[:, 1], b[:, 1])])


def _shifted(span: tuple[float, float], shift: float) -> tuple[float, float]:
    return (span[0] + shift, span[1] + shift)


def _both(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    return (max(a[0], b[0]), min(a[1], b[1]))


@dataclass(frozen=True)
class _Reach:
    """The greatest end miss and unevenness under a threshold."""

    most: float
    weights: tuple[float, float]
    miss: float
    delta: float

    @classmethod
    def of(cls, rules: SeriesRules, most: float) -> _Reach:
        miss, delta = (
            min(cap, most / weight if weight > 0 else inf)
            for cap, weight in zip(rules.caps, rules.weights, strict=True)
        )
        return cls(most, rules.weights, miss, delta)

    def sum(self, misses: float, deltas: float) -> float:
        """Return the greatest of so many end misses and so many unevennesses together."""
        corners = []
        for miss in (0.0, self.miss):
            left = self.most - self.weights[0] * miss if self.weights[0] > 0 else self.most
            delta = min(self.delta, left / self.weights[1] if self.weights[1] > 0 else inf)
            corners.append(misses * miss + deltas * delta)
        left = self.most - self.weights[1] * self.delta if self.weights[1] > 0 else self.most
        miss = min(self.miss, left / self.weights[0] if self.weights[0] > 0 else inf)
        return max(*corners, misses * miss + deltas * self.delta)


def _with_stages(rules: SeriesRules, spans: list[tuple[float, float]], boxes: Boxes) -> Boxes:
    """Return the boxes with places and rises of every stage, as the spans of the other stages leave them."""
    stages = []
    for s, offsets in enumerate(rules.offsets):
        least = sum(span[0] for t, span in enumerate(spans) if t != s)
        most = sum(span[1] for t, span in enumerate(spans) if t != s)
        low = np.maximum(spans[s][0], boxes.first[0] - rules.base - most)
        high = np.minimum(spans[s][1], boxes.last[1] - rules.base - least)
        place = np.column_stack([np.full(offsets.size, low), np.full(offsets.size, high)])
        place[0, 1] = min(place[0, 1], boxes.first[1] - rules.base - least)
        place[-1, 0] = max(place[-1, 0], boxes.last[0] - rules.base - most)
        rise = np.column_stack([offsets * boxes.ratio[0] - boxes.spread, offsets * boxes.ratio[1] + boxes.spread])
        rise[0] = 0.0
        place[1:, 0] = np.maximum(place[1:, 0], place[0, 0] + rise[1:, 0])
        place[:-1, 1] = np.minimum(
            place[:-1, 1], place[-1, 1] - (offsets[-1] - offsets[:-1]) * boxes.ratio[0] + boxes.spread
        )
        stages.append(StageBoxes(place, rise))
    return replace(boxes, stages=tuple(stages))
