"""How exactly to turn: the chance that all is well, what every size may be off, where to aim."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.papers.html_table import html_table
from optimizer.papers.markup import Markup, listing
from optimizer.papers.page import part
from optimizer.records.design import Design
from optimizer.records.sheet import MachineSheet
from optimizer.records.tolerance import ToleranceSheet
from optimizer.report.figures import Units
from optimizer.report.tolerance import tolerance_words
from optimizer.report.tolerance_tables import (
    allowed_table,
    chance_table,
    cut_size_table,
    error_table,
    spread_table,
    tolerance_notes,
)

__all__ = ["turning_part"]


def turning_part(design: Design) -> Iterator[Markup]:
    """Yield the section of how exactly to turn, where anything is turned."""
    if design.tolerance is not None:
        content = _content(design.tolerance, design.machine, design.scenario.units)
        yield part("tolerance", "How exactly to turn", content)


def _content(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Iterator[Markup]:
    yield listing(f"{line}." for line in tolerance_words(sheet, machine, units))
    yield html_table(chance_table(sheet), "Chance that all is well, by what may go wrong")
    yield html_table(allowed_table(sheet, machine, units), f"How far every size may be off, in {units}")
    yield html_table(cut_size_table(sheet, machine, units), f"Where to aim, where to stop at first, in {units}")
    yield html_table(spread_table(sheet, machine, units), "Centre distances of the positions, as turned")
    yield html_table(error_table(sheet), "What errors of turning do to the speeds")
    yield listing(f"{line}." for line in tolerance_notes(sheet, machine))
