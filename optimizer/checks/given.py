"""Checks that pulleys which are not turned are those the maker has."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from optimizer.checks.stated import Cone, Pair
from optimizer.checks.verdict import Check, Rule, at_most

__all__ = ["given_checks"]

NOT_THERE_MM = 1e9
"""Said of a difference where there is nothing to compare with."""


def given_checks(pair: Pair) -> Iterator[Check]:
    """Yield the checks of ready pulleys and kept cones, greatest difference on the maker's line."""
    kept = [cone for cone in (pair.driver, pair.driven) if cone.side.kept_mm]
    for cone in (pair.driver, pair.driven):
        if cone not in kept and not all(cone.turned):
            yield _check("ready pulleys as stated", cone.key, _off_ready(cone))
    if len(kept) == 2:
        yield _check("kept cones as stated", pair.key, _off_facing(pair))
    elif kept:
        yield _check("kept cone as stated", kept[0].key, _off_run(kept[0]))


def _check(name: str, where: str, off_mm: float) -> Check:
    rule = Rule(name, "impossible", 0.0, "mm", "stated by the maker")
    return at_most(rule, where, off_mm, "greatest difference on the maker's line")


def _given(cone: Cone) -> list[float]:
    """Return the diameters on the maker's line."""
    return [size + cone.given_less_outside_mm for size in cone.outside_mm]


def _off_ready(cone: Cone) -> float:
    """Return how far the pulleys are from those in the drawer."""
    used = [size for size, turned in zip(_given(cone), cone.turned, strict=True) if not turned]
    return max(min((abs(size - r) for r in cone.side.ready_mm), default=NOT_THERE_MM) for size in used)


def _off_run(cone: Cone) -> float:
    """Return how far the steps are from the nearest run of neighbours; a cone can be looked at from either end."""
    used = sorted(_given(cone))
    return min((_greatest(used, sorted(run)) for run in _runs(cone.side.kept_mm, len(used))), default=NOT_THERE_MM)


def _off_facing(pair: Pair) -> float:
    """Return how far the facing steps of two kept cones are from any way to set the cones against each other."""
    used = sorted(zip(_given(pair.driver), _given(pair.driven), strict=True))
    count = len(used)
    driven = pair.driven.side.kept_mm
    ways = [driven, driven[::-1]] if pair.driver.side.reversible or pair.driven.side.reversible else [driven]
    best = NOT_THERE_MM
    for way in ways:
        for one, other in product(_runs(pair.driver.side.kept_mm, count), _runs(way, count)):
            facing = sorted(zip(one, other, strict=True))
            off = max(_greatest(a, b) for a, b in zip(used, facing, strict=True))
            best = min(best, off)
    return best


def _runs(kept: Sequence[float], count: int) -> list[Sequence[float]]:
    return [kept[first : first + count] for first in range(len(kept) - count + 1)]


def _greatest(some: Sequence[float], others: Sequence[float]) -> float:
    return max(abs(a - b) for a, b in zip(some, others, strict=True))
