"""The design sheet: one page of HTML that says all of a design, in one file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from optimizer.documents.around import around_words, gap_table, reach_table
from optimizer.documents.basis import answer_head, cautions_part, defaults_part, scenario_part, troubles_part
from optimizer.documents.blocks import Table
from optimizer.documents.buying import buying_tables
from optimizer.documents.carrying import load_sources, load_table, pull_table
from optimizer.documents.checks import checks_part
from optimizer.documents.cut_list import cut_tables
from optimizer.documents.figures import rpm
from optimizer.documents.gears import gear_name
from optimizer.documents.hanging import mount_table, mount_words
from optimizer.documents.html import Markup, drawn, html_document, html_table, inside, listing, part, tag, turned
from optimizer.documents.proof import proof_part, tried_part
from optimizer.documents.shafts import (
    balance_notes,
    balance_table,
    key_table,
    run_up_table,
    shaft_table,
    shaft_words,
    stress_table,
)
from optimizer.documents.speeds import belts_at, facts_at, plate_lines, said_at, speeds_part
from optimizer.documents.stages import stages_part
from optimizer.documents.tolerance import turning_part
from optimizer.documents.work_size import work_table
from optimizer.drawing import speed_chart_sheet
from optimizer.drawing.belt_layout import LayoutFrame, belt_layout_frame, belt_layout_sheet
from optimizer.pipeline.job import CHANGED, Job
from optimizer.records.design import Design
from optimizer.records.mechanics import CarryingSheet, HangingSheet
from optimizer.records.sheet import MachineSheet, SpeedSheet
from optimizer.records.speed_chart import ChartLine, SpeedChart

__all__ = [
    "ListSection",
    "chart_part",
    "design_sheet_html",
    "lists_html",
    "lists_parts",
    "loads_part",
    "machine_part",
    "speed_chart_of",
]


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


def chart_part(job: Job) -> Markup:
    """Return the section of the speed chart."""
    said = "Equal distances are equal ratios of speed; the same figures stand in the table below."
    joined = [f"{gear.driver_shaft} to {gear.driven_shaft} {gear_name(gear)}" for gear in job.design.gears]
    said += "".join(f" {line}" for line in plate_lines(job.design.machine))
    said += f" Fixed in the chain: {', '.join(joined)}." if joined else ""
    figure = drawn(speed_chart_sheet(speed_chart_of(job)), "drawing-chart-", "Speed chart", said)
    return part("chart", "Speed chart", [figure])


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


def loads_part(design: Design) -> Markup:
    """Return the section of power, pulls, mounts, shafts, room, as far as anything is known of them."""
    content: list[Markup] = []
    if design.carrying:
        content += _belts(design, design.carrying)
    if design.hanging:
        content += _mounts(design, design.hanging)
    content += _shafts(design)
    content += _work(design)
    content += _room(design)
    return part("loads", "Power, pulls, shafts, room", content)


def _belts(design: Design, carrying: CarryingSheet) -> Iterator[Markup]:
    units = design.scenario.units
    yield tag("h3", "Belts")
    yield _cautions(carrying.cautions)
    yield html_table(load_table(carrying, design.machine, units), "Each belt where it has least to spare")
    yield listing(f"source {number}: {source}" for number, source in enumerate(load_sources(carrying), 1))
    if any(load.pretension_n is not None for load in carrying.belts):
        yield tag(
            "p",
            "How hard belts pull, for the power they must carry, or can where that is less: each strand at rest, both "
            "strands while they carry, and on the smaller pulley's shaft.",
        )
        yield html_table(pull_table(carrying, design.machine, units), "Pulls, where each belt has least to spare")


def _mounts(design: Design, hanging: HangingSheet) -> Iterator[Markup]:
    units = design.scenario.units
    yield tag("h3", "What draws the belts taut")
    yield _cautions(hanging.cautions)
    for number, mount in enumerate(hanging.mounts, 1):
        yield tag("p", f"{mount_words(mount, design.machine, units)}.")
        yield html_table(mount_table(mount, units), f"Mount {number}, of {mount.shaft}: new and worn belt")


def _shafts(design: Design) -> Iterator[Markup]:
    shafts, units = design.shafts, design.scenario.units
    yield tag("h3", "Shafts, keys, balance")
    yield _cautions(shafts.cautions)
    yield listing(f"{line}." for line in shaft_words(shafts, design.machine, units))
    if shafts.loads:
        yield html_table(shaft_table(shafts, units), "Shafts between their bearings, each at its hardest speed")
        yield listing(dict.fromkeys(f"Stresses: {load.source}." for load in shafts.loads))
    if shafts.keys:
        yield html_table(key_table(shafts, units), "Usual keys, and what is measured over their seats")
    if shafts.cones:
        yield html_table(balance_table(shafts, design.machine, units), "Balance of cones at their greatest speed")
        yield html_table(stress_table(shafts, design.machine, units), "Stress of their largest steps by their own mass")
        yield listing(balance_notes(shafts))
    if shafts.run_ups:
        yield html_table(run_up_table(shafts, units), "Bringing the heaviest work up to speed, without cutting")


def _work(design: Design) -> Iterator[Markup]:
    if design.work_size:
        yield tag("h3", "Work size")
        yield _cautions(design.work_size.cautions)
        yield html_table(work_table(design.work_size, design.scenario.units), "Work that suits every speed")


def _room(design: Design) -> Iterator[Markup]:
    around, units = design.around, design.scenario.units
    if around is None:
        return
    yield tag("h3", "Room around")
    yield tag(
        "p",
        "Seen from the motor's pulley end, over every position, from belt-on to worn-out. Strands are taken as "
        "straight: a slack belt whips farther. A guard needs room too.",
        class_="caution",
    )
    yield tag("p", f"{around_words(around, units)}.")
    if around.shafts:
        yield html_table(reach_table(around, units), "From where to where the shafts move")
    if around.gaps:
        yield html_table(gap_table(around, units), "Gaps, nearest first")


def _cautions(lines: tuple[str, ...]) -> Markup:
    return listing(lines, class_="cautions")


Titled = tuple[str, Table, tuple[str, ...]]
"""A title, a table, what is said below it, as the lists come."""


class ListSection(NamedTuple):
    """A table with what is to be said of it."""

    title: str
    table: Table
    notes: tuple[str, ...] = ()


def lists_html(title: str, sections: Iterable[Titled], cautions: Sequence[str]) -> bytes:
    """Return lists as a page of their own, the cautions before them."""
    warned = part("before", "Before you build", [listing(cautions, class_="cautions")])
    parts = [
        part(f"list-{number}", section.title, _content(section))
        for number, section in enumerate(map(ListSection._make, sections), 1)
    ]
    return html_document(title, (), [warned, *parts])


def lists_parts(sections: Iterable[Titled]) -> list[Markup]:
    """Return lists as what stands in a section of a page, each under a heading."""
    told = map(ListSection._make, sections)
    return [piece for section in told for piece in (tag("h3", section.title), *_content(section))]


def _content(section: ListSection) -> list[Markup]:
    """Return the table, whose caption is heard and not seen, as the heading says the same, then the notes."""
    table = html_table(turned(section.table), section.title) if section.table.rows else tag("p", "None.")
    return [inside("div", [table], class_="listed"), listing(section.notes)]


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


def design_sheet_html(job: Job) -> bytes:
    """Return the design as an HTML page in one file, in the maker's units, the same bytes for the same job.

    Nothing is fetched from anywhere; without its script everything is shown, speed by speed.

    Raises
    ------
    ValueError
        A belt does not go round, so that there is nothing to draw.
    """
    design = job.design
    parts = [
        troubles_part(design),
        machine_part(job),
        chart_part(job),
        speeds_part(design),
        stages_part(design),
        *turning_part(design),
        part("cuts", "Cut list and order of work", lists_parts(cut_tables(job))),
        part("buying", "Buying list", lists_parts(buying_tables(job))),
        loads_part(design),
        checks_part(design),
        proof_part(design),
        tried_part(design),
        defaults_part(design),
        cautions_part(job.cautions),
        scenario_part(design),
    ]
    changed = [tag("p", f"{CHANGED}.", class_="answer failed")] if job.changed else []
    head = [*changed, *answer_head(design), _contents(design)]
    return html_document(job.scenario.title, head, parts, script=True)


def _contents(design: Design) -> Markup:
    places = {place: name for place, name in PLACES.items() if place != "tolerance" or design.tolerance is not None}
    links = [tag("li", tag("a", name, href=f"#{place}")) for place, name in places.items()]
    return tag("nav", inside("ul", links), aria_label="Contents", class_="contents")
