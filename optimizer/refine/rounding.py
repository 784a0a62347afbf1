"""Turned sizes brought to whole ticks, all positions of a stage together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import inf

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from optimizer.geometry.belts import centre_for_length_mm, small_wrap_deg
from optimizer.records import Candidate, PositionSizes, Problem, SideSizes, StageProblem, StageSizes
from optimizer.records.refined import Rounded
from optimizer.records.speeds import log_speeds
from optimizer.refine.stated import Goal
from optimizer.scoring import j_of

__all__ = ["round_sizes"]

Floats = NDArray[np.float64]
NEIGHBOURS = 2
"""Ticks tried on either side of a size."""
FIRST_RANGE = 2e-4
"""First limit on how far the positions of a stage may spread from the refined series, as a logarithm."""
RANGE_GROWTH = 2.0
WIDEST_RANGE = 0.2
CHOICES = 400
"""Choices of a stage whose J is worked out."""
MOST_ROWS = 200_000
ROUNDS = 4


@dataclass(frozen=True)
class _Options:
    """Pairs of ticks that one position may take."""

    driver_mm: Floats
    driven_mm: Floats
    centre_mm: Floats
    away: Floats
    """Log ratio less that of the refined pair."""


def round_sizes(problem: Problem, stages: Sequence[StageSizes], goal: Goal = "j", most_j: float = inf) -> Rounded:
    """Return the sizes with every turned one on a tick, chosen jointly.

    For every stage the pairs of ticks near the refined ones are combined so that the own centre distances stay in
    the window, the cones keep their order and the log ratios stay together: all choices within a range are
    listed, the range rising until there are some. Among them the one of least J is taken, stage after stage until
    nothing is gained.

    Parameters
    ----------
    problem
        The layout's problem.
    stages
        Sizes that keep its rules.
    goal, most_j
        What is made least, and the J that may then not be passed.

    Returns
    -------
    The rounded sizes with their J, and J of rounding every size to its nearest tick by itself.
    """
    options = [[_options(rules, s, p) for p in s.positions] for rules, s in zip(problem.stages, stages, strict=True)]
    nearest = _nearest(problem, stages)
    choices = [
        _choices(rules, sizes, stage) for rules, sizes, stage in zip(problem.stages, stages, options, strict=True)
    ]
    if any(not c for c in choices):
        return Rounded(stages=None, nearest_j=nearest)
    current = [*stages]
    best = inf
    for _ in range(ROUNDS):
        gained = False
        for number, listed in enumerate(choices):
            tried = [(_j_with(problem, current, number, choice), k) for k, choice in enumerate(listed)]
            j, k = min(tried)
            if j < best - 1e-15 or current[number] not in listed:
                gained = gained or current[number] is not listed[k]
                current[number], best = listed[k], j
        if not gained:
            break
    best, current = _settled(problem, current, choices)
    return Rounded(stages=tuple(current) if best < inf else None, j=best, nearest_j=nearest)


def _settled(
    problem: Problem, current: list[StageSizes], choices: list[list[StageSizes]]
) -> tuple[float, list[StageSizes]]:
    """Return the sizes if they keep every rule, else the best combination of each stage's first few that does."""
    if _valid(problem, current):
        return j_of(problem.targets, log_speeds(problem, current)), current
    few = max(2, int(CHOICES ** (1 / len(choices))))
    combined = [[*chosen] for chosen in product(*(c[:few] for c in choices))]
    order = sorted(range(len(combined)), key=lambda i: (j_of(problem.targets, log_speeds(problem, combined[i])), i))
    for i in order:
        if _valid(problem, combined[i]):
            return j_of(problem.targets, log_speeds(problem, combined[i])), combined[i]
    return inf, current


def _valid(problem: Problem, stages: Sequence[StageSizes]) -> bool:
    try:
        Candidate(problem=problem, stages=tuple(stages))
    except ValidationError:
        return False
    return True


def _j_with(problem: Problem, stages: list[StageSizes], number: int, choice: StageSizes) -> float:
    return j_of(problem.targets, log_speeds(problem, [*stages[:number], choice, *stages[number + 1 :]]))


def _ticks(side: SideSizes, size_mm: float, source: str, reach: int) -> Floats:
    """Return the sizes on ticks near one size; the size itself where it is not turned."""
    if source != "turned" or side.turned_mm is None:
        return np.array([size_mm])
    low, high = side.turned_mm
    nearest = round((size_mm - side.given_shift_mm) / side.tick_mm)
    sizes = np.arange(nearest - reach, nearest + reach + 1) * side.tick_mm + side.given_shift_mm
    return np.asarray(sizes[(sizes >= low - 1e-9) & (sizes <= high + 1e-9)])


def _options(rules: StageProblem, sizes: StageSizes, position: PositionSizes) -> _Options:
    left = _ticks(rules.driver, position.driver_mm, position.driver_source, NEIGHBOURS)
    right = _ticks(rules.driven, position.driven_mm, position.driven_source, NEIGHBOURS)
    a, b = (grid.ravel() for grid in np.meshgrid(left, right, indexing="ij"))
    centre = np.asarray(centre_for_length_mm(a, b, sizes.belt.length_mm, crossed=rules.crossed))
    with np.errstate(invalid="ignore"):
        fits = (centre >= rules.centre_mm[0] - 1e-9) & (centre <= rules.centre_mm[1] + 1e-9)
        fits &= (a + b) / 2 + rules.clearance_mm <= centre + 1e-9
        fits &= np.asarray(small_wrap_deg(a, b, centre, crossed=rules.crossed)) >= rules.least_wrap_deg - 1e-9
    a, b, centre = a[fits], b[fits], centre[fits]
    return _Options(a, b, centre, np.log(a / b) - np.log(position.driver_mm / position.driven_mm))


def _choices(rules: StageProblem, sizes: StageSizes, options: list[_Options]) -> list[StageSizes]:
    """Return choices of one pair of ticks a position, those that stay closest together first."""
    limit = FIRST_RANGE
    rows = np.empty((0, len(options)), dtype=np.int64)
    while limit <= WIDEST_RANGE and not rows.size:
        rows = _within(rules, sizes.belt.window_mm, options, limit)
        limit *= RANGE_GROWTH
    if rows.size and rows.shape[0] < CHOICES:
        wider = _within(rules, sizes.belt.window_mm, options, min(limit, WIDEST_RANGE))
        rows = wider if wider.size else rows
    if not rows.size:
        return []
    away = np.column_stack([o.away[rows[:, p]] for p, o in enumerate(options)])
    spread = np.ptp(away, axis=1) + np.abs(away[:, [0, -1]]).max(axis=1)
    order = np.lexsort((*rows.T, np.round(spread, 15)))[:CHOICES]
    return [_built(sizes, options, rows[i]) for i in order]


def _within(rules: StageProblem, window: float, options: list[_Options], limit: float) -> NDArray[np.int64]:
    """Return every choice whose log ratios stay within a range, in the window and in the cones' order."""
    first = options[0]
    rows = np.arange(first.away.size)[:, None]
    for position in range(1, len(options)):
        here = options[position]
        count = here.away.size
        grown = np.repeat(np.arange(rows.shape[0]), count)
        new = np.tile(np.arange(count), rows.shape[0])
        rows = np.column_stack([rows[grown], new])
        rows = rows[_holds(rules, window, options[: position + 1], rows, limit)][:MOST_ROWS]
    return rows


def _holds(
    rules: StageProblem, window: float, options: list[_Options], rows: NDArray[np.int64], limit: float
) -> NDArray[np.bool_]:
    away = np.column_stack([o.away[rows[:, p]] for p, o in enumerate(options)])
    centre = np.column_stack([o.centre_mm[rows[:, p]] for p, o in enumerate(options)])
    good = (np.ptp(away, axis=1) <= limit) & (np.ptp(centre, axis=1) <= window + 1e-9)
    for side, sign, name in ((rules.driver, 1, "driver_mm"), (rules.driven, -1, "driven_mm")):
        if side.cone:
            before, after = (getattr(options[p], name)[rows[:, p]] for p in (len(options) - 2, len(options) - 1))
            rise = sign * (after - before)
            good &= (np.abs(rise) <= 1e-9) | (rise >= max(side.rise_mm, 1e-9) - 1e-9)
    return np.asarray(good)


def _built(sizes: StageSizes, options: list[_Options], row: NDArray[np.int64]) -> StageSizes:
    positions = tuple(
        old.model_copy(
            update={
                "driver_mm": float(o.driver_mm[i]),
                "driven_mm": float(o.driven_mm[i]),
                "centre_mm": float(o.centre_mm[i]),
            }
        )
        for old, o, i in zip(sizes.positions, options, row, strict=True)
    )
    return StageSizes(belt=sizes.belt, positions=positions)


def _nearest(problem: Problem, stages: Sequence[StageSizes]) -> float:
    """Return J with every turned size at its nearest tick; infinity where that breaks a rule."""
    rounded = []
    for rules, sizes in zip(problem.stages, stages, strict=True):
        positions = []
        for p in sizes.positions:
            left = _ticks(rules.driver, p.driver_mm, p.driver_source, 0)
            right = _ticks(rules.driven, p.driven_mm, p.driven_source, 0)
            if not left.size or not right.size:
                return inf
            centre = centre_for_length_mm(float(left[0]), float(right[0]), sizes.belt.length_mm, crossed=rules.crossed)
            update = {"driver_mm": float(left[0]), "driven_mm": float(right[0]), "centre_mm": centre}
            positions.append(p.model_copy(update=update))
        rounded.append(StageSizes(belt=sizes.belt, positions=tuple(positions)))
    return j_of(problem.targets, log_speeds(problem, rounded)) if _valid(problem, rounded) else inf
