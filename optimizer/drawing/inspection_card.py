"""The inspection card for a machine's door: which way it runs, when belts and cones have to go, rows to fill in."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate
from typing import NamedTuple

from optimizer.catalogue.grooves import flank_runout_mm
from optimizer.catalogue.sections import section
from optimizer.cuts.bench_words import BenchWords
from optimizer.drawing.belt_layout import shown_length, turning
from optimizer.drawing.lettering import Hand, broken, one_line
from optimizer.drawing.marks import turning_arrow
from optimizer.drawing.placing import Room, moved
from optimizer.drawing.sheet import Entity, Layer, Line, Polyline, Sheet, Text
from optimizer.pipeline.job import Job
from optimizer.pipeline.sheets import has_timber
from optimizer.records.mechanics import TurningSheet
from optimizer.records.sheet import StageSheet, StepSheet

__all__ = ["LAYERS", "belt_checks", "belt_top", "cone_checks", "inspection_card_sheet", "size_checks"]

WHEN = (
    "Look before the first start of every day. Fill in a row each month, after a belt was changed, after anything "
    "unusual was heard, smelt or felt (common practice, no source)."
)
BELTS = "A belt that is cracked, frayed, glazed, or soft with oil is renewed at once."
TRUE = "Run-out: GOST 20889-88, read. Unbalance: its table, read, or ISO 21940-11, G16, whichever is less."
TAPPED = "tap every cone of timber: sound timber rings, a crack buzzes. Look along the glue lines, "
OFF = (
    "around bore and hub, at the walls beside the grooves. A cone that is cracked, soft, loose or that wobbles comes "
    "off at once and is not mended (common practice, no source)."
)
CAUTIONS = (
    "STOP AND PULL THE PLUG before a guard is opened, and keep others from plugging it in. Guards go back before the "
    "next start. Wiring, switch and overload protection: a licensed electrician, under your local codes. The makers of "
    "belt, motor and pulleys come before this card."
)
SUNK = 0.25
"""Share of a belt's height that its top may sink; judgement."""
FLUSH_MM = 0.05
"""A top that stands no farther from the rim is said to be flush."""
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


class BeltTop(NamedTuple):
    """Where the top of a V-belt stands in its groove [mm]."""

    new_mm: float
    """How far above the rim when new, below 0 where below it."""
    worn_mm: float
    """How far above the rim when it has to be renewed."""


def belt_top(name: str, step: StepSheet) -> BeltTop | None:
    """Return where a belt's top stands in the groove of a step, new and worn out; nothing but for V-belts in grooves.

    New, the top lies ``depth of the datum line − b`` above the rim, where ``b = (outside − datum diameter)/2`` is how
    far the rim lies outside the datum line. Worn, it has sunk by a quarter of the belt's height, or by half of the
    room that a new belt has above the floor of the groove, whichever is less: a belt that rests on the floor no longer
    wedges. That limit is judgement.

    Examples
    --------
    Section A in its groove of GOST 20889-88 (b 3.3, h 8.7 mm): flush when new; 8 mm high, 4.0 mm above the floor, so
    2.0 mm below the rim when worn.

    >>> from optimizer.catalogue.grooves import groove
    >>> cut = groove(section("A"), 100.0)
    >>> step = StepSheet(outside_mm=106.6, datum_mm=100, pitch_mm=100, source="ready", groove_deg=cut.angle_deg,
    ...     rim="v", top_width_mm=cut.top_width_mm, groove_depth_mm=cut.depth_mm, rim_speed_m_s=8)
    >>> tuple(round(place, 3) + 0.0 for place in belt_top("A", step))
    (0.0, -2.0)
    """
    belt = section(name)
    if belt.kind != "v" or not step.groove_deg:
        return None
    above = (step.outside_mm - step.datum_mm) / 2
    new = belt.datum_depth_mm - above
    room = step.groove_depth_mm + new - belt.height_mm
    return BeltTop(new, new - max(min(SUNK * belt.height_mm, room / 2), 0.0))


def belt_checks(job: Job) -> Iterator[str]:
    """Yield what is looked at on every belt, and when it is renewed."""
    for number, stage in enumerate(job.design.machine.stages):
        crossed = ", crossed" if stage.crossed else ""
        ends = f"{one_line(stage.driver_shaft)} to {one_line(stage.driven_shaft)}"
        yield " ".join(
            (
                f"Belt {number + 1}, {ends}{crossed}: {one_line(stage.marking)}.",
                _taut(job, stage),
                *_tops(job, stage),
            )
        )


def cone_checks(job: Job) -> Iterator[str]:
    """Yield how true every turned cone must run, and what unbalance it may keep."""
    turned = {cone.key: cone for cone in job.design.shafts.cones}
    for stage in job.design.machine.stages:
        for side, shaft in _cones(stage):
            steps = [getattr(position, side) for position in stage.positions]
            if any(step.source == "turned" for step in steps):
                largest = max(steps, key=lambda step: step.outside_mm)
                turning = turned[f"{stage.key}.{side}"]
                yield _cone(job, turning, largest, f"{one_line(shaft)}, {_doing(job, turning.key)}")


def crack_words(job: Job) -> str:
    """Return how cracks are found, by ear where a cone is of timber, or may be."""
    return f"Cracks: plug pulled, {TAPPED if has_timber(job.scenario) else 'look '}{OFF}"


def size_checks(job: Job) -> Iterator[str]:
    """Yield how much smaller the steps of every turned cone may become, each alone, before belt or speeds suffer."""
    tolerance = job.design.tolerance
    for stage in job.design.machine.stages if tolerance else ():
        for side, shaft in _cones(stage):
            sizes = [size for size in tolerance.sizes if size.key == f"{stage.key}.{side}"] if tolerance else []
            told = [
                f"step {size.position} {_wear(job, size.alone.smaller_mm)}"
                for size in sizes
                if size.alone.smaller_mm is not None
            ]
            if told:
                over = "over pins" if sizes[0].measured == "over pins" else "over the rim"
                turned = f"Turned cone on {one_line(shaft)}, {_doing(job, sizes[0].key)}"
                yield f"{turned}: worn or skimmed smaller {over}, each alone and at most: {', '.join(told)}."


def _wear(job: Job, smaller_mm: float) -> str:
    """Return by how much a step may become smaller, in words where that is nothing that a calliper shows."""
    told = BenchWords.of(job.scenario).decimals(smaller_mm)
    return f"by {told}" if float(told) > 0 else "not at all"


def _cones(stage: StageSheet) -> tuple[tuple[str, str], ...]:
    """Return the cones of a stage with their shafts, without a driver that the stage before has already."""
    sides = (("driver", stage.driver_shaft), ("driven", stage.driven_shaft))
    return sides[1:] if stage.shared_driver else sides


def _doing(job: Job, key: str) -> str:
    """Return whether a cone drives or is driven; one that two belts share does both."""
    if key.endswith("driver"):
        return "driving"
    stages = job.design.machine.stages
    number = next(number for number, stage in enumerate(stages) if key == f"{stage.key}.driven")
    return "driven and driving" if any(stage.shared_driver for stage in stages[number + 1 : number + 2]) else "driven"


def _taut(job: Job, stage: StageSheet) -> str:
    """Return where the mount stands with a new belt, and where with one that is worn out."""
    centres = stage.centres
    if not centres.travel_mm or centres.running_mm is None or centres.worn_out_mm is None:
        return "Its shafts do not move: shorten or renew it when it can no longer be kept taut."
    low, high = (shown_length(job, centre) for centre in centres.running_mm)
    span = low if low == high else f"{low} to {high}"
    return f"Centres {span} with a new belt; renew it when the mount passes {shown_length(job, centres.worn_out_mm)}."


def _tops(job: Job, stage: StageSheet) -> Iterator[str]:
    """Yield where its top stands, by the side where it may sink least."""
    steps = [step for position in stage.positions for step in (position.driver, position.driven)]
    found = [top for step in steps if (top := belt_top(stage.section, step)) is not None]
    if found:
        top = max(found, key=lambda top: (top.worn_mm, top.new_mm))
        yield (
            f"Its top stands {_from_rim(job, top.new_mm)} when new; renew it when it stands "
            f"{_from_rim(job, top.worn_mm)} (judgement)."
        )


def _from_rim(job: Job, above_mm: float) -> str:
    if abs(above_mm) < FLUSH_MM:
        return "flush with the rim"
    return f"{shown_length(job, abs(above_mm))} {'above' if above_mm > 0 else 'below'} the rim"


def _cone(job: Job, turning: TurningSheet, largest: StepSheet, shaft: str) -> str:
    what = "flanks" if largest.groove_deg else "rim"
    said = (
        f"Turned cone on {shaft}: run-out of the {what} at {shown_length(job, largest.outside_mm)} at most "
        f"{shown_length(job, flank_runout_mm(largest.outside_mm, turning.rpm))}"
    )
    left = turning.left_words(lambda mm: shown_length(job, mm))
    return f"{said}; {f'unbalance at most {left}; ' if left else ''}{turning.balance}."


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
        lines = broken(text, self.width - 2 * inset_mm, capital_mm)
        self.entities += Hand("words", capital_mm, lead_mm).down((self.left + inset_mm, -self.down), lines)
        self.down += lead_mm * len(lines)

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
    pen.entities.append(
        Polyline("warning", Room(pen.left, -pen.down, pen.left + pen.width, -box_top).corners, closed=True)
    )
    pen.head("Direction of run, seen from the motor's pulley end")
    _turning(job, pen)
    pen.head(f"Belts, sizes in {BenchWords.of(job.scenario).in_units}")
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
    frame = Polyline("frame", Room(0.0, -height, WIDTH_MM, 0.0).grown(-EDGE_MM).corners, closed=True)
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
            pen.entities += Hand("words", TEXT_MM, LEAD_MM).about((left + 4 * ARROW_MM, middle), lines)
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
    return "slack" if worn is None else BenchWords.of(job.scenario).decimals(worn)


def _top_limit(job: Job, stage: StageSheet) -> str:
    steps = [step for position in stage.positions for step in (position.driver, position.driven)]
    found = [top.worn_mm for step in steps if (top := belt_top(stage.section, step)) is not None]
    return BenchWords.of(job.scenario).decimals(max(found)) if found else ""
