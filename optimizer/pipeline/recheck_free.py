"""Speeds that are free, and settings of shared mounts, of a machine as it is: told by the checks' own machine."""

from __future__ import annotations

from math import hypot, isnan, log
from typing import NamedTuple

from optimizer.checks.coupled import Meeting, Movement, movements_of
from optimizer.checks.stated import Machine, MadeSpeed
from optimizer.pipeline.free import Figures, series_of_free
from optimizer.quantities.digits import meaningful
from optimizer.records.asbuilt import OtherNow, SharedNow, StageNow
from optimizer.records.design import SeriesSheet
from optimizer.records.middle_rules import largest_gap
from optimizer.records.problem import Targets
from optimizer.records.sheet import MachineSheet
from optimizer.series import end_miss

__all__ = ["FreeSpeed", "free_series", "free_speeds", "shared_now"]


class FreeSpeed(NamedTuple):
    """One of the speeds that a machine makes now, near-equal ones once."""

    rpm: float
    positions: tuple[int, ...]
    """Of every belt, from 0."""
    designed_rpm: float
    """On these positions, by the design."""
    on_plate: bool
    others: tuple[OtherNow, ...]


def free_speeds(machine: Machine, designed: MachineSheet) -> tuple[FreeSpeed, ...]:
    """Return the speeds of a machine as it is, slowest first, beside those that the design makes on their positions."""
    was = {speed.positions: speed.rpm for speed in designed.speeds}
    was |= {way.positions: way.rpm for speed in designed.speeds for way in speed.others}
    ways: dict[int, list[MadeSpeed]] = {}
    for place, speed in machine.ways:
        ways.setdefault(place, []).append(speed)
    return tuple(
        FreeSpeed(
            rpm=shown.rpm,
            positions=shown.positions,
            designed_rpm=was[_counted(shown)],
            on_plate=shown in machine.shown,
            others=tuple(OtherNow(positions=_counted(way), rpm=way.rpm) for way in alike if way != shown),
        )
        for shown, alike in zip(machine.speeds, ways.values(), strict=True)
    )


def free_series(machine: Machine, targets: Targets) -> SeriesSheet:
    """Return ends, largest step and evenness of the plate that goes best with a machine as it is.

    F is ``w_e·ε + w_u·g`` of all ways of making a speed.
    """
    assert machine.plate is not None
    logs = sorted(log(speed.rpm) for _, speed in machine.ways)
    miss, gap = end_miss(logs, targets.lo_rpm, targets.hi_rpm), largest_gap(logs)
    f = targets.end_weight * miss + targets.unevenness_weight * gap
    return series_of_free(Figures(f, miss, gap, machine.plate, turned_steps=0, belt_moves=0))


def shared_now(machine: Machine, stages: tuple[StageNow, ...]) -> tuple[SharedNow, ...]:
    """Return for every mount that several belts share the positions at which one setting fits them least.

    Mounts of which a belt does not go round everywhere are left out.
    """
    return tuple(_shared(movement, machine, stages) for movement in movements_of(machine) if movement.meetings)


def _shared(movement: Movement, machine: Machine, stages: tuple[StageNow, ...]) -> SharedNow:
    worst = min(movement.meetings, key=lambda meeting: meaningful(meeting.common_mm[1] - meeting.common_mm[0]))
    numbers = [machine.pairs.index(pair) for pair in (worst.one, worst.other)]
    places = worst.position, worst.other_position
    doubts = [
        _setting_doubt(movement, worst, stages[number].positions[place].uncertainty_mm or 0.0, side)
        for side, (number, place) in enumerate(zip(numbers, places, strict=True))
    ]
    return SharedNow(
        shaft=movement.shaft.name,
        stages=(numbers[0] + 1, numbers[1] + 1),
        positions=(places[0] + 1, places[1] + 1),
        apart_mm=abs(worst.settings_mm[0] - worst.settings_mm[1]),
        forgiven_mm=worst.forgiven_mm,
        uncertainty_mm=hypot(*doubts),
        fits=worst.common_mm[0] <= worst.common_mm[1] + 1e-6,
    )


def _setting_doubt(movement: Movement, worst: Meeting, doubt_mm: float, side: int) -> float:
    """Return what a doubtful centre distance makes of the setting at which one of two belts is just taut."""
    pair, place = ((worst.one, worst.position), (worst.other, worst.other_position))[side]
    belt = movement.pairs.index(pair)
    own = pair.centres_mm[place]
    if isnan(own) or not doubt_mm:
        return 0.0
    near, far = (movement.setting_mm(belt, own + way * doubt_mm / 2) for way in (-1, 1))
    return abs(far - near)


def _counted(speed: MadeSpeed) -> tuple[int, ...]:
    return tuple(place + 1 for place in speed.positions)
