"""The layout of belts and shafts as a sheet: the machine across its shafts, to scale, with the belts of one speed."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

from optimizer.checks.seats import seats_of
from optimizer.checks.stated import Pair
from optimizer.drawing.belt_frame import (
    EDGE_MM,
    LEAD_MM,
    NOTE_GAP_MM,
    TEXT_MM,
    TITLE_LEAD_MM,
    TITLE_MM,
    LayoutFrame,
    belt_layout_frame,
)
from optimizer.drawing.belt_path import BeltPath, Round, belt_path, belt_side
from optimizer.drawing.belt_stands import ENDS, At, Stood, outline
from optimizer.drawing.belt_view import clipped
from optimizer.drawing.belt_words import Words, engaged_ratio, label_words, layout_words, turning
from optimizer.drawing.leaders import broken
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Layer, Line, Polyline, Sheet, Text
from optimizer.drawing.turning_arrow import turning_arrow
from optimizer.pipeline.job import Job
from optimizer.records.sheet import SpeedSheet
from optimizer.scenario import FixedStage

__all__ = ["LAYERS", "belt_layout_frame", "belt_layout_sheet"]

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
    words = layout_words(job, frame.stands, chosen, frame.ratio_words)
    way = At(tuple(position - 1 for position in chosen.positions))
    entities = (
        *_obstacles(frame, way),
        *_cones(frame, way),
        *_gears(job, frame, chosen, way),
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


def _gears(job: Job, frame: LayoutFrame, speed: SpeedSheet, way: At) -> Iterator[Entity]:
    for stage in job.scenario.chain:
        if isinstance(stage, FixedStage):
            yield from _fixed(frame, frame.stands.stood[way], stage, engaged_ratio(job, stage, speed))


def _fixed(frame: LayoutFrame, stood: Stood, stage: FixedStage, ratio: float) -> Iterator[Entity]:
    """Yield two circles in touch for gears that reverse, a link for any other fixed ratio."""
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
    for label, slot in zip(label_words(job, frame.stands, speed, frame.view), frame.slots, strict=True):
        at = frame.on_page(label.at_mm)
        yield Polyline("leaders", (at, *slot.bends))
        yield Circle("leaders", at, DOT_MM, "ink")
        for number, line in enumerate(broken(label.text, slot.width_mm, TEXT_MM)):
            yield Text("words", (slot.left_mm, slot.first_mm - LEAD_MM * number), line, TEXT_MM, along="middle")


def _text(frame: LayoutFrame, words: Words) -> Iterator[Entity]:
    inside = frame.width_mm - 2 * EDGE_MM
    y = frame.height_mm - EDGE_MM
    for line in broken(words.title, inside, TITLE_MM):
        yield Text("words", (EDGE_MM, y), line, TITLE_MM, along="top")
        y -= TITLE_LEAD_MM
    for line in broken(words.below, inside, TEXT_MM):
        yield Text("words", (EDGE_MM, y), line, TEXT_MM, along="top")
        y -= LEAD_MM
    y = frame.notes_mm
    for note in words.notes:
        for line in broken(note, inside, TEXT_MM):
            yield Text("words", (EDGE_MM, y), line, TEXT_MM, along="top")
            y -= LEAD_MM
        y -= NOTE_GAP_MM
