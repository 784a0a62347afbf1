"""The cut list: steps, layers, order of work of every cone, squares on their sheets; as sections, CSV, JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from optimizer.catalogue.plywood import ply_of
from optimizer.cuts import CutCone, CutStep, cut_cones
from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.cones import cone_name, ends_words, facing_steps, line_words
from optimizer.cuts.nesting import sawn
from optimizer.cuts.truing import Truing, truing
from optimizer.cuts.work_order import WorkStep, work_order
from optimizer.documents.blocks import Section, Table, listed_section, table_of
from optimizer.documents.data import csv_text, json_text, schema_of
from optimizer.documents.figures import decimals, in_units, percent, rpm
from optimizer.documents.stages import rim_words
from optimizer.pipeline.job import Job
from optimizer.records.design import CheckSheet
from optimizer.records.figures import Document
from optimizer.records.nesting import Nesting
from optimizer.scenario.base import Model

__all__ = ["cut_sections", "cuts_csv", "cuts_json", "cuts_schema"]

GRAIN = {"along": "along the first layer's", "across": "across it"}
SIZES = {
    "outside": "outside_mm",
    "over pins": "over_pins_mm",
    "pin": "pin_mm",
    "width at the rim": "top_width_mm",
    "depth": "groove_depth_mm",
    "root": "root_mm",
    "from": "from_mm",
    "to": "to_mm",
    "middle": "middle_mm",
    "blank": "blank_mm",
}
"""Heads of the columns of lengths, and the fields they come from."""
SUNK = ("depth", "root")
"""What only a step with a groove has."""
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
"""The same of the table for a spreadsheet."""
LINE = "belts in line"


def cut_sections(job: Job) -> list[Section]:
    """Return the cut list: a section a table.

    Cones stand motor first; each has its steps, its layers where it is glued from any, its order of work. The squares
    of all cones on their sheets come last, where anything is sawn. Lengths are in the maker's units, inches as
    fractions with the true value beside.
    """
    cones, words = cut_cones(job), BenchWords.of(job.scenario)
    sections = [section for cone in cones for section in _cone_sections(cone, cones, words, job)]
    nesting = sawn(job)
    if nesting is not None:
        sections += _nesting_sections(nesting, words)
    return sections


def _cone_sections(cone: CutCone, cones: tuple[CutCone, ...], words: BenchWords, job: Job) -> Iterator[Section]:
    """Yield steps, layers, order of work of one cone."""
    name = cone_name(cone)
    name = name[0].upper() + name[1:]
    yield listed_section(f"{name}: steps", _steps(cone, cones, words), *_cone_notes(cone, words, job))
    if cone.layers:
        yield listed_section(f"{name}: layers", _layers(cone, words), *_layer_notes(cone, words))
    work = table_of(
        work_order(cone, job),
        ("no.", lambda s: str(s.number)),
        ("step of the work", lambda s: s.name),
        ("what to do", lambda s: s.what),
        ("measure", lambda s: s.check),
        ("caution", lambda s: s.caution),
        ("source", lambda s: s.source),
    )
    yield listed_section(f"{name}: order of work", work)


def _steps(cone: CutCone, cones: tuple[CutCone, ...], words: BenchWords) -> Table:
    """Return every step; columns that nothing stands in are left out."""
    sunk = any(step.groove_depth_mm for step in cone.steps)
    sizes = {
        head: field
        for head, field in SIZES.items()
        if (sunk or head not in SUNK) and any(getattr(step, field) is not None for step in cone.steps)
    }
    shared = cone.second_stage is not None
    return table_of(
        cone.steps,
        ("step", lambda step: str(step.position)),
        (f"position of belt {cone.stage}", lambda step: str(step.position)) if shared else None,
        (f"position of belt {cone.second_stage}", lambda step: str(step.second_position)) if shared else None,
        ("faces", lambda step: _faces(step, cone, cones, words)),
        *(
            (f"{head} {words.units}", lambda step, field=field: words.bare(getattr(step, field)))
            for head, field in sizes.items()
        ),
        ("rim", lambda step: rim_words(step.rim, step.groove_deg)),
        ("layers", lambda step: "" if step.layers is None else str(step.layers)) if cone.layers else None,
        ("mass kg", lambda step: decimals(step.mass_kg)) if cone.mass_kg is not None else None,
        ("source", lambda step: step.source),
    )


def _faces(step: CutStep, cone: CutCone, cones: tuple[CutCone, ...], words: BenchWords) -> str:
    """Return which step on the other shaft, or shafts, a step faces."""
    return "; ".join(
        f"step {number} on {shaft}" + (f", {words.size(facing.outside_mm)}" if facing else "")
        for shaft, number, facing in facing_steps(cone, cones, step)
    )


def _cone_notes(cone: CutCone, words: BenchWords, job: Job) -> Iterator[str]:
    """Yield what is said of a whole cone."""
    yield ends_words(cone)
    yield line_words(cone, job)
    yield f"Width of all steps together {words.size(cone.width_mm)}; places are counted from the face beside step 1."
    bore = "not stated, measure hub or shaft" if cone.bore_mm is None else words.size(cone.bore_mm)
    hub = f" over a hub of that size on a shaft of {words.size(cone.shaft_mm)}" if cone.hub_mm and cone.shaft_mm else ""
    yield f"Bore {bore}{hub}; runs at {rpm(cone.rpm)} rpm at the most."
    if cone.key_seat is not None:
        key = cone.key_seat
        yield (
            f"Key {words.size(key.width_mm)} x {words.size(key.height_mm)}, over the hub's seat "
            f"{words.size(key.over_hub_mm)}, over the shaft's seat {words.size(key.over_shaft_mm)} ({key.source})."
            + (" Never key plywood alone: a metal hub or flange carries the key." if cone.material == "timber" else "")
        )
    if cone.flat is not None:
        yield cone.flat.words(words.size)
    if cone.mass_kg is not None:
        yield f"Turned from timber {cone.mass_kg:.2f} kg, as birch plywood of 685 kg/m³ (EN 315, middle of 660 to 710)."
    if any(step.over_pins_mm is not None for step in cone.turned):
        yield "In a V groove the size over pins sets where the belt runs, and so the speed; the rim does not."


def _layers(cone: CutCone, words: BenchWords) -> Table:
    """Return every layer a cone is glued from."""
    units, ply = words.units, ply_of(cone.layers[0].thickness_mm)
    return table_of(
        cone.layers,
        ("layer", lambda layer: str(layer.number)),
        ("step", lambda layer: str(layer.position)),
        (f"nominal {units}", lambda _: words.bare(ply.nominal_mm)) if ply else None,
        (f"mean {units}", lambda _: words.bare(ply.mean_mm)) if ply else None,
        (f"thick {units}", lambda layer: words.bare(layer.thickness_mm)),
        (f"round {units}", lambda layer: words.bare(layer.round_mm)),
        (f"square {units}", lambda layer: words.bare(layer.square_mm)),
        ("face grain", lambda layer: GRAIN[layer.grain]),
    )


def _layer_notes(cone: CutCone, words: BenchWords) -> Iterator[str]:
    """Yield what is said of the layers."""
    yield "Layer 1 lies at the face beside step 1. Round and square hold the truing allowance."
    ply = ply_of(cone.layers[0].thickness_mm)
    if ply is None:
        yield "No birch plywood of the table is as thick as a layer: the thickness is the one stated."
    elif ply.limits_mm is not None:
        low, high = (words.size(mm) for mm in ply.limits_mm)
        yield f"Plywood of that nominal thickness may measure {low} to {high} ({ply.source}): measure it first."


def _nesting_sections(nesting: Nesting, words: BenchWords) -> Iterator[Section]:
    """Yield the sheets with their waste, and the squares."""
    units = words.units
    sheets = table_of(
        nesting.sheets,
        ("sheet", lambda sheet: str(sheet.number)),
        (f"width {units}", lambda sheet: words.bare(sheet.width_mm)),
        (f"length {units}", lambda sheet: words.bare(sheet.length_mm)),
        ("squares", lambda sheet: str(len(sheet.squares))),
        ("waste", lambda sheet: percent(sheet.waste, 1)),
        ("sawn by", lambda sheet: "straight cuts" if sheet.straight else "some cuts stop inside the sheet"),
    )
    yield listed_section("Sheets to saw", sheets, *_nesting_notes(nesting, words))
    squares = table_of(
        [(sheet, square) for sheet in nesting.sheets for square in sheet.squares],
        ("square", lambda at: str(at[1].number)),
        ("for", lambda at: at[1].name),
        (f"side {units}", lambda at: words.bare(at[1].side_mm)),
        ("sheet", lambda at: str(at[0].number)),
    )
    said = "The number is the one on the sawing plan: write it on the piece."
    yield listed_section("Squares on the sheets", squares, said)


def _nesting_notes(nesting: Nesting, words: BenchWords) -> Iterator[str]:
    """Yield waste, kerf, what is left over, what has no place."""
    yield (
        f"Waste in all {percent(nesting.waste, 1)}; by area alone no fewer than {nesting.bound.sheets} of these sheets "
        f"would do, which would leave {percent(nesting.bound.waste, 1)}."
    )
    yield f"Kerf {words.size(nesting.kerf_mm)}, a strip of {words.size(nesting.edge_mm)} along the edges is not used."
    if nesting.leftover is not None:
        left = nesting.leftover
        yield f"Largest piece left over on the last sheet {words.size(left.width_mm)} x {words.size(left.length_mm)}."
    for square in nesting.unplaced:
        yield f"NO PLACE for {square.name}, {words.size(square.side_mm)} square: {square.reason}."


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


class ConeDocument(Model):
    """One cone with its order of work."""

    cone: CutCone
    truing: Truing | None
    """How its rough blank is trued; nothing where nothing is turned from timber."""
    work: tuple[WorkStep, ...]
    """What to do, in its order; lengths in these sentences are in the maker's units."""


class CutsDocument(Document):
    """All that is cut for one machine."""

    format: Literal["conewright cuts 1"] = "conewright cuts 1"
    title: str
    scenario_sha256: str
    """Digest of the scenario's text that the design was made from."""
    cones: tuple[ConeDocument, ...]
    """Motor first, the driver of each stage before the driven; one that two belts share once."""
    in_line: tuple[CheckSheet, ...]
    """The checks that every belt runs in line."""
    sawn: Nesting | None
    """Where every square is sawn from; nothing where nothing is glued from layers."""


def cuts_json(job: Job) -> str:
    """Return the cut list as JSON, keys in the order of the record, the same bytes for the same design."""
    cones = cut_cones(job)
    document = CutsDocument(
        title=job.scenario.title,
        scenario_sha256=job.design.scenario.sha256,
        cones=tuple(ConeDocument(cone=cone, truing=truing(cone, job), work=work_order(cone, job)) for cone in cones),
        in_line=tuple(check for check in job.design.checks if check.name.startswith(LINE)),
        sawn=sawn(job),
    )
    return json_text(document.model_dump(mode="json"))


def cuts_schema() -> dict[str, Any]:
    """Return the JSON schema of a cut list."""
    return schema_of(CutsDocument)
