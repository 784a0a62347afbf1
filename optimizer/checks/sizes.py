"""Sizes of the steps: smallest and largest, as given, rim speeds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product
from math import isinf, pi

from optimizer.checks.stated import Cone, Machine, Pair, both_speeds
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.scenario import Making
from optimizer.scenario.side import Material

__all__ = ["belt_and_rim_checks", "cone_checks", "given_checks", "kept_places", "shaft_checks"]

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


NOT_THERE_MM = 1e9
"""Said of a difference where there is nothing to compare with."""


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


METAL_RIM_M_S = 33.02
"""6500 ft/min."""
METAL_SOURCE = "MPTA-B13i-2013 foreword, read: 6500 ft/min for cast iron"
ANY_SOURCE = "MPTA-B13i-2013 foreword, read: above 6500 ft/min every rim is to be looked into with care"
NOT_STATED = "material not stated"
TIMBER_SOURCE = "no published limit for timber found; common practice, no source"


def belt_and_rim_checks(pair: Pair, making: Making) -> Iterator[Check | Skipped]:
    """Yield the checks of belt speed and rim speeds, every shaft before the stage at its fastest.

    A belt is held to its speed under full load; a rim can burst, so it is held to the speed that it reaches without.
    """
    limit, usual = pair.stage.belt_speed_m_s, pair.section.belt_speed_m_s
    source = pair.section.sources["speed"] if limit == usual else "stated by the maker"
    fastest = _speed_m_s(max(pair.driver.pitch_mm), pair.entering_rpm)
    yield at_most(Rule("belt speed", "limit", limit, "m/s", source), pair.key, fastest)
    if pair.before is None:
        yield from _rim(pair.driver, making, (pair.idle_rpm, pair.entering_rpm))
    # Every step of the driven cone turns at the greatest speed of its shaft, whichever the belt is on.
    greatest = max(pair.ratios)
    leaving = pair.idle_rpm * greatest / (1 - pair.stage.slip), pair.entering_rpm * greatest
    yield from _rim(pair.driven, making, leaving)


def shaft_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the check of every shaft against its greatest speed, which it reaches without load."""
    if machine.scenario.motor.idle_rpm is None:
        why = "the motor's is not known: what can burst is held to its limits at full load alone; state motor.idle"
        yield Skipped(name="speed without load", where="motor.idle", why=why)
    for (name, rpm), (_, loaded_rpm) in zip(machine.idle_rpm, machine.fastest_rpm, strict=True):
        limit = machine.scenario.shaft(name).never_above_rpm
        if isinf(limit):
            yield Skipped(name="shaft speed", where=name, why="no greatest speed of this shaft is stated")
        else:
            yield at_most(
                Rule("shaft speed", "limit", limit, "rpm", "stated by the maker"),
                name,
                rpm,
                both_speeds(rpm, loaded_rpm),
            )


def _rim(cone: Cone, making: Making, rpm: tuple[float, float]) -> Iterator[Check | Skipped]:
    """Yield the check of the fastest rim of each material; the speeds are those without load and under full load."""
    fastest: dict[Material | None, float] = {}
    for size, turned in zip(cone.outside_mm, cone.turned, strict=True):
        material = cone.side.made_of(turned=turned)
        fastest[material] = max(_speed_m_s(size, rpm[0]), fastest.get(material, 0.0))
    for material, speed in fastest.items():
        rule = Rule(f"rim speed, {material or NOT_STATED}", "limit", *_limit(material, making))
        if material is None and speed <= rule.limit:
            why = (
                f"{NOT_STATED}; the rim runs at {speed:.1f} m/s, where timber is held to {making.rim_speed_m_s:g} and "
                f"metal to {METAL_RIM_M_S:.0f}: state material"
            )
            yield Skipped(name="rim speed", where=cone.key, why=why)
        else:
            yield at_most(rule, cone.key, speed, both_speeds(*rpm))


def _limit(material: Material | None, making: Making) -> tuple[float, str, str]:
    """Return the greatest speed of a rim with its unit and source; the greatest of any material where none is known."""
    if material == "timber":
        return making.rim_speed_m_s, "m/s", TIMBER_SOURCE
    if material is None:
        return max(METAL_RIM_M_S, making.rim_speed_m_s), "m/s", ANY_SOURCE
    return METAL_RIM_M_S, "m/s", ANY_SOURCE if material in ("steel", "aluminium") else METAL_SOURCE


def _speed_m_s(diameter_mm: float, rpm: float) -> float:
    return pi * diameter_mm * rpm / 60_000
