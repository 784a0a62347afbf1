"""The layout of belts and shafts as a sheet: the machine across its shafts, to scale, with the belts of one speed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import hypot
from typing import NamedTuple

from optimizer.checks.along import seats_of
from optimizer.checks.belts import CROSSED_CAUTION
from optimizer.checks.stated import Pair
from optimizer.cuts.bench_words import BenchWords
from optimizer.drawing.belt_places import (
    ENDS,
    At,
    BeltPath,
    DrawnStands,
    Round,
    Stood,
    apart_mm,
    belt_path,
    belt_side,
    clipped,
    drawn_stands,
    outline,
    view_of,
)
from optimizer.drawing.leaders import Named, Slot, below, below_mm, beside, beside_mm
from optimizer.drawing.lettering import JOIN, Hand, broken, one_line
from optimizer.drawing.marks import turning_arrow
from optimizer.drawing.pages import scale_words
from optimizer.drawing.placing import Room
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Layer, Line, Point, Polyline, Sheet
from optimizer.drawing.speed_axis import speed_label
from optimizer.pipeline.job import Job, machine_of
from optimizer.records.sheet import SpeedSheet, StageSheet, setting_words
from optimizer.scenario import BeltStage, FixedStage
from optimizer.scenario.stage import fixed_words

__all__ = ["LAYERS", "LayoutFrame", "belt_layout_frame", "belt_layout_sheet", "shown_length", "turning"]

SAFE = (
    "Guards are not drawn, and nothing of this runs without them. Stop the machine and pull its plug before a belt is "
    "moved or a mount is loosened; wiring is for a licensed electrician, under your local codes."
)
LINES = (
    "Thickest: the line of the belt that sets the speed, and the steps it lies on. Thin: rims of all steps, "
    "top and bottom of the belt where there is room."
)
DASHED = "Dashed: a shaft where its mount stands with the belt being put on, and with the belt worn out."
ROUND_AT = 7
"""Eighths of a turn at which a round obstacle is named: below, on the right."""
OPPOSITE = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}
EDGE_MM, TITLE_MM, TEXT_MM = 6.0, 3.4, 2.3
"""Free edge of the page, heights of capitals."""
TITLE_LEAD_MM, LEAD_MM, NOTE_GAP_MM, GAP_MM = 6.0, 4.1, 1.2, 4.0
"""Distances of lines of the title, of other lines, of notes; between the parts of the page."""
WORDS = Hand("words", TEXT_MM, LEAD_MM)
COLUMN_MM = 58.0
"""Room for labels right of the drawing."""
PAD_MM = 5.0
"""Room on the page around what is drawn."""
HIGHEST_MM, LEAST_TALL_MM = 258.0, 90.0
"""Height of the page within which the drawing is kept, so that it has room on A4 and on Letter paper; the height that
the drawing has even where much lettering leaves less."""
WORST_RATIO = "1:2.5"
"""The longest that a ratio reads."""
FLAT = 0.4
"""Shafts stand side by side, or above each other, where the other spread is no larger a share of this one."""
RATIOS = (1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0)
"""Sizes on the bench over sizes on the page."""
LAYERS = (
    Layer("obstacles", 0.15, ink="grey"),
    Layer("rims", 0.13),
    Layer("belt edges", 0.13),
    Layer("centre lines", 0.13, dashes_mm=(4.0, 0.8, 0.6, 0.8)),
    Layer("travel", 0.15, dashes_mm=(1.0, 0.6)),
    Layer("fixed ratios", 0.25, dashes_mm=(2.4, 1.0)),
    Layer("hinges", 0.2),
    Layer("steps", 0.35),
    Layer("belts", 0.7),
    Layer("shafts", 0.35),
    Layer("turning", 0.25),
    Layer("leaders", 0.1, ink="grey"),
    Layer("words", 0.0),
)
BARE_MM = 5.0
"""Radius in which a shaft of no stated diameter is drawn where it has moved."""
MARK_MM, DOT_MM = 1.6, 0.35
"""Reach of a centre mark beyond the shaft, radius of a leader's dot, on the page."""
TURN_MM, LEAST_TURN_MM = 2.0, 3.4
"""Gap between a shaft and the arrow of its turning, least radius of that arrow, on the page."""
LEAST_EDGE_MM = 0.5
"""A belt's top and bottom are drawn where they are so far from its middle on the page."""
HINGE_MM = 1.1


class Label(NamedTuple):
    """One label at one speed."""

    text: str
    at_mm: Point
    """What it names, where the machine stands [mm]."""


class Words(NamedTuple):
    """The running text at one speed."""

    title: str
    below: str
    """What is drawn, below the title."""
    notes: tuple[str, ...]


def shown_length(job: Job, length_mm: float) -> str:
    """Return a length as a shop reads it, in one piece, without its unit but for the sign of inches."""
    return BenchWords.of(job.scenario).bare(length_mm).replace(" ", JOIN)


def turning(job: Job) -> dict[str, str]:
    """Return which way every shaft turns, seen from the motor's pulley end: crossed belts and some gears reverse."""
    turns: str = job.scenario.motor.turns
    chain = job.scenario.chain
    found = {chain[0].from_shaft: turns}
    for stage in chain:
        if stage.crossed if isinstance(stage, BeltStage) else stage.reverses:
            turns = OPPOSITE[turns]
        found[stage.to_shaft] = turns
    return found


def layout_words(job: Job, stands: DrawnStands, speed: SpeedSheet, ratio: str) -> Words:
    """Return title, what is drawn, notes."""
    count = len(job.design.machine.speeds)
    below = (
        f"Speed {speed.number} of {count}: {speed_label(speed.rpm)} rpm at {one_line(job.design.machine.spindle)}"
        f"{''.join(f', {words}' for words in setting_words(job.design.machine, speed.settings))}. "
        f"From the motor's pulley end, in {BenchWords.of(job.scenario).in_units}, scale {ratio}."
    )
    notes = [] if stands.stated else [f"{one_line(stands.why)}: drawn along a line"]
    notes += [_stage_words(job, number, stage, speed) for number, stage in enumerate(job.design.machine.stages)]
    notes += [CROSSED_CAUTION] if any(stage.crossed for stage in job.design.machine.stages) else []
    lines = f"{LINES} {DASHED}" if stands.movers else LINES
    return Words(one_line(job.scenario.title), below, (*notes, lines, SAFE))


def _label_words(job: Job, stands: DrawnStands, speed: SpeedSheet, view: Room) -> tuple[Label, ...]:
    """Return every label at one speed: shafts, centre distances, ends of travel, hinges, obstacles; always as many."""
    way = At(tuple(position - 1 for position in speed.positions))
    return (
        *_shaft_labels(job, stands, speed, way),
        *_centre_labels(job, stands, speed, way),
        *_other_labels(stands, way, view),
    )


def _stage_words(job: Job, number: int, stage: StageSheet, speed: SpeedSheet) -> str:
    place = speed.positions[number]
    position = stage.positions[place - 1]
    steps = " to ".join(shown_length(job, step.outside_mm) for step in (position.driver, position.driven))
    count = len(stage.positions)
    of = f", position {place} of {count}" if count > 1 else ""
    if stage.shared_driver:
        of += f" on step {count + 1 - place} of the cone of stage {number}"
    crossed = " crossed" if stage.crossed else ""
    said = (
        f"Stage {number + 1}, {one_line(stage.driver_shaft)} to {one_line(stage.driven_shaft)}:{crossed} belt "
        f"{one_line(stage.marking)}{of}, steps {steps} over the rim"
    )
    ends = stage.centres.belt_on_mm, stage.centres.worn_out_mm
    belts = [belt for belt in job.scenario.chain if isinstance(belt, BeltStage)]
    if position.centre_mm is not None:
        said += f", centres {shown_length(job, position.centre_mm)}"
    if job.scenario.stages and belts[number].moves and ends[0] is not None and ends[1] is not None:
        said += f" with a new belt, {shown_length(job, ends[0])} to put it on, {shown_length(job, ends[1])} worn out"
    return f"{said}."


def _shaft_labels(job: Job, stands: DrawnStands, speed: SpeedSheet, way: At) -> Iterator[Label]:
    ways = turning(job)
    for shaft in speed.shafts:
        size = job.scenario.shaft(shaft.shaft).diameter_mm
        text = f"{one_line(shaft.shaft)}: {speed_label(shaft.rpm)} rpm, {ways[shaft.shaft]}"
        text += f", shaft {shown_length(job, size)}" if size else ""
        yield Label(text, stands.stood[way].shafts[shaft.shaft])


def _engaged_ratio(job: Job, stage: FixedStage, speed: SpeedSheet) -> float:
    """Return the ratio of a fixed stage that is engaged at a speed."""
    settings = zip(job.scenario.switches, speed.settings, strict=True)
    key = job.scenario.place_of(stage)
    return next((switch.values[setting - 1] for switch, setting in settings if switch.key == key), stage.ratio)


def _centre_labels(job: Job, stands: DrawnStands, speed: SpeedSheet, way: At) -> Iterator[Label]:
    here = stands.stood[way]
    numbers = iter(range(len(stands.machine.pairs)))
    for stage in job.scenario.chain:
        ends = stage.from_shaft, stage.to_shaft
        (ax, ay), (bx, by) = (here.shafts[name] for name in ends)
        middle = (ax + bx) / 2, (ay + by) / 2
        if not isinstance(stage, BeltStage):
            yield Label(fixed_words(_engaged_ratio(job, stage, speed), stage.reverses), middle)
            continue
        number = next(numbers)
        yield Label(f"centres {shown_length(job, apart_mm(here, *ends))}", middle)
        if stage.moves:
            mover = stands.movers[number]
            for end in ENDS:
                stood = stands.stood[way._replace(stage=number, end=end)]
                apart = shown_length(job, apart_mm(stood, *ends))
                yield Label(f"{one_line(mover)}, {end}: {apart}", stood.shafts[mover])


def _other_labels(stands: DrawnStands, way: At, view: Room) -> Iterator[Label]:
    here = stands.stood[way]
    for name, at in here.hinges.items():
        yield Label(f"hinge of {one_line(name)}", at)
    for obstacle, corners in zip(stands.obstacles(), here.obstacles, strict=True):
        edge = outline(obstacle, corners)
        seen = clipped(edge, view)
        # A round one is named at its edge: in its middle there is a shaft as a rule.
        named = (seen[len(seen) * ROUND_AT // 8],) if seen and obstacle.disc else seen
        xs, ys = zip(*(named or corners), strict=True)
        middle = sum(xs) / len(xs), sum(ys) / len(ys)
        yield Label(one_line(obstacle.name) + ("" if seen else ", beyond the drawing"), view.nearest(middle))


@dataclass(frozen=True)
class LayoutFrame:
    """Everything of a layout that is the same at every speed."""

    stands: DrawnStands
    ratio: float
    """Size on the bench over size on the page."""
    width_mm: float
    height_mm: float
    view: Room
    """What of the bench is drawn."""
    corner_mm: Point
    """Where the lower left corner of that lies on the page."""
    notes_mm: float
    """Upper edge of the notes on the page."""
    slots: tuple[Slot, ...] = ()
    """Where every label stands."""

    def on_page(self, point: Point) -> Point:
        """Return where a place on the bench lies on the page."""
        return (
            self.corner_mm[0] + (point[0] - self.view.left) / self.ratio,
            self.corner_mm[1] + (point[1] - self.view.low) / self.ratio,
        )


def belt_layout_frame(job: Job, width_mm: float = 180.0) -> LayoutFrame:
    """Return the frame for all speeds of a design, on a page of a width [mm].

    The scale is the largest round one at which everything has room at every speed and at both ends of every travel.
    Labels stand right of shafts that are stacked up, below shafts that stand side by side.

    Raises
    ------
    ValueError
        The page is too narrow, or a belt does not go round.
    """
    if width_mm < 2 * EDGE_MM + 2 * COLUMN_MM:
        raise ValueError(f"a layout needs a page {2 * EDGE_MM + 2 * COLUMN_MM:g} mm wide, not {width_mm:g}")
    stands = drawn_stands(machine_of(job))
    view = view_of(stands)
    inside = width_mm - 2 * EDGE_MM
    span, column = (EDGE_MM, width_mm - EDGE_MM), (COLUMN_MM - GAP_MM, TEXT_MM)
    speeds = job.design.machine.speeds
    words = [layout_words(job, stands, speed, WORST_RATIO) for speed in speeds]
    labels = [_label_words(job, stands, speed, view) for speed in speeds]
    head = max(_head_mm(said, inside) for said in words)
    notes = EDGE_MM + max(_notes_mm(said, inside) for said in words)
    bare = LayoutFrame(stands, 1.0, width_mm, 0.0, view, (0.0, 0.0), notes)
    rows = below_mm(_named(bare, labels), span, TEXT_MM)
    tall = HIGHEST_MM - EDGE_MM - head - notes - 2 * GAP_MM - 2 * PAD_MM
    ratio, aside = _arranged(stands, view, inside - 2 * PAD_MM, (tall, tall - rows))
    wide, high = (view.width) / ratio, (view.height) / ratio
    floor = notes + GAP_MM + (0.0 if aside else rows)
    """Lower edge of the drawing's part of the page."""
    body = max(high + 2 * PAD_MM, beside_mm(_named(bare, labels), column) if aside else 0.0)
    placed = replace(
        bare,
        ratio=ratio,
        height_mm=floor + body + GAP_MM + head + EDGE_MM,
        corner_mm=(EDGE_MM + (PAD_MM if aside else (inside - wide) / 2), floor + (body - high) / 2),
    )
    named = _named(placed, labels)
    slots = (
        beside(named, span[1] - COLUMN_MM, (floor, floor + body), column)
        if aside
        else below(named, floor, span, TEXT_MM)
    )
    return replace(placed, slots=tuple(slots))


def _arranged(stands: DrawnStands, view: Room, wide_mm: float, tall_mm: tuple[float, float]) -> tuple[float, bool]:
    """Return the ratio, and whether labels stand right of the drawing: where shafts rather stand above each other.

    Where they do neither clearly, the larger drawing is taken. Heights are those left with labels on the right, below.
    """
    xs, ys = zip(*next(iter(stands.stood.values())).shafts.values(), strict=True)
    across, up = max(xs) - min(xs), max(ys) - min(ys)
    aside, under = _ratio(view, wide_mm - COLUMN_MM, tall_mm[0]), _ratio(view, wide_mm, tall_mm[1])
    if up <= FLAT * across or (across > FLAT * up and under < aside):
        return under, False
    return aside, True


def _ratio(view: Room, wide_mm: float, tall_mm: float) -> float:
    """Return the ratio at which all has room, as small as it may be."""
    across, up = view.width, view.height
    tall = max(tall_mm, LEAST_TALL_MM)
    fitting = (ratio for ratio in RATIOS if across / ratio <= wide_mm and up / ratio <= tall)
    return next(fitting, max(across / wide_mm, up / tall))


def _head_mm(words: Words, inside_mm: float) -> float:
    """Return the height of the title and of what stands below it."""
    title, under = broken(words.title, inside_mm, TITLE_MM), broken(words.below, inside_mm, TEXT_MM)
    return TITLE_LEAD_MM * len(title) + LEAD_MM * len(under)


def _notes_mm(words: Words, inside_mm: float) -> float:
    lines = sum(len(broken(note, inside_mm, TEXT_MM)) for note in words.notes)
    return LEAD_MM * lines + NOTE_GAP_MM * (len(words.notes) - 1)


def _named(frame: LayoutFrame, labels: Sequence[Sequence[Label]]) -> list[Named]:
    """Return every label with what it says at all speeds, at the middle of what it names at all of them."""
    found = []
    for same in zip(*labels, strict=True):
        xs, ys = zip(*(frame.on_page(label.at_mm) for label in same), strict=True)
        found.append(Named(tuple(label.text for label in same), (sum(xs) / len(xs), sum(ys) / len(ys))))
    return found


def belt_layout_sheet(job: Job, speed: int, width_mm: float = 180.0, frame: LayoutFrame | None = None) -> Sheet:
    """Return the machine across its shafts with its belts at one speed, seen from the motor's pulley end.

    Every belt runs exactly tangent along its pitch line, at the position's own centre distance with a new belt. Page,
    scale, places of lettering and of what does not move are the same for all speeds of a design.

    Parameters
    ----------
    job
        The design with its scenario.
    speed
        Number of the spindle speed, counted from 1, the slowest first.
    width_mm
        Width of the page [mm].
    frame
        The frame of this design for pages of this width, where several speeds are drawn; made anew where it is not
        given.

    Raises
    ------
    ValueError
        There is no such speed; the page is too narrow; a belt does not go round.
    """
    speeds = job.design.machine.speeds
    if not 1 <= speed <= len(speeds):
        raise ValueError(f"there is no speed {speed}: the machine has 1 to {len(speeds)}")
    frame = frame or belt_layout_frame(job, width_mm)
    chosen = speeds[speed - 1]
    words = layout_words(job, frame.stands, chosen, scale_words(1 / frame.ratio))
    way = At(tuple(position - 1 for position in chosen.positions))
    entities = (
        *_obstacles(frame, way),
        *_cones(frame, way),
        *_fixed(job, frame, chosen, way),
        *_belts(frame, way),
        *_mounts(frame, way),
        *_shafts(job, frame, way),
        *_labels(job, frame, chosen),
        *_text(frame, words),
    )
    said = " ".join((words.below, *words.notes))
    return Sheet(words.title, frame.width_mm, frame.height_mm, LAYERS, entities, 1 / frame.ratio, said)


def _obstacles(frame: LayoutFrame, way: At) -> Iterator[Entity]:
    for obstacle, corners in zip(frame.stands.obstacles(), frame.stands.stood[way].obstacles, strict=True):
        seen = clipped(outline(obstacle, corners), frame.view)
        if obstacle.disc is not None and len(seen) == len(outline(obstacle, corners)):
            middle = frame.on_page(corners[0])
            yield Circle("obstacles", middle, obstacle.disc.diameter_mm / 2 / frame.ratio, "pale")
        elif seen:
            yield Area("obstacles", tuple(map(frame.on_page, seen)), "pale")


def _cones(frame: LayoutFrame, way: At) -> Iterator[Entity]:
    """Yield the rims of all steps, the line of the belt on those in use."""
    stood, machine = frame.stands.stood[way], frame.stands.machine
    for pair, position in zip(machine.pairs, way.positions, strict=True):
        for cone in (pair.driver, pair.driven):
            centre = frame.on_page(stood.shafts[cone.shaft.name])
            for seat in seats_of(cone, pair, machine.scenario.making) if cone in pair.cones else ():
                yield Circle("rims", centre, seat.outside_mm / 2 / frame.ratio)
            yield Circle("steps", centre, cone.pitch_mm[position] / 2 / frame.ratio)


def _fixed(job: Job, frame: LayoutFrame, speed: SpeedSheet, way: At) -> Iterator[Entity]:
    """Yield two circles in touch for gears that reverse, a link for any other fixed ratio."""
    stood = frame.stands.stood[way]
    for stage in job.scenario.chain:
        if isinstance(stage, BeltStage):
            continue
        ratio = _engaged_ratio(job, stage, speed)
        one, other = (frame.on_page(stood.shafts[name]) for name in (stage.from_shaft, stage.to_shaft))
        apart = hypot(other[0] - one[0], other[1] - one[1])
        if stage.reverses and apart > 0:
            radius = apart * ratio / (1 + ratio)
            yield Circle("fixed ratios", one, radius)
            yield Circle("fixed ratios", other, apart - radius)
        else:
            yield Line("fixed ratios", one, other)


def _belts(frame: LayoutFrame, way: At) -> Iterator[Entity]:
    stood = frame.stands.stood[way]
    for pair, position in zip(frame.stands.machine.pairs, way.positions, strict=True):
        path = _path(frame, stood, pair, position)
        yield from _along("belts", path)
        above = pair.section.datum_depth_mm - pair.section.pitch_shift_mm / 2
        for out in (above, above - pair.section.height_mm):
            if abs(out) / frame.ratio >= LEAST_EDGE_MM:
                yield from _along("belt edges", belt_side(path, out / frame.ratio))
        ends = [frame.on_page(stood.shafts[name]) for name in (pair.stage.from_shaft, pair.stage.to_shaft)]
        yield Line("centre lines", ends[0], ends[1])


def _path(frame: LayoutFrame, stood: Stood, pair: Pair, position: int) -> BeltPath:
    """Return the line of a belt on the page."""
    driver, driven = (
        Round(frame.on_page(stood.shafts[cone.shaft.name]), cone.pitch_mm[position] / 2 / frame.ratio)
        for cone in (pair.driver, pair.driven)
    )
    return belt_path(driver, driven, pair.crossed)


def _along(layer: str, path: BeltPath) -> Iterator[Entity]:
    for start, end in path.strands:
        yield Line(layer, start, end)
    for arc in (path.driver, path.driven):
        yield Arc(layer, arc.centre, arc.radius_mm, arc.start_deg, arc.end_deg)


def _mounts(frame: LayoutFrame, way: At) -> Iterator[Entity]:
    """Yield where shafts stand at the ends of travel, the hinges they turn about."""
    stood = frame.stands.stood[way]
    for stage, mover in frame.stands.movers.items():
        diameter = frame.stands.machine.scenario.shaft(mover).diameter_mm
        places = [frame.on_page(frame.stands.stood[way._replace(stage=stage, end=end)].shafts[mover]) for end in ENDS]
        for place in places:
            yield Circle("travel", place, (diameter or 2 * BARE_MM) / 2 / frame.ratio)
        yield Line("travel", places[0], places[1])
    for name, pivot in stood.hinges.items():
        at = frame.on_page(pivot)
        yield Line("hinges", at, frame.on_page(stood.shafts[name]))
        yield Circle("hinges", at, HINGE_MM, "paper")
        yield Circle("hinges", at, HINGE_MM / 3, "ink")


def _shafts(job: Job, frame: LayoutFrame, way: At) -> Iterator[Entity]:
    """Yield every shaft with its centre and the arrow of its turning."""
    ways = turning(job)
    for name, at in frame.stands.stood[way].shafts.items():
        x, y = frame.on_page(at)
        diameter = job.scenario.shaft(name).diameter_mm
        radius = (diameter or 0.0) / 2 / frame.ratio
        if diameter:
            yield Circle("shafts", (x, y), radius)
        reach = radius + MARK_MM
        yield Line("centre lines", (x - reach, y), (x + reach, y))
        yield Line("centre lines", (x, y - reach), (x, y + reach))
        yield from turning_arrow("turning", (x, y), max(radius + TURN_MM, LEAST_TURN_MM), ways[name])


def _labels(job: Job, frame: LayoutFrame, speed: SpeedSheet) -> Iterator[Entity]:
    for label, slot in zip(_label_words(job, frame.stands, speed, frame.view), frame.slots, strict=True):
        at = frame.on_page(label.at_mm)
        yield Polyline("leaders", (at, *slot.bends))
        yield Circle("leaders", at, DOT_MM, "ink")
        lines = WORDS.broken(label.text, slot.width_mm)
        yield from WORDS.down((slot.left_mm, slot.first_mm), lines, along="middle")


def _text(frame: LayoutFrame, words: Words) -> Iterator[Entity]:
    inside = frame.width_mm - 2 * EDGE_MM
    title = broken(words.title, inside, TITLE_MM)
    y = frame.height_mm - EDGE_MM
    yield from Hand("words", TITLE_MM, TITLE_LEAD_MM).down((EDGE_MM, y), title)
    yield from WORDS.down((EDGE_MM, y - TITLE_LEAD_MM * len(title)), WORDS.broken(words.below, inside))
    y = frame.notes_mm
    for note in words.notes:
        lines = WORDS.broken(note, inside)
        yield from WORDS.down((EDGE_MM, y), lines)
        y -= LEAD_MM * len(lines) + NOTE_GAP_MM
