"""What turning asks of a cone: balance, and the stress of its largest step."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi
from typing import NamedTuple

from optimizer.catalogue.grooves import groove, step_volume_mm3
from optimizer.catalogue.parts import BALANCED_M_S, balance_grade, cone_material, rolling_lever, unbalance_g_m
from optimizer.checks.along import cone_width_mm, step_pitch_mm
from optimizer.checks.in_hand import idle_grooves
from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.verdict import Check, Rule, at_most
from optimizer.mechanics.rims import (
    disc_stress_mpa,
    grade_unbalance_g_m,
    ring_stress_mpa,
    strength_rpm,
    unbalance_pull_n,
)

__all__ = ["Turning", "allowed_g_m", "balance_checks", "turnings"]

PLANES_RPM = 1000.0
"""Above it a cone longer than half its diameter is balanced in two planes; common practice, no source."""
ARBOR_ENDS_MM = 100.0
"""How far an arbor stands out of a cone to lie on two edges, both ends together; judgement."""


class Turning(NamedTuple):
    """One cone at the greatest speed of its shaft, without load."""

    key: str
    shaft: str
    rpm: float
    rim_m_s: float
    """Speed of the largest rim."""
    radius_mm: float
    """Radius of the largest rim."""
    mass_kg: float | None
    """Mass of the cone, without a hub; nothing where steps exist already, as nobody states what they weigh."""
    stress_mpa: float
    """Greatest stress of the largest step by its own mass, as a flat disc with a bore."""
    ring_mpa: float
    """The same as a thin ring, whose spokes or web bear nothing."""
    strength_mpa: float | None
    """Least strength in tension of what it may be made of; nothing where that is not stated."""
    strength_rpm: float | None
    """Speed at which the stress of the ring would reach that strength: a calculation, no licence."""
    strength_source: str
    material: str
    unbalance_g_m: float | None
    """Unbalance that may be left; nothing where the standard names none and the mass is not known."""
    at_rim_g: float | None
    """The same as a mass at the largest rim; nothing where the mass is not known, as the grade may leave far less."""
    pull_n: float | None
    """What that unbalance pulls at this speed."""
    shown_g_m: float | None
    """Least unbalance that an arbor on level edges shows; nothing where the mass is not known."""
    two_planes: bool
    """Whether it is long and fast enough to be balanced in two planes."""
    balance: str
    """How it is balanced, in words."""
    source: str


def turnings(machine: Machine) -> tuple[Turning, ...]:
    """Return every cone with what its greatest speed asks of it."""
    found = []
    fastest = dict(machine.idle_rpm)
    for pair in machine.pairs:
        for cone in pair.cones:
            rpm = pair.idle_rpm if cone is pair.driver else fastest[pair.stage.to_shaft]
            found.append(_turning(machine, pair, cone, rpm))
    return tuple(found)


def balance_checks(machine: Machine) -> Iterator[Check]:
    """Yield the checks that no rim is too fast for static balance, and that an arbor shows what may be left."""
    for turning in turnings(machine):
        left = turning.unbalance_g_m
        if turning.rim_m_s > BALANCED_M_S[0]:
            rule = Rule("rim speed for static balance", "advice", BALANCED_M_S[1], "m/s", turning.source)
            told = "" if left is None else f"at most {left:.2g} g m left; "
            yield at_most(rule, turning.key, turning.rim_m_s, f"{told}never run an unbalanced or cracked pulley")
        if left is not None and turning.shown_g_m is not None:
            rule = Rule("unbalance that an arbor shows", "advice", _known(left), "g m", rolling_lever()[1])
            yield at_most(
                rule, turning.key, _known(turning.shown_g_m), "what helps: balancing on a machine, or a slower shaft"
            )


def _known(unbalance_g_m: float) -> float:
    """Return an unbalance in three digits: more of it is never known."""
    return float(f"{unbalance_g_m:.3g}")


def _turning(machine: Machine, pair: Pair, cone: Cone, rpm: float) -> Turning:
    largest = max(range(cone.positions), key=lambda p: cone.outside_mm[p])
    outside = cone.outside_mm[largest]
    made_of = cone.side.made_of(turned=cone.turned[largest])
    speed = pi * outside * rpm / 60_000
    material = cone_material(made_of or "metal")
    ring = float(ring_stress_mpa(material.stress_kg_m3, speed))
    width = cone_width_mm(cone, step_pitch_mm(pair, machine.scenario.making), idle_grooves(machine, cone))
    mass = _mass_kg(cone, width)
    left, source = allowed_g_m(speed, mass, rpm)
    two = width > outside / 2 and rpm > PLANES_RPM
    shown = None if mass is None else rolling_lever()[0] * (mass + _arbor_kg(cone, width))
    at_rim_g = None if left is None or mass is None else left / (outside / 2000)
    return Turning(
        key=cone.key,
        shaft=cone.shaft.name,
        rpm=rpm,
        rim_m_s=speed,
        radius_mm=outside / 2,
        mass_kg=mass,
        stress_mpa=float(
            disc_stress_mpa(material.stress_kg_m3, speed, min(0.95, (cone.shaft.hub_mm or 0.0) / outside))
        ),
        ring_mpa=ring,
        strength_mpa=material.strength_mpa if made_of else None,
        strength_rpm=float(strength_rpm(rpm, ring, material.strength_mpa)) if made_of else None,
        strength_source=material.source if made_of else "none is named where the material is not stated",
        material=made_of or "not stated, taken as steel",
        unbalance_g_m=left,
        at_rim_g=at_rim_g,
        pull_n=None if left is None else float(unbalance_pull_n(left, rpm)),
        shown_g_m=shown,
        two_planes=two,
        balance="; ".join(_words(speed, two, shown is not None and left is not None and shown > left))
        + ("" if mass is not None else _unknown(rpm, outside)),
        source=source,
    )


def _mass_kg(cone: Cone, width_mm: float) -> float | None:
    """Return the mass of a cone that is turned whole; nothing where a step exists already.

    Timber is taken as birch plywood, as the cut list has it; metal that nobody names as aluminium.
    """
    if not all(cone.turned) or cone.side.kept_mm:
        return None
    bore = cone.shaft.hub_mm or cone.shaft.diameter_mm or 0.0
    volume = sum(
        step_volume_mm3(groove(cone.section, datum, cone.side.groove), outside, width_mm / cone.positions, bore)
        for datum, outside in zip(cone.datum_mm, cone.outside_mm, strict=True)
    )
    return volume * cone_material(cone.side.made_of(turned=True) or "metal").mass_kg_m3 * 1e-9


def _arbor_kg(cone: Cone, width_mm: float) -> float:
    """Return the mass of a steel arbor through a cone, with its hub; nothing where the shaft's diameter is unknown."""
    shaft = cone.shaft.diameter_mm or 0.0
    inside = cone.shaft.hub_mm or shaft
    return pi / 4 * (inside**2 * width_mm + shaft**2 * ARBOR_ENDS_MM) * cone_material("steel").mass_kg_m3 * 1e-9


def allowed_g_m(rim_m_s: float, mass_kg: float | None, rpm: float) -> tuple[float | None, str]:
    """Return the lesser of the pulley standard's unbalance and that of the grade [g·m], with the source of both."""
    standard, source = unbalance_g_m(rim_m_s)
    grade, grade_source = balance_grade()
    own = None if mass_kg is None else float(grade_unbalance_g_m(mass_kg, rpm, grade))
    known = [left for left in (standard, own) if left is not None]
    return min(known, default=None), f"the lesser of {source}, and {grade_source}"


def _words(rim_m_s: float, two_planes: bool, hidden: bool) -> Iterator[str]:
    """Yield how a cone is balanced."""
    if rim_m_s > BALANCED_M_S[1]:
        yield "faster than the pulley standard goes: balance as a whole machine"
    elif rim_m_s > BALANCED_M_S[0]:
        yield "static balance"
    else:
        yield "the pulley standard asks for none at 5 m/s and below"
    if two_planes:
        yield (
            "longer than half its diameter and faster than 1000 rpm: balance it in two planes on a balancing machine, "
            "half of the unbalance allowed at either end (common practice, no source)"
        )
    if hidden:
        yield (
            "an arbor on level edges does not show so little, one on ball bearings less still: have it balanced on a "
            "machine, or run it slower"
        )


def _unknown(rpm: float, outside_mm: float) -> str:
    """Return what is said where the mass of a cone is not known."""
    each = float(grade_unbalance_g_m(1.0, rpm, balance_grade()[0])) / (outside_mm / 2000)
    return f"; its mass is not known: weigh it, G16 leaves {each:.2g} g at its rim for each kg, and the lesser counts"
