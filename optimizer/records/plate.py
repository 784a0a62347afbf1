"""The plate of a machine whose speeds are free: the largest even set, with the easiest way of making each speed."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise
from math import exp, inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records.problem import BandTarget
from optimizer.records.speeds import LOG_TOLERANCE, counts
from optimizer.scenario.base import Model
from optimizer.series import least_spread, unevenness

__all__ = [
    "ADVISED_UNEVENNESS",
    "Plate",
    "PlateRules",
    "PlateSpeed",
    "Way",
    "chosen_plate",
    "distinct_groups",
    "even_subset",
    "plate_holds",
]

Floats = NDArray[np.float64]
Position = tuple[int, int]
ADVISED_UNEVENNESS = 0.10
"""Share of (φ − 1) up to which the unevenness is proposed without a warning; common practice, no source."""


class PlateSpeed(Model):
    """One speed as it stands on the plate."""

    rpm: float
    position: Position
    """Of the first and second belt, as the ways that it was chosen from have them."""
    also: tuple[Position, ...] = ()
    """Other positions with nearly this speed, from the slowest."""
    moved: int = 0
    """Belts moved from the next slower speed on the plate; 0 for the slowest."""


class Plate(Model):
    """The speeds shown to the user: the largest set that is even enough.

    A speed closer than the share `distinct` above the slowest of a group is nearly that speed, and counts once with it.
    Of those nearly equal the position is shown which moves fewer belts from the next slower speed shown, then that
    whose smaller wrap is larger, then that whose smallest pulley is larger, then the slowest, among those that keep
    the speeds distinct, the bands' wants, and the unevenness within what is advised (or as it is, where it is not).
    """

    speeds: tuple[PlateSpeed, ...]
    """Slowest first."""
    left_out: tuple[PlateSpeed, ...]
    """Distinct speeds that would make the plate less even."""
    unevenness: float
    """Of the speeds shown, as a natural logarithm."""
    log_ratio: float
    """Logarithm of the ratio of the series nearest to them."""
    advised: bool
    """Whether the unevenness is within what is advised."""


class Way(NamedTuple):
    """One way of making a speed."""

    log: float
    """Natural logarithm of the speed [rpm]."""
    position: Position
    """Of the first and second belt."""
    least_wrap_deg: float
    """Of the smaller arcs of contact of both belts, the smaller."""
    smallest_mm: float
    """Pitch diameter of the smallest of its pulleys."""


class PlateRules(NamedTuple):
    """What a plate keeps."""

    bands: Sequence[BandTarget]
    distinct: float
    """Speeds differ by at least this share of the lower one."""


def distinct_groups(logs: Sequence[float], distinct: float) -> list[list[int]]:
    """Return the speeds in groups of near-equals, slowest first, each as places in the list given.

    A group begins at the slowest speed that is in none yet, and takes in every speed that is less than the share
    `distinct` above that.

    Examples
    --------
    >>> distinct_groups([log(100), log(300), log(103), log(105)], 0.04)
    [[0, 2], [3], [1]]
    """
    groups: list[list[int]] = []
    least = log(1 + distinct) - LOG_TOLERANCE
    for place in sorted(range(len(logs)), key=lambda k: (logs[k], k)):
        if groups and (logs[place] - logs[groups[-1][0]] < least or logs[place] <= logs[groups[-1][0]]):
            groups[-1].append(place)
        else:
            groups.append([place])
    return groups


def even_subset(
    logs: Sequence[float], wants: Sequence[tuple[float, float, int]] = (), least: int = 2
) -> tuple[int, ...]:
    """Return the places of the most even subset worth a plate, the first and last speed among them.

    For every number of speeds the subset of least unevenness is known; of these the largest is taken whose
    unevenness is within what is advised, or if none is, the one of least unevenness.

    Parameters
    ----------
    logs
        Natural logarithms of distinct speeds, ascending.
    wants
        Both edges of every band as logarithms, with the number wanted in it; met by all speeds together.
    least
        Subsets of fewer speeds are not looked at, so that what is returned need not be within what is advised.

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
    for count in range(values.size, max(least, 2) - 1, -1):
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


def chosen_plate(ways: Sequence[Way], rules: PlateRules) -> Plate:
    """Return the plate; which of the speeds stand on it, made in which way, is told in `Plate`.

    Parameters
    ----------
    ways
        Every way of making a speed, in the order that ties are told apart by.
    rules
        Wants of the bands, and what counts as two speeds.

    Examples
    --------
    Two ways of 105 and 106 rpm are one speed. The way is shown that moves one belt from the slowest:

    >>> rpm = {(0, 1): 50, (1, 2): 105, (0, 2): 106, (1, 1): 200}
    >>> ways = [Way(log(n), at, 150.0, 80.0) for at, n in rpm.items()]
    >>> plate = chosen_plate(ways, PlateRules((), 0.04))
    >>> [(round(speed.rpm), speed.position, speed.also) for speed in plate.speeds]
    [(50, (0, 1), ()), (106, (0, 2), ((1, 2),)), (200, (1, 1), ())]
    """
    logs = [way.log for way in ways]
    groups = distinct_groups(logs, rules.distinct)
    lowest = [logs[group[0]] for group in groups]
    subset = even_subset(lowest, _wants(rules))
    shown = _shown(ways, rules, groups, subset)
    fit = unevenness([logs[place] for place in shown])
    speeds, before = [], None
    for group, place in zip(subset, shown, strict=True):
        speeds.append(_speed(ways, groups[group], place, before))
        before = place
    left = [_speed(ways, group, group[0], None) for n, group in enumerate(groups) if n not in subset]
    return Plate(
        speeds=tuple(speeds),
        left_out=tuple(left),
        unevenness=fit.delta,
        log_ratio=fit.log_ratio,
        advised=_advised(fit.delta, fit.log_ratio),
    )


def plate_holds(logs: Sequence[float], rules: PlateRules, least: int) -> bool:
    """Tell whether the plate of speeds holds at least so many, as even as is advised.

    That depends on the speeds alone, not on the ways they are made in.

    Examples
    --------
    >>> speeds = [log(n) for n in (100, 200, 400, 450, 800)]
    >>> plate_holds(speeds, PlateRules((), 0.04), 4), plate_holds(speeds, PlateRules((), 0.04), 5)
    (True, False)
    """
    lowest = [logs[group[0]] for group in distinct_groups(logs, rules.distinct)]
    if len(lowest) < least:
        return False
    fit = unevenness([lowest[place] for place in even_subset(lowest, _wants(rules), least)])
    return _advised(fit.delta, fit.log_ratio)


def _wants(rules: PlateRules) -> list[tuple[float, float, int]]:
    return [
        (log(b.low_rpm) - LOG_TOLERANCE, log(b.high_rpm) + (1 if b.top else -1) * LOG_TOLERANCE, b.want)
        for b in rules.bands
    ]


def _shown(ways: Sequence[Way], rules: PlateRules, groups: list[list[int]], subset: Sequence[int]) -> list[int]:
    """Return for every group of the subset the way that is shown, chosen from the slowest up."""
    shown = [groups[group][0] for group in subset]
    start = unevenness([ways[place].log for place in shown])
    advised = _advised(start.delta, start.log_ratio)
    for at, group in enumerate(subset):
        for place in sorted(groups[group], key=lambda p: _ease(ways, p, shown[at - 1] if at else None)):
            tried = [*shown[:at], place, *shown[at + 1 :]]
            before, after = [ways[p].log for p in shown], [ways[p].log for p in tried]
            if place == shown[at] or (_keeps(rules, before, after) and _even(after, start.delta, advised)):
                shown = tried
                break
    return shown


def _even(logs: Sequence[float], delta: float, advised: bool) -> bool:
    fit = unevenness(logs)
    return _advised(fit.delta, fit.log_ratio) if advised else fit.delta <= delta + 1e-12


def _keeps(rules: PlateRules, before: Sequence[float], after: Sequence[float]) -> bool:
    """Tell whether speeds stay distinct and no band has fewer of them than it wants, or than before."""
    least = log(1 + rules.distinct) - LOG_TOLERANCE
    if any(upper - lower < least for lower, upper in pairwise(after)):
        return False
    for band in rules.bands:
        had, have = (sum(counts(band, exp(value)) for value in logs) for logs in (before, after))
        if have < min(had, band.want):
            return False
    return True


def _ease(ways: Sequence[Way], place: int, before: int | None) -> tuple[float, float, float, float]:
    """Return what ways are put in order by: belts moved, smaller wrap, smallest pulley, speed."""
    way = ways[place]
    moved = _moved(ways[before].position, way.position) if before is not None else 0
    return (moved, -round(way.least_wrap_deg, 6), -round(way.smallest_mm, 6), way.log)


def _speed(ways: Sequence[Way], group: Sequence[int], place: int, before: int | None) -> PlateSpeed:
    way = ways[place]
    return PlateSpeed(
        rpm=exp(way.log),
        position=way.position,
        also=tuple(ways[p].position for p in group if p != place),
        moved=0 if before is None else _moved(ways[before].position, way.position),
    )


def _moved(one: Position, other: Position) -> int:
    return int(one[0] != other[0]) + int(one[1] != other[1])


def _advised(delta: float, log_ratio: float) -> bool:
    return delta <= ADVISED_UNEVENNESS * (exp(log_ratio) - 1) + 1e-12
