"""The design sheet: one page of HTML that says all of a design, and the lists as pages of their own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from optimizer.documents.basis import answer_lead, basis_sections, cautions_of, verdict_section
from optimizer.documents.blocks import Article, Block, Choice, Document, Facts, Figure, Rows, Section, Text
from optimizer.documents.buying import buying_sections
from optimizer.documents.cut_list import cut_sections
from optimizer.documents.design import load_topics
from optimizer.documents.figures import rpm
from optimizer.documents.gears import gear_name
from optimizer.documents.html import html_page
from optimizer.documents.proof import proof_sections
from optimizer.documents.speeds import belts_at, facts_at, plate_lines, said_at, speed_sections
from optimizer.documents.stages import stage_sections
from optimizer.drawing import speed_chart_sheet
from optimizer.drawing.belt_layout import LayoutFrame, belt_layout_frame, belt_layout_sheet
from optimizer.pipeline.job import Job
from optimizer.records.sheet import MachineSheet, SpeedSheet
from optimizer.records.speed_chart import ChartLine, SpeedChart

__all__ = ["design_sheet_html", "lists_html", "speed_chart_of"]

PLACES = {
    "machine": "Machine",
    "chart": "Chart",
    "speeds": "Speeds",
    "stages": "Diameters",
    "tolerance": "Turning",
    "cuts": "Cut list",
    "buying": "Buying list",
    "loads": "Loads",
    "checks": "Checks",
    "proof": "Proof",
    "layouts": "Layouts",
    "defaults": "Defaults",
    "cautions": "Cautions",
    "scenario": "Scenario",
}
"""Sections that the contents lead to; that of turning where anything is turned."""
SCALE = "Drawn to scale; the scale that a drawing names holds on paper printed at 100 %, not on a screen."
TOO_HIGH = "Drawn to scale; too high for this paper, where it is smaller than the scale it names."
TALLEST_MM = 236.0
"""Height that a page of Letter has for a drawing with its words; the style of the page keeps it too."""
STOP = "Change a belt only with the machine at rest and its plug pulled, and close every guard before it runs again."


def design_sheet_html(job: Job) -> bytes:
    """Return the design as an HTML page in one file, in the maker's units, the same bytes for the same job.

    Nothing is fetched from anywhere; without its script everything is shown, speed by speed.

    Raises
    ------
    ValueError
        A belt does not go round, so that there is nothing to draw.
    """
    design, loads = job.design, load_topics(job.design)
    stages = tuple(stage_sections(design.machine, design.gears, design.scenario.units))
    known = [s for topic in ("carrying", "hanging", "shafts", "work", "around") for s in loads[topic]]
    sections = [
        verdict_section(design),
        _machine(job),
        _chart(job),
        *speed_sections(design),
        Section("Stages and diameters", stages, anchor="stages"),
        *loads["tolerance"],
        Section("Cut list and order of work", cut_sections(job), anchor="cuts"),
        Section("Buying list", buying_sections(job), anchor="buying"),
        Section("Power, pulls, shafts, room", known, anchor="loads"),
        *proof_sections(design),
        *basis_sections(design, job.cautions),
    ]
    places = {place: name for place, name in PLACES.items() if place != "tolerance" or design.tolerance is not None}
    lead = tuple(answer_lead(design, changed=job.changed))
    return html_page(Document(job.scenario.title, lead, sections), places, script=True)


def lists_html(title: str, lists: Sequence[Section], cautions: Sequence[str]) -> bytes:
    """Return lists as a page of their own, the cautions before them."""
    parts = [replace(section, anchor=f"list-{number}") for number, section in enumerate(lists, 1)]
    return html_page(Document(title, (), [cautions_of(cautions), *parts]))


def speed_chart_of(job: Job) -> SpeedChart:
    """Return the chart: every band, the design's speeds, those not on the plate on a line of their own."""
    design = job.design
    title = f"{job.scenario.title}: speeds"
    lines = tuple(_lines(design.layout.name, design.machine))
    return SpeedChart(title=title, bands=design.bands, lines=lines, ends=job.scenario.series.ends)


def _lines(name: str, machine: MachineSheet) -> Iterator[ChartLine]:
    """Yield the speeds; where some are not on the plate, those that are and those that are not."""
    shown, left = ([s.rpm for s in machine.speeds if s.on_plate is there] for there in (True, False))
    if not left:
        yield ChartLine(label=name, speeds_rpm=tuple(shown))
        return
    for speeds, words in ((shown, "on the plate"), (left, "not on the plate")):
        if speeds:
            yield ChartLine(label=f"{name}, {words}", speeds_rpm=tuple(speeds))


def _chart(job: Job) -> Section:
    """Return the speed chart."""
    said = "Equal distances are equal ratios of speed; the same figures stand in the table below."
    joined = [f"{gear.driver_shaft} to {gear.driven_shaft} {gear_name(gear)}" for gear in job.design.gears]
    said += "".join(f" {line}" for line in plate_lines(job.design.machine))
    said += f" Fixed in the chain: {', '.join(joined)}." if joined else ""
    figure = Figure(speed_chart_sheet(speed_chart_of(job)), "drawing-chart-", "Speed chart", said)
    return Section("Speed chart", [figure], anchor="chart")


def _machine(job: Job) -> Section:
    """Return where speeds are chosen: the choice, then every speed with its drawing and figures.

    Everything is on the page; its script only hides all speeds but one.
    """
    speeds, frame = job.design.machine.speeds, belt_layout_frame(job)
    blocks = (
        Text(STOP, look="caution"),
        Choice("Choose a speed, rpm", [(speed.number, rpm(speed.rpm), _note(speed)) for speed in speeds]),
        *(_speed(job, speed, frame) for speed in speeds),
        Text(SCALE if frame.height_mm <= TALLEST_MM else TOO_HIGH),
    )
    return Section("The machine at every speed", blocks, anchor="machine")


def _note(speed: SpeedSheet) -> str:
    return "; ".join([", ".join(speed.bands)] * bool(speed.bands) + ["not on the plate"] * (not speed.on_plate))


def _speed(job: Job, speed: SpeedSheet, frame: LayoutFrame) -> Article:
    """Return all of one speed."""
    design, title = job.design, f"{rpm(speed.rpm)} rpm"
    sheet = belt_layout_sheet(job, speed.number, frame=frame)
    blocks: tuple[Block, ...] = (
        Facts(tuple(facts_at(design, speed))),
        Figure(sheet, f"drawing-{speed.number}-", f"Drawing at {title}", said_at(design, speed)),
        Rows(belts_at(design, speed), f"Belts at {title}"),
    )
    return Article(f"speed-{speed.number}", f"Speed {speed.number}: {title}", blocks)
