"""The steps of every cone as comma-separated text."""

from __future__ import annotations

from optimizer.cuts import CutCone, CutStep, cut_cones
from optimizer.cuts.cones import facing_steps
from optimizer.pipeline.job import Job
from optimizer.report.cells import csv_text
from optimizer.report.figures import in_units

__all__ = ["cuts_csv"]

LENGTHS = {
    "outside": "outside_mm",
    "datum": "datum_mm",
    "pitch": "pitch_mm",
    "over_pins": "over_pins_mm",
    "pin": "pin_mm",
    "groove_top_width": "top_width_mm",
    "groove_depth": "groove_depth_mm",
    "root": "root_mm",
    "from_face": "from_mm",
    "to_face": "to_mm",
    "belt_middle": "middle_mm",
    "blank": "blank_mm",
}
"""Heads of the columns of lengths, and the fields they come from."""


def cuts_csv(job: Job) -> str:
    """Return the steps, motor first, lengths in the maker's units as the heads say, masses in kilograms."""
    units = job.scenario.units
    lengths = (f"{name}_{units}" for name in LENGTHS)
    heads = ("cone", "step", "facing_step", *lengths, "rim", "groove_angle_deg", "layers", "mass_kg", "source")
    rows = [_row(cone, step, job) for cone in cut_cones(job) for step in cone.steps]
    return csv_text(heads, rows)


def _row(cone: CutCone, step: CutStep, job: Job) -> tuple[str | float | None, ...]:
    doing = {"driver": f"driving {cone.other_shaft}", "driven": f"driven by {cone.other_shaft}"}[cone.side]
    if cone.second_stage is not None:
        doing += f", driving {cone.faces[-1].shaft}"
    lengths = (getattr(step, field) for field in LENGTHS.values())
    shown = (None if mm is None else round(in_units(mm, job.scenario.units), 4) for mm in lengths)
    return (
        f"{cone.shaft}, {doing}",
        step.position,
        "; ".join(f"step {each.number} on {each.shaft}" for each in facing_steps(cone, (), step)),
        *shown,
        step.rim,
        step.groove_deg,
        step.layers,
        None if step.mass_kg is None else round(step.mass_kg, 3),
        step.source,
    )
