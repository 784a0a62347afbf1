"""Speeds of the spindle and of what turns on it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from math import exp, inf, isinf, log
from typing import Literal, NamedTuple

from optimizer.checks.stated import Machine, MadeSpeed, band_edges, both_speeds, counts_between
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.mechanics.surface_speed import WOOD_TURNING_SOURCE, suited_mm, surface_speed_m_s, wood_turning_m_s
from optimizer.quantities import RIM_SPEED, SurfaceUnit
from optimizer.scenario import Band
from optimizer.scenario.band import Of, shown_unit
from optimizer.series import Evenness, unevenness

__all__ = ["WorkAt", "WorkRule", "bands_at", "spindle_checks", "work_at", "work_checks"]

PRACTICE = "common practice, no source"
STATED = "stated by the maker"
ADVISED_ENDS = 3.0
ADVISED_SHARE = 0.10
"""Share of φ − 1 by which a speed may miss its place in the series."""
ADVISED_MOVES = 1.35
"""Belts moved on average from one speed to the next."""
ADVICE = "ISO 229, from memory: 10(φ - 1) per cent"


def spindle_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the checks of the speeds that the whole chain makes; where they are free, of those on the plate."""
    places, rpm = zip(*_series(machine), strict=True)
    fit = unevenness([log(each) for each in rpm], places=places)
    yield from _each(machine, fit)
    yield from _distinct(machine)
    yield from _outer(machine)
    yield from _bands(machine)
    yield from _ends(machine)
    yield from _evenness(machine, fit)
    yield from _moves(machine)


def bands_at(machine: Machine, rpm: float) -> tuple[Band, ...]:
    """Return the bands in which a spindle speed counts."""
    bands, ends = machine.scenario.bands, machine.scenario.series.ends
    return tuple(band for band in bands if counts_between(rpm, *band_edges(band, bands, ends)))


def _series(machine: Machine) -> list[tuple[int, float]]:
    """Return every speed [rpm] that evenness is judged of with its place in the series."""
    if machine.plate is None:
        return [(place, speed.rpm) for place, speed in machine.ways]
    return list(enumerate(speed.rpm for speed in machine.shown))


def _each(machine: Machine, fit: Evenness) -> Iterator[Check]:
    """Yield for every speed how far it lies from its place in the nearest even series."""
    limit = 100 * ADVISED_SHARE * (exp(fit.log_ratio) - 1)
    for number, (rpm, chosen, settings) in enumerate(machine.shown):
        even = fit.start + number * fit.log_ratio
        names = ", ".join(f"{p + 1} of {pair.key}" for pair, p in zip(machine.pairs, chosen, strict=True))
        for switch, setting in zip(machine.scenario.switches, settings, strict=True):
            names += f", {switch.name} at {switch.said[setting]}"
        note = f"{rpm:.1f} rpm by positions {names}; even would be {exp(even):.1f} rpm"
        where = f"speed {machine.speeds.index((rpm, chosen, settings)) + 1}"
        off = 100 * abs(log(rpm) - even)
        if len(machine.shown) > 1:
            yield at_most(Rule("speed in its place", "advice", limit, "%", ADVICE), where, off, note)


def _distinct(machine: Machine) -> Iterator[Check]:
    """Yield the check of the two neighbouring speeds that are closest."""
    numbered = [(machine.speeds.index(speed) + 1, speed.rpm) for speed in machine.shown]
    gaps = [(100 * (upper / lower - 1), one, other) for (one, lower), (other, upper) in pairwise(numbered)]
    if gaps:
        least, one, other = min(gaps)
        rule = Rule("distinct speeds", "limit", 100 * machine.scenario.series.distinct, "%", PRACTICE)
        yield at_least(rule, f"speeds {one} and {other}", least, "least step between neighbours")


def _outer(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the check of the fastest speed against the one never to be passed."""
    most = machine.scenario.series.never_above_rpm
    if isinf(most):
        yield Skipped(name="fastest speed", where="spindle", why="no speed is stated that is never to be passed")
        return
    fastest = machine.idles_fastest(speed for _, speed in machine.ways)
    idle = machine.idle(fastest)
    yield at_most(Rule("fastest speed", "limit", most, "rpm", STATED), "spindle", idle, both_speeds(idle, fastest.rpm))


def _bands(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield for every band how many of the wanted speeds it has."""
    bands = machine.scenario.bands
    if not bands:
        yield Skipped(name="bands", where="band", why="no band is stated")
    for number, band in enumerate(bands):
        low, high, closed = band_edges(band, bands, machine.scenario.series.ends)
        inside = [speed.rpm for speed in machine.speeds if counts_between(speed.rpm, low, high, closed)]
        note = f"{band.name}: " + (", ".join(f"{rpm:.1f}" for rpm in inside) + " rpm" if inside else "none")
        rule = Rule("speeds in the band", "limit", float(band.want), "speeds", STATED)
        yield at_least(rule, f"band[{number}]", float(len(inside)), note)
        if machine.scenario.series.one_range:
            counted = Counter(_range(machine, s) for _, s in machine.ways if counts_between(s.rpm, low, high, closed))
            rule = Rule("speeds in one range", "limit", float(band.want), "speeds", STATED)
            yield at_least(rule, f"band[{number}]", float(max(counted.values(), default=0)), band.name)


def _range(machine: Machine, speed: MadeSpeed) -> int:
    """Return in which range a speed lies: the position, or setting, of what makes the largest steps."""
    links: list[tuple[float, int]] = []
    for switch, setting in zip(machine.scenario.switches, speed.settings, strict=True):
        links.append((min(b / a for a, b in pairwise(switch.values)), setting))
    for pair, position in zip(machine.pairs, speed.positions, strict=True):
        links.append((min((b / a for a, b in pairwise(pair.ratios)), default=1.0), position))
    return max(links, key=lambda link: link[0])[1]


def _ends(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the checks of how far the outer speeds lie from where the bands begin and end."""
    bands, series = machine.scenario.bands, machine.scenario.series
    if not bands:
        yield Skipped(name="end miss", where="spindle", why="no band is stated")
        return
    lo, hi = min(b.from_rpm for b in bands), max(b.to_rpm for b in bands)
    slowest, fastest = machine.speeds[0][0], machine.speeds[-1][0]
    if len(machine.speeds) == 1:
        miss, note = abs(log(slowest) - log(lo * hi) / 2), f"{slowest:.1f} rpm against the middle of the bands"
    else:
        miss = max(abs(log(slowest / lo)), abs(log(fastest / hi)))
        note = f"{slowest:.1f} to {fastest:.1f} rpm against {lo:g} to {hi:g} rpm"
    yield at_most(Rule("end miss", "limit", 100 * series.end_miss, "%", PRACTICE), "spindle", 100 * miss, note)
    yield at_most(Rule("usual end miss", "advice", ADVISED_ENDS, "%", PRACTICE), "spindle", 100 * miss, note)


def _evenness(machine: Machine, fit: Evenness) -> Iterator[Check | Skipped]:
    """Yield the checks of unevenness; without bands it is only advised, as nothing is asked of the speeds."""
    series = machine.scenario.series
    note = f"nearest even series: {exp(fit.start):.1f} rpm, ratio {exp(fit.log_ratio):.4f}"
    value = 100 * fit.delta
    if machine.plate is not None:
        note = f"of the {len(machine.shown)} speeds on the plate; {note}"
        yield Skipped(name="unevenness", where="spindle", why="the speeds are free; those on the plate are judged")
    elif machine.scenario.bands:
        rule = Rule("unevenness", "limit", 100 * series.unevenness, "%", PRACTICE)
        yield at_most(rule, "spindle", value, note)
    else:
        yield Skipped(name="unevenness", where="spindle", why="no band is stated, so nothing is asked of it")
    advised = 100 * ADVISED_SHARE * (exp(fit.log_ratio) - 1)
    if len(machine.shown) > 1:
        yield at_most(Rule("usual unevenness", "advice", advised, "%", ADVICE), "spindle", value, note)


def _moves(machine: Machine) -> Iterator[Check]:
    """Yield the advice on how many belts are moved from one speed to the next."""
    if len(machine.pairs) < 2 or len(machine.shown) < 2:
        return
    moved = sum(
        sum(a != b for a, b in zip(lower.positions, upper.positions, strict=True))
        for lower, upper in pairwise(machine.shown)
    )
    changes = len(machine.shown) - 1
    rule = Rule("belts moved per change", "advice", ADVISED_MOVES, "belts", PRACTICE)
    yield at_most(rule, "spindle", moved / changes, f"{moved} moves in {changes} changes of speed")


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
