"""Belts and scales for the sizes of a design, so that they keep every hard rule."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, permutations
from math import exp, pi

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError
from scipy.optimize import linprog

from optimizer.geometry.belts import centre_for_length_mm, length_gradient
from optimizer.records import BeltChoice, PositionSizes, Source, StageSizes
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.search.middle.rows import Places
from optimizer.search.middle.space import Slot, Space

__all__ = ["Pulleys", "belts_that_fit", "scaled", "settled"]

Floats = NDArray[np.float64]
ROUNDS = 6
SPARED_MM = 2e-7
"""What the linear program keeps off windows and rises."""
CLOSE_MM = 1e-7
SAME_MM = 1e-9
Row = tuple[list[tuple[int, float]], float]
"""Terms of a row, each a variable with its factor, and what their sum may be at most."""


@dataclass(frozen=True)
class Pulleys:
    """The rows of a design as the scales see them."""

    problem: MiddleProblem
    belts: tuple[BeltChoice, BeltChoice]
    rows: tuple[list[int], list[int]]
    """For either belt the row at every level."""
    sizes_mm: tuple[Floats, Floats]
    """For either belt (levels, 2): listed driver and driven."""
    cones: Sequence[tuple[list[int], Floats, float]]
    """Rows along a cone, their listed sizes (negative where they fall), and the least rise."""

    def centres(self, scale: Floats, belt: int) -> tuple[Floats, Floats]:
        """Return the own centre distance of a belt at every level, with its change by the scale."""
        sizes = self.sizes_mm[belt] * scale[self.rows[belt], None]
        crossed, length = self.problem.stages[belt].crossed, self.belts[belt].length_mm
        centre = np.asarray(centre_for_length_mm(sizes[:, 0], sizes[:, 1], length, crossed=crossed))
        per_driver, per_driven, per_centre = length_gradient(sizes[:, 0], sizes[:, 1], centre, crossed=crossed)
        plain = self.sizes_mm[belt]
        return centre, -(plain[:, 0] * per_driver + plain[:, 1] * per_driven) / per_centre

    def of_stage(self, number: int) -> Pulleys:
        """Return the rows of one stage alone, where no row is of both."""
        mine = set(self.rows[number])
        rows = (self.rows[0], []) if number == 0 else ([], self.rows[1])
        none = np.empty((0, 2))
        sizes = (self.sizes_mm[0], none) if number == 0 else (none, self.sizes_mm[1])
        cones = [cone for cone in self.cones if mine.issuperset(cone[0])]
        return replace(self, rows=rows, sizes_mm=sizes, cones=cones)


def scaled(pulleys: Pulleys, low: Floats, high: Floats) -> Floats | None:
    """Return scales within their limits at which both belts fit and the cones keep their order, or nothing.

    They are as near to 1 as may be, the farthest counting. A belt's own centre distance is so nearly straight in the
    scale that three linear programs, each straight about the answer of the one before, settle within a millionth of a
    millimetre.
    """
    scale = np.clip(1.0, low, high)
    settings = _start(pulleys, scale)
    for _ in range(ROUNDS):
        rows, most = _rows(pulleys, scale, settings)
        count = scale.size + settings.size
        farthest = np.zeros((2 * scale.size, count + 1))
        farthest[: scale.size, : scale.size], farthest[scale.size :, : scale.size] = (
            np.eye(scale.size),
            -np.eye(scale.size),
        )
        farthest[:, -1] = -1
        cost = np.zeros(count + 1)
        cost[-1] = 1.0
        ends = [(None, None)] * settings.size
        answer = linprog(
            cost,
            A_ub=np.vstack([np.hstack([rows, np.zeros((len(rows), 1))]), farthest]),
            b_ub=np.concatenate([most, np.ones(scale.size), -np.ones(scale.size)]),
            bounds=[*zip(low, high, strict=True), *ends, (0, None)],
            method="highs",
        )
        if answer.status != 0 or answer.x is None:
            return None
        moved = float(np.abs(answer.x[:count] - np.concatenate([scale, settings])).max())
        scale, settings = np.clip(answer.x[: scale.size], low, high), answer.x[scale.size : count]
        if moved < 1e-10:
            break
        rows, most = _rows(pulleys, scale, settings)
        if np.all(rows @ np.concatenate([scale, settings]) <= most + CLOSE_MM):
            break
    return np.asarray(scale)


def _start(pulleys: Pulleys, scale: Floats) -> Floats:
    """Return a setting for every position where one movement sets both belts; empty where there is none."""
    coupling = pulleys.problem.coupling
    if coupling is None:
        return np.empty(0)
    own = [shared.path.setting_mm(pulleys.centres(scale, shared.stage)[0]) for shared in coupling.belts]
    return np.array([(own[0][i] + own[1][j]) / 2 for i, j in pulleys.problem.positions])


def _rows(pulleys: Pulleys, scale: Floats, settings: Floats) -> tuple[Floats, Floats]:
    """Return the rows of the linear program about some scales and settings."""
    rows: list[Floats] = []
    most: list[float] = []
    for terms, limit in (*_centre_rows(pulleys, scale, settings), *_cone_rows(pulleys)):
        row = np.zeros(scale.size + settings.size)
        for place, value in terms:
            row[place] += value
        rows.append(row)
        most.append(limit)
    return np.array(rows), np.array(most)


def _centre_rows(pulleys: Pulleys, scale: Floats, settings: Floats) -> Iterator[Row]:
    """Yield that either belt's own centre distances keep its window, and that every position's setting fits both."""
    coupling = pulleys.problem.coupling
    for belt in (0, 1):
        centre, slope = pulleys.centres(scale, belt)
        own, choice = pulleys.rows[belt], pulleys.belts[belt]
        plain = centre - slope * scale[own]
        for i, j in permutations(range(len(own)), 2):
            terms = [(own[i], float(slope[i])), (own[j], -float(slope[j]))]
            yield terms, choice.window_mm - SPARED_MM - float(plain[i] - plain[j])
        if coupling is None:
            continue
        path = coupling.belts[belt].path
        there, rates = path.centre_mm(settings), path.slope(settings)
        for number, position in enumerate(pulleys.problem.positions):
            level, rate = position[belt], float(rates[number])
            for sign in (1.0, -1.0):
                limit = (choice.forgives_mm - SPARED_MM) / 2
                limit += sign * float(there[number] - rate * settings[number] - plain[level])
                yield [(own[level], sign * float(slope[level])), (scale.size + number, -sign * rate)], limit


def _cone_rows(pulleys: Pulleys) -> Iterator[Row]:
    """Yield that steps of one listed size stay alike, and that others keep the least rise."""
    for own, sizes, rise in pulleys.cones:
        for (one, lower), (other, upper) in pairwise(zip(own, map(float, sizes), strict=True)):
            same = abs(upper - lower) <= SAME_MM
            yield [(one, lower), (other, -upper)], 0.0 if same or not rise else -rise - SPARED_MM
            if same:
                yield [(one, -lower), (other, upper)], 0.0


Ints = NDArray[np.int64]
LINE_OFF_MM = 0.05
"""More than a ray's own centre distance ever leaves the line between its ends."""
SOURCES: tuple[Source, Source, Source] = ("turned", "ready", "kept")


def belts_that_fit(space: Space, rows: Mapping[Slot, Ints]) -> NDArray[np.bool_]:
    """Tell on which belts of the space every two levels agree, (designs, first belts, second belts).

    This holds for rays if they may be scaled one by one for either belt; whether one scale does for both is for
    `settled` to find.
    """
    low, high = _places(space, rows, 0), _places(space, rows, 1)
    if space.problem.coupling is None:
        with np.errstate(invalid="ignore"):
            one, other = (
                (np.fmax.reduce(lows, axis=2) <= np.fmin.reduce(highs, axis=2)) & ~np.isnan(lows).any(axis=2)
                for lows, highs in (low, high)
            )
        one, other = one & _alike(space, rows, 0), other & _alike(space, rows, 1)
        return np.asarray(one[:, :, None] & other[:, None, :])
    good = np.ones((low[0].shape[0], low[0].shape[1], high[0].shape[1]), dtype=bool)
    for i, j in space.problem.positions:
        least = np.maximum(low[0][:, :, None, i], high[0][:, None, :, j])
        good &= least <= np.minimum(low[1][:, :, None, i], high[1][:, None, :, j])
    return good


def _places(space: Space, rows: Mapping[Slot, Ints], number: int) -> tuple[Floats, Floats]:
    """Return the places of one stage, (designs, belts, levels)."""
    over, belts = space.over[number], space.belts[number]
    spans = Places.of(space.problem, number, over, belts)
    lows: list[Floats] = []
    highs: list[Floats] = []
    for level in range(space.problem.levels[number]):
        slot, sides = _where(space, number, level)
        table = space.tables[slot.table]
        choice, ray = table.choice[rows[slot]][:, sides], table.ray[rows[slot]]
        for ends, into in ((0, lows), (1, highs)):
            rays, points = (span[ends][:, choice[:, 0], choice[:, 1]].T for span in spans)
            into.append(np.where(ray[:, None], rays, points))
    return np.stack(lows, axis=2), np.stack(highs, axis=2)


def _alike(space: Space, rows: Mapping[Slot, Ints], number: int) -> NDArray[np.bool_]:
    """Tell which designs leave a belt its window where neighbouring steps of one size make rays share a scale.

    An array (designs, belts) of one stage; own centre distances are lines in the scale, but for a little.
    """
    over, belts = space.over[number], list(space.belts[number])
    windows = np.array([over.stage.belts[belt].window_mm for belt in belts]) + LINE_OFF_MM
    good = np.ones((len(next(iter(rows.values()))), len(belts)), dtype=bool)
    for level in range(space.problem.levels[number] - 1):
        ends, lines = [], []
        for slot, sides in (_where(space, number, level), _where(space, number, level + 1)):
            table, row = space.tables[slot.table], rows[slot]
            choice = table.choice[row][:, sides]
            low, high, near, far = (
                array[np.array(belts)[:, None], choice[:, 0], choice[:, 1]].T
                for array in (over.scale_low, over.scale_high, over.near_mm, over.far_mm)
            )
            slope = np.where(high > low, (near - far) / np.where(high > low, high - low, 1.0), 0.0)
            ends.append((low, high))
            lines.append((far - slope * low, slope))
        pair = [_where(space, number, step)[0] for step in (level, level + 1)]
        sizes = [space.tables[slot.table].size_mm[rows[slot]] for slot in pair]
        cones = np.array(space.order(pair[0])) != 0
        tied = ((sizes[0] == sizes[1]) & cones).any(axis=1)
        tied &= space.tables[pair[0].table].ray[rows[pair[0]]] & space.tables[pair[1].table].ray[rows[pair[1]]]
        start, stop = np.maximum(ends[0][0], ends[1][0]), np.minimum(ends[0][1], ends[1][1])
        apart = [lines[0][0] - lines[1][0] + (lines[0][1] - lines[1][1]) * scale for scale in (start, stop)]
        least = np.where(apart[0] * apart[1] <= 0, 0.0, np.minimum(np.abs(apart[0]), np.abs(apart[1])))
        good &= ~tied[:, None] | ((start <= stop) & (least <= windows))
    return good


def _where(space: Space, number: int, level: int) -> tuple[Slot, list[int]]:
    """Return the slot of a level of a stage, with the sides of its rows that the stage's belt runs on."""
    if space.problem.shared:
        return Slot(0, level), [number, number + 1]
    return Slot(number, level), [0, 1]


def settled(space: Space, rows: Mapping[Slot, int], fitting: NDArray[np.bool_]) -> MiddleCandidate | None:
    """Return the design on the first belts on which scales are found, or nothing where there are none.

    Parameters
    ----------
    space
        The space.
    rows
        Row of every slot.
    fitting
        (first belts, second belts): which of them every two levels agree on.
    """
    left = fitting.copy()
    for one, other in zip(*np.nonzero(fitting), strict=True):
        if not left[one, other]:
            continue
        belts = (space.belts[0][one], space.belts[1][other])
        for scales in _scales(space, rows, belts):
            candidate = _candidate(space, rows, belts, scales)
            if candidate is not None:
                return candidate
        if not space.problem.shared and space.problem.coupling is None:
            # either stage is by itself, so that a belt which it cannot run on fails with every belt of the other
            left[one] &= not _fails(space, rows, belts, 0)
            left[:, other] &= not _fails(space, rows, belts, 1)
    return None


def _fails(space: Space, rows: Mapping[Slot, int], belts: tuple[int, int], number: int) -> bool:
    """Tell whether no scales do for one stage alone."""
    spans = np.array([_span(space, rows, slot, belts) if slot.table == number else (1.0, 1.0) for slot in rows])
    if np.any(spans[:, 0] > spans[:, 1]):
        return True
    return scaled(_pulleys(space, rows, list(rows), belts).of_stage(number), spans[:, 0], spans[:, 1]) is None


def _scales(space: Space, rows: Mapping[Slot, int], belts: tuple[int, int]) -> Iterator[dict[Slot, float]]:
    """Yield scales of the slots that may do: the listed sizes as they are, then those of the linear program."""
    yield dict.fromkeys(rows, 1.0)
    if any(space.tables[slot.table].ray[row] for slot, row in rows.items()):
        slots = list(rows)
        spans = np.array([_span(space, rows, slot, belts) for slot in slots])
        if np.all(spans[:, 0] <= spans[:, 1]):
            found = scaled(_pulleys(space, rows, slots, belts), spans[:, 0], spans[:, 1])
            if found is not None:
                yield dict(zip(slots, map(float, found), strict=True))


def _span(space: Space, rows: Mapping[Slot, int], slot: Slot, belts: tuple[int, int]) -> tuple[float, float]:
    """Return the least and greatest scale of a row."""
    table, row = space.tables[slot.table], rows[slot]
    if not table.ray[row]:
        return 1.0, 1.0
    low, high = 0.0, _fastest_scale(space, rows, slot)
    for number in (0, 1):
        if not space.problem.shared and slot.table != number:
            continue
        over, choice = space.over[number], table.choice[row]
        at = (belts[number], *(choice[number : number + 2] if space.problem.shared else choice))
        low, high = max(low, float(over.scale_low[at])), min(high, float(over.scale_high[at]))
    return low, high


def _fastest_scale(space: Space, rows: Mapping[Slot, int], slot: Slot) -> float:
    """Return the scale of a row at which a rim or a belt meets its greatest speed."""
    problem = space.problem
    first, second = problem.stages
    levels = problem.levels[0]
    ratios = [float(space.tables[0].first[rows[Slot(0, level)]]) for level in range(levels)]
    entering = problem.motor_rpm * first.gain
    middle = [entering * exp(ratio) for ratio in ratios]
    own = middle[-1]
    if problem.shared and slot.level == levels - 1:
        own = middle[-2]
    number = 0 if problem.shared else 1
    seconds = [float(space.tables[number].second[rows[Slot(number, level)]]) for level in range(problem.levels[1])]
    last = middle[-1] * second.gain * exp(max(seconds[0], seconds[-1]))
    sizes = space.tables[slot.table].size_mm[rows[slot]]
    limits = []
    if problem.shared or slot.table == 0:
        limits += [(sizes[0], first.belt_speed_m_s, 0.0, entering)]
        limits += [(sizes[0], first.driver.rim_speed_m_s, first.driver.outside_shift_mm, entering)]
        limits += [(sizes[1], first.driven.rim_speed_m_s, first.driven.outside_shift_mm, middle[-1])]
    if problem.shared or slot.table == 1:
        limits += [(sizes[-2], second.belt_speed_m_s, 0.0, own * second.gain)]
        limits += [(sizes[-2], second.driver.rim_speed_m_s, second.driver.outside_shift_mm, middle[-1] * second.gain)]
        limits += [(sizes[-1], second.driven.rim_speed_m_s, second.driven.outside_shift_mm, last)]
    return min(float((speed * 60_000 / pi / rpm - shift) / size) for size, speed, shift, rpm in limits)


def _pulleys(space: Space, rows: Mapping[Slot, int], slots: list[Slot], belts: tuple[int, int]) -> Pulleys:
    problem: MiddleProblem = space.problem
    place = {slot: number for number, slot in enumerate(slots)}
    levels, sizes = [], []
    for number in (0, 1):
        where = [_where(space, number, level) for level in range(problem.levels[number])]
        levels.append([place[slot] for slot, _ in where])
        sizes.append(np.array([space.tables[slot.table].size_mm[rows[slot], sides] for slot, sides in where]))
    cones = []
    for table in range(len(space.tables)):
        mine = sorted(slot for slot in slots if slot.table == table)
        for side, (sign, rise) in enumerate(zip(space.order(mine[0]), space.rises(mine[0]), strict=True)):
            if sign:
                cones.append(
                    ([place[s] for s in mine], sign * space.tables[table].size_mm[[rows[s] for s in mine], side], rise)
                )
    chosen = tuple(stage.belts[belt] for stage, belt in zip(problem.stages, belts, strict=True))
    return Pulleys(problem, (chosen[0], chosen[1]), (levels[0], levels[1]), (sizes[0], sizes[1]), cones)


def _candidate(
    space: Space, rows: Mapping[Slot, int], belts: tuple[int, int], scales: Mapping[Slot, float]
) -> MiddleCandidate | None:
    stages = []
    for number, rules in enumerate(space.problem.stages):
        belt = rules.belts[belts[number]]
        positions = []
        for level in range(space.problem.levels[number]):
            slot, sides = _where(space, number, level)
            table, row = space.tables[slot.table], rows[slot]
            driver, driven = (float(size) * scales[slot] for size in table.size_mm[row, sides])
            over, choice = space.over[number], table.choice[row, sides]
            positions.append(
                PositionSizes(
                    driver_mm=driver,
                    driven_mm=driven,
                    centre_mm=float(centre_for_length_mm(driver, driven, belt.length_mm, crossed=rules.crossed)),
                    driver_source=SOURCES[over.driver.source[choice[0]]],
                    driven_source=SOURCES[over.driven.source[choice[1]]],
                )
            )
        stages.append(StageSizes(belt=belt, positions=tuple(positions)))
    try:
        return MiddleCandidate(problem=space.problem, stages=(stages[0], stages[1]))
    except ValidationError:
        return None
