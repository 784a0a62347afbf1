"""Checks of the diameters themselves: smallest, largest, where they come from, their order along a cone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import isinf

from optimizer.checks.stated import Cone
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.scenario import Making

__all__ = ["cone_checks"]

STATED = "stated by the maker"
SAME_MM = 1e-6


def cone_checks(cone: Cone, making: Making, falling: bool) -> Iterator[Check | Skipped]:
    """Yield the checks of one cone's diameters; those of a driven cone fall from the slowest position on."""
    yield from _smallest(cone)
    turned = [size for size, own in zip(cone.outside_mm, cone.turned, strict=True) if own]
    if turned:
        yield from _turned(cone, making, turned)
    if turned and cone.positions > 1:
        yield from _order(cone, making, falling)


def _smallest(cone: Cone) -> Iterator[Check]:
    """Yield the checks of the smallest step against what the belt may bend around."""
    belt, least = cone.section, min(cone.datum_mm)
    limit, source = belt.smallest_datum_mm, belt.smallest_source
    if cone.side.smallest_mm is not None:
        outside = cone.side.smallest_mm - cone.given_less_outside_mm
        limit, source = outside - cone.outside_mm[0] + cone.datum_mm[0], STATED
    note = "datum diameters"
    yield at_least(Rule("smallest diameter", "limit", limit, "mm", source), cone.key, least, note)
    if belt.preferred_datum_mm > belt.smallest_datum_mm:
        rule = Rule("usual smallest diameter", "advice", belt.preferred_datum_mm, "mm", belt.preferred_source)
        yield at_least(rule, cone.key, least, note)


def _turned(cone: Cone, making: Making, turned: Sequence[float]) -> Iterator[Check | Skipped]:
    """Yield the checks of the steps that are turned."""
    largest = max(turned)
    if isinf(making.largest_blank_mm):
        yield Skipped(name="largest blank", where=cone.key, why="no largest blank is stated")
    else:
        rule = Rule("largest blank", "limit", making.largest_blank_mm, "mm", STATED)
        yield at_most(rule, cone.key, largest + making.truing_mm, "outside diameter and truing allowance")
    yield from _room_to_turn(cone, making, turned)
    hub = cone.shaft.hub_mm
    if hub is None:
        yield Skipped(
            name="groove root over the hub",
            where=cone.key,
            why=f"neither hub nor diameter of the shaft {cone.shaft.name} is stated",
        )
        return
    root = min(size for size, own in zip(cone.root_mm, cone.turned, strict=True) if own)
    rule = Rule("groove root over the hub", "limit", hub + 2 * making.wall_mm, "mm", "common practice, no source")
    yield at_least(rule, cone.key, root, "limit: hub and a wall on either side")


def _room_to_turn(cone: Cone, making: Making, turned: Sequence[float]) -> Iterator[Check]:
    """Yield the check of every turned step against the free range or the discs it may come from."""
    ranges: list[tuple[float, float]] = []
    if cone.side.free_mm:
        low, high = (limit - cone.given_less_outside_mm for limit in cone.side.free_mm)
        ranges.append((low, high))
    if cone.side.discs_mm:
        ranges.append((0.0, max(cone.side.discs_mm) - making.truing_mm))
    least, most = min(low for low, _ in ranges), max(high for _, high in ranges)
    named = "free range" if cone.side.free_mm else "largest disc"
    note = "outside diameters"
    if least > 0:
        yield at_least(Rule(f"{named}, least", "limit", least, "mm", STATED), cone.key, min(turned), note)
    yield at_most(Rule(f"{named}, greatest", "limit", most, "mm", STATED), cone.key, max(turned), note)


def _order(cone: Cone, making: Making, falling: bool) -> Iterator[Check]:
    """Yield the checks that a cone with turned steps rises one way, by nothing or by a step that can be seen."""
    sizes = cone.outside_mm[::-1] if falling else cone.outside_mm
    rises = [upper - lower for lower, upper in pairwise(sizes)]
    yield at_least(
        Rule("order of the steps", "limit", 0.0, "mm", "a cone runs one way"),
        cone.key,
        min(rises),
        "least rise from step to step",
    )
    real = [rise for rise in rises if rise > SAME_MM]
    if real:
        rule = Rule("difference of neighbouring steps", "limit", making.rise_mm, "mm", "common practice, no source")
        yield at_least(rule, cone.key, min(real), "least difference of unequal neighbours")
