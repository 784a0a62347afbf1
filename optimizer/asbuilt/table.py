"""A table of measurements as a spreadsheet saves it, turned into the tables of the TOML form."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from typing import Any, NamedTuple

from optimizer.errors import Fault, ScenarioError
from optimizer.quantities import as_written

__all__ = ["COLUMNS", "Rows", "rows_of_table"]

KINDS: dict[str, tuple[str, ...]] = {
    "step": (
        "stage", "side", "position", "turned", "over_pins", "pin", "belt_top", "outside", "tape", "tape_thickness",
        "diameter", "resolution", "note",
    ),
    "centre": ("stage", "position", "centre", "resolution"),
    "speed": ("positions", "settings", "shaft", "speed", "motor", "load", "resolution"),
}  # fmt: skip
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


class Rows(NamedTuple):
    """What the rows of a table stand for."""

    tables: dict[str, Any]
    """The tables that the TOML form would hold."""
    place: Callable[[str], str]
    """Turns a place in the tables into row and column."""
    faults: tuple[Fault, ...]
    """What is wrong with cells of which the tables hold the likeliest reading."""


class _Row(NamedTuple):
    """A row of the table with anything in it."""

    number: int
    """Line of the table, the headings being 1."""
    cells: dict[str, str]


def rows_of_table(text: str) -> Rows:
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
    return Rows({"check": checks}, lambda place: _place(place, places), tuple(faults))


def _rows(text: str, faults: list[Fault]) -> list[_Row]:
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
            found.append(_Row(number, cells))
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


def _kind(row: _Row, faults: list[Fault]) -> str | None:
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


def _value(name: str, cell: str, row: _Row, faults: list[Fault]) -> object:
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
