"""The plate: the largest set of distinct speeds that is even enough, and the easiest position for each."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise
from math import exp, inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import small_wrap_deg
from optimizer.records.bands import LOG_TOLERANCE, counts
from optimizer.records.middle import MiddleCandidate, MiddleProblem, Plate, PlateSpeed
from optimizer.records.middle_rules import distinct_groups, middle_logs
from optimizer.scoring import ADVISED_UNEVENNESS
from optimizer.search.fit import least_spread
from optimizer.series import unevenness

__all__ = ["even_subset", "plate_of"]

Floats = NDArray[np.float64]
Position = tuple[int, int]


def even_subset(logs: Sequence[float], wants: Sequence[tuple[float, float, int]] = ()) -> tuple[int, ...]:
    """Return the places of the most even subset worth a plate, the first and last speed among them.

    For every number of speeds the subset of least unevenness is known; of these the largest is taken whose
    unevenness is within what is advised, or if none is, the one of least unevenness.

    Parameters
    ----------
    logs
        Natural logarithms of distinct speeds, ascending.
    wants
        Both edges of every band as logarithms, with the number wanted in it; met by all speeds together.

    Examples
    --------
    The third of five speeds spoils the series:

    >>> even_subset([0.0, 1.0, 1.3, 2.0, 3.0])
    (0, 1, 3, 4)
    """
    values = np.asarray(logs, dtype=float)
    if values.size <= 2:
        return tuple(range(values.size))
    fallback: tuple[float, tuple[int, ...]] = (inf, tuple(range(values.size)))
    for count in range(values.size, 1, -1):
        between = combinations(range(1, values.size - 1), count - 2)
        places = np.array([(0, *middle, values.size - 1) for middle in between], dtype=np.int64)
        chosen = values[places]
        good = np.ones(len(places), dtype=bool)
        for low, high, want in wants:
            good &= ((chosen >= low) & (chosen <= high)).sum(axis=1) >= want
        places, chosen = places[good], chosen[good]
        if not len(places):
            continue
        spread, ratio = least_spread([chosen], [np.arange(float(count))])
        best = int(np.lexsort((*places.T[::-1], np.round(spread, 12)))[0])
        delta = float(spread[best]) / 2
        if _advised(delta, float(ratio[best])):
            return tuple(map(int, places[best]))
        if delta < fallback[0]:
            fallback = (delta, tuple(map(int, places[best])))
    return fallback[1]


def plate_of(candidate: MiddleCandidate) -> Plate:
    """Return the plate of a design; which of its speeds, at which positions, is told in `Plate`."""
    problem = candidate.problem
    logs = middle_logs(problem, candidate.stages)
    groups = distinct_groups(logs, problem.targets.distinct)
    lowest = [logs[group[0]] for group in groups]
    wants = [
        (log(b.low_rpm) - LOG_TOLERANCE, log(b.high_rpm) + (1 if b.top else -1) * LOG_TOLERANCE, b.want)
        for b in problem.targets.bands
    ]
    subset = even_subset(lowest, wants)
    shown = _shown(_Shown(candidate, logs, groups), subset)
    fit = unevenness([logs[place] for place in shown])
    speeds, before = [], None
    for group, place in zip(subset, shown, strict=True):
        speeds.append(_speed(problem, logs, groups[group], place, before))
        before = place
    left = [_speed(problem, logs, group, group[0], None) for n, group in enumerate(groups) if n not in subset]
    return Plate(
        speeds=tuple(speeds),
        left_out=tuple(left),
        unevenness=fit.delta,
        log_ratio=fit.log_ratio,
        advised=_advised(fit.delta, fit.log_ratio),
    )


class _Shown(NamedTuple):
    candidate: MiddleCandidate
    logs: list[float]
    groups: list[list[int]]


def _shown(known: _Shown, subset: Sequence[int]) -> list[int]:
    """Return for every group of the subset the position that is shown, chosen from the slowest up."""
    candidate, logs, groups = known
    problem = candidate.problem
    shown = [groups[group][0] for group in subset]
    start = unevenness([logs[place] for place in shown])
    advised = _advised(start.delta, start.log_ratio)
    for at, group in enumerate(subset):
        for place in sorted(groups[group], key=lambda p: _ease(candidate, p, shown[at - 1] if at else None, logs)):
            tried = [*shown[:at], place, *shown[at + 1 :]]
            before, after = [logs[p] for p in shown], [logs[p] for p in tried]
            if place == shown[at] or (_keeps(problem, before, after) and _even(after, start.delta, advised)):
                shown = tried
                break
    return shown


def _even(logs: Sequence[float], delta: float, advised: bool) -> bool:
    fit = unevenness(logs)
    return _advised(fit.delta, fit.log_ratio) if advised else fit.delta <= delta + 1e-12


def _keeps(problem: MiddleProblem, before: Sequence[float], after: Sequence[float]) -> bool:
    """Tell whether speeds stay distinct and no band has fewer of them than it wants, or than before."""
    least = log(1 + problem.targets.distinct) - LOG_TOLERANCE
    if any(upper - lower < least for lower, upper in pairwise(after)):
        return False
    for band in problem.targets.bands:
        had, have = (sum(counts(band, exp(value)) for value in logs) for logs in (before, after))
        if have < min(had, band.want):
            return False
    return True


def _ease(
    candidate: MiddleCandidate, place: int, before: int | None, logs: Sequence[float]
) -> tuple[float, float, float, float]:
    """Return what positions are put in order by: belts moved, smaller wrap, smallest pulley, speed."""
    problem = candidate.problem
    position = problem.positions[place]
    moved = _moved(problem.positions[before], position) if before is not None else 0
    wraps, pulleys = [], []
    for rules, sizes, level in zip(problem.stages, candidate.stages, position, strict=True):
        p = sizes.positions[level]
        wraps.append(float(small_wrap_deg(p.driver_mm, p.driven_mm, p.centre_mm, crossed=rules.crossed)))
        pulleys += [p.driver_mm, p.driven_mm]
    return (moved, -round(min(wraps), 6), -round(min(pulleys), 6), logs[place])


def _speed(
    problem: MiddleProblem, logs: Sequence[float], group: Sequence[int], place: int, before: int | None
) -> PlateSpeed:
    return PlateSpeed(
        rpm=exp(logs[place]),
        position=problem.positions[place],
        also=tuple(problem.positions[p] for p in group if p != place),
        moved=0 if before is None else _moved(problem.positions[before], problem.positions[place]),
    )


def _moved(one: Position, other: Position) -> int:
    return int(one[0] != other[0]) + int(one[1] != other[1])


def _advised(delta: float, log_ratio: float) -> bool:
    return delta <= ADVISED_UNEVENNESS * (exp(log_ratio) - 1) + 1e-12
