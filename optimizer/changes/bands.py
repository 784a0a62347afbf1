"""The limits of the bands: their wants, their edges."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from optimizer.changes.limit import Limit
from optimizer.changes.line import Line, speed_tick_rpm
from optimizer.changes.needs import spindle_rpm
from optimizer.changes.ticks import FARTHEST_EDGE
from optimizer.records.bands import counts
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Value
from optimizer.scenario import Scenario
from optimizer.scenario.band import MOST_SPEEDS

__all__ = ["edges", "wants"]

EDGE_UNIT = 0.05
"""Share of an edge's speed by which it is moved together with another limit."""
EDGES = ("from", "to")


def wants(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the number of speeds wanted in every band."""
    for number, band in enumerate(scenario.bands):
        line = Line(float(band.want), 1.0, -1 if out else 1, loosens=out)
        keys = partial(_want, key=f"band[{number}].want")
        ticks = line.ticks_to(1.0 if out else float(MOST_SPEEDS))
        yield Limit("want", "", line, ticks, keys, partial(_have, number=number), unit_ticks=1)


def edges(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the edges of the bands.

    An inner edge is let out away from the middle of its band, as far as the outermost edge; what has a design keeps
    one. An outermost edge is also where the series is wanted to begin or end, so that moving it either way may give
    a design or lose it: it is moved both ways, as long as it stays the outermost, and not tightened. No edge passes
    the speed that is marked on the band's wheel or tool, without load either.
    """
    lo, hi = min(b.from_rpm for b in scenario.bands), max(b.to_rpm for b in scenario.bands)
    for number, band in enumerate(scenario.bands):
        for end, now, outermost in ((0, band.from_rpm, lo), (1, band.to_rpm, hi)):
            if now != outermost:
                yield _inner(scenario, number, end, outermost, out=out)
            elif out:
                yield from _outermost(scenario, number, end)


def _inner(scenario: Scenario, number: int, end: int, outermost_rpm: float, *, out: bool) -> Limit:
    band = scenario.bands[number]
    now, other = (band.from_rpm, band.to_rpm) if end == 0 else (band.to_rpm, band.from_rpm)
    tick = speed_tick_rpm(now)
    away = -1 if end == 0 else 1
    line = Line(now, tick, away if out else -away, loosens=out)
    last = outermost_rpm if end == 0 else min(outermost_rpm, scenario.marked_rpm(band))
    ticks = line.ticks_to(last) if out else max(0, line.ticks_to(other) - 1)
    needs = partial(_edge_needed, number=number, end=end)
    unit = max(1.0, EDGE_UNIT * now / tick)
    return Limit("band edge", "rpm", line, ticks, _edge_keys(number, end), needs, unit_ticks=unit)


def _outermost(scenario: Scenario, number: int, end: int) -> Iterator[Limit]:
    """Yield an outermost edge moved inward, then outward; inward only where it stays the outermost."""
    band = scenario.bands[number]
    others = [b for k, b in enumerate(scenario.bands) if k != number]
    now = band.from_rpm if end == 0 else band.to_rpm
    tick = speed_tick_rpm(now)
    away = -1 if end == 0 else 1
    if end == 0:
        stop = min((band.to_rpm, now * FARTHEST_EDGE, *(b.from_rpm for b in others)))
    else:
        stop = max((band.from_rpm, now / FARTHEST_EDGE, *(b.to_rpm for b in others)))
    inward = Line(now, tick, -away)
    unit = max(1.0, EDGE_UNIT * now / tick)
    keys = _edge_keys(number, end)
    yield Limit(
        "band edge",
        "rpm",
        inward,
        max(0, inward.ticks_to(stop) - 1),
        keys,
        lambda _, value: value,
        unit_ticks=unit,
        nested=False,
    )
    outward = Line(now, tick, away)
    last = now / FARTHEST_EDGE if end == 0 else min(now * FARTHEST_EDGE, scenario.marked_rpm(band))
    ticks = outward.ticks_to(last)
    yield Limit("band edge", "rpm", outward, ticks, keys, lambda _, value: value, unit_ticks=unit, nested=False)


def _edge_keys(number: int, end: int) -> partial[Mapping[str, Value]]:
    return partial(_edge, key=f"band[{number}].{EDGES[end]}")


def _edge(speed_rpm: float, *, key: str) -> Mapping[str, Value]:
    return {key: speed_rpm}


def _want(want: float, *, key: str) -> Mapping[str, Value]:
    return {key: round(want)}


def _have(candidate: Candidate, _: float, *, number: int) -> float:
    target = candidate.problem.targets.bands[number]
    return float(sum(counts(target, rpm) for rpm in spindle_rpm(candidate)))


def _edge_needed(candidate: Candidate, value: float, *, number: int, end: int) -> float:
    """Return the speed that the edge of a band must reach for the band to hold what it wants."""
    target = candidate.problem.targets.bands[number]
    inside = [rpm for rpm in spindle_rpm(candidate) if counts(target, rpm)]
    if len(inside) < target.want:
        return value
    return inside[-target.want] if end == 0 else inside[target.want - 1]
