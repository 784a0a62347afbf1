"""The limits of the whole machine: rim speed, room along shafts, grip, end miss, unevenness."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from math import isfinite

from optimizer.changes.limit import Limit
from optimizer.changes.line import Line
from optimizer.changes.needs import cone_width_mm, rim_speed_m_s
from optimizer.changes.sizes import stated_sides
from optimizer.changes.stages import belt_stages
from optimizer.changes.ticks import FARTHEST, FARTHEST_SHARE, GRIP_TICK, SHARE_TICK, SPEED_TICK_M_S, distance_tick_mm
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Value
from optimizer.records.grip import grip_of
from optimizer.scenario import Scenario
from optimizer.scenario.values import LONGEST_MM
from optimizer.scoring import score

__all__ = ["grips", "materials", "rim_speed", "rooms", "series_limits", "stands"]

FASTEST_RIM_M_S = 200.0
"""No rim speed above this can be stated."""
MOST_GRIP = 10.0
"""No limit of grip above this can be stated."""


def rim_speed(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the limit of timber rims, where there are any."""
    timber = _timber_sides(scenario)
    if not timber:
        return
    now = scenario.making.rim_speed_m_s
    line = Line(now, SPEED_TICK_M_S, 1 if out else -1, loosens=out)
    ticks = line.ticks_to(FASTEST_RIM_M_S if out else now / FARTHEST)

    def needs(candidate: Candidate, _: float) -> float:
        return rim_speed_m_s(candidate, timber)

    yield Limit("rim speed", "m/s", line, ticks, lambda value: {"making.rim_speed": value}, needs)


def materials(scenario: Scenario) -> Iterator[Limit]:
    """Yield, for every side of timber, that it be of metal, whose rims may run faster."""
    for key in sorted(_timber_sides(scenario)):
        keys = partial(_metal, key=f"{key}.material")
        yield Limit("rim speed", "", Line(0.0, 1.0, 1), 1, keys, lambda _, value: value, numbered=False)


def stands(scenario: Scenario) -> Iterator[Limit]:
    """Yield that nothing reaches under the motor's pulleys, where its height limits them."""
    if scenario.motor.plate:
        blocks: Mapping[str, Value] = {"motor.plate": False}
        yield Limit("motor stand", "", Line(0.0, 1.0, 1), 1, lambda _: blocks, lambda _, value: value, numbered=False)


def rooms(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the limit of room along every shaft for which one is stated."""
    tick = distance_tick_mm(scenario)
    for number, shaft in enumerate(scenario.shafts):
        if not isfinite(shaft.room_mm):
            continue
        cones = [
            f"{key}.{side}"
            for key, stage in belt_stages(scenario)
            for side, name in (("driver", stage.from_shaft), ("driven", stage.to_shaft))
            if name == shaft.name
        ]
        line = Line(shaft.room_mm, tick, 1 if out else -1, loosens=out)
        ticks = line.ticks_to(LONGEST_MM if out else max(shaft.room_mm / FARTHEST, shaft.beside_mm))
        needs = partial(_taken, cones=tuple(cones), beside_mm=shaft.beside_mm)
        yield Limit("room", "mm", line, ticks, partial(_room, key=f"shaft[{number}].room"), needs)


def series_limits(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the limits of end miss and unevenness."""
    series = scenario.series
    ends = Line(series.end_miss, SHARE_TICK, 1 if out else -1, loosens=out)
    evenness = Line(series.unevenness, SHARE_TICK, 1 if out else -1, loosens=out)
    last = FARTHEST_SHARE if out else SHARE_TICK
    yield Limit("end miss", "of 1", ends, ends.ticks_to(last), lambda share: {"series.end_miss": share}, _end_miss)
    yield Limit(
        "unevenness",
        "of 1",
        evenness,
        evenness.ticks_to(last),
        lambda share: {"series.unevenness": share},
        _unevenness,
    )


def grips(scenario: Scenario) -> Iterator[Limit]:
    """Yield the limit of grip, and of each band whose power every belt must carry that it be advice only."""
    now = scenario.series.least_grip
    line = Line(now, GRIP_TICK, -1)
    yield Limit("grip", "", line, line.ticks_to(0.0), lambda grip: {"series.least_grip": max(0.0, grip)}, _grip)
    for number, band in enumerate(scenario.bands):
        if band.carry == "limit":
            keys = partial(_advised, key=f"band[{number}].carry")
            yield Limit("grip", "", Line(0.0, 1.0, 1), 1, keys, lambda _, value: value, numbered=False)


def _timber_sides(scenario: Scenario) -> frozenset[str]:
    return frozenset(
        stated.key
        for stated in stated_sides(scenario)
        if stated.side.material == "timber" and (stated.side.turned or stated.side.kept_mm)
    )


def _advised(_: float, *, key: str) -> Mapping[str, Value]:
    return {key: "advice"}


def _grip(candidate: Candidate, _: float) -> float:
    return min(grip_of(candidate.problem, candidate.stages), MOST_GRIP)


def _metal(_: float, *, key: str) -> Mapping[str, Value]:
    return {key: "metal"}


def _room(room_mm: float, *, key: str) -> Mapping[str, Value]:
    return {key: room_mm}


def _taken(candidate: Candidate, _: float, *, cones: tuple[str, ...], beside_mm: float) -> float:
    return sum(cone_width_mm(candidate, cone) for cone in cones) + beside_mm


def _end_miss(candidate: Candidate, _: float) -> float:
    return score(candidate.problem, candidate.stages).end_miss


def _unevenness(candidate: Candidate, _: float) -> float:
    return score(candidate.problem, candidate.stages).unevenness
