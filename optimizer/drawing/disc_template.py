"""Templates for the discs of a cone: its middle, bore, sizes, lines to lay on pencil lines of the square."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.cones import CutCone
from optimizer.drawing.cone_section import TITLE_MM, WORDS_MM, sheet_around
from optimizer.drawing.cone_words import cone_title, numbers, units_words
from optimizer.drawing.dimensions import SIZE_MM
from optimizer.drawing.lettering import one_line
from optimizer.drawing.marks import barbs
from optimizer.drawing.placing import Room, moved, paragraph, room_of, stacked
from optimizer.drawing.sheet import Circle, Entity, Layer, Line, Point, Polyline, Sheet, Text
from optimizer.pipeline.job import Job

__all__ = ["CENTRE_MM", "WHOLE_MOST_MM", "Disc", "disc_template_sheet", "disc_template_sheets", "discs_of"]

TEMPLATE_LAYERS = (
    Layer("square", 0.25, dashes_mm=(4.0, 2.0)),
    Layer("thin", 0.18),
    Layer("blank", 0.25, dashes_mm=(8.0, 1.5, 1.5, 1.5)),
    Layer("outline", 0.35),
    Layer("cut", 0.25),
    Layer("axis", 0.18),
)
WHOLE_MOST_MM, CENTRE_MM = 180.0, 150.0
"""Largest square that is drawn whole; side of the middle part that is drawn of a larger one."""
BEYOND_MM, OFF_MM = 2.0, 4.0
"""How far the cross runs beyond the square, what words keep off that."""
GRAIN_MM, HEAD_MM = 9.0, 2.5
"""Length of the arrow of the grain, of its heads."""
LEAD_MM = 2.2
WORDS_LEAST_MM = 110.0


class Disc(NamedTuple):
    """Discs of a cone that are cut alike."""

    round_mm: float
    square_mm: float
    make: int
    finished_mm: tuple[float, ...]
    """Diameters that they are turned to, in order."""
    positions: tuple[int, ...]
    """The steps that they belong to."""
    layers: tuple[int, ...]
    """Numbers of the layers; none where the layers are not known."""


def discs_of(cone: CutCone) -> tuple[Disc, ...]:
    """Return the discs of a cone, those of one size once, in their order along the shaft.

    Where the thickness of layers is not known, every step counts as one disc.
    """
    found: dict[tuple[float, float], list[tuple[int, int | None]]] = {}
    if cone.layers:
        for layer in cone.layers:
            key = round(layer.round_mm, 6), round(layer.square_mm, 6)
            found.setdefault(key, []).append((layer.position, layer.number))
    else:
        for step in cone.turned:
            if step.blank_mm is not None:
                found.setdefault((round(step.blank_mm, 6),) * 2, []).append((step.position, None))
    outside = {step.position: step.outside_mm for step in cone.steps}
    return tuple(
        Disc(
            *size,
            make=len(members),
            finished_mm=tuple(sorted({outside[position] for position, _ in members})),
            positions=tuple(sorted({position for position, _ in members})),
            layers=tuple(number for _, number in members if number is not None),
        )
        for size, members in found.items()
    )


def disc_template_sheets(job: Job, cone: CutCone) -> tuple[Sheet, ...]:
    """Return a template for every kind of disc of a cone; none where nothing of it is turned."""
    return tuple(disc_template_sheet(job, cone, disc) for disc in discs_of(cone))


def disc_template_sheet(job: Job, cone: CutCone, disc: Disc, *, centre_only: bool | None = None) -> Sheet:
    """Return the template of a disc, 1:1: cross, bore, circles, square, the way of the grain.

    Parameters
    ----------
    job
        The design.
    cone
        The cone that the disc belongs to.
    disc
        One of `discs_of`.
    centre_only
        True for the middle alone, with the sizes of what is left out in words; by default where the square is larger
        than `WHOLE_MOST_MM`.
    """
    sizes = BenchWords.of(job.scenario)
    part = disc.square_mm > WHOLE_MOST_MM if centre_only is None else centre_only
    side = min(CENTRE_MM, disc.square_mm) if part else disc.square_mm
    figure = (*_square(side, part), *_circles(cone, disc, side), *_grain(disc, side))
    width = max(side, WORDS_LEAST_MM)
    title, name = one_line(job.scenario.title), f"{cone_title(cone)}, {_which(disc)}"
    words = [
        paragraph("words", title, width, TITLE_MM),
        *(paragraph("words", line, width, WORDS_MM) for line in (name, *_notes(cone, disc, sizes, part))),
    ]
    below = tuple(stacked(words, (-side / 2 - BEYOND_MM, -side / 2 - BEYOND_MM - OFF_MM), LEAD_MM))
    said = f"Template of a disc for {name}"
    return sheet_around(f"{title}: {name}", (*figure, *below), TEMPLATE_LAYERS, said)


def _which(disc: Disc) -> str:
    """Return which discs these are and how many are made."""
    steps = f"step{'s' * (len(disc.positions) > 1)} {numbers(disc.positions)}"
    if disc.layers:
        return f"{steps}, layer{'s' * (len(disc.layers) > 1)} {numbers(disc.layers)}: make {disc.make}"
    return f"{steps}: one or as many as the width of the step takes" if disc.make == 1 else f"{steps}: alike"


def _square(side: float, part: bool) -> Iterator[Entity]:
    """Yield the edge of the square, or of the part that is cut out, with the cross through its middle."""
    half = side / 2
    yield Polyline("cut" if part else "square", Room(-half, -half, half, half).corners, closed=True)
    far = half + BEYOND_MM
    for start, end in (((-far, 0.0), (far, 0.0)), ((0.0, -far), (0.0, far))):
        yield Line("axis", start, end)


def _circles(cone: CutCone, disc: Disc, side: float) -> Iterator[Entity]:
    """Yield bore, shaft, finished and blank circle, as far as they lie in what is drawn."""
    rings = [("blank", disc.round_mm, "blank"), *(("outline", size, "finished") for size in disc.finished_mm)]
    if cone.bore_mm is not None:
        rings.append(("outline", cone.bore_mm, "bore"))
    for layer, size, note in rings:
        if size <= side + 1e-6:
            yield Circle(layer, (0.0, 0.0), size / 2, note=note)


def _grain(disc: Disc, side: float) -> Iterator[Entity]:
    """Yield arrows along the face grain, above the square: one way for the layers along, the other for those across."""
    kinds = [[layer for layer in disc.layers if layer % 2 == rest] for rest in (1, 0)]
    groups = [tuple(_way(layers, level)) for layers, level in zip(kinds, (True, False), strict=True) if layers]
    x, y = -side / 2, side / 2 + BEYOND_MM + OFF_MM + GRAIN_MM
    for group in groups:
        width = room_of(group).width
        if x > -side / 2 and x + width > max(side, WORDS_LEAST_MM) - side / 2:
            x, y = -side / 2, y + GRAIN_MM + OFF_MM
        yield from (moved(entity, (x, y - GRAIN_MM / 2)) for entity in group)
        x += width + 2 * OFF_MM


def _way(layers: list[int], level: bool) -> Iterator[Entity]:
    """Yield an arrow, level or upright, and whose grain runs along it, from the origin to the right."""
    half = GRAIN_MM / 2
    if level:
        yield from _arrow((0.0, 0.0), (GRAIN_MM, 0.0))
    else:
        yield from _arrow((half, -half), (half, half))
    name = f"layer{'s' * (len(layers) > 1)} {', '.join(map(str, layers))}"
    yield Text("words", (GRAIN_MM + 2.0, 0.0), f"grain of {name}", SIZE_MM, "left", "middle")


def _arrow(start: Point, end: Point) -> Iterator[Entity]:
    """Yield a line with an open head at both ends."""
    yield Line("thin", start, end)
    for tip, one, other in barbs(start, end, (HEAD_MM, 1.0)):
        yield Polyline("thin", (one, tip, other))


def _notes(cone: CutCone, disc: Disc, sizes: BenchWords, part: bool) -> list[str]:
    """Return the sizes in words, and how the template is used."""
    finished = " and ".join(sizes.diameter(size) for size in disc.finished_mm)
    bore = "no bore: the shaft is not stated"
    if cone.bore_mm is not None:
        bore = f"bore {sizes.diameter(cone.bore_mm)}" + (" for the hub" if cone.hub_mm is not None else "")
    said = [
        f"1:1, {units_words(sizes)}. Square {sizes.bare(disc.square_mm)}, disc {sizes.diameter(disc.round_mm)}, "
        f"finished {finished}; {bore}."
    ]
    if part:
        finished = " and ".join(sizes.bare(size / 2) for size in disc.finished_mm)
        said.append(
            f"Only the middle is drawn. From the centre: edge of the square {sizes.bare(disc.square_mm / 2)}, "
            f"disc {sizes.bare(disc.round_mm / 2)}, finished {finished}."
        )
    if cone.material == "metal":
        return [*said, "Lay the cross on lines scribed through the middle both ways, prick the centre."]
    saw = (
        "Strike the disc's circle about the centre and saw outside of it."
        if part
        else "Saw outside of the disc's circle."
    )
    said.append(
        "Draw pencil lines through the middle of the square both ways, lay the cross on them, prick the centre. "
        f"{saw} The bore comes last, after gluing and turning."
    )
    if disc.layers:
        said.append("Turn the square so that its face grain runs along the arrow of its layer.")
    return said
