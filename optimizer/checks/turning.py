"""What turning asks of a cone: balance, and the stress of its largest step."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi
from typing import NamedTuple

from optimizer.catalogue.parts import BALANCED_M_S, unbalance_g_m
from optimizer.checks.stated import Cone, Machine
from optimizer.checks.verdict import Check, Rule, at_most
from optimizer.mechanics.rims import disc_stress_mpa, ring_stress_mpa, unbalance_pull_n

__all__ = ["Turning", "balance_checks", "turnings"]

TIMBER_KG_M3 = 710.0
"""Birch plywood at its heaviest, EN 315 (read)."""
METAL_KG_M3 = 7850.0
"""Steel, the heaviest that pulleys are usually made of; from memory."""


class Turning(NamedTuple):
    """One cone at the greatest speed of its shaft, without load."""

    key: str
    shaft: str
    rpm: float
    rim_m_s: float
    """Speed of the largest rim."""
    stress_mpa: float
    """Greatest stress of the largest step by its own mass, as a flat disc with a bore."""
    ring_mpa: float
    """The same as a thin ring, whose spokes or web bear nothing."""
    material: str
    unbalance_g_m: float | None
    """Unbalance that may be left; nothing where the table names none."""
    at_rim_g: float | None
    """The same as a mass at the largest rim."""
    pull_n: float | None
    """What that unbalance pulls at this speed."""
    balance: str
    """What the table says, in words."""
    source: str


def turnings(machine: Machine) -> tuple[Turning, ...]:
    """Return every cone with what its greatest speed asks of it."""
    found = []
    fastest = dict(machine.idle_rpm)
    for pair in machine.pairs:
        leaving = fastest[pair.stage.to_shaft]
        if pair.before is None:
            found.append(_turning(pair.driver, pair.idle_rpm))
        found.append(_turning(pair.driven, leaving))
    return tuple(found)


def balance_checks(machine: Machine) -> Iterator[Check]:
    """Yield, for each cone that needs balance, the check that its rim is no faster than static balance is told for."""
    for turning in turnings(machine):
        if turning.rim_m_s > BALANCED_M_S[0]:
            rule = Rule("rim speed for static balance", "advice", BALANCED_M_S[1], "m/s", turning.source)
            left = "" if turning.unbalance_g_m is None else f"at most {turning.unbalance_g_m:g} g m left; "
            yield at_most(rule, turning.key, turning.rim_m_s, f"{left}never run an unbalanced or cracked wooden pulley")


def _turning(cone: Cone, rpm: float) -> Turning:
    largest = max(range(cone.positions), key=lambda p: cone.outside_mm[p])
    outside = cone.outside_mm[largest]
    made_of = cone.side.made_of(turned=cone.turned[largest])
    timber = made_of == "timber"
    speed = pi * outside * rpm / 60_000
    bore = min(0.95, (cone.shaft.hub_mm or 0.0) / outside)
    left, source = unbalance_g_m(speed)
    density = TIMBER_KG_M3 if timber else METAL_KG_M3
    if speed <= BALANCED_M_S[0]:
        words = "none asked for at 5 m/s and below"
    else:
        words = "faster than the table goes: balance as a whole machine" if left is None else "static balance"
    return Turning(
        key=cone.key,
        shaft=cone.shaft.name,
        rpm=rpm,
        rim_m_s=speed,
        stress_mpa=float(disc_stress_mpa(density, speed, bore)),
        ring_mpa=float(ring_stress_mpa(density, speed)),
        material=made_of or "not stated",
        unbalance_g_m=left,
        at_rim_g=None if left is None else left / (outside / 2000),
        pull_n=None if left is None else float(unbalance_pull_n(left, rpm)),
        balance=words,
        source=source,
    )
