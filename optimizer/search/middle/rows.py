"""The rows of a table: every choice of sizes for a level, with where its belts want the shafts."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records import BeltChoice, SideSizes
from optimizer.records.coupling import SETTING_TOLERANCE_MM
from optimizer.records.middle import MiddleProblem
from optimizer.records.speeds import LOG_TOLERANCE
from optimizer.search.middle.choices import BeltOver, Choices, Run
from optimizer.search.middle.narrow import narrow
from optimizer.search.middle.narrow_settings import narrow_settings
from optimizer.search.middle.table import Table
from optimizer.search.pairs import PER_M_S

__all__ = ["Places", "own_rows", "shared_rows"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
ROUNDING_MM = 1e-7
"""What an interval is widened by, so that rounding leaves no design out."""


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
