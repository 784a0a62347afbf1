"""The section of how exactly to turn."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.stated import Machine
from optimizer.pipeline.turned import Turned, turned_sizes, turning_of
from optimizer.quantities.digits import meaningful
from optimizer.records.tolerance import (
    AllowedSheet,
    ChanceSheet,
    FirstOrderSheet,
    Part,
    SizeSheet,
    SpeedErrorSheet,
    SpreadSheet,
    ToleranceSheet,
)
from optimizer.tolerance.chance import (
    RULE,
    SAMPLES,
    SEED,
    Allowed,
    Cut,
    Drawn,
    aims_mm,
    alone,
    by_chance,
    chance_by_cuts,
    chance_to_spoil,
    deviations,
    drawn,
    left_on_mm,
    shares,
    together,
    validity,
    windows_mm,
)
from optimizer.tolerance.turning import Rows, Turning, rows_of

__all__ = ["tolerance_sheet"]

Array = NDArray[np.float64]

STATED_SD = 2.0
"""Standard deviations that a stated accuracy stands for: of normal errors 19 of 20 are within it."""
MOST_NAMED, NAMED_FROM = 3, 0.5
"""Sizes named as those to turn most carefully, and the share of the first one's share that the others have."""
PARTS: tuple[Part, ...] = ("belt fit", "speeds", "evenness", "limits of size")


class _Aimed(NamedTuple):
    """Where sizes are aimed."""

    aim_mm: Array
    left_on_mm: Array
    all_well: float


def tolerance_sheet(machine: Machine) -> ToleranceSheet | None:
    """Return how exactly to turn; nothing where nothing is turned, or a belt does not go round as drawn."""
    sizes = turned_sizes(machine)
    if not sizes or not all(pair.fits for pair in machine.pairs):
        return None
    turning = turning_of(machine, sizes)
    rows = rows_of(turning)
    sd_mm = np.array([size.accuracy_mm for size in sizes]) / STATED_SD
    tried = drawn(turning, rows, sd_mm)
    aimed = _aimed(turning, rows, sd_mm, tried)
    used = shares(rows, STATED_SD * sd_mm)
    return ToleranceSheet(
        speed_within=turning.speed_within,
        unevenness_most=turning.unevenness_most if isfinite(turning.unevenness_most) else None,
        chance=_chance(tried),
        chance_by_width=_by_width(turning, rows, sizes),
        chance_by_cuts=aimed.all_well,
        first_order=_first_order(turning, rows, sd_mm),
        sizes=_sizes(sizes, rows, used, aimed),
        careful=_careful(used),
        spreads=tuple(_spreads(turning, rows, sd_mm, tried, [pair.key for pair in machine.pairs])),
        speeds=_speeds(turning, rows, sd_mm, tried),
        samples=SAMPLES,
        seed=SEED,
    )


def _aimed(turning: Turning, rows: Rows, sd_mm: Array, tried: Drawn) -> _Aimed:
    """Return where to aim, and the chance that then all is well."""
    aim = aims_mm(rows, sd_mm)
    down, up = windows_mm(rows, sd_mm, aim)
    left_on = np.array([left_on_mm(*window) for window in zip(down, up, sd_mm, strict=True)])
    if not np.any(aim) and not np.any(left_on):
        return _Aimed(aim, left_on, tried.all_well)
    middle = np.where(np.isfinite(down) & np.isfinite(up), (up - down) / 2, 0.0)
    middle = np.clip(middle, -STATED_SD * sd_mm, STATED_SD * sd_mm)
    cut = Cut(aim + left_on, aim + up, aim + middle)
    return _Aimed(aim, left_on, chance_by_cuts(turning, rows, sd_mm, cut))


def _by_width(turning: Turning, rows: Rows, sizes: tuple[Turned, ...]) -> ChanceSheet | None:
    """Return the chance where grooves are not measured over pins, as where there are none at hand."""
    if not any(size.pins and size.per_width is not None for size in sizes):
        return None
    return _chance(drawn(turning, rows, np.array([size.rough_mm for size in sizes]) / STATED_SD))


def _chance(tried: Drawn) -> ChanceSheet:
    belt, speeds, even, limits = tried.parts
    return ChanceSheet(all_well=tried.all_well, belt_fit=belt, speeds=speeds, evenness=even, size_limits=limits)


def _first_order(turning: Turning, rows: Rows, sd_mm: Array) -> FirstOrderSheet:
    valid, spoiled = validity(turning, rows, sd_mm), chance_to_spoil(rows, sd_mm)
    return FirstOrderSheet(
        all_well=None if spoiled is None else 1 - spoiled,
        speeds_valid=valid.speeds,
        chance_valid=valid.chance,
        rule=RULE,
    )


def _sizes(sizes: tuple[Turned, ...], rows: Rows, used: Array, aimed: _Aimed) -> tuple[SizeSheet, ...]:
    accuracy_mm = np.array([size.accuracy_mm for size in sizes])
    one, every, likely = alone(rows), together(rows, accuracy_mm), by_chance(rows, accuracy_mm)
    return tuple(
        SizeSheet(
            key=size.key,
            position=size.position + 1,
            outside_mm=size.outside_mm,
            measured="over pins" if size.pins else "rim" if size.per_width is None else "rim and groove",
            accuracy_mm=size.accuracy_mm,
            width_accuracy_mm=None if size.per_width is None else size.rough_mm,
            alone=_allowed(one, number),
            smaller_held_by=_held(rows, int(one.down_row[number])),
            larger_held_by=_held(rows, int(one.up_row[number])),
            together=_allowed(every, number),
            by_chance=_allowed(likely, number),
            groove_wider_mm=_width(one.down_mm[number], size),
            groove_narrower_mm=_width(one.up_mm[number], size),
            share=_finite(used[number]),
            aim_mm=float(aimed.aim_mm[number]),
            left_on_mm=float(aimed.left_on_mm[number]),
        )
        for number, size in enumerate(sizes)
    )


def _careful(used: Array) -> tuple[int, ...]:
    """Return the places of the sizes that use most of what is allowed, most first."""
    order = sorted(range(used.size), key=lambda place: (-meaningful(float(used[place])), place))[:MOST_NAMED]
    return tuple(place for place in order if used[place] > 0 and used[place] >= NAMED_FROM * used[order[0]])


def _spreads(turning: Turning, rows: Rows, sd_mm: Array, tried: Drawn, keys: list[str]) -> Iterator[SpreadSheet]:
    first, valid = deviations(turning, rows, sd_mm).spreads_mm, validity(turning, rows, sd_mm).spreads
    for number, stage in enumerate(turning.stages):
        if stage.turned:
            yield SpreadSheet(
                key=keys[number],
                window_mm=stage.window_mm,
                drawn_mm=float(np.ptp(stage.drawn_mm)),
                deviation_mm=float(first[number]) if valid[number] else None,
                tried_deviation_mm=float(tried.spread_sd_mm[number]),
                most_mm=float(tried.spread_mm[number]),
            )


def _speeds(turning: Turning, rows: Rows, sd_mm: Array, tried: Drawn) -> tuple[SpeedErrorSheet, ...]:
    first = deviations(turning, rows, sd_mm).speeds
    figures = zip(np.exp(turning.log_rpm), first, tried.speed_sd, strict=True)
    return tuple(
        SpeedErrorSheet(number=number, rpm=float(rpm), deviation=float(sd), tried_deviation=float(own))
        for number, (rpm, sd, own) in enumerate(figures, 1)
    )


def _allowed(allowed: Allowed, number: int) -> AllowedSheet:
    return AllowedSheet(smaller_mm=_finite(allowed.down_mm[number]), larger_mm=_finite(allowed.up_mm[number]))


def _held(rows: Rows, row: int) -> Part | None:
    return PARTS[rows.part[row]] if row >= 0 else None


def _width(allowed_mm: float, size: Turned) -> float | None:
    return None if size.per_width is None else _finite(allowed_mm / size.per_width)


def _finite(value: float) -> float | None:
    return float(value) if isfinite(value) else None
