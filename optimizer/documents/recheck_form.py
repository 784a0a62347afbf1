"""The forms in which a maker writes down what was measured: TOML, and a table for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.data import csv_text
from optimizer.documents.figures import Units, length
from optimizer.recheck.loading import COLUMNS
from optimizer.recheck.sizes import bench
from optimizer.records.design import Design
from optimizer.records.sheet import SpeedSheet, StageSheet, StepSheet, settings_said

__all__ = ["MEASURED_CSV", "MEASURED_TOML", "measured_csv", "measured_toml"]


MEASURED_TOML, MEASURED_CSV = "measured.toml", "measured.csv"
"""Names of the forms."""
OPENING = """\
# What was measured on the made machine; `conewright recheck` reads it, and never changes it.
#
# Plug pulled, belt off. Fill in what you measured, leave "" where you did not: a turned step with nothing is not turned
# yet, a bought or kept one is as it was stated.
# Over pins: lay two gauge pins in the groove on opposite sides, measure over them. Other pins: pin = their diameter.
# No pins: lay the belt in, taut: outside = over the rim, belt_top = how far its top stands above it (below: a minus).
# The outside diameter alone does not tell where a belt runs in a groove.
# Plain rims: diameter, or tape = a tape once round it, with tape_thickness.
# A tool that shows finer or coarser than 0.1 mm: resolution = what it shows.
# Keep old checks: for the next one, copy the whole [[check]] below the last and give it its own date.
"""


def measured_toml(design: Design) -> str:
    """Return the form as TOML, every step with the size that is expected in a comment."""
    units = design.scenario.units
    lines = [*OPENING.splitlines(), f'units = "{units}"', "", "[[check]]"]
    lines += ['date = ""                    # the day, as 2026-11-26', 'note = ""', "step = ["]
    for number, stage in enumerate(design.machine.stages, 1):
        lines.append(f"  # stage {number}, {_plain(stage.driver_shaft)} to {_plain(stage.driven_shaft)}{_once(stage)}")
        lines += (f"  {line}" for line in _step_lines(number, stage, units))
    lines += ["]", "centre = [                   # between the shafts, belt taut on that position"]
    for number, stage in enumerate(design.machine.stages, 1):
        lines += (
            f'  {{ stage = {number}, position = {p.number}, centre = "" }},  # {length(p.centre_mm, units)}'
            for p in stage.positions
        )
    lines += ["]", "speed = [                    # with a tachometer; motor = its speed read at the same time"]
    lines += (
        f"  {{ positions = {list(s.positions)}, {_settings(s)}"
        'speed = "", motor = "", load = "idle" },'
        f"  # {settings_said(design.machine, s.settings)}{s.rpm:.0f} rpm{'' if s.on_plate else ', not'} on the plate"
        for s in design.machine.speeds
    )
    return "\n".join([*lines, "]"]) + "\n"


def measured_csv(design: Design) -> str:
    """Return the form as a table, the size that is expected in a column of its own."""
    units = design.scenario.units
    rows: list[dict[str, str]] = []
    for number, stage in enumerate(design.machine.stages, 1):
        for side in _sides(stage):
            for p in stage.positions:
                step: StepSheet = getattr(p, side)
                expected = _expected(stage, step, units)
                rows.append({**_at("step", number, p.number), "side": side, "expected": expected})
    for number, stage in enumerate(design.machine.stages, 1):
        for p in stage.positions:
            expected = f"centre {length(p.centre_mm, units)} {units}"
            rows.append({**_at("centre", number, p.number), "expected": expected})
    for s in design.machine.speeds:
        at = {"what": "speed", "positions": "x".join(map(str, s.positions)), "load": "idle"}
        at["settings"] = "x".join(map(str, s.settings))
        rows.append({**at, "expected": f"{settings_said(design.machine, s.settings)}speed {s.rpm:.0f} rpm"})
    columns = [column for column in COLUMNS if column != "settings" or design.machine.switches]
    return csv_text(columns, [tuple(row.get(column, "") for column in columns) for row in rows])


def _settings(speed: SpeedSheet) -> str:
    return f"settings = {list(speed.settings)}, " if speed.settings else ""


def _at(what: str, stage: int, position: int) -> dict[str, str]:
    return {"what": what, "stage": str(stage), "position": str(position)}


def _step_lines(number: int, stage: StageSheet, units: Units) -> Iterator[str]:
    for side in _sides(stage):
        for p in stage.positions:
            step: StepSheet = getattr(p, side)
            told = bench(stage.section, step, step.pitch_mm)
            keys = {
                "over pins": 'over_pins = ""',
                "diameter": 'diameter = ""',
                "belt top": 'outside = "", belt_top = ""',
            }
            at = f'stage = {number}, side = "{side}", position = {p.number}'
            yield f"{{ {at}, {keys[told.how]} }},  # {_expected(stage, step, units)}"


def _sides(stage: StageSheet) -> tuple[str, ...]:
    """Return the sides of a stage that are cones of its own: a driver that the stage before has is told there."""
    return ("driven",) if stage.shared_driver else ("driver", "driven")


def _once(stage: StageSheet) -> str:
    return "; its driver is the driven cone above, measured once" if stage.shared_driver else ""


def _expected(stage: StageSheet, step: StepSheet, units: Units) -> str:
    """Return what measuring a step as designed would give."""
    told = bench(stage.section, step, step.pitch_mm)
    size = f"{length(told.mm, units)} {units}"
    said = {
        "over pins": f"{size} over pins of {length(told.pin_mm, units)}, outside {length(step.outside_mm, units)}",
        "diameter": f"diameter {size}",
        "belt top": f"outside {length(step.outside_mm, units)}, belt top {length(told.mm + 0.0, units)} {units}",
    }[told.how]
    return said if step.source == "turned" else f"{said}; {step.source}"


def _plain(name: str) -> str:
    """Return a name as it may stand in a comment."""
    return "".join(c if c.isprintable() else " " for c in " ".join(name.split()))
