"""The drawing of a cone in half section, with every size that it is made and checked by."""

from __future__ import annotations

from optimizer.cuts.cones import CutCone
from optimizer.drawing.cone_grooves import groove_details
from optimizer.drawing.cone_view import VIEW_LAYERS, cone_view
from optimizer.drawing.cone_words import cone_caution, cone_name, notes, sizes_of, step_rows, table
from optimizer.drawing.dimensions import DIMENSION_LAYERS
from optimizer.drawing.placing import moved, paragraph, room_of, stacked
from optimizer.drawing.sheet import Entity, Layer, Sheet
from optimizer.drawing.speed_words import one_line
from optimizer.pipeline.job import Job

__all__ = ["EDGE_MM", "TITLE_MM", "WORDS_MM", "cone_section_sheet", "sheet_around"]

EDGE_MM = 5.0
"""Room along the edges of the sheet."""
TITLE_MM, NAME_MM, WORDS_MM = 4.0, 3.2, 2.5
COLUMN_MM, GAP_MM, LEAD_MM = 88.0, 7.0, 5.0
"""Least width of the column of words, room between it and the view, between its parts."""


def cone_section_sheet(job: Job, cone: CutCone) -> Sheet:
    """Return the drawing of a cone, 1:1, as large as it needs.

    The upper half is cut: layers with their glue lines, hatched one way and the other as their grain runs; the lower
    half is seen from outside. Step 1 is at the left. Sizes over rims and over pins stand beside the small end, bore
    and hub beside the large one, places along the shaft above, widths below. A column beside it has grooves
    enlarged, a table of all sizes, the cone's name, notes, cautions.
    """
    sizes = sizes_of(job)
    view = tuple(cone_view(cone, sizes))
    rows = tuple(table(step_rows(job, cone)))
    width = max(COLUMN_MM, room_of(rows).right)
    title = one_line(job.scenario.title)
    heads: list[tuple[Entity, ...]] = [
        paragraph("words", title, width, TITLE_MM),
        paragraph("words", f"Cone: {cone_name(cone)}", width, NAME_MM),
        rows,
        groove_details(cone, sizes, width),
    ]
    room = room_of(view)
    corner = room.right + GAP_MM, room.high
    column = tuple(stacked([group for group in heads if group], corner, LEAD_MM))
    said_below = (*notes(job, cone), cone_caution(cone))
    ways = [
        tuple(stacked([paragraph("words", note, wide, WORDS_MM) for note in said_below], at, LEAD_MM / 2))
        for wide, at in (
            (width, (corner[0], room_of(column).low - LEAD_MM)),
            (max(room.right - room.left, COLUMN_MM), (room.left, room.low - GAP_MM)),
        )
    ]
    column += min(ways, key=lambda words: _area_mm2((*view, *column, *words)))
    said = f"{cone_name(cone)} in half section: " + "; ".join(
        f"step {step.position} {sizes.diameter(step.outside_mm)} outside" for step in cone.steps
    )
    return sheet_around(f"{title}: {cone_name(cone)}, half section", (*view, *column), VIEW_LAYERS, said)


def sheet_around(title: str, entities: tuple[Entity, ...], layers: tuple[Layer, ...], said: str) -> Sheet:
    """Return a sheet, 1:1, as large as its entities with some room along the edges.

    Layers for dimensions and words are added.
    """
    room = room_of(entities)
    way = EDGE_MM - room.left, EDGE_MM - room.low
    size = room.right - room.left + 2 * EDGE_MM, room.high - room.low + 2 * EDGE_MM
    every = (*layers, *DIMENSION_LAYERS, Layer("words", 0.0))
    return Sheet(title, *size, every, tuple(moved(entity, way) for entity in entities), said=said)


def _area_mm2(entities: tuple[Entity, ...]) -> float:
    room = room_of(entities)
    return (room.right - room.left) * (room.high - room.low)
