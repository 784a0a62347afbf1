"""Belts and scales for the sizes of a design, so that they keep every hard rule."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import exp, pi

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from optimizer.geometry.belts import centre_for_length_mm
from optimizer.records import PositionSizes, Source, StageSizes
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.search.middle.rows import Places
from optimizer.search.middle.scales import Pulleys, scaled
from optimizer.search.middle.space import Slot, Space

__all__ = ["belts_that_fit", "settled"]

Floats = NDArray[np.float64]
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
