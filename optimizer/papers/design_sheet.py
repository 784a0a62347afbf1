"""The design sheet: one page that says all of a design, in one file."""

from __future__ import annotations

from optimizer.papers.answer import answer_head, troubles_part
from optimizer.papers.basis import cautions_part, defaults_part, scenario_part
from optimizer.papers.chart import chart_part
from optimizer.papers.chooser import machine_part
from optimizer.papers.lists import lists_parts
from optimizer.papers.loads import loads_part
from optimizer.papers.markup import Markup, inside, tag
from optimizer.papers.page import html_document, part
from optimizer.papers.proved import checks_part, proof_part, tried_part
from optimizer.papers.speed_rows import speeds_part
from optimizer.papers.stages import stages_part
from optimizer.papers.turning import turning_part
from optimizer.pipeline.job import CHANGED, Job
from optimizer.records.design import Design
from optimizer.report.buying_tables import buying_tables
from optimizer.report.cut_tables import cut_tables

__all__ = ["design_sheet_html"]

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
