"""The cut list: steps, layers, order of work of every cone, squares on their sheets; as tables, CSV, JSON."""

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
from optimizer.documents.blocks import Table
from optimizer.documents.data import csv_text, json_text, schema_of
from optimizer.documents.figures import in_units, rpm
from optimizer.documents.stages import rim_words
from optimizer.pipeline.job import Job
from optimizer.quantities.written import percent
from optimizer.records.design import CheckSheet
from optimizer.records.figures import Document
from optimizer.records.nesting import Nesting
from optimizer.scenario.base import Model

__all__ = ["cut_tables", "cut_titles", "cuts_csv", "cuts_json", "cuts_schema"]


Titled = tuple[str, Table, tuple[str, ...]]
SUNK = ("depth", "root")
"""What only a step with a groove has."""
GRAIN = {"along": "along the first layer's", "across": "across it"}


def cut_tables(job: Job) -> list[Titled]:
    """Return the tables of the cut list, each with its title and what is said below it.

    Cones stand motor first; each has its steps, its layers where it is glued from any, its order of work. The squares
    of all cones on their sheets come last, where anything is sawn. Lengths are in the maker's units, inches as
    fractions with the true value beside.
    """
    cones = cut_cones(job)
    tables = [table for cone in cones for table in _cone_tables(cone, cones, job)]
    nesting = sawn(job)
    if nesting is not None:
        tables += _nesting_tables(nesting, BenchWords.of(job.scenario))
    return tables


def cut_titles(cone: CutCone) -> tuple[str, str, str]:
    """Return the titles of a cone's tables: steps, layers, order of work."""
    name = cone_name(cone)
    name = name[0].upper() + name[1:]
    return f"{name}: steps", f"{name}: layers", f"{name}: order of work"


def _cone_tables(cone: CutCone, cones: tuple[CutCone, ...], job: Job) -> Iterator[Titled]:
    """Yield the tables of one cone."""
    words, titles = BenchWords.of(job.scenario), cut_titles(cone)
    yield titles[0], _steps(cone, cones, words), tuple(_cone_notes(cone, words, job))
    if cone.layers:
        yield titles[1], _layers(cone, words), tuple(_layer_notes(cone, words))
    yield titles[2], _order(cone, job), ()


def _steps(cone: CutCone, cones: tuple[CutCone, ...], words: BenchWords) -> Table:
    """Return every step; columns that nothing stands in are left out."""
    lengths = {
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
    if not any(step.groove_depth_mm for step in cone.steps):
        lengths = {head: field for head, field in lengths.items() if head not in SUNK}
    there = {
        head: field for head, field in lengths.items() if any(getattr(step, field) is not None for step in cone.steps)
    }
    glued, heavy = bool(cone.layers), cone.mass_kg is not None
    shared = cone.second_stage is not None
    heads = (
        "step",
        *((f"position of belt {cone.stage}", f"position of belt {cone.second_stage}") if shared else ()),
        "faces",
        *(f"{head} {words.units}" for head in there),
        "rim",
        *(("layers",) if glued else ()),
        *(("mass kg",) if heavy else ()),
        "source",
    )
    rows = (
        (
            str(step.position),
            *((str(step.position), str(step.second_position)) if shared else ()),
            _faces(step, cone, cones, words),
            *(words.bare(getattr(step, field)) for field in there.values()),
            rim_words(step.rim, step.groove_deg),
            *(("" if step.layers is None else str(step.layers),) if glued else ()),
            *(("" if step.mass_kg is None else f"{step.mass_kg:.2f}",) if heavy else ()),
            step.source,
        )
        for step in cone.steps
    )
    return Table(heads, tuple(rows))


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
    units = words.units
    ply = ply_of(cone.layers[0].thickness_mm)
    plywood = (f"nominal {units}", f"mean {units}") if ply is not None else ()
    sizes = (words.bare(ply.nominal_mm), words.bare(ply.mean_mm)) if ply is not None else ()
    heads = ("layer", "step", *plywood, f"thick {units}", f"round {units}", f"square {units}", "face grain")
    rows = (
        (
            str(layer.number),
            str(layer.position),
            *sizes,
            words.bare(layer.thickness_mm),
            words.bare(layer.round_mm),
            words.bare(layer.square_mm),
            GRAIN[layer.grain],
        )
        for layer in cone.layers
    )
    return Table(heads, tuple(rows))


def _layer_notes(cone: CutCone, words: BenchWords) -> Iterator[str]:
    """Yield what is said of the layers."""
    yield "Layer 1 lies at the face beside step 1. Round and square hold the truing allowance."
    ply = ply_of(cone.layers[0].thickness_mm)
    if ply is None:
        yield "No birch plywood of the table is as thick as a layer: the thickness is the one stated."
    elif ply.limits_mm is not None:
        low, high = (words.size(mm) for mm in ply.limits_mm)
        yield f"Plywood of that nominal thickness may measure {low} to {high} ({ply.source}): measure it first."


def _order(cone: CutCone, job: Job) -> Table:
    """Return the order of work of a cone."""
    rows = ((str(s.number), s.name, s.what, s.check, s.caution, s.source) for s in work_order(cone, job))
    return Table(("no.", "step of the work", "what to do", "measure", "caution", "source"), tuple(rows))


def _nesting_tables(nesting: Nesting, words: BenchWords) -> Iterator[Titled]:
    """Yield the sheets with their waste, and the squares."""
    units = words.units
    rows = (
        (
            str(sheet.number),
            words.bare(sheet.width_mm),
            words.bare(sheet.length_mm),
            str(len(sheet.squares)),
            percent(sheet.waste, 1),
            "straight cuts" if sheet.straight else "some cuts stop inside the sheet",
        )
        for sheet in nesting.sheets
    )
    heads = ("sheet", f"width {units}", f"length {units}", "squares", "waste", "sawn by")
    yield "Sheets to saw", Table(heads, tuple(rows)), tuple(_nesting_notes(nesting, words))
    squares = (
        (str(square.number), square.name, words.bare(square.side_mm), str(sheet.number))
        for sheet in nesting.sheets
        for square in sheet.squares
    )
    table = Table(("square", "for", f"side {units}", "sheet"), tuple(squares))
    yield "Squares on the sheets", table, ("The number is the one on the sawing plan: write it on the piece.",)


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


LINE = "belts in line"


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
