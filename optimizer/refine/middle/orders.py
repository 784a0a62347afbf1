"""Orders of the speeds of two belts in which they can lie more evenly than they do."""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations_with_replacement
from math import log

import numpy as np
from numpy.typing import NDArray

from optimizer.records import StageSizes
from optimizer.records.middle import MiddleProblem, middle_logs

__all__ = ["even_orders", "patterns"]

Ints = NDArray[np.int64]
MOST = 400_000
"""Ways to place both belts' levels on whole steps that are looked at."""
CLOSE = 1e-9
NEAREST = 4
"""Patterns of as many steps that are tried, those nearest to the speeds as they are."""


def even_orders(problem: MiddleProblem, stages: tuple[StageSizes, StageSizes], most_f: float) -> list[list[int]]:
    """Return orders of the positions in which F may come below what is given, the most promising first.

    Where all gaps are as small as they can be, the levels of either belt lie on whole steps of the largest gap. So
    every way to lay them on steps that leaves none between slowest and fastest without a speed is an order to try.
    Positions on one step keep the order that they have.

    Parameters
    ----------
    problem
        The machine.
    stages
        Sizes that it has.
    most_f
        F to be beaten.
    """
    targets, logs = problem.targets, np.array(middle_logs(problem, stages))
    span = log(targets.hi_rpm / targets.lo_rpm)
    low, high = (logs[problem.positions.index(end)] for end in (problem.slowest, problem.fastest))
    found: list[list[int]] = []
    for steps in range(len(logs) - 1, 0, -1):
        # ends met, or missed as far as that pays
        misses = (0.0, min(targets.end_miss_most, span / 2))
        least = min(targets.end_weight * e + targets.unevenness_weight * (span - 2 * e) / steps for e in misses)
        if least >= most_f:
            break
        places = patterns(problem.positions, steps, second_falls=problem.shared)
        apart = np.abs(places / steps - (logs - low) / max(high - low, CLOSE)).sum(axis=1)
        for row in places[np.argsort(np.round(apart, 9), kind="stable")[:NEAREST]]:
            rank = row.astype(float)
            rank[problem.positions.index(problem.slowest)] = -1
            rank[problem.positions.index(problem.fastest)] = steps + 1
            found.append(np.lexsort((np.arange(len(logs)), np.round(logs, 9), rank)).tolist())
    return found


@lru_cache(maxsize=64)
def patterns(positions: tuple[tuple[int, int], ...], steps: int, *, second_falls: bool) -> Ints:
    """Return the steps of every position, for all ways in which none from 0 to the last is without a speed.

    Parameters
    ----------
    positions
        Levels of the first and second belt.
    steps
        How far the fastest lies above the slowest.
    second_falls
        Whether the second belt's speeds fall with its level.

    Returns
    -------
    An array (ways, positions); empty where there are too many to look at.

    Examples
    --------
    A coarse and a fine belt of two levels each make four speeds in two ways:

    >>> patterns(((0, 0), (0, 1), (1, 0), (1, 1)), 3, second_falls=False).tolist()
    [[0, 2, 1, 3], [0, 1, 2, 3]]

    Three levels of a shared cone reach four steps, not five:

    >>> shared = ((0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1))
    >>> [len(patterns(shared, steps, second_falls=True)) > 0 for steps in (4, 5)]
    [True, False]
    """
    levels = [1 + max(pair[belt] for pair in positions) for belt in (0, 1)]
    first, second = (
        np.array([(0, *rest) for rest in combinations_with_replacement(range(steps + 1), count - 1)], dtype=np.int64)
        for count in levels
    )
    if second_falls:
        second = second[:, ::-1]
    if len(first) * len(second) > MOST:
        return np.empty((0, len(positions)), dtype=np.int64)
    ends = first.max(axis=1)[:, None] + second.max(axis=1)[None, :] == steps
    one, other = np.nonzero(ends)
    places = np.stack([first[one, i] + second[other, j] for i, j in positions], axis=1)
    covered = np.bitwise_or.reduce(np.left_shift(1, places), axis=1) == (1 << (steps + 1)) - 1
    return np.asarray(places[covered])
