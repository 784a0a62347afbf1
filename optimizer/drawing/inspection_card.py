"""The inspection card for a machine's door: which way it runs, when belts and cones have to go, rows to fill in."""

from __future__ import annotations

from itertools import accumulate

from optimizer.drawing.belt_words import UNITS, turning
from optimizer.drawing.inspection_words import (
    BELTS,
    CAUTIONS,
    TRUE,
    WHEN,
    belt_checks,
    belt_top,
    cone_checks,
    crack_words,
    size_checks,
)
from optimizer.drawing.leaders import broken
from optimizer.drawing.placing import moved
from optimizer.drawing.sheet import Entity, Layer, Line, Polyline, Sheet, Text
from optimizer.drawing.speed_words import one_line
from optimizer.drawing.turning_arrow import turning_arrow
from optimizer.pipeline.job import Job
from optimizer.quantities.shop import PLACES
from optimizer.records.sheet import StageSheet

__all__ = ["LAYERS", "inspection_card_sheet"]

LAYERS = (
    Layer("frame", 0.35),
    Layer("table", 0.2),
    Layer("turning", 0.35),
    Layer("warning", 0.7),
    Layer("words", 0.0),
)
WIDTH_MM, LEAST_MM, EDGE_MM, INSIDE_MM = 148.0, 210.0, 4.0, 4.0
"""A5 across, and at least as high; from the edge to the frame, from the frame to the words."""
TITLE_MM, HEAD_MM, TEXT_MM = 3.4, 2.5, 2.0
"""Heights of capitals."""
TITLE_LEAD_MM, LEAD_MM, GAP_MM, SECTION_MM = 5.8, 3.3, 0.9, 1.8
"""Distances of lines of the title, of other lines, of paragraphs, of sections."""
ARROW_MM, ARROW_ROW_MM = 2.4, 6.2
"""Radius of an arrow of turning, least height of its row."""
ROWS, ROW_MM, HEAD_ROW_MM, DATE_MM = 10, 6.5, 5.0, 22.0
"""Rows to fill in, heights of those and of the two above them, width of the date's column."""
UNIT_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}


class _Pen:
    """Where the next line of a card is written, from the top down."""

    def __init__(self) -> None:
        self.left = EDGE_MM + INSIDE_MM
        self.width = WIDTH_MM - 2 * self.left
        self.down = EDGE_MM + INSIDE_MM
        self.entities: list[Entity] = []
        """With heights counted from the top of the card down, below 0."""

    def write(self, text: str, capital_mm: float = TEXT_MM, lead_mm: float = LEAD_MM, inset_mm: float = 0.0) -> None:
        """Write a paragraph."""
        for line in broken(text, self.width - 2 * inset_mm, capital_mm):
            at = self.left + inset_mm, -self.down
            self.entities.append(Text("words", at, line, capital_mm, along="top"))
            self.down += lead_mm

    def head(self, text: str) -> None:
        """Write the heading of a section."""
        self.down += SECTION_MM
        self.write(text, HEAD_MM, LEAD_MM + 1.0)


def inspection_card_sheet(job: Job) -> Sheet:
    """Return the card at true size, 148 mm wide, as high as it needs.

    It tells the direction of run with arrows and words, every belt with the centre distance and the place of its top
    at which it is renewed, how true and how well balanced turned cones must run, how cracks are found, and has rows
    for dates; the first of them holds the limits.
    """
    pen = _Pen()
    pen.write(f"Inspection card: {one_line(job.scenario.title)}", TITLE_MM, TITLE_LEAD_MM)
    pen.write(WHEN)
    pen.down += GAP_MM
    box_top = pen.down
    pen.down += GAP_MM + 0.6
    pen.write(CAUTIONS, inset_mm=2.0)
    pen.down += GAP_MM
    pen.entities.append(_box("warning", (pen.left, pen.left + pen.width), (-pen.down, -box_top)))
    pen.head("Direction of run, seen from the motor's pulley end")
    _turning(job, pen)
    pen.head(f"Belts, sizes in {UNITS[job.scenario.units]}")
    for line in (*belt_checks(job), BELTS):
        pen.write(line)
        pen.down += GAP_MM
    pen.head("Cones")
    cones = tuple(cone_checks(job))
    sizes, cracks = tuple(size_checks(job)), crack_words(job)
    for line in (*cones, *sizes, f"{TRUE} {cracks}" if cones else cracks):
        pen.write(line)
        pen.down += GAP_MM
    pen.down += SECTION_MM
    _table(job, pen)
    height = max(pen.down + INSIDE_MM + EDGE_MM, LEAST_MM)
    frame = _box("frame", (EDGE_MM, WIDTH_MM - EDGE_MM), (EDGE_MM - height, -EDGE_MM))
    entities = tuple(moved(entity, (0.0, height)) for entity in (frame, *pen.entities))
    said = " ".join((WHEN, CAUTIONS, *_turning_words(job), *belt_checks(job), *cone_checks(job), *sizes, BELTS, cracks))
    return Sheet(f"Inspection card: {one_line(job.scenario.title)}", WIDTH_MM, height, LAYERS, entities, said=said)


def _turning_words(job: Job) -> list[str]:
    return [f"{one_line(shaft)} turns {ways}." for shaft, ways in turning(job).items()]


def _turning(job: Job, pen: _Pen) -> None:
    """Draw an arrow for every shaft, with words beside it, two in a row."""
    column = pen.width / 2
    cells = [
        (ways, broken(said, column - 4 * ARROW_MM, TEXT_MM))
        for ways, said in zip(turning(job).values(), _turning_words(job), strict=True)
    ]
    for first in range(0, len(cells), 2):
        row = cells[first : first + 2]
        height = max(ARROW_ROW_MM, *(LEAD_MM * len(lines) + GAP_MM for _, lines in row))
        middle = -pen.down - height / 2
        for left, (ways, lines) in zip((pen.left, pen.left + column), row, strict=False):
            pen.entities += turning_arrow("turning", (left + ARROW_MM + 1, middle - ARROW_MM / 2), ARROW_MM, ways)
            for number, line in enumerate(lines):
                at = left + 4 * ARROW_MM, middle + LEAD_MM * ((len(lines) - 1) / 2 - number)
                pen.entities.append(Text("words", at, line, TEXT_MM, along="middle"))
        pen.down += height


def _table(job: Job, pen: _Pen) -> None:
    """Draw the rows to fill in, under their headings and limits."""
    stages = job.design.machine.stages
    heads = [("date", "renew at")]
    heads += [(f"centres {k + 1}", _centre_limit(job, stage)) for k, stage in enumerate(stages)]
    heads += [(f"top {k + 1}", _top_limit(job, stage)) for k, stage in enumerate(stages)]
    heads += [("cracks", "any"), ("initials", "")]
    width = (pen.width - DATE_MM) / (len(heads) - 1)
    edges = [pen.left, *(pen.left + DATE_MM + width * k for k in range(len(heads)))]
    top = pen.down
    for column, words in enumerate(heads):
        for row, word in enumerate(words):
            middle = edges[column] + (edges[column + 1] - edges[column]) / 2
            at = middle, -(top + HEAD_ROW_MM * (row + 0.5))
            pen.entities.append(Text("words", at, word, TEXT_MM, "middle", "middle"))
    rows = [0.0, HEAD_ROW_MM, HEAD_ROW_MM, *[ROW_MM] * ROWS]
    levels = list(accumulate(rows, initial=top))[1:]
    for level in levels:
        pen.entities.append(Line("table", (pen.left, -level), (pen.left + pen.width, -level)))
    for edge in edges:
        pen.entities.append(Line("table", (edge, -top), (edge, -levels[-1])))
    pen.down = levels[-1]


def _centre_limit(job: Job, stage: StageSheet) -> str:
    worn = stage.centres.worn_out_mm if stage.centres.travel_mm else None
    return "slack" if worn is None else _figure(job, worn)


def _top_limit(job: Job, stage: StageSheet) -> str:
    steps = [step for position in stage.positions for step in (position.driver, position.driven)]
    found = [top.worn_mm for step in steps if (top := belt_top(stage.section, step)) is not None]
    return _figure(job, max(found)) if found else ""


def _figure(job: Job, length_mm: float) -> str:
    """Return a length in decimals alone, as it is written into a narrow column."""
    units = job.scenario.units
    return f"{length_mm / UNIT_MM[units] + 0.0:.{PLACES[units]}f}"


def _box(layer: str, x: tuple[float, float], y: tuple[float, float]) -> Polyline:
    return Polyline(layer, ((x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])), closed=True)
