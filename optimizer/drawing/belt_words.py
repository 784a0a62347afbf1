"""What a layout of belts and shafts says in words, the same for every speed but for the figures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from optimizer.checks.crossed import CROSSED_CAUTION
from optimizer.drawing.belt_stands import ENDS, At, DrawnStands, apart_mm, outline
from optimizer.drawing.belt_view import View, clipped
from optimizer.drawing.leaders import JOIN
from optimizer.drawing.sheet import Point
from optimizer.drawing.speed_axis import speed_label
from optimizer.drawing.speed_words import one_line
from optimizer.pipeline.job import Job
from optimizer.quantities import shop_length
from optimizer.records.sheet import SpeedSheet, StageSheet
from optimizer.records.switching import setting_words
from optimizer.scenario import BeltStage, FixedStage
from optimizer.scenario.ratios import fixed_words

__all__ = ["SAFE", "Label", "Words", "engaged_ratio", "label_words", "layout_words", "shown_length", "turning"]

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
UNITS = {"mm": "mm", "cm": "cm", "in": "inches"}
OPPOSITE = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}


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
    return shop_length(length_mm, job.scenario.units, job.scenario.making.division_mm).replace(" ", JOIN)


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
        f"From the motor's pulley end, in {UNITS[job.scenario.units]}, scale {ratio}."
    )
    notes = [] if stands.stated else [f"{one_line(stands.why)}: drawn along a line"]
    notes += [_stage_words(job, number, stage, speed) for number, stage in enumerate(job.design.machine.stages)]
    notes += [CROSSED_CAUTION] if any(stage.crossed for stage in job.design.machine.stages) else []
    lines = f"{LINES} {DASHED}" if stands.movers else LINES
    return Words(one_line(job.scenario.title), below, (*notes, lines, SAFE))


def label_words(job: Job, stands: DrawnStands, speed: SpeedSheet, view: View) -> tuple[Label, ...]:
    """Return every label at one speed: shafts, centre distances, ends of travel, hinges, obstacles; always as many."""
    way = At(tuple(position - 1 for position in speed.positions))
    return (*_shafts(job, stands, speed, way), *_centres(job, stands, speed, way), *_around(stands, way, view))


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
    if position.centre_mm is not None:
        said += f", centres {shown_length(job, position.centre_mm)}"
    if job.scenario.stages and number in _with_travel(job) and ends[0] is not None and ends[1] is not None:
        said += f" with a new belt, {shown_length(job, ends[0])} to put it on, {shown_length(job, ends[1])} worn out"
    return f"{said}."


def _with_travel(job: Job) -> tuple[int, ...]:
    belts = [stage for stage in job.scenario.chain if isinstance(stage, BeltStage)]
    return tuple(number for number, stage in enumerate(belts) if stage.moves)


def _shafts(job: Job, stands: DrawnStands, speed: SpeedSheet, way: At) -> Iterator[Label]:
    ways = turning(job)
    for shaft in speed.shafts:
        size = job.scenario.shaft(shaft.shaft).diameter_mm
        text = f"{one_line(shaft.shaft)}: {speed_label(shaft.rpm)} rpm, {ways[shaft.shaft]}"
        text += f", shaft {shown_length(job, size)}" if size else ""
        yield Label(text, stands.stood[way].shafts[shaft.shaft])


def engaged_ratio(job: Job, stage: FixedStage, speed: SpeedSheet) -> float:
    """Return the ratio of a fixed stage that is engaged at a speed."""
    settings = zip(job.scenario.switches, speed.settings, strict=True)
    key = job.scenario.place_of(stage)
    return next((switch.values[setting - 1] for switch, setting in settings if switch.key == key), stage.ratio)


def _centres(job: Job, stands: DrawnStands, speed: SpeedSheet, way: At) -> Iterator[Label]:
    here = stands.stood[way]
    numbers = iter(range(len(stands.machine.pairs)))
    for stage in job.scenario.chain:
        ends = stage.from_shaft, stage.to_shaft
        middle = _between(here.shafts[ends[0]], here.shafts[ends[1]])
        if not isinstance(stage, BeltStage):
            yield Label(fixed_words(engaged_ratio(job, stage, speed), stage.reverses), middle)
            continue
        number = next(numbers)
        yield Label(f"centres {shown_length(job, apart_mm(here, *ends))}", middle)
        if stage.moves:
            mover = stands.movers[number]
            for end in ENDS:
                stood = stands.stood[way._replace(stage=number, end=end)]
                apart = shown_length(job, apart_mm(stood, *ends))
                yield Label(f"{one_line(mover)}, {end}: {apart}", stood.shafts[mover])


def _around(stands: DrawnStands, way: At, view: View) -> Iterator[Label]:
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


def _between(one: Point, other: Point) -> Point:
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
