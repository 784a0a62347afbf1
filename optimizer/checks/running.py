"""Checks of what moves: belts, rims, shafts at the fastest they are driven."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf, pi

from optimizer.checks.stated import Cone, Machine, Pair, both_speeds
from optimizer.checks.verdict import Check, Rule, Skipped, at_most
from optimizer.scenario import Making

__all__ = ["belt_and_rim_checks", "shaft_checks"]

METAL_RIM_M_S = 33.02
"""6500 ft/min."""
METAL_SOURCE = "MPTA-B13i-2013 foreword, read: 6500 ft/min for cast iron"


def belt_and_rim_checks(pair: Pair, making: Making) -> Iterator[Check]:
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


def _rim(cone: Cone, making: Making, rpm: tuple[float, float]) -> Iterator[Check]:
    """Yield the check of the fastest rim of each material; the speeds are those without load and under full load."""
    speeds_m_s = [_speed_m_s(size, rpm[0]) for size in cone.outside_mm]
    for timber in (True, False):
        speeds = [
            speed for speed, turned in zip(speeds_m_s, cone.turned, strict=True) if _timber(cone, turned) is timber
        ]
        if not speeds:
            continue
        if timber:
            limit, source = making.rim_speed_m_s, "no published limit for timber found; common practice, no source"
        else:
            limit, source = METAL_RIM_M_S, METAL_SOURCE
        name = f"rim speed, {'timber' if timber else 'metal'}"
        note = both_speeds(*rpm) + ("; a kept cone, taken as timber" if timber and cone.side.kept_mm else "")
        yield at_most(Rule(name, "limit", limit, "m/s", source), cone.key, max(speeds), note)


def _timber(cone: Cone, turned: bool) -> bool:
    """Tell whether a step is of timber; a kept cone whose material nobody states is, a bought pulley is not."""
    return cone.side.material == "timber" if turned or cone.side.kept_mm else False


def _speed_m_s(diameter_mm: float, rpm: float) -> float:
    return pi * diameter_mm * rpm / 60_000
