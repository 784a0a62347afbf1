"""Checks of what moves: belts, rims, shafts at the fastest they are driven."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf, pi

from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.verdict import Check, Rule, Skipped, at_most
from optimizer.scenario import Making
from optimizer.scenario.side import Material

__all__ = ["belt_and_rim_checks", "shaft_checks"]

METAL_RIM_M_S = 33.02
"""6500 ft/min."""
METAL_SOURCE = "MPTA-B13i-2013 foreword, read: 6500 ft/min for cast iron"
ANY_SOURCE = "MPTA-B13i-2013 foreword, read: above 6500 ft/min every rim is to be looked into with care"
NOT_STATED = "material not stated"
TIMBER_SOURCE = "no published limit for timber found; common practice, no source"


def belt_and_rim_checks(pair: Pair, making: Making) -> Iterator[Check | Skipped]:
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


def _rim(cone: Cone, making: Making, speeds_m_s: list[float]) -> Iterator[Check | Skipped]:
    """Yield the check of the fastest rim of each material."""
    fastest: dict[Material | None, float] = {}
    for speed, turned in zip(speeds_m_s, cone.turned, strict=True):
        material = cone.side.made_of(turned=turned)
        fastest[material] = max(speed, fastest.get(material, 0.0))
    for material, speed in fastest.items():
        rule = Rule(f"rim speed, {material or NOT_STATED}", "limit", *_limit(material, making))
        if material is None and speed <= rule.limit:
            why = (
                f"{NOT_STATED}; the rim runs at {speed:.1f} m/s, where timber is held to {making.rim_speed_m_s:g} and "
                f"metal to {METAL_RIM_M_S:.0f}: state material"
            )
            yield Skipped(name="rim speed", where=cone.key, why=why)
        else:
            yield at_most(rule, cone.key, speed)


def _limit(material: Material | None, making: Making) -> tuple[float, str, str]:
    """Return the greatest speed of a rim with its unit and source; the greatest of any material where none is known."""
    if material == "timber":
        return making.rim_speed_m_s, "m/s", TIMBER_SOURCE
    if material is None:
        return max(METAL_RIM_M_S, making.rim_speed_m_s), "m/s", ANY_SOURCE
    return METAL_RIM_M_S, "m/s", ANY_SOURCE if material in ("steel", "aluminium") else METAL_SOURCE


def _speed_m_s(diameter_mm: float, rpm: float) -> float:
    return pi * diameter_mm * rpm / 60_000
