"""The drawing of a cone in half section, with every size that it is made and checked by."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby, pairwise
from math import radians, tan
from typing import NamedTuple

from optimizer.catalogue.sections import section
from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.cones import CutCone, CutStep, step_words
from optimizer.drawing.cone_profile import (
    cone_profile,
    groove_profile,
    kinds_of_groove,
    profile_between,
    step_edges,
    step_profile,
)
from optimizer.drawing.cone_words import cone_caution, cone_title, notes, numbers, step_rows
from optimizer.drawing.dimensions import (
    DIMENSION_LAYERS,
    SIZE_MM,
    Diameter,
    Ordinate,
    across,
    angle_between,
    broken,
    diameter_stack,
    ordinates,
    upright,
)
from optimizer.drawing.lettering import Hand, one_line, text_width_mm
from optimizer.drawing.marks import hatched
from optimizer.drawing.placing import (
    LEAD,
    Room,
    in_rows,
    moved,
    paragraph,
    room_of,
    stacked,
    table,
)
from optimizer.drawing.sheet import Circle, Entity, Layer, Line, Point, Polyline, Sheet, Text
from optimizer.pipeline.job import Job

__all__ = ["cone_section_sheet", "sheet_around"]

VIEW_LAYERS = (
    Layer("hatch", 0.13, ink="grey"),
    Layer("thin", 0.18),
    Layer("bought", 0.25, dashes_mm=(2.5, 1.2)),
    Layer("pins", 0.18, dashes_mm=(1.2, 0.8)),
    Layer("outline", 0.5),
    Layer("axis", 0.18, dashes_mm=(6.0, 1.2, 0.8, 1.2)),
)
HATCH_MM, HUB_HATCH_MM = 2.6, 1.2
"""Distance of hatching lines in timber, in a hub."""
CLEAR_MM, ROW_MM = 6.0, 11.0
"""Room between the body and its sizes, between rows of sizes."""
AXIS_MM = 3.0
"""How far the axis stands out."""
NUMBER_MM = 3.6
"""Height of the middle of a layer's number above the bore."""
FACTORS = (2, 5, 10, 20, 50)
LEAST_MM = 13.0
"""Least width of a groove on paper."""
LAND_MM, BELOW_MM = 8.0, 7.0
"""What is shown of the rim beside a groove, of the timber below it, on paper."""
GROOVE_GAP_MM = 8.0
EDGE_MM = 5.0
"""Room along the edges of the sheet."""
TITLE_MM, NAME_MM, WORDS_MM = 4.0, 3.2, 2.5
COLUMN_MM, GAP_MM, LEAD_MM = 88.0, 7.0, 5.0
"""Least width of the column of words, room between it and the view, between its parts."""


class Piece(NamedTuple):
    """A part of the section that is hatched one way."""

    start_mm: float
    end_mm: float
    number: int | None
    """The layer's; nothing where layers are not known."""
    slope_deg: float


def _grain_deg(number: int) -> float:
    """Return the direction of the hatching of a layer: layers whose grain crosses are hatched across each other."""
    return 45.0 if number % 2 else 135.0


def _small_end(cone: CutCone) -> int:
    """Return -1 where the small end of a cone is at the left, next to step 1, 1 where it is at the right."""
    return -1 if cone.steps[0].outside_mm <= cone.steps[-1].outside_mm else 1


def _cone_view(cone: CutCone, sizes: BenchWords) -> Iterator[Entity]:
    """Yield the cone with its axis along y = 0 and the face next to step 1 at x = 0, 1:1, sizes around it."""
    yield from _section(cone)
    yield from _outside(cone)
    yield from _pins(cone)
    yield Line("axis", (-AXIS_MM, 0.0), (cone.width_mm + AXIS_MM, 0.0))
    yield from _diameters(cone, sizes)
    yield from _bores(cone, sizes)
    yield from _places(cone, sizes)
    yield from _widths(cone, sizes)


def reach_mm(cone: CutCone) -> float:
    """Return the greatest radius that is drawn, gauge pins included [mm]."""
    return max(max(step.outside_mm, step.over_pins_mm or 0.0) for step in cone.steps) / 2


def _section(cone: CutCone) -> Iterator[Entity]:
    """Yield what is cut by the plane of the drawing."""
    bore = (cone.bore_mm or 0.0) / 2
    for turned, group in groupby(cone.steps, lambda step: step.source == "turned"):
        steps = [*group]
        if turned:
            yield from _body(cone, steps, bore)
        else:
            for step in steps:
                profile = step_profile(step, cone.section)
                yield Polyline("bought", ((step.from_mm, bore), *profile, (step.to_mm, bore)), closed=True)
    if cone.turned:
        yield from _hub(cone)


def _body(cone: CutCone, steps: list[CutStep], bore: float) -> Iterator[Entity]:
    """Yield steps that are one body, with glue lines, hatching, the numbers of their layers."""
    whole = cone_profile(cone)
    outline = profile_between(whole, steps[0].from_mm, steps[-1].to_mm)
    pieces = [*_pieces(cone, steps)]
    for piece in pieces:
        part = profile_between(whole, piece.start_mm, piece.end_mm)
        number = _number(piece, bore, min(radius for _, radius in part))
        free = [_around(number)] if number else []
        low = max(bore, _seat_mm(cone)) if cone.material == "metal" else bore
        corners = ((piece.start_mm, low), *part, (piece.end_mm, low))
        yield from hatched("hatch", corners, piece.slope_deg, HATCH_MM, free)
        if number:
            yield number
    for left, right in pairwise(pieces):
        place = right.start_mm
        ends = (
            profile_between(whole, left.start_mm, place)[-1],
            profile_between(whole, place, right.end_mm)[0],
        )
        yield Line("thin", (place, bore), min(ends, key=lambda end: end[1]))
    yield Polyline("outline", ((outline[0][0], bore), *outline, (outline[-1][0], bore)), closed=True)


def _pieces(cone: CutCone, steps: list[CutStep]) -> Iterator[Piece]:
    """Yield the layers; where their thickness is not known, the discs; a metal cone is one piece."""
    if cone.material == "metal":
        yield Piece(steps[0].from_mm, steps[-1].to_mm, None, 45.0)
        return
    for step in steps:
        layers = [layer for layer in cone.layers if layer.position == step.position]
        start = step.from_mm
        for layer in layers:
            end = step.to_mm if layer is layers[-1] else min(start + layer.thickness_mm, step.to_mm)
            yield Piece(start, end, layer.number, _grain_deg(layer.number))
            start = end
        if not layers:
            yield Piece(step.from_mm, step.to_mm, None, _grain_deg(step.position))


def _number(piece: Piece, bore: float, lowest: float) -> Text | None:
    """Return the number of a layer, just above the bore, where there is room for it."""
    text = Text(
        "words", ((piece.start_mm + piece.end_mm) / 2, bore + NUMBER_MM), str(piece.number), SIZE_MM, "middle", "middle"
    )
    room = _around(text)
    if piece.number is None or room.high > lowest or room.left < piece.start_mm or room.right > piece.end_mm:
        return None
    return text


def _around(text: Text) -> Room:
    return room_of([text]).grown(0.5)


def _hub(cone: CutCone) -> Iterator[Entity]:
    """Yield the metal hub with its key seat, along all that is turned, or the seat in a metal cone."""
    start, end = cone.turned[0].from_mm, cone.turned[-1].to_mm
    inner, outer = (cone.shaft_mm or 0.0) / 2, (cone.hub_mm or 0.0) / 2
    seat = _seat_mm(cone)
    if outer > inner:
        yield from hatched("hatch", Room(start, seat, end, outer).corners, 45.0, HUB_HATCH_MM)
        yield Polyline("outline", Room(start, inner, end, outer).corners, closed=True)
    if seat > inner:
        yield Line("outline", (start, seat), (end, seat))


def _seat_mm(cone: CutCone) -> float:
    """Return the radius of the bottom of the key seat, of the bore where there is no metal that could have one [mm]."""
    bore = (cone.shaft_mm or 0.0) / 2
    if cone.key_seat is None or (cone.hub_mm is None and cone.material != "metal"):
        return bore
    return cone.key_seat.over_hub_mm - bore


def _outside(cone: CutCone) -> Iterator[Entity]:
    """Yield the half that is seen from outside: its outline and the edges around it."""
    for turned, group in groupby(cone.steps, lambda step: step.source == "turned"):
        steps = [*group]
        outline, edges = ("outline", "thin") if turned else ("bought", "bought")
        profile = profile_between(cone_profile(cone), steps[0].from_mm, steps[-1].to_mm)
        seen: dict[float, float] = {}
        for step in steps:
            for place, radius in step_edges(step, cone.section):
                seen[place] = max(radius, seen.get(place, 0.0))
        first, last = steps[0].from_mm, steps[-1].to_mm
        yield Polyline(outline, ((first, 0.0), *((place, -radius) for place, radius in profile), (last, 0.0)))
        for place in sorted(set(seen) - {first, last}):
            yield Line(edges, (place, 0.0), (place, -seen[place]))


def _pins(cone: CutCone) -> Iterator[Entity]:
    """Yield the gauge pins where they lie in the grooves."""
    for step in cone.steps:
        if step.over_pins_mm is not None and step.pin_mm is not None:
            at = (step.over_pins_mm - step.pin_mm) / 2
            for y in (at, -at):
                yield Circle("pins", (step.middle_mm, y), step.pin_mm / 2, note=f"pin in step {step.position}")


def _diameters(cone: CutCone, sizes: BenchWords) -> Iterator[Entity]:
    """Yield the sizes over the rim and over pins, beside the small end, so that their lines pass the body by."""
    way = _small_end(cone)
    stated = []
    for step in cone.steps:
        foot = step.from_mm if way < 0 else step.to_mm
        stated.append(Diameter(step.outside_mm, foot, sizes.diameter(step.outside_mm)))
        if step.over_pins_mm is not None:
            stated.append(Diameter(step.over_pins_mm, step.middle_mm, f"over pins {sizes.bare(step.over_pins_mm)}"))
    yield from diameter_stack(stated, (0.0 if way < 0 else cone.width_mm) + way * AXIS_MM, way)


def _bores(cone: CutCone, sizes: BenchWords) -> Iterator[Entity]:
    """Yield the sizes of bore and hub, beside the large end."""
    way = -_small_end(cone)
    face = cone.width_mm if way > 0 else 0.0
    x = face + way * CLEAR_MM
    names = [(cone.shaft_mm, "shaft"), (cone.hub_mm, "hub")] if cone.hub_mm is not None else [(cone.bore_mm, "bore")]
    for size, name in names:
        if size is None:
            continue
        lines = [sizes.diameter(size), name]
        yield from upright((-size / 2, size / 2), x, (face, face), lines, way)
        x += way * (max(text_width_mm(line, SIZE_MM) for line in lines) + 4.0)


def _places(cone: CutCone, sizes: BenchWords) -> Iterator[Entity]:
    """Yield the places of the ends of steps and of the middles of belts, counted from the face next to step 1."""
    joints = [Ordinate(0.0, cone.steps[0].outside_mm / 2, "0")]
    for step, after in zip(cone.steps, (*cone.steps[1:], None), strict=True):
        over = max(step.over_pins_mm or 0.0, step.outside_mm) / 2
        joints.append(Ordinate(step.middle_mm, over, f"{step_words(cone, step)}: {sizes.bare(step.middle_mm)}"))
        high = max(step.outside_mm, after.outside_mm if after else 0.0) / 2
        joints.append(Ordinate(step.to_mm, high, sizes.bare(step.to_mm)))
    yield from ordinates(joints, reach_mm(cone) + CLEAR_MM)


def _widths(cone: CutCone, sizes: BenchWords) -> Iterator[Entity]:
    """Yield the widths of the steps, of all of them, which end is which."""
    y, radii = -reach_mm(cone), [step.outside_mm / 2 for step in cone.steps]
    if len(cone.steps) > 1:
        labels = [sizes.bare(step.to_mm - step.from_mm) for step in cone.steps]
        narrow = [
            label
            for label, step in zip(labels, cone.steps, strict=True)
            if not broken(label, step.to_mm - step.from_mm - 1)
        ]
        y -= CLEAR_MM + 4.0 + max((text_width_mm(label, SIZE_MM) for label in narrow), default=0.0)
        for number, (label, step) in enumerate(zip(labels, cone.steps, strict=True)):
            feet = [-max(radii[max(number - 1, 0)], radii[number]), -max(radii[number : number + 2])]
            yield from across((step.from_mm, step.to_mm), y, (feet[0], feet[1]), label, chained=True)
        if cone.steps[0].outside_mm != cone.steps[-1].outside_mm:
            left, right = ("small end", "large end") if _small_end(cone) < 0 else ("large end", "small end")
            yield Text("words", (-AXIS_MM - 2.0, y), left, SIZE_MM, "right", "middle")
            yield Text("words", (cone.width_mm + AXIS_MM + 2.0, y), right, SIZE_MM, "left", "middle")
    yield from across((0.0, cone.width_mm), y - ROW_MM, (-radii[0], -radii[-1]), sizes.bare(cone.width_mm))


def _groove_details(cone: CutCone, sizes: BenchWords, width_mm: float) -> tuple[Entity, ...]:
    """Return the details in rows that stay within a width [mm] where they can, from the origin down."""
    kinds = kinds_of_groove(cone.steps)
    groups = [tuple(_groove_detail(step, positions, cone.section, sizes)) for step, positions in kinds]
    return tuple(in_rows(groups, (0.0, 0.0), width_mm, GROOVE_GAP_MM))


def _groove_detail(step: CutStep, positions: tuple[int, ...], section_name: str, sizes: BenchWords) -> Iterator[Entity]:
    """Yield one groove, the middle of its rim at the origin."""
    corners, ribs = _one_groove(step, section_name)
    factor = next((f for f in FACTORS if 2 * corners[-1][0] * f >= LEAST_MM), FACTORS[-1])
    shape = [(place * factor, -depth * factor) for place, depth in corners]
    half, deep = shape[-1][0], -min(y for _, y in shape)
    edge, bottom = half + LAND_MM, -deep - BELOW_MM
    rim: tuple[Point, ...] = ((-edge, 0.0), *shape, (edge, 0.0))
    yield from hatched("hatch", (*rim, (edge, bottom), (-edge, bottom)), 45.0, 2.6)
    yield Polyline("outline", rim)
    yield from across((-half, half), 6.0, (0.0, 0.0), sizes.bare(2 * corners[-1][0]))
    flat = [x for x, y in shape if abs(y + deep) < 1e-9]
    depth = sizes.bare(deep / factor).replace(" (", "\n(").split("\n")
    yield from upright((-deep, 0.0), edge + 5.0, (max(flat), edge), depth)
    if max(flat) > min(flat):
        label = sizes.bare((max(flat) - min(flat)) / factor)
        yield from across((min(flat), max(flat)), bottom - 7.0, (-deep, -deep), label)
    if step.groove_deg is not None and step.rim != "round":
        apex = -half / tan(radians(step.groove_deg) / 2)
        yield from angle_between((0.0, apex), -apex - 0.3 * deep, step.groove_deg, f"{step.groove_deg:g}°")
    steps = f"step{'s' * (len(positions) > 1)} {numbers(positions)}"
    lines = [f"groove of {steps}, scale {factor}:1"]
    if ribs:
        lines = [
            f"one of {ribs} grooves of {steps}, scale {factor}:1",
            f"{sizes.bare(section(section_name).e_mm)} apart",
        ]
    if step.rim == "round":
        lines.append(f"half-round, radius {sizes.bare(step.top_width_mm / 2)}")
    lead = LEAD * SIZE_MM
    top = 6.0 + 2 * SIZE_MM + lead * (len(lines) - 0.8)
    yield from Hand("words", SIZE_MM, lead).down((-edge, top), lines, along="base")


def _one_groove(step: CutStep, section_name: str) -> tuple[tuple[Point, ...], int]:
    """Return the corners of a groove about its own middle, the number of ribs where it is one of several."""
    corners = groove_profile(step, section_name)
    if step.rim != "ribbed":
        return corners, 0
    ribs = section(section_name).ribs
    first = corners[: len(corners) // ribs]
    middle = (first[0][0] + first[-1][0]) / 2
    return tuple((place - middle, depth) for place, depth in first), ribs


def cone_section_sheet(job: Job, cone: CutCone) -> Sheet:
    """Return the drawing of a cone, 1:1, as large as it needs.

    The upper half is cut: layers with their glue lines, hatched one way and the other as their grain runs; the lower
    half is seen from outside. Step 1 is at the left. Sizes over rims and over pins stand beside the small end, bore
    and hub beside the large one, places along the shaft above, widths below. A column beside it has grooves
    enlarged, a table of all sizes, the cone's name, notes, cautions.
    """
    sizes = BenchWords.of(job.scenario)
    view = tuple(_cone_view(cone, sizes))
    rows = tuple(table(step_rows(job, cone)))
    width = max(COLUMN_MM, room_of(rows).right)
    title = one_line(job.scenario.title)
    heads: list[tuple[Entity, ...]] = [
        paragraph("words", title, width, TITLE_MM),
        paragraph("words", f"Cone: {cone_title(cone)}", width, NAME_MM),
        rows,
        _groove_details(cone, sizes, width),
    ]
    room = room_of(view)
    corner = room.right + GAP_MM, room.high
    column = tuple(stacked([group for group in heads if group], corner, LEAD_MM))
    said_below = (*notes(job, cone), cone_caution(cone))
    ways = [
        tuple(stacked([paragraph("words", note, wide, WORDS_MM) for note in said_below], at, LEAD_MM / 2))
        for wide, at in (
            (width, (corner[0], room_of(column).low - LEAD_MM)),
            (max(room.width, COLUMN_MM), (room.left, room.low - GAP_MM)),
        )
    ]
    column += min(ways, key=lambda words: _area_mm2((*view, *column, *words)))
    said = f"{cone_title(cone)} in half section: " + "; ".join(
        f"step {step.position} {sizes.diameter(step.outside_mm)} outside" for step in cone.steps
    )
    return sheet_around(f"{title}: {cone_title(cone)}, half section", (*view, *column), VIEW_LAYERS, said)


def sheet_around(title: str, entities: tuple[Entity, ...], layers: tuple[Layer, ...], said: str) -> Sheet:
    """Return a sheet, 1:1, as large as its entities with some room along the edges.

    Layers for dimensions and words are added.
    """
    room = room_of(entities).grown(EDGE_MM)
    way = -room.left, -room.low
    every = (*layers, *DIMENSION_LAYERS, Layer("words", 0.0))
    return Sheet(title, room.width, room.height, every, tuple(moved(entity, way) for entity in entities), said=said)


def _area_mm2(entities: tuple[Entity, ...]) -> float:
    return room_of(entities).width * room_of(entities).height
