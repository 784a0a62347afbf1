"""The machine drawn at every speed, one of which is chosen.

Everything is on the page; its script only hides all speeds but one.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.drawing.belt_layout import LayoutFrame, belt_layout_frame, belt_layout_sheet
from optimizer.papers.figure import drawn
from optimizer.papers.html_table import html_table
from optimizer.papers.markup import Markup, inside, tag
from optimizer.papers.page import part
from optimizer.papers.speed_rows import belts_at, facts_at, said_at
from optimizer.pipeline.job import Job
from optimizer.records.sheet import SpeedSheet
from optimizer.report.figures import rpm

__all__ = ["machine_part"]

SCALE = "Drawn to scale; the scale that a drawing names holds on paper printed at 100 %, not on a screen."
TOO_HIGH = "Drawn to scale; too high for this paper, where it is smaller than the scale it names."
TALLEST_MM = 236.0
"""Height that a page of Letter has for a drawing with its words; the style of the page keeps it too."""
STOP = "Change a belt only with the machine at rest and its plug pulled, and close every guard before it runs again."


def machine_part(job: Job) -> Markup:
    """Return the section where speeds are chosen: the choice, then every speed with its drawing and figures."""
    speeds, frame = job.design.machine.speeds, belt_layout_frame(job)
    choice = inside(
        "fieldset",
        [tag("legend", "Choose a speed, rpm"), *(_choice(speed) for speed in speeds)],
        class_="choice",
    )
    return part(
        "machine",
        "The machine at every speed",
        [
            tag("p", STOP, class_="caution"),
            choice,
            tag("p", class_="aloud", role="status", aria_live="polite", id="now"),
            *(_speed(job, speed, frame) for speed in speeds),
            tag("p", SCALE if frame.height_mm <= TALLEST_MM else TOO_HIGH),
        ],
    )


def _choice(speed: SpeedSheet) -> Markup:
    """Return one speed of the choice; its first is chosen."""
    first = speed.number == 1
    box = tag("input", type="radio", name="speed", value=str(speed.number), checked=first, autocomplete="off")
    below = [", ".join(speed.bands)] * bool(speed.bands) + ["not on the plate"] * (not speed.on_plate)
    bands = tag("small", "; ".join(below)) if below else Markup("")
    return tag("label", box, tag("span", tag("b", rpm(speed.rpm)), bands))


def _speed(job: Job, speed: SpeedSheet, frame: LayoutFrame) -> Markup:
    """Return all of one speed."""
    design, anchor = job.design, f"speed-{speed.number}"
    title = f"{rpm(speed.rpm)} rpm"
    sheet = belt_layout_sheet(job, speed.number, frame=frame)
    figure = drawn(sheet, f"drawing-{speed.number}-", f"Drawing at {title}", said_at(design, speed))
    content = [
        tag("h3", f"Speed {speed.number}: {title}", id=f"{anchor}-title"),
        inside("dl", _facts(job, speed), class_="facts"),
        figure,
        html_table(belts_at(design, speed), f"Belts at {title}"),
    ]
    return inside("article", content, id=anchor, class_="speed", aria_labelledby=f"{anchor}-title")


def _facts(job: Job, speed: SpeedSheet) -> Iterator[Markup]:
    for name, value in facts_at(job.design, speed):
        yield tag("div", tag("dt", name), tag("dd", value))
