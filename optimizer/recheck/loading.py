"""The reader of a file of measurements, TOML or a table from a spreadsheet, held against its machine."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, NamedTuple, get_args

from pydantic import ValidationError

from optimizer.errors import Fault, ScenarioError
from optimizer.quantities import as_written, show_length
from optimizer.recheck.readings import CentreReading, DatedCheck, Measurements, RpmReading, StepReading
from optimizer.recheck.sizes import StepRim, reading_of, rim_of, sizes_of, step_at
from optimizer.records.sheet import MachineSheet
from optimizer.scenario.faults import faults_of
from optimizer.scenario.scenario import Units
from optimizer.scenario.stated import Reading
from optimizer.scenario.syntax import tables_of

__all__ = ["COLUMNS", "is_blank", "is_table", "load_measured"]

KINDS = {
    "step": tuple(StepReading.known_keys()),
    "centre": tuple(CentreReading.known_keys()),
    "speed": tuple(RpmReading.known_keys()),
}
"""What a row may tell, with its columns."""
IGNORED = ("expected",)
COLUMNS = (
    "date", "what", "stage", "side", "position", "expected", "over_pins", "pin", "belt_top", "outside", "tape",
    "tape_thickness", "diameter", "turned", "centre", "positions", "settings", "shaft", "speed", "motor", "load",
    "resolution", "note",
)  # fmt: skip
"""Names of all columns, in the order of the form."""
WHOLE = ("stage", "position")
WORDS = ("date", "side", "shaft", "load", "note", "positions", "settings", "what", "turned")
TELLS = {
    "step": ("over_pins", "belt_top", "outside", "tape", "diameter", "side"),
    "centre": ("centre",),
    "speed": ("speed",),
}
"""Columns that tell of a row without a word in `what` which kind it is."""
_COMMA = re.compile(r"([+-]?)(\d*),(\d+)(\D.*)?", re.DOTALL)
MOST_ROWS = 5_000
"""More rows are no table of one machine."""
FARTHEST = 0.25
"""Share of its size by which a step that was measured may differ from its design; beyond, it is another; judgement."""
APART = 2000.0
"""Greatest ratio of two speeds that were read together; judgement."""
COARSEST = 0.1
"""Share of a speed that its reading may be off by; beyond, it tells nothing; judgement."""


def is_table(name: str) -> bool:
    """Tell whether a file is meant to be a table from a spreadsheet: by its name."""
    return name.lower().endswith((".csv", ".tsv", ".txt"))


def load_measured(text: str, name: str, machine: MachineSheet, units: str = "mm") -> Measurements:
    """Read a file of measurements.

    Parameters
    ----------
    text
        The file's contents.
    name
        The file's name, which tells a table from TOML.
    machine
        The machine that was measured.
    units
        Units of bare lengths where the file states none.

    Raises
    ------
    ScenarioError
        With every fault of the file; or nothing is filled in.
    """
    rows = _tables(text, name)
    stated = rows.tables.get("units")
    known = stated if isinstance(stated, str) and stated in get_args(Units) else units
    faults = list(rows.faults)
    try:
        measured = Measurements.model_validate({"units": known, **rows.tables}, context=Reading(known))
    except ValidationError as error:
        faults += (replace(fault, where=rows.place(fault.where)) for fault in faults_of(error))
    else:
        faults += (replace(fault, where=rows.place(fault.where)) for fault in faults_against(measured, machine))
    if faults:
        raise ScenarioError(list(dict.fromkeys(faults)))
    if not measured.checks:
        advice = "fill in at least one size, centre distance or speed, with the date"
        raise ScenarioError([Fault(name, "nothing that was measured stands in it", advice=advice)])
    return measured


def is_blank(text: str, name: str) -> bool:
    """Tell whether a file of measurements is a form that nobody has filled in: only such a one may be replaced."""
    try:
        rows = _tables(text, name)
        measured = Measurements.model_validate(rows.tables, context=Reading("mm"))
    except (ScenarioError, ValidationError):
        return False
    noted = any(check.note or any(step.note for step in check.step) for check in measured.check)
    return not measured.checks and not noted and not rows.faults


def _tables(text: str, name: str) -> TableRows:
    """Return the tables of the file."""
    if is_table(name):
        return rows_of_table(text)
    return TableRows(tables_of(text.replace("\r\n", "\n")), lambda place: place, ())


class TableRows(NamedTuple):
    """What the rows of a table stand for."""

    tables: dict[str, Any]
    """The tables that the TOML form would hold."""
    place: Callable[[str], str]
    """Turns a place in the tables into row and column."""
    faults: tuple[Fault, ...]
    """What is wrong with cells of which the tables hold the likeliest reading."""


class _TableRow(NamedTuple):
    """A row of the table with anything in it."""

    number: int
    """Line of the table, the headings being 1."""
    cells: dict[str, str]


def rows_of_table(text: str) -> TableRows:
    """Return the tables that the rows stand for.

    Separators are semicolon, tab or comma, whichever the headings hold; a decimal comma is read where the table is
    not parted by commas and it cannot part thousands. A date stands for all rows below it until the next.

    Raises
    ------
    ScenarioError
        The text is no table, or far too long a one.

    Examples
    --------
    >>> rows = rows_of_table("date;what;stage;side;position;over pins\\n26.11.2026;step;1;driver;2;117,5\\n")
    >>> rows.tables["check"][0]["step"]
    [{'stage': 1, 'side': 'driver', 'position': 2, 'over_pins': '117.5'}]
    >>> rows.place("check[0].step[0].over_pins")
    'row 2, over_pins'
    """
    faults: list[Fault] = []
    rows = _rows(text.removeprefix("\ufeff"), faults)
    checks: list[dict[str, Any]] = []
    places: dict[str, str] = {}
    day: str | None = None
    for row in rows:
        day = row.cells.get("date") or day
        kind = _kind(row, faults)
        if kind is None:
            continue
        entry = {name: _value(name, cell, row, faults) for name, cell in row.cells.items() if name in KINDS[kind]}
        faults += (
            Fault(f"row {row.number}, {name}", f"a {kind} has no such column", as_written(cell), advice="leave it out")
            for name, cell in row.cells.items()
            if name not in (*KINDS[kind], *IGNORED, "date", "what")
        )
        if not checks or (day or "") != checks[-1]["date"]:
            checks.append({"date": day or "", "step": [], "centre": [], "speed": []})
            places[f"check[{len(checks) - 1}]"] = f"row {row.number}"
        places[f"check[{len(checks) - 1}].{kind}[{len(checks[-1][kind])}]"] = f"row {row.number}"
        checks[-1][kind].append(entry)
    return TableRows({"check": checks}, lambda place: _place(place, places), tuple(faults))


def _rows(text: str, faults: list[Fault]) -> list[_TableRow]:
    """Return the rows below the headings, cells by the names of their columns, empty ones left out."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(";\t,", key=first.count)
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error as error:
        raise ScenarioError([Fault("table", f"this is no table: {error}", advice="save it again as CSV")]) from None
    if len(lines) > MOST_ROWS:
        raise ScenarioError([Fault("table", "there are too many rows", str(len(lines)), f"at most {MOST_ROWS}")])
    start = next((index for index, line in enumerate(lines) if any(cell.strip() for cell in line)), None)
    if start is None:
        return []
    heads = [_head(cell) for cell in lines[start]]
    faults += _head_faults(heads, start + 1)
    decimal = separator != ","
    found = []
    for number, line in enumerate(lines[start + 1 :], start + 2):
        cells = {head: cell.strip() for head, cell in zip(heads, line, strict=False) if head and cell.strip()}
        beyond = [cell for cell in line[len(heads) :] if cell.strip()]
        if beyond:
            advice = "write a decimal point, or part the table by semicolons" if not decimal else "check the row"
            faults.append(
                Fault(f"row {number}", "there are more cells than headings", as_written(beyond[0]), "", advice)
            )
        if cells:
            found.append(_TableRow(number, cells))
    return found


def _head(cell: str) -> str:
    return re.sub(r"[\s_-]+", "_", cell.strip().lower())


def _head_faults(heads: list[str], number: int) -> list[Fault]:
    found = []
    for index, head in enumerate(heads):
        if head and head not in COLUMNS:
            found.append(Fault(f"row {number}", "there is no such column", as_written(head), ", ".join(COLUMNS)))
        elif head and head in heads[:index]:
            found.append(Fault(f"row {number}", "this column stands there twice", as_written(head), advice="keep one"))
    if "date" not in heads:
        advice = "give every column its name in the first row, as in the form that design writes"
        found.append(Fault(f"row {number}", "there is no column of dates", allowed=", ".join(COLUMNS), advice=advice))
    return found


def _kind(row: _TableRow, faults: list[Fault]) -> str | None:
    """Return what a row tells; nothing where it holds no more than a date or a remark."""
    stated = row.cells.get("what", "").lower()
    if stated in KINDS:
        return stated
    if stated:
        faults.append(Fault(f"row {row.number}, what", "this is none of the words allowed here", as_written(stated),
                            ", ".join(KINDS)))  # fmt: skip
        return None
    for kind, columns in TELLS.items():
        if any(column in row.cells for column in columns):
            return kind
    if row.cells.keys() - {"date", "note", *IGNORED}:
        what = "what this row tells is not stated"
        faults.append(Fault(f"row {row.number}", what, allowed=", ".join(KINDS), advice="write it in the column what"))
    return None


def _value(name: str, cell: str, row: _TableRow, faults: list[Fault]) -> object:
    """Return what a cell holds, in the form that TOML would have."""
    where = f"row {row.number}, {name}"
    if name in WHOLE:
        match = re.fullmatch(r"(\d{1,3})([.,]0*)?", cell)
        return int(match[1]) if match else cell
    if name == "turned":
        return {"true": True, "yes": True, "false": False, "no": False}.get(cell.lower(), cell)
    if name in WORDS:
        return cell
    match = _COMMA.fullmatch(cell)
    if not match:
        return cell
    sign, before, after, rest = match.groups()
    if len(after) == 3 and before.strip("0"):
        got = f"{sign}{before}.{after}", f"{sign}{before}{after}"
        advice = f"write {got[0]} or {got[1]}"
        faults.append(Fault(where, "a comma that may be a decimal one or part thousands", as_written(cell), "", advice))
    return f"{sign}{before or '0'}.{after}{rest or ''}"


def _place(place: str, places: dict[str, str]) -> str:
    """Return row and column of a place in the tables."""
    match = re.fullmatch(r"(check\[\d+\](?:\.\w+\[\d+\])?)(?:\.(.*))?", place)
    if match is None or match[1] not in places:
        return place
    return f"{places[match[1]]}, {match[2]}" if match[2] else places[match[1]]


def faults_against(measured: Measurements, machine: MachineSheet) -> Iterator[Fault]:
    """Yield what in the file does not go with the machine: steps it has not, pins on plain rims, another's sizes."""
    for number, check in enumerate(measured.check):
        seen: dict[tuple[int, str, int], int] = {}
        for index, step in enumerate(check.step):
            place = f"check[{number}].step[{index}]"
            if fault := _no_such(place, step, machine) or _elsewhere(place, step, machine):
                yield fault
                continue
            first = seen.setdefault((step.stage, step.side, step.position), index)
            if first != index and step.read and check.step[first].read:
                yield Fault(place, "this step was measured twice in one check", advice="write them as two checks")
            yield from _step_faults(place, step, check, machine, measured.units)
        for index, centre in enumerate(check.centre):
            if fault := _no_such(f"check[{number}].centre[{index}]", centre, machine):
                yield fault
        for index, speed in enumerate(check.speed):
            yield from _speed_faults(f"check[{number}].speed[{index}]", speed, machine)


def _no_such(place: str, reading: StepReading | CentreReading, machine: MachineSheet) -> Fault | None:
    """Return the fault of a stage or position that the machine has not."""
    stages = len(machine.stages)
    if reading.stage > stages:
        return Fault(f"{place}.stage", "the machine has no such belt stage", str(reading.stage), f"1 to {stages}")
    positions = len(machine.stages[reading.stage - 1].positions)
    if reading.position is not None and reading.position > positions:
        what = f"stage {reading.stage} has no such position"
        return Fault(f"{place}.position", what, str(reading.position), f"1 to {positions}")
    return None


def _elsewhere(place: str, step: StepReading, machine: MachineSheet) -> Fault | None:
    """Return the fault of a reading on a shared cone that is not written where it stands: under its first belt."""
    stage = machine.stages[step.stage - 1]
    if not (stage.shared_driver and step.side == "driver") or (step.turned and not step.read):
        return None
    position = len(stage.positions) + 1 - step.position
    what = "this cone is the driven one of the belt before, and is measured once, there"
    allowed = f'stage {step.stage - 1}, side "driven", position {position} is this step'
    return Fault(f"{place}.side", what, f'stage {step.stage}, "driver"', allowed, "write it there, or leave it out")


def _step_faults(
    place: str, step: StepReading, check: DatedCheck, machine: MachineSheet, units: str
) -> Iterator[Fault]:
    stage = machine.stages[step.stage - 1]
    designed = step_at(stage, step.side, step.position)
    rim = rim_of(stage.section, designed)
    yield from _pin_faults(place, step, rim, units)
    if step.belt_top_mm is not None and not rim.grooved:
        what = "the belt lies on a plain rim, where its top tells nothing"
        yield Fault(f"{place}.belt_top", what, allowed="diameter or tape", advice="measure the rim")
    for size in sizes_of(rim, reading_of(step, check)):
        if abs(size.pitch_mm / designed.pitch_mm - 1) > FARTHEST:
            what = f"by {size.how} this step runs at {show_length(size.pitch_mm, units)}, so it is another one"
            near = f"near {show_length(designed.pitch_mm, units)}"
            yield Fault(place, what, allowed=near, advice="check stage, side, position, and the unit")
    over = step.outside_mm or step.diameter_mm
    if over is not None and rim.grooved and abs(over / designed.outside_mm - 1) > FARTHEST:
        what, near = "this is not the diameter of this step", f"near {show_length(designed.outside_mm, units)}"
        yield Fault(f"{place}.outside", what, show_length(over, units), near, "check the step, and the unit")


def _pin_faults(place: str, step: StepReading, rim: StepRim, units: str) -> Iterator[Fault]:
    if step.over_pins_mm is None:
        return
    if not rim.flanks:
        what = "there are no flanks here that pins could lie on"
        allowed = "outside with belt_top" if rim.grooved else "diameter or tape"
        yield Fault(f"{place}.over_pins", what, show_length(step.over_pins_mm, units), allowed)
        return
    pin = step.pin_mm or rim.pin_mm
    if pin is None:
        what = "no gauge pins are known for this section"
        yield Fault(f"{place}.pin", what, allowed="pin, their diameter", advice="add pin")
    elif step.pin_mm is not None and not rim.seats(pin):
        what = "pins of this size do not lie on the flanks of this groove"
        near = "" if rim.pin_mm is None else f"near {show_length(rim.pin_mm, units)}"
        yield Fault(f"{place}.pin", what, show_length(pin, units), near)


def _speed_faults(place: str, speed: RpmReading, machine: MachineSheet) -> Iterator[Fault]:
    counts = [len(stage.positions) for stage in machine.stages]
    fits = len(speed.positions) == len(counts) and all(p <= n for p, n in zip(speed.positions, counts, strict=True))
    if not fits:
        got = "x".join(map(str, speed.positions))
        allowed = f"one of every stage, motor first, up to {'x'.join(map(str, counts))}"
        yield Fault(f"{place}.positions", "the machine has no such positions", got, allowed)
    elif any(second.shared_driver for second in machine.stages) and sum(speed.positions) == counts[0] + 1:
        what, got = "both belts would lie on one step of the cone that they share", "x".join(map(str, speed.positions))
        yield Fault(f"{place}.positions", what, got, f"positions that do not add up to {counts[0] + 1}")
    yield from _setting_faults(place, speed, machine)
    yield from _doubtful(place, speed)
    shafts = [shaft.shaft for shaft in machine.speeds[0].shafts[1:]]
    if speed.shaft is not None and speed.shaft not in shafts:
        advice = "the motor's own speed is stated as motor"
        yield Fault(f"{place}.shaft", "no such shaft is driven", f'"{speed.shaft}"', ", ".join(shafts), advice)


def _doubtful(place: str, speed: RpmReading) -> Iterator[Fault]:
    """Yield why a speed tells nothing beside the motor's: it is too far from it, or read too coarsely."""
    if speed.speed_rpm is None:
        return
    read = [rpm for rpm in (speed.speed_rpm, speed.motor_rpm) if rpm is not None]
    if max(read) > APART * min(read):
        got = " and ".join(f"{rpm:.6g} rpm" for rpm in read)
        yield Fault(f"{place}.speed", "no machine turns so far from its motor's speed", got, advice="read both again")
    elif speed.finest_rpm > COARSEST * min(read):
        most = f"at most {COARSEST * min(read):.3g} rpm"
        advice = "read it finer, or check the speeds"
        yield Fault(
            f"{place}.resolution", "so coarse a reading tells nothing", f"{speed.finest_rpm:g} rpm", most, advice
        )


def _setting_faults(place: str, speed: RpmReading, machine: MachineSheet) -> Iterator[Fault]:
    """Yield what is wrong with the settings of a speed that was read: one of every switch of the machine."""
    counts = [len(switch.settings) for switch in machine.switches]
    if not speed.settings and not counts:
        return
    names = ", ".join(switch.name for switch in machine.switches)
    allowed = f"a setting each of {names}, up to {'x'.join(map(str, counts))}, the slowest is 1" if counts else ""
    got, key = "x".join(map(str, speed.settings)), f"{place}.settings"
    if not speed.settings:
        if speed.speed_rpm is not None:
            yield Fault(key, "it is not said how the machine was switched", allowed=allowed)
    elif not counts:
        yield Fault(key, "nothing is switched on this machine", got, advice="leave it out")
    elif len(speed.settings) != len(counts) or any(s > n for s, n in zip(speed.settings, counts, strict=True)):
        yield Fault(key, "the machine has no such settings", got, allowed)
