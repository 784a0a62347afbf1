"""How belts lie: contact, crossed strands, flexing."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

from optimizer.checks.stated import Pair, wraps_deg
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.mechanics.tension import bends_per_second

__all__ = ["CROSSED_CAUTION", "MOST_BENDS", "contact_checks", "crossed_checks", "flexing_checks", "flexing_per_s"]

WRAP_LIMIT_DEG = 90.0
WRAP_ADVICE_DEG = 120.0


def contact_checks(pair: Pair) -> Iterator[Check | Skipped]:
    """Yield the checks of wrap, rims, shafts, and of the usual proportions of centre distance to diameters."""
    if not pair.fits:
        yield Skipped(name="wrap, clearance", where=pair.key, why="the belt does not go round at every position")
        return
    for position in pair.positions:
        yield from _wrap(pair, position)
        yield from _rims(pair, position)
    yield _shaft(pair)
    yield from _proportions(pair)


def _wrap(pair: Pair, position: int) -> Iterator[Check]:
    wraps = wraps_deg(
        pair.driver.pitch_mm[position],
        pair.driven.pitch_mm[position],
        pair.centres_mm[position],
        pair.crossed,
    )
    where, least = pair.place(position), min(wraps)
    note = f"driver {wraps[0]:.1f}°, driven {wraps[1]:.1f}°"
    limit = pair.stage.wrap_deg
    source = "GOST 1284.3-96, read" if limit == WRAP_LIMIT_DEG else "stated by the maker"
    yield at_least(Rule("wrap", "limit", limit, "°", source), where, least, note)
    yield at_least(Rule("usual wrap", "advice", WRAP_ADVICE_DEG, "°", "common practice, no source"), where, least, note)


def _rims(pair: Pair, position: int) -> Iterator[Check]:
    gap = pair.centres_mm[position] - (pair.driver.outside_mm[position] + pair.driven.outside_mm[position]) / 2
    where = pair.place(position)
    yield at_least(Rule("rims touch", "impossible", 0.0, "mm", "geometry"), where, gap)
    rule = Rule("clearance of the rims", "limit", pair.stage.clearance_mm, "mm", "common practice, no source")
    yield at_least(rule, where, gap)


def _shaft(pair: Pair) -> Check | Skipped:
    """Return the check that no rim comes near the shaft or hub it faces."""
    name = "clearance of rim to shaft"
    sides = ((pair.driver, pair.driven.shaft), (pair.driven, pair.driver.shaft))
    known = [(cone, size) for cone, shaft in sides if (size := shaft.hub_mm) is not None]
    if not known:
        return Skipped(name=name, where=pair.key, why="no diameter of either shaft is stated")
    gap = min(pair.centres_mm) - max((max(cone.outside_mm) + size) / 2 for cone, size in known)
    rule = Rule(name, "limit", pair.stage.clearance_mm, "mm", "common practice, no source")
    return at_least(rule, pair.key, gap, "largest rim, smallest running centre distance")


def _proportions(pair: Pair) -> Iterator[Check]:
    """Yield the advice on centre distances, worst position of each."""
    source = "GOST 1284.3-96, eq. 7, read: 0.7 to 2 times the sum of the diameters"
    shares = [
        centre / (driver + driven)
        for centre, driver, driven in zip(pair.centres_mm, pair.driver.pitch_mm, pair.driven.pitch_mm, strict=True)
    ]
    yield at_least(Rule("short centre distance", "advice", 0.7, "times", source), pair.key, min(shares))
    yield at_most(Rule("long centre distance", "advice", 2.0, "times", source), pair.key, max(shares))


WIDTHS = 20.0
"""Least centre distance of a crossed flat belt, in widths of the belt; common practice, no source."""
CROSSED_CAUTION = (
    "A crossed belt rubs on itself where its strands meet, and wears there: look at both faces often, keep fingers and "
    "sleeves from the crossing, guard it too. Its driven shaft turns against its driver."
)
"""Stands beside every crossed belt."""


def crossed_checks(pair: Pair) -> Iterator[Check | Skipped]:
    """Yield the check that a crossed flat belt has length enough to turn over between its pulleys."""
    if not pair.crossed:
        return
    name = "centres of a crossed belt"
    if not pair.fits:
        yield Skipped(name=name, where=pair.key, why="the belt does not go round at every position")
    elif pair.section.kind == "flat":
        rule = Rule(name, "advice", WIDTHS * pair.section.top_mm, "mm", "common practice, no source: 20 belt widths")
        least = min(pair.centres_mm)
        note = "nearer, the twisted strands run off and rub hard where they cross"
        yield at_least(rule, pair.place(pair.centres_mm.index(least)), least, note)


MOST_BENDS = 40.0
"""Bends a second of a V-belt that its usual life allows; common practice, no source."""


def flexing_per_s(pair: Pair) -> tuple[float, ...]:
    """Return for every position how often the belt is bent [1/s] while its driver's shaft runs its fastest, ``2·v/L``.

    A step-up drive has it highest: large pulleys on fast shafts, a short belt.
    """
    speeds_m_s = (pi * size * pair.entering_rpm / 60_000 for size in pair.driver.pitch_mm)
    return tuple(float(bends_per_second(speed, pair.length_mm)) for speed in speeds_m_s)


def flexing_checks(pair: Pair) -> Iterator[Check | Skipped]:
    """Yield the check of the position at which a stage's belt is bent most often, all others in its note."""
    rates = flexing_per_s(pair)
    most = max(rates)
    name, where = "bends of the belt", pair.place(rates.index(most))
    if pair.section.kind != "v":
        why = f"no usual rate is known for a {pair.section.kind} belt; this one is bent up to {most:.1f} times a second"
        yield Skipped(name=name, where=pair.key, why=why)
        return
    note = f"driver at {pair.entering_rpm:.0f} rpm; by position {', '.join(f'{rate:.1f}' for rate in rates)}"
    yield at_most(Rule(name, "advice", MOST_BENDS, "1/s", "common practice, no source"), where, most, note)
