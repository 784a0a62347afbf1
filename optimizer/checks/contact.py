"""Checks of how belt, pulleys, shafts lie to each other at a stage's centre distances."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.belt import wraps_deg
from optimizer.checks.stated import Pair
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most

__all__ = ["contact_checks"]

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
