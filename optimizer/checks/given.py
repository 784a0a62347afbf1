"""Checks that pulleys which are not turned are those the maker has."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from optimizer.checks.stated import Cone, Pair
from optimizer.checks.verdict import Check, Rule, at_most

__all__ = ["given_checks", "kept_places"]

NOT_THERE_MM = 1e9
"""Said of a difference where there is nothing to compare with."""
SAME_MM = 1e-6


def given_checks(pair: Pair) -> Iterator[Check]:
    """Yield the checks of ready pulleys and kept cones, greatest difference on the maker's line."""
    kept = [cone for cone in (pair.driver, pair.driven) if cone.side.kept_mm]
    for cone in pair.cones:
        pulleys = set(pulley_places(cone))
        if pulleys:
            yield _check("ready pulleys as stated", cone.key, _off_pulleys(cone, pulleys))
    if len(kept) == 2:
        yield _check("kept cones as stated", pair.key, _off_facing(pair))
    elif kept:
        yield _check("kept cone as stated", kept[0].key, min(_off_run(kept[0], run) for run in _ways(kept[0])))


def kept_places(cone: Cone) -> frozenset[int]:
    """Return the positions, from 0, whose steps are those of the kept cone; it can be looked at from either end."""
    if not cone.side.kept_mm:
        return frozenset()
    run = min(_ways(cone), key=lambda way: _off_run(cone, way))
    return frozenset(place for place, size in enumerate(run) if size is not None)


def pulley_places(cone: Cone) -> list[int]:
    """Return the positions, from 0, whose steps are pulleys used as they are."""
    kept = kept_places(cone)
    return [place for place, turned in enumerate(cone.turned) if not turned and place not in kept]


def _check(name: str, where: str, off_mm: float) -> Check:
    rule = Rule(name, "impossible", 0.0, "mm", "stated by the maker")
    return at_most(rule, where, off_mm, "greatest difference on the maker's line")


def _given(cone: Cone) -> list[float]:
    """Return the diameters on the maker's line."""
    return [size + cone.given_less_outside_mm for size in cone.outside_mm]


def _off_pulleys(cone: Cone, places: set[int]) -> float:
    """Return how far the pulleys are from those that are sold, or in hand."""
    sizes = [size for place, size in enumerate(_given(cone)) if place in places]
    return max(min((abs(size - r) for r in cone.side.pulleys_mm), default=NOT_THERE_MM) for size in sizes)


Run = Sequence[float | None]


def _ways(cone: Cone) -> list[Run]:
    """Return every run of neighbouring steps of the kept cone, from either end; a stand-in where it is too short."""
    runs = _runs(cone.side.kept_mm, cone.positions)
    return [*runs, *(run[::-1] for run in runs)] or [[NOT_THERE_MM] * cone.positions]


def _off_run(cone: Cone, run: Run) -> float:
    """Return how far the steps are from a run of the kept cone; a step that exists cannot be turned, nor be another."""
    off = [0.0]
    for size, step, turned in zip(_given(cone), run, cone.turned, strict=True):
        if step is not None:
            off.append(NOT_THERE_MM if turned else abs(size - step))
        elif not turned:
            off.append(min((abs(size - r) for r in cone.side.pulleys_mm), default=NOT_THERE_MM))
    return max(off)


def _off_facing(pair: Pair) -> float:
    """Return how far the facing steps of two kept cones are from any way to set the cones against each other."""
    count = pair.driver.positions
    driven = pair.driven.side.kept_mm
    ways = [driven, driven[::-1]] if pair.driver.side.reversible or pair.driven.side.reversible else [driven]
    best = NOT_THERE_MM
    for way in ways:
        for one, other in product(_runs(pair.driver.side.kept_mm, count), _runs(way, count)):
            for a, b in ((one, other), (one[::-1], other[::-1])):
                best = min(best, max(_off_run(pair.driver, a), _off_run(pair.driven, b)))
    return best


def _runs(kept: Run, count: int) -> list[Run]:
    return [kept[first : first + count] for first in range(len(kept) - count + 1)]
