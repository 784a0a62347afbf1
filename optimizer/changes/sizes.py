"""The limits of diameters: the largest blank, the smallest pulley of every side."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf, isfinite
from typing import NamedTuple

from optimizer.catalogue.entry import Section
from optimizer.catalogue.lines import shifts
from optimizer.changes.limit import Limit
from optimizer.changes.line import Line
from optimizer.changes.needs import discs_mm, smallest_mm
from optimizer.changes.ticks import FARTHEST, HALF, size_tick_mm, unit_ticks
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Value
from optimizer.scenario import BeltStage, Scenario, Side
from optimizer.scenario.values import LONGEST_MM

__all__ = ["StatedSide", "blank", "smallest_pulleys", "stated_sides"]

BLANK = "making.largest_blank"
UNIT_MM = 5.0
"""Unit by which the blank is let out together with another limit."""
LEAST_MM = 5.0
"""No diameter is stated below this."""


class StatedSide(NamedTuple):
    """One side of a belt stage with its place."""

    key: str
    side: Side
    section: Section

    @property
    def over_mm(self) -> float:
        """Outside diameter less the diameter the maker gives."""
        lines = shifts(self.section, self.side.groove)
        return lines.outside_less_datum - lines.of(self.side.measured)

    def swing_mm(self, truing_mm: float) -> float:
        """Return the largest disc that the side may be turned from by what is said of it alone."""
        free = self.side.free_mm[1] + self.over_mm + truing_mm if self.side.free_mm else 0.0
        return max((free, *self.side.discs_mm))


def stated_sides(scenario: Scenario) -> Iterator[StatedSide]:
    """Yield the sides of all belt stages in the order of the file, a cone that two belts share once."""
    for number, stage in enumerate(scenario.stages):
        if isinstance(stage, BeltStage):
            for name, side in (("driver", stage.driver), ("driven", stage.driven)):
                if not side.shared:
                    yield StatedSide(f"stage[{number}].{name}", side, stage.belt.data)


def blank(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the limit of the discs that are turned, where anything is.

    Let out, it takes along whatever else stands for the same swing: ends of free ranges, largest discs. Tightened,
    the largest blank alone caps all of them.
    """
    making, tick = scenario.making, size_tick_mm(scenario)
    turned = [stated for stated in stated_sides(scenario) if stated.side.turned]
    if not turned:
        return
    swings = [min(stated.swing_mm(making.truing_mm), making.largest_blank_mm) for stated in turned]
    if out:
        line = Line(min(swings), tick, 1)
        last = _farthest_mm(scenario)
    else:
        line = Line(max(swings), tick, -1, loosens=False)
        last = max(swings) / FARTHEST

    def keys(disc_mm: float) -> Mapping[str, Value]:
        return _grown(scenario, turned, disc_mm) if out else {BLANK: disc_mm}

    def needs(candidate: Candidate, _: float) -> float:
        discs = [discs_mm(candidate, stated.key) for stated in turned]
        beyond = [disc for disc, swing in zip(discs, swings, strict=True) if disc > swing + 1e-6]
        return max(beyond, default=line.now) if out else max(discs)

    unit = unit_ticks(UNIT_MM, tick)
    yield Limit("blank", "mm", line, line.ticks_to(last), keys, needs, unit_ticks=unit, unstated={BLANK: max(swings)})


def _farthest_mm(scenario: Scenario) -> float:
    """Return a disc that no stage has room for: facing rims do not meet within the greatest centre distance."""
    centres = [stage.centres_mm[1] for stage in scenario.stages if isinstance(stage, BeltStage)]
    return min(LONGEST_MM, 2 * max(centres))


def _grown(scenario: Scenario, turned: list[StatedSide], disc_mm: float) -> Mapping[str, Value]:
    """Return the keys that let every turned side have a disc, as far as they do not yet."""
    making = scenario.making
    grown: dict[str, Value] = {}
    if making.largest_blank_mm < disc_mm:
        grown[BLANK] = disc_mm
    for stated in turned:
        if stated.swing_mm(making.truing_mm) >= disc_mm - 1e-9:
            continue
        if stated.side.free_mm:
            grown[f"{stated.key}.free[1]"] = round(disc_mm - making.truing_mm - stated.over_mm, 6)
        else:
            grown[f"{stated.key}.blanks"] = (*stated.side.blanks_mm, disc_mm)
    return grown


def smallest_pulleys(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the limit of the smallest diameter of every side, on the maker's line."""
    for stated in stated_sides(scenario):
        yield _smallest(stated, size_tick_mm(scenario), out=out)


def _smallest(stated: StatedSide, tick: float, *, out: bool) -> Limit:
    side, key = stated.side, stated.key
    usual = stated.section.smallest_datum_mm + shifts(stated.section, side.groove).of(side.measured)
    given = usual if side.smallest_mm is None else side.smallest_mm
    start = side.free_mm[0] if side.free_mm and not side.discs_mm else -inf
    now = max(given, start)
    line = Line(now, tick, -1) if out else Line(now, tick, 1, loosens=False)
    last = max(min(now, usual) * HALF, LEAST_MM) if out else now * FARTHEST

    def keys(size_mm: float) -> Mapping[str, Value]:
        if not out:
            return {f"{key}.smallest": size_mm}
        moved: dict[str, Value] = {f"{key}.smallest": size_mm} if size_mm < given else {}
        if isfinite(start) and size_mm < start:
            moved[f"{key}.free[0]"] = size_mm
        return moved

    def needs(candidate: Candidate, _: float) -> float:
        return smallest_mm(candidate, key)

    stated_as = {f"{key}.smallest": given if out else now}
    return Limit("smallest pulley", "mm", line, line.ticks_to(last), keys, needs, unstated=stated_as)
