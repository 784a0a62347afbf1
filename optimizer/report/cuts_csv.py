"""The cut table as comma-separated text."""

from __future__ import annotations

from optimizer.cuts import cut_rows
from optimizer.records.sheet import MachineSheet
from optimizer.report.cells import csv_text
from optimizer.report.figures import Units, in_units

__all__ = ["cuts_csv"]


def cuts_csv(machine: MachineSheet, units: Units) -> str:
    """Return the cut table, lengths in the maker's units, as the heads say."""
    lengths = (
        "outside",
        "datum",
        "pitch",
        "over_pins",
        "pin",
        "groove_top_width",
        "groove_depth",
        "step_pitch",
        "blank",
    )
    heads = ("cone", "step", "facing_step", *(f"{name}_{units}" for name in lengths), "groove_angle_deg", "source")
    rows = []
    for row in cut_rows(machine):
        sizes = (
            row.outside_mm,
            row.datum_mm,
            row.pitch_mm,
            row.over_pins_mm,
            row.pin_mm,
            row.top_width_mm,
            row.groove_depth_mm,
            row.step_pitch_mm,
            row.blank_mm,
        )
        shown = (None if mm is None else round(in_units(mm, units), 4) for mm in sizes)
        rows.append((row.cone, row.step, row.facing, *shown, row.groove_deg, row.source))
    return csv_text(heads, rows)
