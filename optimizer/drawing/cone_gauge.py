"""A gauge to cut from card: the turned outline of a cone as its negative, with a tongue for every kind of groove."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil
from typing import NamedTuple

from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.cones import CutCone, CutStep
from optimizer.drawing.cone_profile import groove_profile, kinds_of_groove, step_profile
from optimizer.drawing.cone_section import TITLE_MM, WORDS_MM, sheet_around
from optimizer.drawing.cone_words import cone_title, numbers, units_words
from optimizer.drawing.dimensions import SIZE_MM, across
from optimizer.drawing.lettering import Hand, one_line, text_width_mm
from optimizer.drawing.placing import in_rows, paragraph, room_of, stacked, table
from optimizer.drawing.sheet import Entity, Layer, Line, Point, Polyline, Sheet, Text
from optimizer.pipeline.job import Job

__all__ = ["GAUGE_LAYERS", "Card", "card_of", "cone_gauge_sheet"]

GAUGE_LAYERS = (Layer("thin", 0.18), Layer("cut", 0.25))
COLUMN_MM, GAP_MM, LEAD_MM = 80.0, 6.0, 4.2
"""Least width of the words, room between parts, distance of lines along a step."""
FREE_MM = 2.0
"""How far the card keeps off a step that is bought."""
TICK_MM, INSIDE_MM = 3.0, 1.5
"""Length of the mark of a belt's middle, what words keep off the edges of the card."""
LEG_MM, LEAST_LEG_MM = 10.0, 4.0
"""Width of the leg that lies on the face next to step 1, and how far it reaches down; the least of that."""
SHOULDER_MM = 12.0
"""Part of the rim that a tongue's card lies on, on either side."""
ROUND_MM = {"mm": 5.0, "cm": 5.0, "in": 6.35}
"""The edge of the card stands a multiple of this off the axis."""


class Card(NamedTuple):
    """The card of the profile gauge; places and radii are those of the cone [mm]."""

    profile: tuple[Point, ...]
    """The edge that lies on the turning."""
    edge_mm: float
    """Distance of the straight edge from the axis."""
    leg_mm: float
    """How far the leg reaches down the face next to step 1; 0 where there is none."""

    @property
    def outline(self) -> tuple[Point, ...]:
        """Corners of the card, the turning's edge first."""
        (start, first), (end, _) = self.profile[0], self.profile[-1]
        leg: tuple[Point, ...] = ()
        if self.leg_mm:
            low = first - self.leg_mm
            leg = ((start - LEG_MM, low), (start, low))
        left = start - LEG_MM if self.leg_mm else start
        return (*leg, *self.profile, (end, self.edge_mm), (left, self.edge_mm))


def cone_gauge_sheet(job: Job, cone: CutCone) -> Sheet:
    """Return the gauge of a cone, 1:1: the card, a card for every kind of groove, how they are held.

    What is to be cut is on the layer ``cut``. The card spans the steps that are turned; it keeps off bought
    steps between them.

    Raises
    ------
    ValueError
        Nothing of the cone is turned.
    """
    if not cone.turned:
        raise ValueError(f"nothing of {cone.key} is turned, so that it needs no gauge")
    sizes = BenchWords.of(job.scenario)
    card = card_of(cone, sizes)
    figure = tuple(_card(cone, card, sizes))
    rows = tuple(table(_rows(cone, card, sizes)))
    width = max(COLUMN_MM, room_of(rows).right)
    title = one_line(job.scenario.title)
    words = [
        paragraph("words", title, width, TITLE_MM),
        paragraph("words", f"Gauge: {cone_title(cone)}", width, 3.0),
        *(paragraph("words", note, width, WORDS_MM) for note in _notes(cone, card, sizes)),
        rows,
    ]
    room = room_of(figure)
    column = tuple(stacked(words, (room.right + GAP_MM, room.high), SIZE_MM))
    low = min(room.low, room_of(column).low) - GAP_MM
    cards = [tuple(_tongue(*kind, cone.section, sizes)) for kind in kinds_of_groove(cone.turned)]
    tongues = in_rows(cards, (room.left, low), room_of(column).right, GAP_MM)
    said = f"{cone_title(cone)}: a card that fits the turned steps {numbers([s.position for s in cone.turned])}"
    name = f"{title}: {cone_title(cone)}, gauge"
    return sheet_around(name, (*figure, *column, *tongues), GAUGE_LAYERS, said)


def card_of(cone: CutCone, sizes: BenchWords) -> Card:
    """Return the card that fits the turned steps of a cone, with room for its words."""
    turned = cone.turned
    points: list[Point] = []
    for step in cone.steps[turned[0].position - 1 : turned[-1].position]:
        shape = step_profile(step, cone.section)
        if step.source != "turned":
            rim = step.outside_mm / 2 + FREE_MM
            shape = (step.from_mm, rim), (step.to_mm, rim)
        points += shape
    # a bought step's clearance stays off the turned step beside it
    profile = tuple(points)
    rims = max(radius for _, radius in profile)
    words = max(text_width_mm(line, SIZE_MM) for step in turned for line in _lines(step, sizes))
    unit = ROUND_MM[sizes.units]
    edge = unit * ceil((rims + words + TICK_MM + 3 * INSIDE_MM) / unit)
    start, first = profile[0]
    leg = min(LEG_MM, first - (cone.bore_mm or 0.0) / 2 - 1.0) if start == 0.0 else 0.0
    return Card(profile, edge, leg if leg >= LEAST_LEG_MM else 0.0)


def _lines(step: CutStep, sizes: BenchWords) -> list[str]:
    """Return what stands on the card at a step, as many lines as its width has room for."""
    room = step.to_mm - step.from_mm - 2 * INSIDE_MM
    outside = sizes.diameter(step.outside_mm)
    name = f"step {step.position}"
    if step.second_position is not None:
        name += f", belt 2 on {step.second_position}"
    most = [name, outside]
    if step.over_pins_mm is not None:
        most = [name, f"rim {outside}", f"over pins {sizes.bare(step.over_pins_mm)}"]
    for lines in (most, [f"{step.position}: {most[-1]}"], [f"{step.position}"]):
        if LEAD_MM * (len(lines) - 1) + 1.33 * SIZE_MM <= room:
            return lines
    return []


def _card(cone: CutCone, card: Card, sizes: BenchWords) -> Iterator[Entity]:
    """Yield the card with its words, the face next to step 1 at x = 0, the axis at y = 0."""
    yield Polyline("cut", card.outline, closed=True)
    for step in cone.turned:
        yield Line("thin", (step.middle_mm, card.edge_mm), (step.middle_mm, card.edge_mm - TICK_MM))
        lines = _lines(step, sizes)
        first = step.middle_mm - LEAD_MM * (len(lines) - 1) / 2 + 0.33 * SIZE_MM
        for number, line in enumerate(lines):
            at = (first + LEAD_MM * number, card.edge_mm - TICK_MM - INSIDE_MM)
            yield Text("words", at, line, SIZE_MM, "right", "base", 90.0)
    start, end = card.profile[0][0], card.profile[-1][0]
    left = min(x for x, _ in card.outline)
    label = f"this edge parallel to the axis, {sizes.bare(card.edge_mm)} from it"
    yield Text("words", (left, card.edge_mm + 3.0), label, SIZE_MM)
    low = min(radius for _, radius in card.outline)
    feet = card.profile[0][1] - card.leg_mm, card.profile[-1][1]
    yield from across((start, end), low - 9.0, feet, sizes.bare(end - start))


def _rows(cone: CutCone, card: Card, sizes: BenchWords) -> list[list[str]]:
    """Return the table of what the card must measure, by which it is checked after cutting."""
    grooved = any(step.groove_depth_mm for step in cone.turned)
    head = ["step", "edge to rim"] + ["edge to floor"] * grooved + ["belt's middle"]
    rows = [head]
    for step in cone.turned:
        cells = [str(step.position), sizes.bare(card.edge_mm - step.outside_mm / 2)]
        if grooved:
            depth = max((d for _, d in groove_profile(step, cone.section)), default=0.0)
            cells.append(sizes.bare(card.edge_mm - step.outside_mm / 2 + depth))
        rows.append([*cells, sizes.bare(step.middle_mm)])
    return rows


def _notes(cone: CutCone, card: Card, sizes: BenchWords) -> list[str]:
    """Return how the gauge is made and held."""
    hold = "Hold it in a plane through the axis, its straight edge parallel to the axis"
    hold += ", its leg on the face next to step 1." if card.leg_mm else "."
    measure = "over the rim"
    if any(step.over_pins_mm is not None for step in cone.turned):
        measure = "over the pins first, then over the rim"
    return [
        f"1:1, {units_words(sizes)}. Check the printer by the bar on the page, glue the paper on card or thin "
        "sheet, cut along the outline with a sharp knife, then check it by the table.",
        hold,
        "It fits where no light shows between card and cone, which lies below the stepped edge. It does not tell the "
        f"diameter: measure that, {measure}.",
        "Stop the lathe for every trial; never hold a card or pins against turning work.",
    ]


def _tongue(step: CutStep, positions: tuple[int, ...], section_name: str, sizes: BenchWords) -> Iterator[Entity]:
    """Yield a card whose tongue fits a groove and whose shoulders lie on the rim at y = 0."""
    shape = tuple((place, -depth) for place, depth in groove_profile(step, section_name))
    lines = [f"step{'s' * (len(positions) > 1)} {numbers(positions)}"]
    if step.groove_deg is not None:
        lines.append(f"{step.groove_deg:g}°")
    head, bracket, tail = sizes.bare(step.top_width_mm).partition(" (")
    lines += [f"{head} wide"] + [f"({tail}"] * bool(bracket)
    half = max(shape[-1][0] + SHOULDER_MM, max(text_width_mm(line, SIZE_MM) for line in lines) / 2 + INSIDE_MM)
    top = LEAD_MM * (len(lines) - 1) + 2 * SIZE_MM + 2 * INSIDE_MM + 2.0
    yield Polyline("cut", ((-half, 0.0), *shape, (half, 0.0), (half, top), (-half, top)), closed=True)
    yield from Hand("words", SIZE_MM, LEAD_MM).down((0.0, top - INSIDE_MM - SIZE_MM), lines, "middle", "base")
