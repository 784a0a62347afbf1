"""Every way to choose a belt, and what each position of a stage may then be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product
from math import log
from typing import NamedTuple

from optimizer.records.candidate import PositionSizes, Source, StageSizes
from optimizer.records.problem import BeltChoice, SideSizes, StageProblem
from tests.oracle.plain import centre_mm, small_wrap_deg

__all__ = ["Pair", "Variant", "sizes_of", "tilings", "variants"]

TOLERANCE_MM = 1e-6


class Pair(NamedTuple):
    """Two facing steps of given sizes with the centre distance of the belt."""

    driver_mm: float
    driven_mm: float
    centre_mm: float
    log_ratio: float
    """Natural logarithm of driven speed over driver speed, slip included."""
    driver_source: Source
    driven_source: Source


class Variant(NamedTuple):
    """One belt, and one placing of the kept cones where there are some."""

    belt: BeltChoice
    rows: tuple[tuple[Pair, ...], ...]
    """The pairs that every position may be, slowest position first."""


def tilings(positions: Sequence[int]) -> list[tuple[tuple[int, ...], ...]]:
    """Return all ways to write every place of the series once as a sum, by trying all sets of offsets.

    Examples
    --------
    >>> tilings([2, 2])
    [((0, 1), (0, 2)), ((0, 2), (0, 1))]
    >>> len(tilings([2, 4]))
    3
    """
    count = 1
    for number in positions:
        count *= number
    places = list(range(count))
    sets = [[(0, *rest) for rest in combinations(places[1:], number - 1)] for number in positions]
    return [rows for rows in product(*sets) if sorted(sum(chosen) for chosen in product(*rows)) == places]


def variants(rules: StageProblem, count: int) -> list[Variant]:
    """Return every choice of belt and of placing of kept cones, with the pairs left to each position."""
    found = []
    for belt in rules.belts:
        for driver, driven in _placings(rules.driver, rules.driven, count):
            rows = tuple(tuple(_pairs(rules, belt, driver[place], driven[place])) for place in range(count))
            if all(rows):
                found.append(Variant(belt, rows))
    return found


def sizes_of(belt: BeltChoice, pairs: Sequence[Pair]) -> StageSizes:
    """Return the record of a stage made of these pairs."""
    return StageSizes(
        belt=belt,
        positions=tuple(
            PositionSizes(
                driver_mm=pair.driver_mm,
                driven_mm=pair.driven_mm,
                centre_mm=pair.centre_mm,
                driver_source=pair.driver_source,
                driven_source=pair.driven_source,
            )
            for pair in pairs
        ),
    )


class Row(NamedTuple):
    """What one position of a side may be: steps that stand, or pulleys."""

    sizes_mm: tuple[float, ...]
    source: Source


def _placings(driver: SideSizes, driven: SideSizes, count: int) -> Iterator[tuple[list[Row], list[Row]]]:
    """Yield the sizes open to every position on both sides.

    A standing cone uses any run of neighbouring steps, read from either end, because its mate is made to face it.
    Two of them face each other step by step; turning one of them round needs leave. Where the steps have their
    positions already, that is how they stand.
    """
    both = bool(driver.standing_mm and driven.standing_mm)
    for one, other in product(_runs(driver, count), _runs(driven, count)):
        yield one, other
        if driver.placed or driven.placed:
            continue
        yield one[::-1], other[::-1]
        if both and (driver.reversible or driven.reversible):
            yield one[::-1], other
            yield one, other[::-1]


def _runs(side: SideSizes, count: int) -> list[list[Row]]:
    ready = Row(side.ready_mm, "ready")
    if not side.standing_mm:
        return [[ready] * count]
    steps = [ready if step is None else Row(step, "kept") for step in side.standing_mm]
    return [steps[start : start + count] for start in range(len(steps) - count + 1)]


def _pairs(rules: StageProblem, belt: BeltChoice, drivers: Row, drivens: Row) -> Iterator[Pair]:
    for driver, driven in product(drivers.sizes_mm, drivens.sizes_mm):
        centre = centre_mm(driver, driven, belt.length_mm, crossed=rules.crossed)
        if centre is None or not _fits(rules, driver, driven, centre):
            continue
        ratio = log(driver / driven * (1 - rules.slip))
        yield Pair(driver, driven, centre, ratio, drivers.source, drivens.source)


def _fits(rules: StageProblem, driver: float, driven: float, centre: float) -> bool:
    low, high = rules.centre_mm
    return (
        low - TOLERANCE_MM <= centre <= high + TOLERANCE_MM
        and (driver + driven) / 2 + rules.clearance_mm <= centre + TOLERANCE_MM
        and small_wrap_deg(driver, driven, centre, crossed=rules.crossed) >= rules.least_wrap_deg - 1e-6
    )
