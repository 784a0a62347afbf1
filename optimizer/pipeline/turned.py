"""What of a designed machine is turned, as plain figures for the room of tolerances."""

from __future__ import annotations

from math import exp, inf, isinf, log, sqrt
from typing import NamedTuple

import numpy as np

from optimizer.catalogue.grooves import groove, over_pins
from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.travel import budget, fit_mm
from optimizer.geometry.grooves import running_shift_mm
from optimizer.scenario import Making
from optimizer.series import unevenness
from optimizer.tolerance.turning import Stage, Turning

__all__ = ["Turned", "turned_sizes", "turning_of"]

ADVISED = 0.10
"""Share of φ − 1 within which a speed should lie of its place in the series: ISO 229, from memory."""
SAME_MM = 1e-6


class Turned(NamedTuple):
    """One size that is turned."""

    key: str
    """Cone, such as `stage[0].driver`."""
    position: int
    """From 0."""
    outside_mm: float
    accuracy_mm: float
    """Accuracy of the running diameter, where it is measured the best way there is."""
    rough_mm: float
    """The same where grooves are measured across the rim only, not over pins."""
    per_width: float | None
    """By how much the running diameter falls for a groove that is 1 mm too wide; nothing without flanks."""
    pins: bool
    """Whether it can be measured over pins."""
    down_mm: float
    up_mm: float
    """How much smaller and larger it may be within the limits of its size."""


def turned_sizes(machine: Machine) -> tuple[Turned, ...]:
    """Return the turned sizes, stages from the motor on, driver before driven, slowest position first."""
    making = machine.scenario.making
    return tuple(
        _size(cone, place, making)
        for pair in machine.pairs
        for cone in pair.cones
        for place in range(cone.positions)
        if cone.turned[place]
    )


def _size(cone: Cone, place: int, making: Making) -> Turned:
    cut = groove(cone.section, cone.datum_mm[place], cone.side.groove)
    pins = over_pins(cone.section, cone.datum_mm[place], cone.side.groove) is not None
    per_width = running_shift_mm(1.0, cut.angle_deg) if cut.kind == "v" else None
    rough = making.rim_within_mm
    if per_width is not None:
        rough = sqrt(making.rim_within_mm**2 + (per_width * making.groove_within_mm) ** 2)
    low, high = _room(cone, making, place)
    outside = cone.outside_mm[place]
    return Turned(
        cone.key,
        place,
        outside,
        making.pins_within_mm if pins else rough,
        rough,
        per_width,
        pins,
        max(outside - low, 0.0),
        max(high - outside, 0.0),
    )


def _room(cone: Cone, making: Making, place: int) -> tuple[float, float]:
    """Return the least and greatest outside diameter that a step may have."""
    side, outside = cone.side, cone.outside_mm[place]
    least = cone.section.smallest_datum_mm - cone.datum_mm[place] + outside
    if side.smallest_mm is not None:
        least = side.smallest_mm - cone.given_less_outside_mm
    if cone.shaft.hub_mm is not None:
        least = max(least, cone.shaft.hub_mm + 2 * making.wall_mm + outside - cone.root_mm[place])
    most = [max(side.discs_mm) - making.truing_mm] if side.discs_mm else []
    if side.free_mm:
        low, high = (limit - cone.given_less_outside_mm for limit in side.free_mm)
        most.append(high)
        least = least if side.discs_mm else max(least, low)
    return least, min(max(most, default=inf), making.largest_blank_mm - making.truing_mm)


def turning_of(machine: Machine, sizes: tuple[Turned, ...]) -> Turning:
    """Return the machine as plain figures."""
    columns = {(size.key, size.position): number for number, size in enumerate(sizes)}
    for pair in machine.pairs:
        if pair.before is not None:
            last = pair.driver.positions - 1
            columns |= {
                (pair.driver.key, last - place): number
                for (key, place), number in columns.items()
                if key == pair.before.driven.key
            }
    logs = np.array([log(speed.rpm) for speed in machine.speeds])
    series = np.array([machine.speeds.index(speed) for speed in machine.shown], dtype=np.intp)
    even = unevenness(logs[series])
    advised = ADVISED * (exp(even.log_ratio) - 1)
    most = machine.scenario.series.never_above_rpm / machine.scenario.idle_gain()
    return Turning(
        stages=tuple(_stage(pair, columns) for pair in machine.pairs),
        places=np.array([speed.positions for speed in machine.speeds], dtype=np.intp),
        log_rpm=logs,
        speed_within=machine.scenario.making.speed_within,
        log_fastest=inf if isinf(most) else log(most),
        unevenness_most=advised if series.size > 2 and even.delta <= advised else inf,
        down_mm=np.array([size.down_mm for size in sizes]),
        up_mm=np.array([size.up_mm for size in sizes]),
        in_series=series,
    )


def _stage(pair: Pair, columns: dict[tuple[str, int], int]) -> Stage:
    left = max(pair.stage.travel_mm - sum(line.amount_mm for line in budget(pair)), 0.0)
    low, high = pair.stage.centres_mm
    if low == high:
        low, high = low - fit_mm(pair) / 2, high + fit_mm(pair) / 2
    if _made_up(pair):
        low, high = -inf, inf
    places = [
        np.array([columns.get((cone.key, place), -1) for place in pair.positions], dtype=np.intp)
        for cone in (pair.driver, pair.driven)
    ]
    return Stage(
        driver_mm=np.array(pair.driver.pitch_mm),
        driven_mm=np.array(pair.driven.pitch_mm),
        length_mm=pair.length_mm,
        crossed=pair.crossed,
        centres_mm=(low, high),
        window_mm=left + fit_mm(pair),
        driver_size=places[0],
        driven_size=places[1],
    )


def _made_up(pair: Pair) -> bool:
    """Tell whether the belt is made up in place, to sizes as they were turned; a belt in hand is as long as it is."""
    belt = pair.stage.belt
    in_hand = any(abs(own - pair.built.datum_length_mm) < SAME_MM for own in belt.hand_mm)
    return pair.stage.travel_mm == 0 and belt.lengths == "any" and not in_hand
