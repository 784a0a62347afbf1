"""What diameters of work, tool, or wheel suit every spindle speed; no wheel passes the speed marked on it."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Literal, NamedTuple

from optimizer.checks.spindle import bands_at
from optimizer.checks.stated import Machine, MadeSpeed, both_speeds
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.mechanics.surface_speed import WOOD_TURNING_SOURCE, suited_mm, surface_speed_m_s, wood_turning_m_s
from optimizer.quantities import RIM_SPEED, SurfaceUnit
from optimizer.scenario import Band
from optimizer.scenario.surfaces import Of, shown_unit

__all__ = ["WorkAt", "WorkRule", "work_at", "work_checks"]

STATED = "stated by the maker"


class WorkRule(NamedTuple):
    """What the surface of work ought to do."""

    name: Literal["wood turning", "surface speed"]
    least_m_s: float
    most_m_s: float
    source: str


class WorkAt(NamedTuple):
    """What is told of work at one spindle speed in one band."""

    number: int
    """The speed, counted from 1."""
    rpm: float
    band: str
    """Nothing for a speed that is in no band."""
    rule: WorkRule | None
    suited_mm: tuple[float, float] | None
    """Least and greatest diameter by the rule."""
    surfaces: tuple[tuple[float, float], ...]
    """Stated diameters of work [mm], with the speed of their surface [m/s]."""
    of: Of
    """What the diameters are of."""
    unit: SurfaceUnit
    """Unit in which speeds along the surface are told."""
    told: bool
    """Whether a speed is told by that of its surface, as for a blade, and not by the diameters that suit it."""


def work_at(machine: Machine) -> tuple[WorkAt, ...]:
    """Return what is told of work, by speed and band, slowest first; nothing where the maker states nothing of it."""
    found = []
    shared = _shared(machine)
    for number, (rpm, *_) in enumerate(machine.speeds, 1):
        for band in bands_at(machine, rpm) or (None,):
            rule = _rule(machine, band)
            kind = shared if band is None and rule is None else band
            sizes = tuple(dict.fromkeys(kind.work_mm)) if kind is not None and kind.work_mm else ()
            if rule is None and not sizes:
                continue
            told = kind is not None and kind.told_mm is not None
            span = None if rule is None or told else suited_mm(rpm, rule.least_m_s, rule.most_m_s)
            found.append(
                WorkAt(
                    number,
                    rpm,
                    "" if band is None else band.name,
                    rule,
                    None if span is None else (float(span.least), float(span.most)),
                    tuple((size, float(surface_speed_m_s(size, rpm))) for size in sizes),
                    "work" if kind is None else kind.of,
                    _unit(machine, kind),
                    told,
                )
            )
    return tuple(found)


def _shared(machine: Machine) -> Band | None:
    """Return a band where all are told by the surface of one and the same thing, so that every speed can be."""
    bands = machine.scenario.bands
    things = {(band.told_mm, band.of, _unit(machine, band)) for band in bands}
    return bands[0] if len(things) == 1 and bands[0].told_mm is not None else None


def _unit(machine: Machine, band: Band | None) -> SurfaceUnit:
    """Return the unit in which a band's speeds along a surface are told."""
    scenario = machine.scenario
    return shown_unit(scenario.units, band.surface_unit if band else None, scenario.work.surface_unit)


def work_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the checks of wheels against the speed marked on them, of stated work against what its rule asks for."""
    if not work_at(machine):
        why = "neither wood_turning nor surface_speed is stated under [work], nor any work of a band"
        yield Skipped(name="work size", where="work", why=why)
    fastest = machine.idles_fastest(machine.speeds)
    for index, band in enumerate(machine.scenario.bands):
        if band.work_mm is None:
            continue
        made = [speed for speed in machine.speeds if band in bands_at(machine, speed.rpm)]
        speeds = [speed.rpm for speed in made]
        if not speeds:
            yield Skipped(name="surface speed of the work", where=f"band[{index}]", why="no speed counts in the band")
            continue
        yield from _wheel(machine, index, machine.idles_fastest(made), fastest)
        yield from _suits(machine, band, index, speeds)


def _wheel(machine: Machine, index: int, own: MadeSpeed, fastest: MadeSpeed) -> Iterator[Check]:
    """Yield the checks of a wheel at the fastest speed of its band, and at the fastest that the machine has.

    A wheel bursts by speed, so each is the speed that the spindle reaches without load.
    """
    band = machine.scenario.bands[index]
    if band.surface_limit_m_s is None or band.work_mm is None:
        return
    largest = max(band.work_mm)
    speeds = (
        ("marked surface speed", "limit", own, "fastest speed in the band"),
        ("marked surface speed, any speed", "advice", fastest, "the machine's fastest: take it off before"),
    )
    for name, kind, speed, note in speeds:
        rpm = machine.idle(speed)
        unit, size = _checked_unit(band.surface_unit)
        rule = Rule(
            name,
            "limit" if kind == "limit" else "advice",
            band.surface_limit_m_s / size,
            unit,
            f"{STATED}: never above the speed marked on the wheel",
        )
        value = float(surface_speed_m_s(largest, rpm)) / size
        yield at_most(rule, f"band[{index}]", value, f"{both_speeds(rpm, speed.rpm)}, {note}")


def _suits(machine: Machine, band: Band, index: int, speeds: list[float]) -> Iterator[Check]:
    """Yield the advice that the largest work has a speed slow enough, the smallest one fast enough."""
    rule = _rule(machine, band)
    if rule is None or band.work_mm is None:
        return
    least, most = band.work_mm
    slow, quick = float(surface_speed_m_s(most, speeds[0])), float(surface_speed_m_s(least, speeds[-1]))
    where = f"band[{index}]"
    unit, size = _checked_unit(band.surface_unit or machine.scenario.work.surface_unit)
    over = Rule("surface speed of the largest work", "advice", rule.most_m_s / size, unit, rule.source)
    yield at_most(over, where, slow / size, f"{speeds[0]:.1f} rpm, slowest speed in the band")
    under = Rule("surface speed of the smallest work", "advice", rule.least_m_s / size, unit, rule.source)
    yield at_least(under, where, quick / size, f"{speeds[-1]:.1f} rpm, fastest speed in the band")


def _checked_unit(stated: SurfaceUnit | None) -> tuple[SurfaceUnit, float]:
    """Return the unit of a check, that of the file where one is written there, with its size [m/s]."""
    unit: SurfaceUnit = stated or "m/s"
    return unit, float(RIM_SPEED.words[unit])


def _rule(machine: Machine, band: Band | None) -> WorkRule | None:
    """Return what the maker asks for in a band, else of all work, never above what is marked on the wheel."""
    work = machine.scenario.work
    wanted = work.surface_speed_m_s if band is None or band.surface_speed_m_s is None else band.surface_speed_m_s
    if wanted is not None:
        found = WorkRule("surface speed", *wanted, STATED)
    elif work.wood_turning:
        found = WorkRule("wood turning", *wood_turning_m_s(), WOOD_TURNING_SOURCE)
    else:
        return None
    marked = inf if band is None or band.surface_limit_m_s is None else band.surface_limit_m_s
    return found._replace(least_m_s=min(found.least_m_s, marked), most_m_s=min(found.most_m_s, marked))
