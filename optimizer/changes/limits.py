"""All limits of a scenario, in the order in which they are told: how finely and how far each is moved, by what keys."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from itertools import chain
from math import floor, inf, isfinite, log10
from typing import Concatenate, NamedTuple, ParamSpec

from optimizer.catalogue.entry import Section
from optimizer.catalogue.lengths import datum_length_mm, stock_lengths
from optimizer.catalogue.lines import shifts
from optimizer.changes import needs
from optimizer.changes.limit import DECIMALS, EPSILON, Keys, Needs, StatedLimit, TickLine, as_given
from optimizer.layouts.budget import SERIES, Reach, stated_belts
from optimizer.records.candidate import Candidate
from optimizer.records.changes import LimitKind, Value
from optimizer.scenario import Belt, BeltStage, Scenario, Side
from optimizer.scenario.band import MOST_SPEEDS
from optimizer.scenario.values import LONGEST_MM

__all__ = ["let_out", "other_lengths_mm", "purchases", "speed_tick_rpm", "tightened"]

SIXTEENTH_MM = 25.4 / 16
SIZE_TICK_MM, DISTANCE_TICK_MM = 0.5, 1.0
"""Ticks of diameters, and of distances between and along shafts; in inches both are a sixteenth."""
SPEED_TICK_M_S, ANGLE_TICK_DEG, GRIP_TICK = 0.5, 1.0, 0.05
SHARE_TICK = 0.001
"""Tick of end miss and unevenness."""
BLANK_UNIT_MM, TRAVEL_UNIT_MM, CENTRE_UNIT_MM, EDGE_UNIT = 5.0, 5.0, 10.0, 0.05
"""Units by which limits are let out together with another; that of a band's edge is a share of its speed."""
HALF = 0.5
"""A smallest pulley is let out to this part of what its section bends around."""
FARTHEST = 2.0
"""Limits are tightened to this part of what they are, or to this multiple."""
FARTHEST_EDGE = 2.0
"""Outermost edges of bands are moved to this multiple of what they are, and to as small a part."""
FARTHEST_SHARE = 0.5
"""End miss and unevenness up to which their limits are let out."""
FASTEST_RIM_M_S, FASTEST_BELT_M_S, MOST_GRIP = 200.0, 100.0, 10.0
"""No more can be stated."""
LEAST_MM, NEAREST_MM = 5.0, 10.0
"""No diameter and no centre distance below these can be stated."""
BUDGET_SHARE, BUDGET_MM = 0.2, 20.0
"""All of the travel budget but the positions' spread takes less than this share of a centre distance, and this much."""
SAME_MM = 0.05
"""Belts no further apart count as one."""
UNITS: dict[LimitKind, str] = {
    "blank": "mm", "smallest pulley": "mm", "centre distance": "mm", "travel": "mm", "room": "mm", "band edge": "rpm",
    "want": "", "wrap": "°", "rim speed": "m/s", "belt speed": "m/s", "grip": "", "end miss": "of 1",
    "unevenness": "of 1",
}  # fmt: skip
"""Units of the values that limits take."""
BLANK = "making.largest_blank"
EDGES = ("from", "to")
P = ParamSpec("P")


def let_out(scenario: Scenario) -> tuple[StatedLimit, ...]:
    """Return every limit that can be let out by a tick at least."""
    return _movable(
        _blank(scenario, out=True),
        _stocks(scenario),
        _travels(scenario, out=True),
        _centres(scenario, out=True),
        _rooms(scenario, out=True),
        [_switch("motor stand", "motor.plate", False)] if scenario.motor.plate else [],
        _wants(scenario, out=True),
        _edges(scenario, out=True),
        _smallest_pulleys(scenario, out=True),
        _wraps(scenario, out=True),
        _rim_speed(scenario, out=True),
        (_switch("rim speed", f"{key}.material", "metal") for key in sorted(_timber_sides(scenario))),
        _belt_speeds(scenario, out=True),
        _grips(scenario),
        _series_limits(scenario, out=True),
    )


def tightened(scenario: Scenario) -> tuple[StatedLimit, ...]:
    """Return every limit that can be tightened by a tick at least."""
    parts = (
        _blank, _travels, _centres, _rooms, _wants, _smallest_pulleys, _wraps, _rim_speed, _belt_speeds,
        _series_limits, _edges,
    )  # fmt: skip
    return _movable(*(part(scenario, out=False) for part in parts))


def purchases(scenario: Scenario) -> tuple[StatedLimit, ...]:
    """Return the limits of which a little more can be bought: blank, travel, room."""
    return _movable(*(part(scenario, out=True) for part in (_blank, _travels, _rooms)))


def _movable(*found: Iterable[StatedLimit]) -> tuple[StatedLimit, ...]:
    return tuple(limit for limit in chain(*found) if limit.ticks > 0)


class _Way(NamedTuple):
    """Where a limit stands, and how far it is moved."""

    now: float
    tick: float
    loosest: float
    """The last value that it is let out to."""
    tightest: float
    sign: int = 1
    """1 where it allows more by growing, -1 where by falling."""


def _limit(
    kind: LimitKind, way: _Way, keys: Keys | str, uses: Needs, *, out: bool, unit_ticks: float = 0.0
) -> StatedLimit:
    """Return a limit that is moved along one way; `keys` may be the one key that takes the value itself."""
    line = TickLine(way.now, way.tick, way.sign if out else -way.sign, loosens=out)
    ticks = line.ticks_to(way.loosest if out else way.tightest)
    set_by = _only(keys) if isinstance(keys, str) else keys
    return StatedLimit(kind, UNITS[kind], line, ticks, set_by, uses, unit_ticks=unit_ticks)


def _switch(kind: LimitKind, key: str, value: Value) -> StatedLimit:
    """Return a limit that is let out by stating another word, or that something is not so."""
    return StatedLimit(kind, "", TickLine(0.0, 1.0, 1), 1, lambda _: {key: value}, as_given, numbered=False)


def _only(key: str) -> Keys:
    return lambda value: {key: value}


def _of(uses: Callable[Concatenate[Candidate, P], float], *args: P.args, **named: P.kwargs) -> Needs:
    """Return what a design needs by a function of it that does not ask what it was given."""
    return lambda candidate, _: uses(candidate, *args, **named)


def _size_tick_mm(scenario: Scenario) -> float:
    return SIXTEENTH_MM if scenario.units == "in" else SIZE_TICK_MM


def _distance_tick_mm(scenario: Scenario) -> float:
    return SIXTEENTH_MM if scenario.units == "in" else DISTANCE_TICK_MM


def speed_tick_rpm(speed_rpm: float) -> float:
    """Return the largest of 1, 2, 5 times a power of ten that is at most a hundredth of a speed [rpm].

    Examples
    --------
    >>> speed_tick_rpm(200), speed_tick_rpm(450), speed_tick_rpm(1600), speed_tick_rpm(60)
    (2.0, 2.0, 10.0, 0.5)
    """
    power = 10.0 ** floor(log10(speed_rpm / 100) + EPSILON)
    return round(next(k for k in (5, 2, 1) if k * power <= speed_rpm / 100 * (1 + EPSILON)) * power, DECIMALS)


# The bands.


def _wants(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the number of speeds wanted in every band."""
    for number, band in enumerate(scenario.bands):
        way = _Way(float(band.want), 1.0, 1.0, float(MOST_SPEEDS), -1)
        keys = partial(_whole, key=f"band[{number}].want")
        yield _limit("want", way, keys, _of(needs.speeds_in_band, number), out=out, unit_ticks=1)


def _whole(value: float, *, key: str) -> Mapping[str, Value]:
    return {key: round(value)}


def _edges(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
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
                yield _inner_edge(scenario, number, end, outermost, out=out)
            elif out:
                yield from _outermost_edge(scenario, number, end)


def _inner_edge(scenario: Scenario, number: int, end: int, outermost_rpm: float, *, out: bool) -> StatedLimit:
    band = scenario.bands[number]
    now, other = (band.from_rpm, band.to_rpm) if end == 0 else (band.to_rpm, band.from_rpm)
    tick, away = speed_tick_rpm(now), -1 if end == 0 else 1
    line = TickLine(now, tick, away if out else -away, loosens=out)
    last = outermost_rpm if end == 0 else min(outermost_rpm, scenario.marked_rpm(band))
    ticks = line.ticks_to(last) if out else max(0, line.ticks_to(other) - 1)
    uses = partial(needs.edge_rpm, number=number, end=end)
    keys, unit = _only(f"band[{number}].{EDGES[end]}"), max(1.0, EDGE_UNIT * now / tick)
    return StatedLimit("band edge", "rpm", line, ticks, keys, uses, unit_ticks=unit)


def _outermost_edge(scenario: Scenario, number: int, end: int) -> Iterator[StatedLimit]:
    """Yield an outermost edge moved inward, then outward; inward only where it stays the outermost."""
    band = scenario.bands[number]
    others = [b for k, b in enumerate(scenario.bands) if k != number]
    if end == 0:
        now, away, last = band.from_rpm, -1, band.from_rpm / FARTHEST_EDGE
        stop = min((band.to_rpm, now * FARTHEST_EDGE, *(b.from_rpm for b in others)))
    else:
        now, away = band.to_rpm, 1
        last = min(now * FARTHEST_EDGE, scenario.marked_rpm(band))
        stop = max((band.from_rpm, now / FARTHEST_EDGE, *(b.to_rpm for b in others)))
    tick = speed_tick_rpm(now)
    inward, outward = TickLine(now, tick, -away), TickLine(now, tick, away)
    keys, unit = _only(f"band[{number}].{EDGES[end]}"), max(1.0, EDGE_UNIT * now / tick)
    for line, ticks in ((inward, max(0, inward.ticks_to(stop) - 1)), (outward, outward.ticks_to(last))):
        yield StatedLimit("band edge", "rpm", line, ticks, keys, as_given, unit_ticks=unit, nested=False)


# The whole machine.


def _rim_speed(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the limit of timber rims, where there are any."""
    timber, now = _timber_sides(scenario), scenario.making.rim_speed_m_s
    if timber:
        way = _Way(now, SPEED_TICK_M_S, FASTEST_RIM_M_S, now / FARTHEST)
        yield _limit("rim speed", way, "making.rim_speed", _of(needs.rim_speed_m_s, timber), out=out)


def _timber_sides(scenario: Scenario) -> frozenset[str]:
    return frozenset(
        stated.key
        for stated in _stated_sides(scenario)
        if stated.side.material == "timber" and (stated.side.turned or stated.side.kept_mm)
    )


def _rooms(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the limit of room along every shaft for which one is stated."""
    for number, shaft in enumerate(scenario.shafts):
        if not isfinite(shaft.room_mm):
            continue
        cones = [
            f"{key}.{side}"
            for key, stage in _belt_stages(scenario)
            for side, name in (("driver", stage.from_shaft), ("driven", stage.to_shaft))
            if name == shaft.name
        ]
        tightest = max(shaft.room_mm / FARTHEST, shaft.beside_mm)
        way = _Way(shaft.room_mm, _distance_tick_mm(scenario), LONGEST_MM, tightest)
        yield _limit("room", way, f"shaft[{number}].room", _of(needs.room_mm, cones, shaft.beside_mm), out=out)


def _series_limits(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the limits of end miss and unevenness."""
    series = scenario.series
    ends, even = (_Way(s, SHARE_TICK, FARTHEST_SHARE, SHARE_TICK) for s in (series.end_miss, series.unevenness))
    yield _limit("end miss", ends, "series.end_miss", _of(needs.end_miss), out=out)
    yield _limit("unevenness", even, "series.unevenness", _of(needs.unevenness), out=out)


def _grips(scenario: Scenario) -> Iterator[StatedLimit]:
    """Yield the limit of grip, and of each band whose power every belt must carry that it be advice only."""

    def keys(grip: float) -> Mapping[str, Value]:
        return {"series.least_grip": max(0.0, grip)}

    way = _Way(scenario.series.least_grip, GRIP_TICK, 0.0, MOST_GRIP, -1)
    yield _limit("grip", way, keys, lambda candidate, _: min(needs.grip(candidate), MOST_GRIP), out=True)
    for number, band in enumerate(scenario.bands):
        if band.carry == "limit":
            yield _switch("grip", f"band[{number}].carry", "advice")


# Diameters.


class StatedSide(NamedTuple):
    """One side of a belt stage with its place."""

    key: str
    side: Side
    section: Section

    @property
    def over_mm(self) -> float:
        """Outside diameter less the diameter the maker gives."""
        lines = shifts(self.section, self.side.groove)
        return lines.outside_less_datum - lines.of(self.side.measured)

    def swing_mm(self, truing_mm: float) -> float:
        """Return the largest disc that the side may be turned from by what is said of it alone."""
        free = self.side.free_mm[1] + self.over_mm + truing_mm if self.side.free_mm else 0.0
        return max((free, *self.side.discs_mm))


def _stated_sides(scenario: Scenario) -> Iterator[StatedSide]:
    """Yield the sides of all belt stages in the order of the file, a cone that two belts share once."""
    for key, stage in _belt_stages(scenario):
        for name, side in (("driver", stage.driver), ("driven", stage.driven)):
            if not side.shared:
                yield StatedSide(f"{key}.{name}", side, stage.belt.data)


def _blank(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the limit of the discs that are turned, where anything is.

    Let out, it takes along whatever else stands for the same swing: ends of free ranges, largest discs. Tightened,
    the largest blank alone caps all of them.
    """
    making, tick = scenario.making, _size_tick_mm(scenario)
    turned = [stated for stated in _stated_sides(scenario) if stated.side.turned]
    if not turned:
        return
    swings = [min(stated.swing_mm(making.truing_mm), making.largest_blank_mm) for stated in turned]
    now = min(swings) if out else max(swings)
    # facing rims do not meet within the greatest centre distance: no stage has room for a larger disc
    loosest = min(LONGEST_MM, 2 * max(stage.centres_mm[1] for _, stage in _belt_stages(scenario)))

    def keys(disc_mm: float) -> Mapping[str, Value]:
        return _grown(scenario, turned, disc_mm) if out else {BLANK: disc_mm}

    def uses(candidate: Candidate, _: float) -> float:
        discs = [needs.disc_mm(candidate, stated.key) for stated in turned]
        beyond = [disc for disc, swing in zip(discs, swings, strict=True) if disc > swing + 1e-6]
        return max(beyond, default=now) if out else max(discs)

    way = _Way(now, tick, loosest, now / FARTHEST)
    limit = _limit("blank", way, keys, uses, out=out, unit_ticks=round(BLANK_UNIT_MM / tick))
    yield replace(limit, unstated={BLANK: max(swings)})


def _grown(scenario: Scenario, turned: list[StatedSide], disc_mm: float) -> Mapping[str, Value]:
    """Return the keys that let every turned side have a disc, as far as they do not yet."""
    making = scenario.making
    grown: dict[str, Value] = {}
    if making.largest_blank_mm < disc_mm:
        grown[BLANK] = disc_mm
    for stated in turned:
        if stated.swing_mm(making.truing_mm) >= disc_mm - 1e-9:
            continue
        if stated.side.free_mm:
            grown[f"{stated.key}.free[1]"] = round(disc_mm - making.truing_mm - stated.over_mm, 6)
        else:
            grown[f"{stated.key}.blanks"] = (*stated.side.blanks_mm, disc_mm)
    return grown


def _smallest_pulleys(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the limit of the smallest diameter of every side, on the maker's line."""
    for stated in _stated_sides(scenario):
        yield _smallest(stated, _size_tick_mm(scenario), out=out)


def _smallest(stated: StatedSide, tick: float, *, out: bool) -> StatedLimit:
    side, key = stated.side, stated.key
    usual = stated.section.smallest_datum_mm + shifts(stated.section, side.groove).of(side.measured)
    given = usual if side.smallest_mm is None else side.smallest_mm
    start = side.free_mm[0] if side.free_mm and not side.discs_mm else -inf
    now = max(given, start)

    def keys(size_mm: float) -> Mapping[str, Value]:
        moved: dict[str, Value] = {f"{key}.smallest": size_mm} if size_mm < given or not out else {}
        if out and isfinite(start) and size_mm < start:
            moved[f"{key}.free[0]"] = size_mm
        return moved

    way = _Way(now, tick, max(min(now, usual) * HALF, LEAST_MM), now * FARTHEST, -1)
    limit = _limit("smallest pulley", way, keys, _of(needs.smallest_mm, key), out=out)
    return replace(limit, unstated={f"{key}.smallest": given if out else now})


# Belts and centre distances.


def _belt_stages(scenario: Scenario) -> Iterator[tuple[str, BeltStage]]:
    """Yield the belt stages with their places, in the order of the file."""
    for number, stage in enumerate(scenario.stages):
        if isinstance(stage, BeltStage):
            yield f"stage[{number}]", stage


def _centres(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the limits of the centre distance at both ends, for every stage."""
    tick = _distance_tick_mm(scenario)
    for key, stage in _belt_stages(scenario):
        low, high = stage.centres_mm
        for end, way in enumerate((_Way(low, tick, NEAREST_MM, high, -1), _Way(high, tick, _farthest_mm(stage), low))):
            uses, unit = _of(needs.centre_mm, key, end), round(CENTRE_UNIT_MM / tick)
            yield _limit("centre distance", way, f"{key}.centres[{end}]", uses, out=out, unit_ticks=unit)


def _farthest_mm(stage: BeltStage) -> float:
    """Return a centre distance that none of the stage's belts spans, or twice the greatest where any length is had."""
    high = stage.centres_mm[1]
    if stage.belt.joined:
        return 2 * high
    return max(high, *(belt.datum_length_mm / 2 for belt in stated_belts(stage.belt, Reach(0.0, 0.0))), 0.0)


def _travels(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the limit of travel for every stage with a mount that moves."""
    tick = _distance_tick_mm(scenario)
    for key, stage in _belt_stages(scenario):
        if not stage.moves:
            continue
        low, high = stage.centres_mm
        way = _Way(stage.travel_mm, tick, stage.travel_mm + high - low + BUDGET_SHARE * high + BUDGET_MM, tick)
        uses, unit = partial(needs.travel_mm, key=key), round(TRAVEL_UNIT_MM / tick)
        # with more travel longer belts may be taken, which are fitted from nearer in
        yield replace(_limit("travel", way, f"{key}.travel", uses, out=out, unit_ticks=unit), strictly=False)


def _wraps(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the limit of wrap for every stage with one."""
    for key, stage in _belt_stages(scenario):
        way = _Way(stage.wrap_deg, ANGLE_TICK_DEG, 0.0, 180.0, -1)
        yield _limit("wrap", way, f"{key}.wrap", _of(needs.wrap_deg, key), out=out)


def _belt_speeds(scenario: Scenario, *, out: bool) -> Iterator[StatedLimit]:
    """Yield the limit of the belt's speed for every stage."""
    for key, stage in _belt_stages(scenario):
        now = stage.belt_speed_m_s
        way = _Way(now, SPEED_TICK_M_S, FASTEST_BELT_M_S, now / FARTHEST)
        yield _limit("belt speed", way, f"{key}.belt_speed", _of(needs.belt_speed_m_s, key), out=out)


def _stocks(scenario: Scenario) -> Iterator[StatedLimit]:
    """Yield, for every stage, the lengths kept in stock that it does not name, the nearest to a named one first.

    A belt is tried alone: were it one of several, a design would still run on it.
    """
    for key, stage in _belt_stages(scenario):
        if others := other_lengths_mm(stage.belt):
            keys, line = partial(_lengths, key=f"{key}.belt", belt=stage.belt, others_mm=others), TickLine(0.0, 1.0, 1)
            yield StatedLimit("belt stock", "mm", line, len(others), keys, as_given, nested=False, numbered=False)


def other_lengths_mm(belt: Belt) -> tuple[float, ...]:
    """Return the datum lengths in stock that a stage may not take now, the nearest to one it may first.

    They are those of the series that the stage names, or of the section's usual one.
    """
    if belt.joined or belt.data.default_series is None:
        return ()
    series = SERIES[belt.lengths] if isinstance(belt.lengths, str) else None
    named = [b.datum_length_mm for b in stated_belts(belt, Reach(0.0, 0.0))]
    kept = [b.datum_length_mm for b in stock_lengths(belt.data, series)]
    others = [mm for mm in kept if all(abs(mm - other) > SAME_MM for other in named)]
    return tuple(sorted(others, key=lambda mm: (min((abs(mm - n) for n in named), default=mm), mm)))


def _lengths(number: float, *, key: str, belt: Belt, others_mm: tuple[float, ...]) -> Mapping[str, Value]:
    """Return the keys that name one belt alone, on the line on which lists are measured."""
    length = others_mm[round(number) - 1]
    on_line = round(length - datum_length_mm(belt.data, 0.0, belt.measured), 6)
    keys: dict[str, Value] = {f"{key}.lengths": (on_line,)}
    if belt.longest_mm < on_line:
        keys[f"{key}.longest"] = on_line
    if belt.shortest_mm > on_line:
        keys[f"{key}.shortest"] = on_line
    return keys
