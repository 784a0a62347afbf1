"""Checks of what moves: belts, rims, shafts at the fastest they are driven."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf, pi

from optimizer.checks.stated import Cone, Machine, Pair, both_speeds
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
