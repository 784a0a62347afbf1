"""What of a designed machine is turned, as plain figures for the room of tolerances."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import exp, inf, log, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.catalogue.grooves import groove, over_pins
from optimizer.checks import limits_of, near_limits
from optimizer.checks.stated import Cone, Machine, Pair, band_edges, counts_between, read_machine
from optimizer.checks.travel import budget, fit_mm
from optimizer.geometry.grooves import running_shift_mm
from optimizer.records.built import BuiltMachine
from optimizer.scenario import BeltStage, Making
from optimizer.series import unevenness
from optimizer.tolerance.chance import Allowed, alone
from optimizer.tolerance.turning import Stage, Turning, rows_of

__all__ = ["Turned", "made_up", "moved", "turned_sizes", "turning_of"]

Array = NDArray[np.float64]

ADVISED = 0.10
"""Share of φ − 1 within which a speed should lie of its place in the series: ISO 229, from memory."""
SAME_MM = 1e-6
STEP_MM = (0.05, 5.0)
"""Least and most that a size is moved to see what limits make of it."""
BEND = 0.1
"""Share by which two slopes of one straight line may differ."""
FLAT = 1e-6
"""Slopes below this are none."""


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
    columns = _columns(machine, sizes)
    logs = np.array([log(speed.rpm) for speed in machine.speeds])
    series = np.array([machine.speeds.index(speed) for speed in machine.shown], dtype=np.intp)
    even = unevenness(logs[series])
    advised = ADVISED * (exp(even.log_ratio) - 1)
    turning = Turning(
        stages=tuple(_stage(pair, columns) for pair in machine.pairs),
        places=np.array([speed.positions for speed in machine.speeds], dtype=np.intp),
        log_rpm=logs,
        speed_within=machine.scenario.making.speed_within,
        log_within=_within_bands(machine, logs),
        unevenness_most=advised if series.size > 2 and even.delta <= advised else inf,
        down_mm=np.array([size.down_mm for size in sizes]),
        up_mm=np.array([size.up_mm for size in sizes]),
        in_series=series,
    )
    return replace(turning, limits=_limits(machine, sizes, alone(rows_of(turning))))


def _within_bands(machine: Machine, logs: Array) -> tuple[Array, Array]:
    """Return the logarithms between which speeds must stay: of every band as many as it wants, the most inward ones."""
    least, most = np.full(logs.size, -inf), np.full(logs.size, inf)
    bands = machine.scenario.bands
    for band in bands:
        low, high, closed = band_edges(band, bands, machine.scenario.series.ends)
        inside = [n for n, speed in enumerate(machine.speeds) if counts_between(speed.rpm, low, high, closed)]
        inside.sort(key=lambda n: max(log(low) - logs[n], logs[n] - log(high)))
        held = inside[: band.want]
        least[held], most[held] = np.maximum(least[held], log(low)), np.minimum(most[held], log(high))
    return least, most


def _columns(machine: Machine, sizes: tuple[Turned, ...]) -> dict[tuple[str, int], int]:
    """Return the number of the size of every turned step, by cone and position; a shared cone has two names."""
    columns = {(size.key, size.position): number for number, size in enumerate(sizes)}
    for pair in machine.pairs:
        if pair.before is not None:
            last = pair.driver.positions - 1
            columns |= {
                (pair.driver.key, last - place): number
                for (key, place), number in columns.items()
                if key == pair.before.driven.key
            }
    return columns


def _limits(machine: Machine, sizes: tuple[Turned, ...], allowed: Allowed) -> tuple[Array, Array]:
    """Return what limits ask of errors, ``weights · errors ≤ left``: the margins of the very checks.

    They are asked again with each size off, either way, by what all else allows it; what the margin loses is taken as
    lost evenly on the way there. That errs on the safe side where a limit bends, as that of the fastest rim does where
    another step takes over; there each way has a row of its own.
    """
    margins, groups = near_limits(machine)
    lost = {key: np.zeros((2, len(sizes))) for key in margins}
    for number in range(len(sizes)):
        for way, most_mm in enumerate((allowed.up_mm[number], -allowed.down_mm[number])):
            by_mm = float(np.copysign(np.clip(abs(most_mm), *STEP_MM), most_mm))
            for key, check in limits_of(groups, moved(machine, sizes, number, by_mm)):
                if key in margins:
                    lost[key][way, number] = (margins[key] - check.margin) / by_mm
    rows = [(slope, margins[key]) for key, ways in lost.items() for slope in _slopes(*np.nan_to_num(ways))]
    weights = np.array([slope for slope, _ in rows]).reshape(len(rows), len(sizes))
    return weights, np.array([left for _, left in rows])


def _slopes(larger: Array, smaller: Array) -> Iterator[Array]:
    """Yield what a margin loses by every size: once where it is straight, once a way where it bends."""
    steeper = np.where(np.abs(larger) >= np.abs(smaller), larger, smaller)
    straight = np.all(np.abs(larger - smaller) <= BEND * np.abs(steeper))
    for slope in (steeper,) if straight else (np.maximum(larger, 0.0), np.minimum(smaller, 0.0)):
        if np.any(np.abs(slope) > FLAT):
            yield slope


def moved(machine: Machine, sizes: tuple[Turned, ...], number: int, by_mm: float) -> Machine:
    """Return the machine with one of its turned sizes off, as if it were made so."""
    stages, columns = [], _columns(machine, sizes)
    for pair in machine.pairs:
        rims = [
            tuple(
                size + by_mm if columns.get((cone.key, place)) == number else size
                for place, size in enumerate(cone.outside_mm)
            )
            for cone in (pair.driver, pair.driven)
        ]
        stages.append(pair.built.model_copy(update={"driver_outside_mm": rims[0], "driven_outside_mm": rims[1]}))
    return read_machine(machine.scenario, BuiltMachine(stages=tuple(stages)))


def _stage(pair: Pair, columns: dict[tuple[str, int], int]) -> Stage:
    left = max(pair.stage.travel_mm - sum(line.amount_mm for line in budget(pair)), 0.0)
    low, high = pair.stage.centres_mm
    if low == high:
        low, high = low - fit_mm(pair) / 2, high + fit_mm(pair) / 2
    if made_up(pair.stage, pair.built.datum_length_mm):
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


def made_up(stage: BeltStage, datum_length_mm: float) -> bool:
    """Tell whether a belt is made up in place, to sizes as they were turned.

    Belting joined from the roll is; link belt changes by whole links, and a belt in hand is as long as it is.
    """
    belt = stage.belt
    in_hand = any(abs(own - datum_length_mm) < SAME_MM for own in belt.hand_mm)
    return stage.travel_mm == 0 and belt.lengths == "any" and not belt.link and not in_hand
