"""The rows of a table: every choice of sizes for a level, with where its belts want the shafts."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.settings import Path
from optimizer.records import BeltChoice, SideSizes
from optimizer.records.coupling import SETTING_TOLERANCE_MM
from optimizer.records.middle import MiddleProblem
from optimizer.records.speeds import LOG_TOLERANCE
from optimizer.search.middle.choices import BeltOver, Choices, Run
from optimizer.search.middle.table import Table
from optimizer.search.pairs import PER_M_S

__all__ = ["Places", "narrow", "narrow_settings", "own_rows", "shared_rows"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
ROUNDING_MM = 1e-7


def narrow(
    over: tuple[BeltOver, BeltOver],
    belts: tuple[Sequence[int], Sequence[int]],
    choice: Ints,
    ray: NDArray[np.bool_],
    low: Floats,
    high: Floats,
) -> NDArray[np.bool_]:
    """Narrow the places of rows in place and tell which rows have a scale that does for both belts.

    One scale of a row moves both own centre distances the same way by nearly as much, so that their difference is
    hardly free: where two rows come within both windows, their differences come within the sum of the windows. At any
    scale a place lies between the least and the greatest over the belts of lines through each belt's ends; the former
    is concave in the scale and the latter convex, so that bounds hold at the ends of the span. What a belt's centre
    distance leaves its line by is added: its second derivative by the scale is about ``−(a − b)²/(4·C)`` (a + b for a
    crossed belt), of which twice is allowed for.

    Parameters
    ----------
    over, belts
        How the belts of either stage lie, and which of them count.
    choice, ray
        The rows: places of their sizes, and whether they are rays.
    low, high
        (3, rows): places of both belts, and of their difference.
    """
    lines = [_Lines.of(over[stage], belts[stage], choice[:, stage : stage + 2], ray) for stage in (0, 1)]
    start = np.maximum(lines[0].low, lines[1].low)
    stop = np.minimum(lines[0].high, lines[1].high)
    at_start, at_stop = ([line.at(scale) for line in lines] for scale in (start, stop))
    for stage, line in enumerate(lines):
        least = np.minimum(at_start[stage][0], at_stop[stage][0]) - line.half_mm
        most = np.maximum(at_start[stage][1], at_stop[stage][1]) + line.half_mm
        low[stage], high[stage] = np.maximum(low[stage], least), np.minimum(high[stage], most)
    half = lines[0].half_mm + lines[1].half_mm
    ends = (at_start, at_stop)
    low[2] = np.minimum(*(one[0] - other[1] for one, other in ends)) - half
    high[2] = np.maximum(*(one[1] - other[0] for one, other in ends)) + half
    return np.asarray((start <= stop) & (low[0] <= high[0]) & (low[1] <= high[1]))


class _Lines(NamedTuple):
    """Places of rows by every belt as lines in the scale, (belts, rows)."""

    place: Floats
    """At scale 1, less half the belt's length."""
    slope: Floats
    low: Floats
    """(rows,): least scale on any belt."""
    high: Floats
    half_mm: float
    """Half the widest window."""
    off_mm: Floats
    """How far a place may be off its line."""

    @classmethod
    def of(cls, over: BeltOver, belts: Sequence[int], choice: Ints, ray: NDArray[np.bool_]) -> _Lines:
        """Return the lines of some rows."""
        pick = np.array(belts)[:, None], choice[:, 0][None, :], choice[:, 1][None, :]
        point = over.point_mm[pick]
        near, far = np.where(ray, over.near_mm[pick], point), np.where(ray, over.far_mm[pick], point)
        ones = np.where(np.isnan(point), np.nan, 1.0)
        low, high = np.where(ray, over.scale_low[pick], ones), np.where(ray, over.scale_high[pick], ones)
        span = high - low
        slope = np.where(span > 0, (near - far) / np.where(span > 0, span, 1.0), 0.0)
        chosen = [over.stage.belts[belt] for belt in belts]
        lengths = np.array([belt.length_mm for belt in chosen])[:, None]
        a, b = over.driver.size_mm[choice[:, 0]], over.driven.size_mm[choice[:, 1]]
        bent = (a + b if over.stage.crossed else a - b) ** 2 / (2 * np.maximum(near, 1e-9))
        least, most = np.fmin.reduce(low), np.fmax.reduce(high)
        off = np.fmax.reduce(bent) * (most - least) ** 2 / 2
        half = max(belt.window_mm for belt in chosen) / 2 + ROUNDING_MM
        return cls(far + slope * (1.0 - low) - lengths / 2, slope, least, most, half, off)

    def at(self, scale: Floats) -> tuple[Floats, Floats]:
        """Return the least and greatest place of every row at a scale."""
        place = self.place + self.slope * (scale - 1.0)
        return np.fmin.reduce(place) - self.off_mm, np.fmax.reduce(place) + self.off_mm


SETTING_ROUNDING_MM = 1e-5
OFF_MM = 0.02
"""More than an own centre distance that is taken as straight in the scale leaves its line."""
AROUND = 1.1
"""What belts forgive in settings is so much at the most of what it is at the row itself."""


def narrow_settings(
    problem: MiddleProblem,
    over: tuple[BeltOver, BeltOver],
    belts: tuple[int, int],
    choice: Ints,
    ray: NDArray[np.bool_],
    places: tuple[Floats, Floats],
) -> NDArray[np.bool_]:
    """Say in place how far the settings of a row's two belts lie apart, and tell which rows have a common scale.

    Let D be the setting that the first belt of a row wants less that of its second. Two rows p and q take a position
    each way, so that ``s1_p − s2_q`` and ``s1_q − s2_p`` are both no more than the belts forgive; their sum is
    ``D_p + D_q``. One scale of a row moves both its settings, and D is so nearly straight in it that it lies between
    its values at the ends, but for twice what it leaves the line by half way.

    Parameters
    ----------
    problem
        The machine, with a coupling.
    over, belts
        How the belts of either stage lie, and which one of them counts.
    choice, ray
        The rows: places of their sizes, and whether they are rays.
    places
        Least and greatest (3, rows): settings of both belts, and their difference widened by what the belts forgive.
    """
    assert problem.coupling is not None
    low, high = places
    lines = [_Line.of(over[stage], belts[stage], choice[:, stage : stage + 2]) for stage in (0, 1)]
    paths = [problem.coupling.belts[stage].path for stage in (0, 1)]
    start, stop = np.maximum(lines[0].low, lines[1].low), np.minimum(lines[0].high, lines[1].high)
    apart = []
    forgiven = np.zeros(len(choice))
    for scale in (start, (start + stop) / 2, stop):
        settings, spared = zip(
            *(line.settings(path, scale) for line, path in zip(lines, paths, strict=True)), strict=True
        )
        apart.append(settings[0] - settings[1])
        forgiven = np.maximum(forgiven, spared[0] + spared[1])
    bent = 2 * np.abs(apart[1] - (apart[0] + apart[2]) / 2) + SETTING_ROUNDING_MM
    off = bent + 1.1 * forgiven + OFF_MM * (stop > start)
    low[2] = np.where(ray, np.minimum(apart[0], apart[2]) - off, -np.inf)
    high[2] = np.where(ray, np.maximum(apart[0], apart[2]) + off, np.inf)
    fit = ~ray | (start <= stop)
    if problem.levels[0] > 2 and len(choice):
        alike = bent + 3 * AROUND * float(np.max(forgiven, initial=0.0)) + OFF_MM
        fit &= ~ray | _narrowed(lines, paths, (start, stop), (apart[0], apart[2]), alike, (ray, low, high))
    return np.asarray(fit)


class _Line(NamedTuple):
    """A belt's own centre distance at every row as a line in the row's scale."""

    low: Floats
    high: Floats
    """Least and greatest scale."""
    near_mm: Floats
    far_mm: Floats
    """Own centre distances at the greatest and the least."""
    half_mm: float
    """Half of what the belt forgives."""

    @classmethod
    def of(cls, over: BeltOver, belt: int, choice: Ints) -> _Line:
        pick = belt, choice[:, 0], choice[:, 1]
        arrays = (over.scale_low, over.scale_high, over.near_mm, over.far_mm)
        low, high, near, far = (array[pick] for array in arrays)
        return cls(low, high, near, far, over.stage.belts[belt].forgives_mm / 2)

    def settings(self, path: Path, scale: Floats) -> tuple[Floats, Floats]:
        """Return the setting of every row at a scale, and how far the belt lets it be off at the most."""
        span = np.where(self.high > self.low, self.high - self.low, 1.0)
        slope = np.where(self.high > self.low, (self.near_mm - self.far_mm) / span, 0.0)
        centre = self.far_mm + slope * (scale - self.low)
        own = path.setting_mm(centre)
        far, near = path.setting_mm(centre + self.half_mm), path.setting_mm(centre - self.half_mm)
        return own, np.maximum(np.abs(far - own), np.abs(near - own))


def _narrowed(
    lines: Sequence[_Line],
    paths: Sequence[Path],
    scales: tuple[Floats, Floats],
    apart: tuple[Floats, Floats],
    alike: Floats,
    places: tuple[NDArray[np.bool_], Floats, Floats],
) -> NDArray[np.bool_]:
    """Narrow in place where rays on three levels or more want the mount, and tell which have such a scale.

    With a third row r, ``D_p = (s1_p − s2_q) + (s2_q − s1_r) + (s1_r − s2_p)``, each of which is no more than the belts
    forgive. So one scale brings both belts of a row to nearly the same setting, and that leaves little of the scale.
    """
    ray, low, high = places
    rise = apart[1] - apart[0]
    steep = np.where(np.abs(rise) > 0, rise, 1.0)
    ends = np.sort(np.stack([(-alike - apart[0]) / steep, (alike - apart[0]) / steep]), axis=0)
    always = np.abs(apart[0]) <= alike
    first = np.where(rise == 0, np.where(always, 0.0, 2.0), np.maximum(ends[0], 0.0))
    last = np.where(rise == 0, np.where(always, 1.0, -1.0), np.minimum(ends[1], 1.0))
    there = first <= last
    kept = ray & there
    for stage, (line, path) in enumerate(zip(lines, paths, strict=True)):
        span = scales[1] - scales[0]
        one, other = (line.settings(path, scales[0] + np.clip(part, 0.0, 1.0) * span) for part in (first, last))
        room = np.maximum(one[1], other[1]) * AROUND + OFF_MM
        low[stage] = np.where(kept, np.maximum(low[stage], np.minimum(one[0], other[0]) - room), low[stage])
        high[stage] = np.where(kept, np.minimum(high[stage], np.maximum(one[0], other[0]) + room), high[stage])
    return np.asarray(there & (low[0] <= high[0]) & (low[1] <= high[1]))


class Places(NamedTuple):
    """Where every two sizes want the shafts, as rays and as points, by some belts: arrays (belts, drivers, drivens).

    Not a number where a belt does not fit.
    """

    ray: tuple[Floats, Floats]
    point: tuple[Floats, Floats]

    @classmethod
    def of(cls, problem: MiddleProblem, number: int, over: BeltOver, belts: Sequence[int]) -> Places:
        """Return them for some belts of a stage, each widened by half the belt's window.

        They are centre distances less half the belt's length, which leaves little between belts; with a coupling,
        settings.
        """
        chosen = [over.stage.belts[belt] for belt in belts]
        spans = []
        for near, far in ((over.near_mm, over.far_mm), (over.point_mm, over.point_mm)):
            parts = [_place(problem, number, belt, near[n], far[n]) for n, belt in zip(belts, chosen, strict=True)]
            spans.append((np.stack([low for low, _ in parts]), np.stack([high for _, high in parts])))
        return cls(spans[0], spans[1])

    def together(self, ray: bool) -> tuple[Floats, Floats]:
        """Return the intervals that hold those of all belts, (drivers, drivens)."""
        low, high = self.ray if ray else self.point
        return np.fmin.reduce(low), np.fmax.reduce(high)


def _place(
    problem: MiddleProblem, number: int, belt: BeltChoice, near_mm: Floats, far_mm: Floats
) -> tuple[Floats, Floats]:
    """Return where a belt wants the shafts, for spans of its own centre distance; not a number where that cannot be."""
    if problem.coupling is None:
        half = belt.window_mm / 2 + ROUNDING_MM
        return near_mm - belt.length_mm / 2 - half, far_mm - belt.length_mm / 2 + half
    shared = problem.coupling.belts[number]
    nearest, farthest = shared.path.span_mm
    nearest += belt.inward_mm if shared.moves else 0.0
    farthest -= belt.outward_mm if shared.moves else 0.0
    near, far = np.maximum(near_mm, nearest - ROUNDING_MM), np.minimum(far_mm, farthest + ROUNDING_MM)
    half = belt.forgives_mm / 2
    ends = shared.path.setting_mm(near - half), shared.path.setting_mm(far + half)
    low, high = ends if shared.path.grows else ends[::-1]
    cannot = ~(near <= far + 2 * ROUNDING_MM)
    return np.where(cannot, np.nan, low - SETTING_TOLERANCE_MM), np.where(cannot, np.nan, high + SETTING_TOLERANCE_MM)


def shared_rows(
    problem: MiddleProblem,
    over: tuple[BeltOver, BeltOver],
    belts: tuple[Sequence[int], Sequence[int]],
    runs: tuple[Run, Run, Run],
) -> Table:
    """Return the rows of a shared middle cone: motor's, middle and last size."""
    sides = (over[0].driver, over[0].driven, over[1].driven)
    places = [Places.of(problem, number, over[number], belts[number]) for number in (0, 1)]
    bits = [choices.levels(run) for choices, run in zip(sides, runs, strict=True)]
    turned = [choices.rays for choices in sides]
    all_turned = turned[0][:, None, None] & turned[1][None, :, None] & turned[2][None, None, :]
    choice, low, high, rays = [], [], [], []
    for ray in (True, False):
        one, other = (each.together(ray) for each in places)
        good = ~np.isnan(one[0])[:, :, None] & ~np.isnan(other[0])[None, :, :] & (all_turned == ray)
        good &= (bits[0][:, None, None] & bits[1][None, :, None] & bits[2][None, None, :]) != 0
        i, j, k = np.nonzero(good)
        free = np.full(i.size, inf)
        choice.append(np.stack([i, j, k], axis=1))
        low.append(np.stack([one[0][i, j], other[0][j, k], -free]))
        high.append(np.stack([one[1][i, j], other[1][j, k], free]))
        rays.append(np.full(i.size, ray))
    chosen, lows, highs = np.concatenate(choice), np.concatenate(low, axis=1), np.concatenate(high, axis=1)
    stand = bits[0][chosen[:, 0]] & bits[1][chosen[:, 1]] & bits[2][chosen[:, 2]]
    if problem.coupling is None:
        fit = narrow(over, belts, chosen, np.concatenate(rays), lows, highs)
    else:
        fit = narrow_settings(problem, over, (belts[0][0], belts[1][0]), chosen, np.concatenate(rays), (lows, highs))
    found = _Found(chosen[fit], lows[:, fit], highs[:, fit], np.concatenate(rays)[fit], stand[fit])
    return _table(problem, sides, found, (0, 1))


def own_rows(problem: MiddleProblem, number: int, over: BeltOver, belts: Sequence[int], runs: tuple[Run, Run]) -> Table:
    """Return the rows of one belt whose cones it has to itself: driver's and driven's size."""
    sides = (over.driver, over.driven)
    bits = [choices.levels(run) for choices, run in zip(sides, runs, strict=True)]
    # two turned sizes have the interval of their ray, all others that of their point
    low, high = Places.of(problem, number, over, belts).together(ray=True)
    i, j = np.nonzero(~np.isnan(low) & ((bits[0][:, None] & bits[1][None, :]) != 0))
    rays = sides[0].rays[i] & sides[1].rays[j]
    lows, highs = np.full((3, i.size), -inf), np.full((3, i.size), inf)
    lows[number], highs[number] = low[i, j], high[i, j]
    found = _Found(np.stack([i, j], axis=1), lows, highs, rays, bits[0][i] & bits[1][j])
    return _table(problem, sides, found, (number,))


class _Found(NamedTuple):
    choice: Ints
    low: Floats
    high: Floats
    ray: NDArray[np.bool_]
    levels: Ints


def _table(problem: MiddleProblem, sides: Sequence[Choices], found: _Found, belts: tuple[int, ...]) -> Table:
    first, second = problem.stages
    size = np.stack([choices.size_mm[found.choice[:, n]] for n, choices in enumerate(sides)], axis=1)
    timber = sum(choices.timber_mm3[found.choice[:, n]] for n, choices in enumerate(sides))
    nothing, free = np.zeros(len(size)), np.full(len(size), inf)
    ratio = {0: nothing, 1: nothing}
    entering, between = log(problem.motor_rpm * first.gain), log(second.gain)
    good = np.ones(len(size), dtype=bool)
    middle, belt, last = free, free, free
    if 0 in belts:
        ratio[0] = np.log(size[:, 0] / size[:, 1] * (1 - first.slip))
        good &= _most(first.belt_speed_m_s, size[:, 0]) >= entering
        good &= _rim(first.driver, size[:, 0]) >= entering
        good &= entering + ratio[0] <= _log(first.driven_rpm)
        middle = np.minimum(middle, _rim(first.driven, size[:, 1]) + between)
    if 1 in belts:
        ratio[1] = np.log(size[:, -2] / size[:, -1] * (1 - second.slip))
        belt = _most(second.belt_speed_m_s, size[:, -2])
        middle = np.minimum(middle, _rim(second.driver, size[:, -2]))
        last = _rim(second.driven, size[:, -1])
    columns = {
        "choice": found.choice,
        "size_mm": size,
        "ray": found.ray,
        "first": ratio[0],
        "second": ratio[1],
        "levels": found.levels,
        "middle_most": middle,
        "belt_most": belt,
        "last_most": last,
        "timber_mm3": np.asarray(timber, dtype=float),
        "sort": ratio[belts[0]],
    }
    kept = {name: array[good] for name, array in columns.items()}
    return Table.of({**kept, "low": found.low[:, good], "high": found.high[:, good]})


def _most(speed_m_s: float, size_mm: Floats) -> Floats:
    """Return ln of the greatest speed [rpm] at which sizes keep a speed at the rim."""
    return np.asarray(_log(speed_m_s) + PER_M_S - np.log(size_mm) + LOG_TOLERANCE / 2)


def _rim(side: SideSizes, size_mm: Floats) -> Floats:
    return _most(side.rim_speed_m_s, size_mm + side.outside_shift_mm)


def _log(value: float) -> float:
    return log(value) if value < inf else inf
