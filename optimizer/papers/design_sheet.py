"""The design sheet: one page that says all of a design, in one file."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.papers.answer import answer_head, troubles_part
from optimizer.papers.basis import cautions_part, defaults_part, scenario_part
from optimizer.papers.chart import chart_part
from optimizer.papers.chooser import machine_part
from optimizer.papers.lists import ListSection, lists_parts
from optimizer.papers.loads import loads_part
from optimizer.papers.markup import Markup, inside, tag
from optimizer.papers.page import html_document, part
from optimizer.papers.proved import checks_part, proof_part, tried_part
from optimizer.papers.speed_rows import speeds_part
from optimizer.papers.stages import stages_part
from optimizer.pipeline.job import Job

__all__ = ["design_sheet_html"]

PLACES = {
    "machine": "Machine",
    "chart": "Chart",
    "speeds": "Speeds",
    "stages": "Diameters",
    "lists": "Lists",
    "loads": "Loads",
    "checks": "Checks",
    "proof": "Proof",
    "layouts": "Layouts",
    "defaults": "Defaults",
    "cautions": "Cautions",
    "scenario": "Scenario",
}
"""Sections that the contents lead to."""


def design_sheet_html(job: Job, lists: Sequence[ListSection] = ()) -> bytes:
    """Return the design as an HTML page in one file, in the maker's units, the same bytes for the same job.

    Nothing is fetched from anywhere; without its script everything is shown, speed by speed.

    Parameters
    ----------
    job
        The design beside its scenario.
    lists
        Cut list, buying list, order of work.
    """
    design = job.design
    lists_part = [part("lists", "Lists", lists_parts(lists))] if lists else []
    parts = [
        troubles_part(design),
        machine_part(job),
        chart_part(job),
        speeds_part(design),
        stages_part(design),
        *lists_part,
        loads_part(design),
        checks_part(design),
        proof_part(design),
        tried_part(design),
        defaults_part(design),
        cautions_part(design),
        scenario_part(design),
    ]
    head = [*answer_head(design), _contents(frozenset() if lists else frozenset({"lists"}))]
    return html_document(design.scenario.title, head, parts, script=True)


def _contents(without: frozenset[str]) -> Markup:
    links = [tag("li", tag("a", name, href=f"#{place}")) for place, name in PLACES.items() if place not in without]
    return tag("nav", inside("ul", links), aria_label="Contents", class_="contents")
