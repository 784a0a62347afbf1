"""Checks of the spindle speeds: each one, the bands, the ends, how even they are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from math import exp, isinf, log

from optimizer.checks.bands import band_edges, counts_between
from optimizer.checks.stated import Machine, MadeSpeed, both_speeds
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.scenario import Band
from optimizer.series import Evenness, unevenness

__all__ = ["bands_at", "spindle_checks"]

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
