"""What diameters of work, tool, or wheel suit every spindle speed; no wheel passes the speed marked on it."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Literal, NamedTuple

from optimizer.checks.spindle import bands_at
from optimizer.checks.stated import Machine
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.mechanics.surface_speed import WOOD_TURNING_SOURCE, suited_mm, surface_speed_m_s, wood_turning_m_s
from optimizer.scenario import Band

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


def work_at(machine: Machine) -> tuple[WorkAt, ...]:
    """Return what is told of work, by speed and band, slowest first; nothing where the maker states nothing of it."""
    found = []
    for number, (rpm, *_) in enumerate(machine.speeds, 1):
        for band in bands_at(machine, rpm) or (None,):
            rule = _rule(machine, band)
            sizes = tuple(dict.fromkeys(band.work_mm)) if band is not None and band.work_mm else ()
            if rule is None and not sizes:
                continue
            span = None if rule is None else suited_mm(rpm, rule.least_m_s, rule.most_m_s)
            found.append(
                WorkAt(
                    number,
                    rpm,
                    "" if band is None else band.name,
                    rule,
                    None if span is None else (float(span.least), float(span.most)),
                    tuple((size, float(surface_speed_m_s(size, rpm))) for size in sizes),
                )
            )
    return tuple(found)


def work_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the checks of wheels against the speed marked on them, of stated work against what its rule asks for."""
    if not work_at(machine):
        why = "neither wood_turning nor surface_speed is stated under [work], nor any work of a band"
        yield Skipped(name="work size", where="work", why=why)
    fastest = machine.speeds[-1][0]
    for index, band in enumerate(machine.scenario.bands):
        if band.work_mm is None:
            continue
        speeds = [speed.rpm for speed in machine.speeds if band in bands_at(machine, speed.rpm)]
        if not speeds:
            yield Skipped(name="surface speed of the work", where=f"band[{index}]", why="no speed counts in the band")
            continue
        yield from _wheel(band, index, speeds[-1], fastest)
        yield from _suits(machine, band, index, speeds)


def _wheel(band: Band, index: int, own_rpm: float, fastest_rpm: float) -> Iterator[Check]:
    """Yield the checks of a wheel at the fastest speed of its band, and at the fastest that the machine has."""
    if band.surface_limit_m_s is None or band.work_mm is None:
        return
    largest = max(band.work_mm)
    speeds = (
        ("marked surface speed", "limit", own_rpm, "fastest speed in the band"),
        ("marked surface speed, any speed", "advice", fastest_rpm, "the machine's fastest: take it off before"),
    )
    for name, kind, rpm, note in speeds:
        rule = Rule(
            name,
            "limit" if kind == "limit" else "advice",
            band.surface_limit_m_s,
            "m/s",
            f"{STATED}: never above the speed marked on the wheel",
        )
        value = float(surface_speed_m_s(largest, rpm))
        yield at_most(rule, f"band[{index}]", value, f"{rpm:.1f} rpm, {note}")


def _suits(machine: Machine, band: Band, index: int, speeds: list[float]) -> Iterator[Check]:
    """Yield the advice that the largest work has a speed slow enough, the smallest one fast enough."""
    rule = _rule(machine, band)
    if rule is None or band.work_mm is None:
        return
    least, most = band.work_mm
    slow, quick = float(surface_speed_m_s(most, speeds[0])), float(surface_speed_m_s(least, speeds[-1]))
    where = f"band[{index}]"
    over = Rule("surface speed of the largest work", "advice", rule.most_m_s, "m/s", rule.source)
    yield at_most(over, where, slow, f"{speeds[0]:.1f} rpm, slowest speed in the band")
    under = Rule("surface speed of the smallest work", "advice", rule.least_m_s, "m/s", rule.source)
    yield at_least(under, where, quick, f"{speeds[-1]:.1f} rpm, fastest speed in the band")


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
