"""What a speed plate tells: a row for every speed, a line for every belt, what to do first."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor
from typing import NamedTuple

from optimizer.cuts.belt_window import BeltWindow, belt_window
from optimizer.drawing.leaders import JOIN
from optimizer.drawing.speed_axis import speed_label
from optimizer.drawing.speed_words import one_line
from optimizer.pipeline.job import Job
from optimizer.quantities import inch_fraction
from optimizer.records.sheet import SpeedSheet, StageSheet

__all__ = ["PICTURES", "STOP", "PlateRow", "belt_lines", "plate_rows", "size_down"]

STOP = (
    "STOP AND PULL THE PLUG before a belt is moved. All guards shut before every start. "
    "No wheel, disc or bit above the speed marked on it. Rough, new or large work: slowest speed first."
)
PICTURES = "In the pictures the driving cone is below, the belt the thick line."
LONGEST_NAME = 16
"""Longer names of belts may be broken."""
OTHERS = 4
"""So many other belts that fit are named, those nearest in length."""
WORK_TO_MM = {"mm": 1.0, "cm": 1.0, "in": 25.4 / 8}
"""Steps to which diameters of work are rounded down."""
LENGTH_TO = {"mm": (1.0, 0), "cm": (1.0, 1), "in": (2.54, 1)}
"""Steps to which ends of a window are rounded inward [mm], decimals in which they are written."""
UNIT_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}


class PlateRow(NamedTuple):
    """One speed."""

    positions: tuple[int, ...]
    """Position of every belt, counted from 1."""
    rpm: str
    bands: str
    work: str
    """Greatest diameter of work; nothing where none is known."""


def plate_rows(job: Job) -> tuple[PlateRow, ...]:
    """Return a row for every speed, the slowest first."""
    return tuple(
        PlateRow(
            positions=speed.positions,
            rpm=speed_label(speed.rpm),
            bands=", ".join(one_line(band) for band in speed.bands) or "outside every band",
            work=_work(job, speed),
        )
        for speed in job.design.machine.speeds
    )


def belt_lines(job: Job) -> Iterator[str]:
    """Yield what a buyer of every belt must know: its name, others that fit, the window of lengths."""
    for number, stage in enumerate(job.design.machine.stages):
        yield _belt(job, number, stage, belt_window(job, number))


def size_down(job: Job, size_mm: float) -> str:
    """Return a diameter of work, rounded down to what a plate tells."""
    units = job.scenario.units
    step = WORK_TO_MM[units]
    size = floor(size_mm / step + 1e-9) * step
    if units == "in":
        return f"{inch_fraction(size, step)}{JOIN}in".replace(" ", JOIN)
    return f"{size / UNIT_MM[units]:g}{JOIN}{units}"


def _work(job: Job, speed: SpeedSheet) -> str:
    """Return the greatest diameter that suits a speed in all of its bands, and that the machine takes."""
    sheet = job.design.work_size
    if sheet is None:
        return ""
    suited = [row.suited_mm[1] for row in sheet.work if row.number == speed.number and row.suited_mm]
    if not suited:
        return ""
    return f"to{JOIN}{size_down(job, min([*suited, sheet.largest_mm or suited[0]]))}"


def _belt(job: Job, number: int, stage: StageSheet, window: BeltWindow) -> str:
    crossed = ", crossed" if stage.crossed else ""
    said = f"Belt {number + 1}, {one_line(stage.driver_shaft)} to {one_line(stage.driven_shaft)}{crossed}: "
    said += _held(one_line(stage.marking))
    if window.shortest_mm is None or window.longest_mm is None:
        return f"{said}; no other length."
    others = sorted(
        (belt for belt in window.stock if not belt.chosen),
        key=lambda belt: (abs(belt.datum_length_mm - window.datum_length_mm), belt.marking),
    )[:OTHERS]
    if others:
        names = (belt.marking for belt in sorted(others, key=lambda belt: (belt.datum_length_mm, belt.marking)))
        said += f"; also fit: {', '.join(map(_held, names))}"
    units = job.scenario.units
    step, places = LENGTH_TO[units]
    low, high = ceil(window.shortest_mm / step - 1e-9) * step, floor(window.longest_mm / step + 1e-9) * step
    if low > high:
        return f"{said}; no other length."
    ends = [f"{end / UNIT_MM[units]:.{places}f}" for end in (low, high)]
    return f"{said}; datum length {ends[0]} to{JOIN}{ends[1]}{JOIN}{units}."


def _held(marking: str) -> str:
    """Return a belt's name, in one piece where it is short."""
    return marking.replace(" ", JOIN) if len(marking) <= LONGEST_NAME else marking
