"""The limits of a stage: centre distances, travel, wrap, speed of its belt."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import partial

from optimizer.changes.limit import Limit
from optimizer.changes.line import Line
from optimizer.changes.needs import belt_speed_m_s, centres_mm, wrap_deg
from optimizer.changes.ticks import ANGLE_TICK_DEG, FARTHEST, SPEED_TICK_M_S, distance_tick_mm, unit_ticks
from optimizer.layouts.budget import Reach, stated_belts
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Value
from optimizer.scenario import BeltStage, Scenario

__all__ = ["belt_speeds", "belt_stages", "centres", "travels", "wraps"]

TRAVEL_UNIT_MM = 5.0
CENTRE_UNIT_MM = 10.0
FASTEST_BELT_M_S = 100.0
"""No belt speed above this can be stated."""
BUDGET_SHARE, BUDGET_MM = 0.2, 20.0
"""All of the travel budget but the positions' spread takes less than this share of a centre distance, and this much."""
NEAREST_MM = 10.0
"""No centre distance below this can be stated."""


def belt_stages(scenario: Scenario) -> Iterator[tuple[str, BeltStage]]:
    """Yield the belt stages with their places, in the order of the file."""
    for number, stage in enumerate(scenario.stages):
        if isinstance(stage, BeltStage):
            yield f"stage[{number}]", stage


def centres(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the limits of the centre distance at both ends, for every stage."""
    tick = distance_tick_mm(scenario)
    unit = unit_ticks(CENTRE_UNIT_MM, tick)
    for key, stage in belt_stages(scenario):
        low, high = stage.centres_mm
        for end, now, way in ((0, low, -1), (1, high, 1)):
            line = Line(now, tick, way if out else -way, loosens=out)
            last = (NEAREST_MM, _farthest_mm(stage))[end] if out else (high, low)[end]
            needs = partial(_centre, key=key, end=end)
            ticks = line.ticks_to(last)
            yield Limit("centre distance", "mm", line, ticks, _only(f"{key}.centres[{end}]"), needs, unit_ticks=unit)


def _farthest_mm(stage: BeltStage) -> float:
    """Return a centre distance that none of the stage's belts spans, or twice the greatest where any length is had."""
    high = stage.centres_mm[1]
    if stage.belt.joined:
        return 2 * high
    return max(high, *(belt.datum_length_mm / 2 for belt in stated_belts(stage.belt, Reach(0.0, 0.0))), 0.0)


def travels(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the limit of travel for every stage with a mount that moves."""
    tick = distance_tick_mm(scenario)
    for key, stage in belt_stages(scenario):
        if not stage.moves:
            continue
        line = Line(stage.travel_mm, tick, 1 if out else -1, loosens=out)
        low, high = stage.centres_mm
        last = stage.travel_mm + high - low + BUDGET_SHARE * high + BUDGET_MM if out else tick
        needs = partial(_travel, key=key)
        unit = unit_ticks(TRAVEL_UNIT_MM, tick)
        # with more travel longer belts may be taken, which are fitted from nearer in
        yield Limit(
            "travel", "mm", line, line.ticks_to(last), _only(f"{key}.travel"), needs, unit_ticks=unit, strictly=False
        )


def wraps(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the limit of wrap for every stage with one."""
    for key, stage in belt_stages(scenario):
        line = Line(stage.wrap_deg, ANGLE_TICK_DEG, -1 if out else 1, loosens=out)
        ticks = line.ticks_to(0.0 if out else 180.0)
        yield Limit("wrap", "°", line, ticks, _only(f"{key}.wrap"), partial(_wrap, key=key))


def belt_speeds(scenario: Scenario, *, out: bool) -> Iterator[Limit]:
    """Yield the limit of the belt's speed for every stage."""
    for key, stage in belt_stages(scenario):
        now = stage.belt_speed_m_s
        line = Line(now, SPEED_TICK_M_S, 1 if out else -1, loosens=out)
        ticks = line.ticks_to(FASTEST_BELT_M_S if out else now / FARTHEST)
        yield Limit("belt speed", "m/s", line, ticks, _only(f"{key}.belt_speed"), partial(_belt_speed, key=key))


def _only(key: str) -> Callable[[float], Mapping[str, Value]]:
    """Return what sets one key to the value itself."""
    return lambda value: {key: value}


def _centre(candidate: Candidate, _: float, *, key: str, end: int) -> float:
    return centres_mm(candidate, key)[end]


def _travel(candidate: Candidate, travel_mm: float, *, key: str) -> float:
    """Return the travel a design needs: what was there, less what its belt's window leaves over its spread."""
    low, high = centres_mm(candidate, key)
    stages = zip(candidate.problem.stages, candidate.stages, strict=True)
    window = next(sizes.belt.window_mm for rules, sizes in stages if rules.key == key)
    return travel_mm - window + (high - low)


def _wrap(candidate: Candidate, _: float, *, key: str) -> float:
    return wrap_deg(candidate, key)


def _belt_speed(candidate: Candidate, _: float, *, key: str) -> float:
    return belt_speed_m_s(candidate, key)
