"""Checks of what moves: belts, rims, shafts at the fastest they are driven."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf, pi

from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.verdict import Check, Rule, Skipped, at_most
from optimizer.scenario import Making

__all__ = ["belt_and_rim_checks", "shaft_checks"]

METAL_RIM_M_S = 33.02
"""6500 ft/min."""
METAL_SOURCE = "MPTA-B13i-2013 foreword, read: 6500 ft/min for cast iron"


def belt_and_rim_checks(pair: Pair, making: Making) -> Iterator[Check]:
    """Yield the checks of belt speed and rim speeds, every shaft before the stage at its fastest."""
    limit, usual = pair.stage.belt_speed_m_s, pair.section.belt_speed_m_s
    source = pair.section.sources["speed"] if limit == usual else "stated by the maker"
    fastest = _speed_m_s(max(pair.driver.pitch_mm), pair.entering_rpm)
    yield at_most(Rule("belt speed", "limit", limit, "m/s", source), pair.key, fastest)
    leaving = [pair.entering_rpm * ratio for ratio in pair.ratios]
    driver = [_speed_m_s(size, pair.entering_rpm) for size in pair.driver.outside_mm]
    if pair.before is None:
        yield from _rim(pair.driver, making, driver)
    # Every step of the driven cone turns at the greatest speed of its shaft, whichever the belt is on.
    yield from _rim(pair.driven, making, [_speed_m_s(size, max(leaving)) for size in pair.driven.outside_mm])


def shaft_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the check of every shaft against its greatest speed."""
    motor = (machine.scenario.chain[0].from_shaft, machine.scenario.motor.speed_rpm)
    for name, rpm in (motor, *machine.fastest_rpm):
        limit = machine.scenario.shaft(name).never_above_rpm
        if isinf(limit):
            yield Skipped(name="shaft speed", where=name, why="no greatest speed of this shaft is stated")
        else:
            yield at_most(Rule("shaft speed", "limit", limit, "rpm", "stated by the maker"), name, rpm)


def _rim(cone: Cone, making: Making, speeds_m_s: list[float]) -> Iterator[Check]:
    """Yield the check of the fastest rim of each material."""
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
        note = "a kept cone, taken as timber" if timber and cone.side.kept_mm else ""
        yield at_most(Rule(name, "limit", limit, "m/s", source), cone.key, max(speeds), note)


def _timber(cone: Cone, turned: bool) -> bool:
    """Tell whether a step is of timber; a kept cone whose material nobody states is, a bought pulley is not."""
    return cone.side.material == "timber" if turned or cone.side.kept_mm else False


def _speed_m_s(diameter_mm: float, rpm: float) -> float:
    return pi * diameter_mm * rpm / 60_000
