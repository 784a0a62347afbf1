"""All limits of a scenario, in the order in which they are told."""

from __future__ import annotations

from optimizer.changes.bands import edges, wants
from optimizer.changes.limit import Limit
from optimizer.changes.machine import grips, materials, rim_speed, rooms, series_limits, stands
from optimizer.changes.sizes import blank, smallest_pulleys
from optimizer.changes.stages import belt_speeds, centres, travels, wraps
from optimizer.changes.stock import stocks
from optimizer.scenario import Scenario

__all__ = ["let_out", "purchases", "tightened"]


def let_out(scenario: Scenario) -> tuple[Limit, ...]:
    """Return every limit that can be let out by a tick at least."""
    found = [
        *blank(scenario, out=True),
        *stocks(scenario),
        *travels(scenario, out=True),
        *centres(scenario, out=True),
        *rooms(scenario, out=True),
        *stands(scenario),
        *wants(scenario, out=True),
        *edges(scenario, out=True),
        *smallest_pulleys(scenario, out=True),
        *wraps(scenario, out=True),
        *rim_speed(scenario, out=True),
        *materials(scenario),
        *belt_speeds(scenario, out=True),
        *grips(scenario),
        *series_limits(scenario, out=True),
    ]
    return tuple(limit for limit in found if limit.ticks > 0)


def tightened(scenario: Scenario) -> tuple[Limit, ...]:
    """Return every limit that can be tightened by a tick at least."""
    found = [
        *blank(scenario, out=False),
        *travels(scenario, out=False),
        *centres(scenario, out=False),
        *rooms(scenario, out=False),
        *wants(scenario, out=False),
        *smallest_pulleys(scenario, out=False),
        *wraps(scenario, out=False),
        *rim_speed(scenario, out=False),
        *belt_speeds(scenario, out=False),
        *series_limits(scenario, out=False),
        *edges(scenario, out=False),
    ]
    return tuple(limit for limit in found if limit.ticks > 0)


def purchases(scenario: Scenario) -> tuple[Limit, ...]:
    """Return the limits of which a little more can be bought: blank, travel, room."""
    found = [*blank(scenario, out=True), *travels(scenario, out=True), *rooms(scenario, out=True)]
    return tuple(limit for limit in found if limit.ticks > 0)
