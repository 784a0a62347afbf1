"""What is looked at on a running machine, by whom it is not, and when a belt or cone has to go."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from optimizer.catalogue.grooves import flank_runout_mm
from optimizer.catalogue.sections import section
from optimizer.drawing.belt_words import shown_length
from optimizer.drawing.speed_words import one_line
from optimizer.pipeline.job import Job
from optimizer.pipeline.parts import has_timber
from optimizer.quantities.shop import MM_PER, PLACES
from optimizer.records.shafts import TurningSheet
from optimizer.records.sheet import StageSheet, StepSheet

__all__ = [
    "BELTS",
    "CAUTIONS",
    "TRUE",
    "WHEN",
    "BeltTop",
    "belt_checks",
    "belt_top",
    "cone_checks",
    "crack_words",
    "size_checks",
]

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
    told = _decimals(job, smaller_mm)
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


def _decimals(job: Job, length_mm: float) -> str:
    """Return a length in decimals alone: a rule tells nothing so fine."""
    units = job.scenario.units
    return f"{length_mm / MM_PER[units] + 0.0:.{PLACES[units]}f}"


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
