"""Checks of a stage's belt: where it is taut, what the travel of the mount is used for."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan
from typing import NamedTuple

from optimizer.catalogue.entry import CatalogueError, Section
from optimizer.catalogue.lengths import datum_length_mm, stock_lengths
from optimizer.checks.stated import Pair, length_at_mm
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.scenario import Belt

__all__ = ["Centres", "Line", "budget", "centres_of", "off_sold_mm", "travel_checks"]

G3 = "GOST 1284.3-96, 3.3.8, read"
STATED = "stated by the maker"
GEOMETRY = "geometry"


class Line(NamedTuple):
    """One thing that travel is used for."""

    name: str
    amount_mm: float
    source: str


class Centres(NamedTuple):
    """Where the mount stands over the life of the belt [mm]."""

    belt_on: float
    running: tuple[float, float]
    worn_out: float


def budget(pair: Pair) -> tuple[Line, ...]:
    """Return what travel is used for besides the spread of the positions; nothing for a locked pair.

    The belt's length tolerance each way moves the centre distance by half as much, so that both ways
    together take the tolerance itself.
    """
    if pair.stage.travel_mm == 0:
        return ()
    length = pair.built.datum_length_mm
    stated = pair.stage.budget
    tolerance, said = _tolerance(pair)
    lines = (
        (Line("belt length tolerance", tolerance, said), stated.tolerance_mm),
        (Line("stretch over life", 0.025 * length, f"{G3}: 0.025 of the length"), stated.stretch_mm),
        (
            Line(
                "fitting the belt, climbing a step",
                0.009 * length + pair.section.height_mm,
                f"{G3}: 0.009 of the length; the belt's height for the climb, judgement",
            ),
            stated.climb_mm,
        ),
    )
    return tuple(line if own is None else Line(line.name, own, STATED) for line, own in lines)


def centres_of(pair: Pair) -> Centres:
    """Return the belt-on, running and worn-out centre distances.

    A belt of the shortest length still has to go on at the smallest running centre distance less its
    tolerance, a longest one still has to be tightened after it has stretched.
    """
    running = min(pair.centres_mm), max(pair.centres_mm)
    amounts = [line.amount_mm for line in budget(pair)] or [0.0, 0.0, 0.0]
    tolerance, stretch, climb = amounts
    return Centres(running[0] - tolerance / 2 - climb, running, running[1] + tolerance / 2 + stretch)


def travel_checks(pair: Pair) -> Iterator[Check | Skipped]:
    """Yield the checks of belt length, own centre distances, travel budget, belt-on to worn-out centres."""
    yield _can_be_had(pair)
    for position, own in enumerate(pair.centres_mm):
        yield _goes_round(pair, position)
        if not isnan(own):
            yield from _own_centre(pair, position)
    if not pair.fits:
        yield Skipped(name="travel", where=pair.key, why="the belt does not go round at every position")
        return
    yield from _common_belt(pair)
    yield from _spending(pair)
    if pair.stage.travel_mm:
        yield from _life(pair)
    else:
        said = pair.stage.slackened or "its belt is made up in place"
        yield Skipped(name="belt-on, worn-out centre distance", where=pair.key, why=f"locked pair: {said}")


def fit_mm(pair: Pair) -> float:
    """Return what the belt forgives in centre distance [mm]."""
    return float(min(pair.stage.fit_mm, 0.001 * pair.built.datum_length_mm))


def _goes_round(pair: Pair, position: int) -> Check:
    """Return the check that the belt is long enough for the two pulleys at any centre distance."""
    driver, driven = pair.driver.pitch_mm[position], pair.driven.pitch_mm[position]
    nearest = (driver + driven) / 2 if pair.crossed else abs(driver - driven) / 2
    least = length_at_mm(driver, driven, nearest, pair.crossed)
    return at_least(Rule("belt goes round", "impossible", least, "mm", GEOMETRY), pair.place(position), pair.length_mm)


def _own_centre(pair: Pair, position: int) -> Iterator[Check]:
    """Yield the checks that a position's own centre distance is one the maker allows."""
    low, high = pair.stage.centres_mm
    own, where = pair.centres_mm[position], pair.place(position)
    note = ""
    if low == high:
        half = fit_mm(pair) / 2
        low, high, note = low - half, high + half, f"half of what the belt forgives about {low:.6g} mm"
    yield at_least(Rule("own centre distance, least", "limit", low, "mm", STATED), where, own, note)
    yield at_most(Rule("own centre distance, greatest", "limit", high, "mm", STATED), where, own, note)


def _spending(pair: Pair) -> Iterator[Check]:
    """Yield one check for every line of the budget, each against what the lines before it have left."""
    left = pair.stage.travel_mm
    for line in budget(pair):
        rule = Rule(f"travel for {line.name}", "limit", left, "mm", line.source)
        yield at_most(rule, pair.key, line.amount_mm, "limit: travel left by the lines before it")
        left -= line.amount_mm
    spread = max(pair.centres_mm) - min(pair.centres_mm)
    forgiven = fit_mm(pair)
    named = "travel left" if pair.stage.travel_mm else "no travel"
    yield at_most(
        Rule("spread of the positions' centre distances", "limit", left + forgiven, "mm", "exact belt length"),
        pair.key,
        spread,
        f"limit: {named} and {forgiven:.3g} mm that the belt forgives",
    )


def _common_belt(pair: Pair) -> Iterator[Check]:
    """Yield for every position how much its belt differs from the stage's at the middle centre distance."""
    middle = (min(pair.centres_mm) + max(pair.centres_mm)) / 2
    allowed = max(pair.stage.travel_mm - sum(line.amount_mm for line in budget(pair)), 0.0) + fit_mm(pair)
    rule = Rule("belt length", "limit", allowed, "mm", "exact belt length")
    for position in pair.positions:
        needed = length_at_mm(pair.driver.pitch_mm[position], pair.driven.pitch_mm[position], middle, pair.crossed)
        note = f"needs {needed:.3f} mm at {middle:.3f} mm, the belt has {pair.length_mm:.3f} mm on its pitch line"
        yield at_most(rule, pair.place(position), abs(needed - pair.length_mm), note)


def _life(pair: Pair) -> Iterator[Check]:
    """Yield the checks of the mount's places from belt-on to worn out."""
    belt_on, running, worn_out = centres_of(pair)
    rims = max((a + b) / 2 for a, b in zip(pair.driver.outside_mm, pair.driven.outside_mm, strict=True))
    yield at_least(
        Rule("belt-on centre distance", "impossible", rims, "mm", GEOMETRY),
        pair.key,
        belt_on,
        "limit: where facing rims would touch",
    )
    far_end = belt_on + pair.stage.travel_mm + fit_mm(pair)
    yield at_most(
        Rule("running centre distance", "limit", far_end, "mm", "travel of the mount"),
        pair.key,
        running[1],
        f"from {running[0]:.3f} to {running[1]:.3f} mm with a new belt; limit: belt-on and travel",
    )
    yield at_most(
        Rule("worn-out centre distance", "limit", far_end, "mm", "travel of the mount"),
        pair.key,
        worn_out,
        "limit: belt-on and travel",
    )


def _tolerance(pair: Pair) -> tuple[float, str]:
    """Return how far a belt's length may differ either way [mm], with the source."""
    belt = pair.stage.belt
    if belt.lengths == "any":
        return 0.0, "made to length"
    if isinstance(belt.lengths, str):
        for stock in _stock(belt, pair.section):
            if abs(stock[1] - pair.built.datum_length_mm) < 1e-6:
                return stock[2], stock[3]
    return 0.005 * pair.built.datum_length_mm, "half of one in a hundred of the length, common practice, no source"


def _stock(belt: Belt, section: Section) -> list[tuple[str, float, float, str]]:
    """Return marking, datum length, tolerance and source of the belts in stock."""
    try:
        if belt.lengths == "metric stock":
            belts = stock_lengths(section, "metric")
        elif belt.lengths == "inch stock":
            belts = stock_lengths(section, "inch")
        else:
            belts = stock_lengths(section)
    except CatalogueError:
        return []
    return [(b.marking, b.datum_length_mm, b.tolerance_mm, b.tolerance_source) for b in belts]


def _can_be_had(pair: Pair) -> Check:
    """Return the check that the belt is one of those the maker may take."""
    off, source = off_sold_mm(pair)
    in_hand = min((abs(pair.built.datum_length_mm - own) for own in pair.stage.belt.hand_mm), default=off + 1.0)
    if in_hand < off:
        off, source = in_hand, "belts in hand"
    return at_most(Rule("belt can be had", "limit", 0.0, "mm", source), pair.key, off, pair.built.marking)


def off_sold_mm(pair: Pair) -> tuple[float, str]:
    """Return how far the belt is from the nearest one that can be bought [mm], with where that is said."""
    belt, length = pair.stage.belt, pair.built.datum_length_mm
    if belt.lengths == "any":
        least = datum_length_mm(pair.section, belt.shortest_mm, belt.measured)
        most = datum_length_mm(pair.section, belt.longest_mm, belt.measured)
        return max(least - length, length - most, 0.0), "any length"
    return _nearest(pair)


def _nearest(pair: Pair) -> tuple[float, str]:
    """Return how far the belt is from the nearest one allowed [mm], with where those are listed."""
    belt = pair.stage.belt
    if isinstance(belt.lengths, str):
        lengths, source = [row[1] for row in _stock(belt, pair.section)], "stock lengths of the section"
    else:
        lengths = [datum_length_mm(pair.section, value, belt.measured) for value in belt.lengths]
        source = "the maker's list"
    return min((abs(length - pair.built.datum_length_mm) for length in lengths), default=1e9), source
