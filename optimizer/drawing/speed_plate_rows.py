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
from optimizer.quantities import inch_fraction, show_length, surface_figure
from optimizer.records.sheet import SpeedSheet, StageSheet
from optimizer.records.switching import setting_names, switch_lines
from optimizer.records.work_size import WorkSheet

__all__ = [
    "STOP",
    "PlateRow",
    "belt_lines",
    "picture_line",
    "plate_rows",
    "size_down",
    "surface_head",
    "surface_lines",
    "switched_lines",
]

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
    settings: tuple[str, ...]
    """What everything is switched to, each under the head of its switch."""
    rpm: str
    bands: str
    work: str
    """Greatest diameter of work; nothing where none is known."""
    surfaces: tuple[str, ...]
    """How fast the surface of the bands' own wheel, blade, tool or work runs, a line each."""


def plate_rows(job: Job) -> tuple[PlateRow, ...]:
    """Return a row for every speed that stands on the plate, the slowest first."""
    return tuple(
        PlateRow(
            positions=speed.positions,
            settings=setting_names(job.design.machine, speed.settings),
            rpm=speed_label(speed.rpm),
            bands=", ".join(one_line(band) for band in speed.bands) or "outside every band",
            work=_work(job, speed),
            surfaces=_surfaces(job, speed),
        )
        for speed in job.design.machine.speeds
        if speed.on_plate
    )


def picture_line(job: Job) -> str:
    """Return what the pictures show."""
    shared = [one_line(stage.driver_shaft) for stage in job.design.machine.stages if stage.shared_driver]
    same = (f"The cone on {shaft} is one for both belts, shown the same way round." for shaft in shared)
    return " ".join((PICTURES, *same))


def surface_head(job: Job) -> str:
    """Return what stands over the speeds of surfaces: what runs so fast, where it is one thing for all rows."""
    things = {row.of for row in _told(job)}
    return things.pop() if len(things) == 1 else "surface"


def surface_lines(job: Job) -> tuple[str, ...]:
    """Return of what diameter the surfaces are whose speeds are told, where it is one for all rows."""
    things = {(row.of, row.surfaces[0].diameter_mm) for row in _told(job)}
    if len(things) != 1:
        return ()
    ((of, size_mm),) = things
    size = show_length(size_mm, job.scenario.units).replace(" ", JOIN)
    return (f"Speeds of the {of} are those on a wheel of {size}." if of == "blade" else f"The {of} is of {size}.",)


def belt_lines(job: Job) -> Iterator[str]:
    """Yield what a buyer of every belt must know: its name, others that fit, the window of lengths."""
    for number, stage in enumerate(job.design.machine.stages):
        yield _belt(job, number, stage, belt_window(job, number))


def switched_lines(job: Job) -> Iterator[str]:
    """Yield what is switched, and between what."""
    for line in switch_lines(job.design.machine):
        yield f"{one_line(line)}."


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


def _told(job: Job) -> tuple[WorkSheet, ...]:
    """Return the rows whose speeds are told by the surface of one diameter."""
    sheet = job.design.work_size
    return tuple(row for row in sheet.work if row.told) if sheet is not None else ()


def _surfaces(job: Job, speed: SpeedSheet) -> tuple[str, ...]:
    told, alike = _told(job), bool(surface_lines(job))
    said = []
    for row in told:
        if row.number == speed.number:
            (surface,) = row.surfaces
            of = "" if alike else f"{row.of} {show_length(surface.diameter_mm, job.scenario.units)}: "
            said.append(f"{of}{surface_figure(surface.speed_m_s, row.unit)} {row.unit}".replace(" ", JOIN))
    return tuple(dict.fromkeys(said))


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
