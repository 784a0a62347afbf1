"""The reader of a file of measurements, TOML or a table from a spreadsheet."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

from pydantic import ValidationError

from optimizer.asbuilt.against import faults_against
from optimizer.asbuilt.measured import Measured
from optimizer.asbuilt.table import Rows, rows_of_table
from optimizer.errors import Fault, ScenarioError
from optimizer.records.sheet import MachineSheet
from optimizer.scenario.faults import faults_of
from optimizer.scenario.scenario import Units
from optimizer.scenario.stated import Reading
from optimizer.scenario.syntax import tables_of

__all__ = ["is_blank", "is_table", "load_measured"]


def is_table(name: str) -> bool:
    """Tell whether a file is meant to be a table from a spreadsheet: by its name."""
    return name.lower().endswith((".csv", ".tsv", ".txt"))


def load_measured(text: str, name: str, machine: MachineSheet, units: str = "mm") -> Measured:
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
    rows = _rows(text, name)
    stated = rows.tables.get("units")
    known = stated if isinstance(stated, str) and stated in get_args(Units) else units
    faults = list(rows.faults)
    try:
        measured = Measured.model_validate({"units": known, **rows.tables}, context=Reading(known))
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
        rows = _rows(text, name)
        measured = Measured.model_validate(rows.tables, context=Reading("mm"))
    except (ScenarioError, ValidationError):
        return False
    noted = any(check.note or any(step.note for step in check.step) for check in measured.check)
    return not measured.checks and not noted and not rows.faults


def _rows(text: str, name: str) -> Rows:
    """Return the tables of the file."""
    if is_table(name):
        return rows_of_table(text)
    return Rows(tables_of(text.replace("\r\n", "\n")), lambda place: place, ())
