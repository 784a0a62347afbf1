"""Common scales of the rows of a design, so that both belts fit at once: a short run of linear programs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, permutations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from optimizer.geometry.belts import centre_for_length_mm, length_gradient
from optimizer.records import BeltChoice
from optimizer.records.middle import MiddleProblem

__all__ = ["Pulleys", "scaled"]

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
