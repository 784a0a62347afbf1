"""Limits of grip: what belts must carry, and the driver's speeds at which a pair carries enough."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import exp, inf, log, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import centre_for_length_mm, small_wrap_deg
from optimizer.mechanics.carrying import carried_kw
from optimizer.records import Problem, StageProblem
from optimizer.records.speeds import LOG_TOLERANCE, least_power_kw, limits_grip
from optimizer.search.fit import SeriesRules
from optimizer.search.index import PairIndex
from optimizer.search.pairs import StagePairs

__all__ = ["Carrying", "Demand", "Link", "StageCarrying", "demand_of"]


class Link(NamedTuple):
    """A belt stage among the links of the chain, switches first."""

    number: int
    before: tuple[int, ...]
    """Links that come before it in the chain."""
    late: float
    """ln of what the slowest settings of all switches behind it make of a speed."""

    @classmethod
    def of(cls, problem: Problem, stage: int) -> Link:
        """Return a belt stage by its number from 0."""
        switches = len(problem.switches)
        ahead = [number for number, switch in enumerate(problem.switches) if switch.before <= stage]
        late = sum(log(switch.shares[0]) for switch in problem.switches if switch.before > stage)
        return cls(switches + stage, (*ahead, *range(switches, switches + stage)), late)


@dataclass(frozen=True)
class Demand:
    """What the belts must carry [kW] at least, whatever the sizes; one row a speed of the series."""

    powers_kw: tuple[float, ...]

    def of(self, rules: SeriesRules, link: Link, position: int, others: int | None) -> float:
        """Return the greatest power of the speeds at one position of a stage.

        `others` tells where the belts of the stages before it lie, and what switches are set to: 0 for the slowest,
        −1 for the fastest, nothing for any of them.
        """
        found = 0.0
        for power, place in zip(self.powers_kw, rules.places.tolist(), strict=True):
            before = [place[t] if others == 0 else place[t] - (len(rules.offsets[t]) - 1) for t in link.before]
            if place[link.number] == position and (others is None or not any(before)):
                found = max(found, power)
        return found


def demand_of(problem: Problem, rules: SeriesRules) -> Demand | None:
    """Return what the belts must carry at every speed; nothing where grip is no limit.

    A speed's power depends on the bands it counts in, so each is given the least power of all places it can have
    within the limits on end miss and unevenness.
    """
    targets = problem.targets
    if not limits_grip(targets):
        return None
    step = (rules.high - rules.low) / max(1, rules.speeds - 1)
    away = min(rules.caps[0] + 2 * rules.caps[1], 50.0)
    powers = []
    for k in range(rules.speeds):
        middle = rules.low + k * step if rules.speeds > 1 else (rules.low + rules.high) / 2
        low, high = middle - away, middle + away
        edges = [log(edge) + side for b in targets.bands for edge in (b.low_rpm, b.high_rpm) for side in (-1e-7, 1e-7)]
        tried = [low, high, *(edge for edge in edges if low < edge < high)]
        powers.append(min(least_power_kw(targets, exp(place)) for place in tried))
    return Demand(tuple(powers))


Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
PLACES = 12
"""Speeds of the driver, evenly spaced in logarithms, between which the ends of a span are sought."""
HALVINGS = 6
SCALES = 9
"""Scales of a ray that are tried for what they carry."""
CHORDS = 6
GENEROUS = 1.005
"""By how much power is taken too high, for speeds between those tried."""
BETWEEN = 1.0005
"""By how much a ray's power is taken too high, for scales between its ends."""


@dataclass(frozen=True)
class StageCarrying:
    """What one stage's pairs carry, with what is asked of each position."""

    stage: StageProblem
    pairs: StagePairs
    reach: tuple[float, float]
    """ln of the slowest and fastest speed [rpm] that the driver can have."""
    slow_kw: tuple[float, ...]
    """For every position the power it must carry when the driver runs its slowest."""
    fast_kw: tuple[float, ...]
    """The same for the driver's fastest."""
    most_kw: tuple[float, ...]
    """The same for the driver's only speed, where it has one; otherwise for any of them."""

    @property
    def fixed(self) -> bool:
        """Whether the driver runs at one speed only."""
        return self.reach[0] == self.reach[1]

    @cached_property
    def _lengths(self) -> Floats:
        lengths = np.array([belt.length_mm for belt in self.stage.belts])
        return np.asarray(lengths[self.pairs.belt])

    @cached_property
    def _wraps(self) -> tuple[Floats, Floats]:
        """The wrap of each pair at its smallest and at its largest scale."""
        pairs, crossed = self.pairs, self.stage.crossed
        far, near = (
            small_wrap_deg(pairs.driver_mm * scale, pairs.driven_mm * scale, centre, crossed=crossed)
            for scale, centre in ((pairs.scale_low, pairs.centre_high), (pairs.scale_high, pairs.centre_low))
        )
        return np.asarray(far), np.asarray(near)

    def _wrap(self, rows: Ints, scale: Floats) -> Floats:
        a, b = self.pairs.driver_mm[rows] * scale, self.pairs.driven_mm[rows] * scale
        crossed = self.stage.crossed
        centre = centre_for_length_mm(a, b, self._lengths[rows], crossed=crossed)
        return np.asarray(small_wrap_deg(a, b, centre, crossed=crossed))

    def carries_kw(self, rows: Ints, scale: Floats, entering: Floats | float, wraps: Floats | None = None) -> Floats:
        """Return what pairs carry [kW] at scales of their rays and at speeds of the driver, ln of rpm."""
        a, b = self.pairs.driver_mm[rows] * scale, self.pairs.driven_mm[rows] * scale
        wraps = self._wrap(rows, scale) if wraps is None else wraps
        speed = np.exp(entering) * a * (pi / 60_000)
        small, large = np.minimum(a, b), np.maximum(a, b)
        return np.asarray(carried_kw(self.stage.ratings, speed, small, large / small, wraps, self._lengths[rows]))

    def most_carried_kw(self, rows: Ints, entering: Floats | float) -> Floats:
        """Return what pairs carry at the best scale of their rays, or a little more."""
        high = self.pairs.scale_high[rows]
        most = self.carries_kw(rows, high, entering, self._wraps[1][rows])
        rays = np.flatnonzero(high > self.pairs.scale_low[rows])
        if not rays.size:
            return most
        speeds = entering[rays] if isinstance(entering, np.ndarray) else entering
        rows = rows[rays]
        low = self.carries_kw(rows, self.pairs.scale_low[rows], speeds, self._wraps[0][rows])
        most[rays] = BETWEEN * np.maximum(most[rays], low)
        return most

    def spans(self, power_kw: float) -> tuple[Floats, Floats]:
        """Return, for every pair, the span of the driver's speed [ln rpm] outside which it carries less than a power.

        The power is concave in the driver's speed, so that the speeds at which it is enough are one span; a span with
        its ends the wrong way round has nothing in it.
        """
        rows = np.arange(len(self.pairs))
        low, high = np.full(rows.size, -inf), np.full(rows.size, inf)
        if power_kw <= 0:
            return low, high
        slowest, fastest = (self.most_carried_kw(rows, end) >= power_kw / GENEROUS for end in self.reach)
        rows = np.flatnonzero(~(slowest & fastest))
        places = np.linspace(*self.reach, PLACES)
        enough = np.array([self.most_carried_kw(rows, place) >= power_kw / GENEROUS for place in places])
        some = enough.any(axis=0)
        low[rows[~some]], high[rows[~some]] = inf, -inf
        first, last = enough.argmax(axis=0), PLACES - 1 - enough[::-1].argmax(axis=0)
        for bound, at, beyond in ((low, first, -1), (high, last, 1)):
            inner = np.flatnonzero(some & (at + beyond >= 0) & (at + beyond < PLACES))
            bound[rows[inner]] = self._end(rows[inner], power_kw, places[at[inner] + beyond], places[at[inner]])
        return low, high

    def _end(self, rows: Ints, power_kw: float, out: Floats, within: Floats) -> Floats:
        """Return the ends of spans, or a little beyond, between speeds that are too little and ones that are enough."""
        for _ in range(HALVINGS):
            middle = (out + within) / 2
            enough = self.most_carried_kw(rows, middle) >= power_kw / GENEROUS
            within, out = np.where(enough, middle, within), np.where(enough, out, middle)
        return out

    @cached_property
    def slow(self) -> list[tuple[Floats, Floats]]:
        """For every position the spans within which the driver's slowest speed must lie."""
        return self._by_position(self.slow_kw)

    @cached_property
    def fast(self) -> list[tuple[Floats, Floats]]:
        """For every position the spans within which the driver's fastest speed must lie."""
        return self._by_position(self.fast_kw)

    def _by_position(self, powers_kw: tuple[float, ...]) -> list[tuple[Floats, Floats]]:
        for power in set(powers_kw) - self._known.keys():
            self._known[power] = self.spans(power)
        return [self._known[power] for power in powers_kw]

    @cached_property
    def _known(self) -> dict[float, tuple[Floats, Floats]]:
        """The spans of the powers asked for so far."""
        return {}

    def may_stand(self, position: int) -> NDArray[np.bool_]:
        """Tell which pairs carry enough at a position at some speed of the driver."""
        low, high = self.reach
        if self.fixed:
            return np.asarray(self._carried_kw >= self.most_kw[position] * (1 - LOG_TOLERANCE))
        slow, fast = self.slow[position], self.fast[position]
        return np.asarray((slow[0] <= high) & (slow[1] >= low) & (fast[0] <= high) & (fast[1] >= low))

    @cached_property
    def _carried_kw(self) -> Floats:
        """What pairs carry at the driver's only speed."""
        return self.most_carried_kw(np.arange(len(self.pairs)), self.reach[0])

    def asked(self, rows: Ints) -> tuple[Floats, Floats, Floats, Floats]:
        """Return, for choices of all positions, what the driver's slowest and its fastest speed must lie between."""
        ends = []
        for spans in (self.slow, self.fast):
            ends.append(np.max([low[rows[:, p]] for p, (low, _) in enumerate(spans)], axis=0))
            ends.append(np.min([high[rows[:, p]] for p, (_, high) in enumerate(spans)], axis=0))
        return ends[0], ends[1], ends[2], ends[3]


@dataclass(frozen=True)
class Carrying:
    """The limits of grip of a whole problem."""

    problem: Problem
    rules: SeriesRules
    entering: tuple[float, ...]
    stages: tuple[StageCarrying, ...]

    @classmethod
    def of(
        cls, problem: Problem, rules: SeriesRules, indexes: tuple[PairIndex, ...], entering: tuple[float, ...]
    ) -> Carrying | None:
        """Return what limits of grip ask of the pairs; nothing where grip is no limit."""
        demand = demand_of(problem, rules)
        if demand is None:
            return None
        stages = []
        for number, stage in enumerate(problem.stages):
            link = Link.of(problem, number)
            positions = range(len(rules.offsets[link.number]))
            slow, fast, most = (tuple(demand.of(rules, link, p, others) for p in positions) for others in (0, -1, None))
            least, greatest = (sum(indexes[t].reach[end] for t in link.before) for end in (0, 1))
            reach = (entering[link.number] + least, entering[link.number] + greatest)
            stages.append(StageCarrying(stage, indexes[link.number].pairs, reach, slow, fast, most))
        return cls(problem, rules, entering, tuple(stages))

    @cached_property
    def links(self) -> tuple[Link, ...]:
        """The belt stages among the links."""
        return tuple(Link.of(self.problem, number) for number in range(len(self.stages)))

    def holds(self, rows: tuple[Ints, ...]) -> NDArray[np.bool_]:
        """Tell which designs can carry at every speed what they must there, the scales of their rays at their best."""
        count = rows[0].shape[0]
        good = np.ones(count, dtype=bool)
        for place in self.rules.places.tolist():
            open_ = np.flatnonzero(good)
            parts = [np.full(open_.size, log(s.shares[p])) for s, p in zip(self.problem.switches, place, strict=False)]
            parts += [
                stage.pairs.log_ratio[rows[link.number][open_, place[link.number]]]
                for stage, link in zip(self.stages, self.links, strict=True)
            ]
            power = self._power_kw(self.rules.base + np.sum(parts, axis=0))
            if not power.any():
                continue
            fits = np.ones(open_.size, dtype=bool)
            for stage, link in zip(self.stages, self.links, strict=True):
                before = sum((parts[t] for t in link.before), np.zeros(open_.size))
                chosen = rows[link.number][open_, place[link.number]]
                carries = stage.most_carried_kw(chosen, self.entering[link.number] + before)
                fits &= carries >= power * (1 - LOG_TOLERANCE)
            good[open_[~fits]] = False
        return good

    def _power_kw(self, speed: Floats) -> Floats:
        """Return the power [kW] that belts must carry at least at spindle speeds, ln of rpm."""
        targets = self.problem.targets
        most, outside = np.zeros(speed.size), np.ones(speed.size, dtype=bool)
        for band in targets.bands:
            edge = LOG_TOLERANCE if band.top else -LOG_TOLERANCE
            within = (speed >= log(band.low_rpm) - LOG_TOLERANCE) & (speed <= log(band.high_rpm) + edge)
            power = band.power_kw * max(band.least_grip, targets.least_grip)
            most, outside = np.where(within, np.maximum(most, power), most), outside & ~within
        return np.where(outside, targets.power_kw * targets.least_grip, most)

    def scales(self, rows: list[Ints]) -> list[tuple[Floats, Floats]] | None:
        """Return the span of scales of every pair of one design at which it carries enough; nothing where none does."""
        places = self.rules.places
        parts = [np.log(s.shares)[places[:, t]] for t, s in enumerate(self.problem.switches)]
        parts += [
            stage.pairs.log_ratio[rows[link.number][places[:, link.number]]]
            for stage, link in zip(self.stages, self.links, strict=True)
        ]
        power = self._power_kw(self.rules.base + np.sum(parts, axis=0))
        spans = []
        for stage, link in zip(self.stages, self.links, strict=True):
            s, chosen = link.number, rows[link.number]
            before = sum((parts[t] for t in link.before), np.zeros(power.size))
            asked = np.flatnonzero(power > 0)
            span = _enough(stage, chosen[places[asked, s]], self.entering[s] + before[asked], power[asked])
            if span is None:
                return None
            low, high = np.full(chosen.size, -inf), np.full(chosen.size, inf)
            np.maximum.at(low, places[asked, s], span[0])
            np.minimum.at(high, places[asked, s], span[1])
            spans.append((low, high))
        return spans


def _enough(stage: StageCarrying, rows: Ints, entering: Floats, power_kw: Floats) -> tuple[Floats, Floats] | None:
    """Return the spans of scales at which pairs carry their powers; nothing where one does at none."""
    if not rows.size:
        return np.empty(0), np.empty(0)
    low, high = stage.pairs.scale_low[rows], stage.pairs.scale_high[rows]

    def spare(which: Ints, scales: Floats) -> Floats:
        carries = stage.carries_kw(rows[which], scales, entering[which])
        return carries - power_kw[which] * (1 - LOG_TOLERANCE)

    every = np.arange(rows.size)
    ends = spare(np.concatenate([every, every]), np.concatenate([low, high])).reshape(2, -1)
    least, most = np.full(rows.size, -inf), np.full(rows.size, inf)
    short = np.flatnonzero((ends < 0).any(axis=0))
    if not short.size:
        return least, most
    scales = low[short] + np.linspace(0, 1, SCALES)[:, None] * (high - low)[short]
    left = spare(np.tile(short, SCALES), scales.ravel()).reshape(SCALES, -1)
    enough = left >= 0
    if not enough.any(axis=0).all():
        return None
    column = np.arange(short.size)
    first, last = enough.argmax(axis=0), SCALES - 1 - enough[::-1].argmax(axis=0)
    for bound, at, out in ((least, first, first - 1), (most, last, last + 1)):
        some = np.flatnonzero((out >= 0) & (out < SCALES))
        if some.size:
            here, inner, outer = column[some], at[some], out[some]
            inside = (scales[inner, here], left[inner, here])
            bound[short[some]] = _closest(spare, short[some], inside, (scales[outer, here], left[outer, here]))
    return least, most


def _closest(
    spare: Callable[[Ints, Floats], Floats],
    which: Ints,
    within: tuple[Floats, Floats],
    beyond: tuple[Floats, Floats],
) -> Floats:
    """Return scales that are just enough, between ones that are and ones that are not, by false position."""
    (inner, more), (outer, less) = within, beyond
    for _ in range(CHORDS):
        share = np.clip(more / np.maximum(more - less, 1e-300), 0.0, 1.0)
        trial = inner + (outer - inner) * np.clip(share, 0.02, 0.98)
        value = spare(which, trial)
        good = value >= 0
        inner, more = np.where(good, trial, inner), np.where(good, value, more)
        outer, less = np.where(good, outer, trial), np.where(good, less, value)
    return inner
