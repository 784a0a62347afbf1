"""All papers of a design as files, as bytes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import chain
from typing import NamedTuple

from optimizer.cuts import cut_cones
from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.nesting import sawn
from optimizer.documents.buying import buying_csv, buying_json, buying_sections
from optimizer.documents.cut_list import cut_sections, cuts_csv, cuts_json
from optimizer.documents.design_sheet import design_sheet_html, lists_html
from optimizer.documents.kinds import Kind
from optimizer.drawing.belt_layout import belt_layout_sheet
from optimizer.drawing.cone_gauge import cone_gauge_sheet
from optimizer.drawing.cone_section import cone_section_sheet
from optimizer.drawing.disc_template import disc_template_sheets
from optimizer.drawing.inspection_card import inspection_card_sheet
from optimizer.drawing.pages import PAPERS, headed, paged
from optimizer.drawing.sawing_plan import sawing_plan_sheets
from optimizer.drawing.sheet import Sheet
from optimizer.drawing.speed_plate import speed_plate_sheet
from optimizer.errors import Fault, ScenarioError
from optimizer.pipeline.job import CHANGED, Job
from optimizer.render import dxf_bytes, pdf_bytes, svg_bytes

__all__ = ["PaperOptions", "paper_files", "paper_options"]


class PaperOptions(NamedTuple):
    """What is asked for."""

    kinds: tuple[Kind, ...]
    paper: str
    """Size of the pages: A4, A3, Letter."""
    speed: int
    """Speed at which the belts are drawn, from 1."""


def paper_options(
    job: Job, only: Iterable[str] = (), paper: str | None = None, speed: int | None = None
) -> PaperOptions:
    """Return what is asked for; where nothing is, all papers, on A4 or, in inches, on Letter, at the slowest speed.

    Raises
    ------
    ScenarioError
        The machine has no such speed.
    """
    most, wanted = len(job.design.machine.speeds), frozenset(only)
    if speed is not None and not 1 <= speed <= most:
        fault = Fault("--speed", "the machine has no such speed", str(speed), f"1 to {most}", "count from the slowest")
        raise ScenarioError([fault])
    kinds = tuple(kind for kind in Kind if not wanted or kind.value in wanted)
    return PaperOptions(kinds, paper or ("Letter" if job.scenario.units == "in" else "A4"), speed or 1)


def paper_files(job: Job, options: PaperOptions) -> dict[Kind, dict[str, bytes]]:
    """Return the name and content of every paper that is asked for, by kind.

    A kind of which the machine has nothing, such as a gauge where nothing is turned, has no files. What has several
    drawings is one PDF with all of them, and an SVG and a DXF of each.
    """
    return {kind: _files_of(kind, job, options) for kind in options.kinds}


def _files_of(kind: Kind, job: Job, options: PaperOptions) -> dict[str, bytes]:
    if kind in LISTS:
        return LISTS[kind](job)
    files: dict[str, bytes] = {}
    for name, sheets in DRAWINGS[kind](job, options):
        if job.changed:
            sheets = tuple(headed(sheet, CHANGED) for sheet in sheets)
        files |= _drawn(name, sheets, options)
    return files


def _sheet(job: Job) -> dict[str, bytes]:
    return {"design-sheet.html": design_sheet_html(job)}


def _cuts(job: Job) -> dict[str, bytes]:
    page = lists_html(f"{job.scenario.title}: cut list", cut_sections(job), job.cautions)
    return {"cuts.html": page, "cuts.csv": cuts_csv(job).encode(), "cuts.json": cuts_json(job).encode()}


def _buying(job: Job) -> dict[str, bytes]:
    page = lists_html(f"{job.scenario.title}: buying list", buying_sections(job), job.cautions)
    return {"buying.html": page, "buying.csv": buying_csv(job).encode(), "buying.json": buying_json(job).encode()}


Named = Iterator[tuple[str, tuple[Sheet, ...]]]
"""Drawings by the stem of their files."""


def _sawing(job: Job, _: PaperOptions) -> Named:
    scenario = job.scenario
    nesting = sawn(job)
    if nesting is not None:
        yield "sawing-plan", sawing_plan_sheets(nesting, scenario.title, BenchWords.of(scenario))


def _sections(job: Job, _: PaperOptions) -> Named:
    for cone in cut_cones(job):
        if cone.turned:
            yield f"{cone.slug}-section", (cone_section_sheet(job, cone),)


def _gauges(job: Job, _: PaperOptions) -> Named:
    for cone in cut_cones(job):
        if cone.turned:
            yield f"{cone.slug}-gauge", (cone_gauge_sheet(job, cone),)


def _discs(job: Job, _: PaperOptions) -> Named:
    for cone in cut_cones(job):
        if cone.turned:
            yield f"{cone.slug}-disc", disc_template_sheets(job, cone)


def _layout(job: Job, options: PaperOptions) -> Named:
    yield "belt-layout", (belt_layout_sheet(job, options.speed),)


def _plate(job: Job, _: PaperOptions) -> Named:
    yield "speed-plate", (speed_plate_sheet(job),)


def _card(job: Job, _: PaperOptions) -> Named:
    yield "inspection-card", (inspection_card_sheet(job),)


LISTS: dict[Kind, Callable[[Job], dict[str, bytes]]] = {Kind.SHEET: _sheet, Kind.CUTS: _cuts, Kind.BUYING: _buying}
DRAWINGS: dict[Kind, Callable[[Job, PaperOptions], Named]] = {
    Kind.SAWING: _sawing,
    Kind.SECTIONS: _sections,
    Kind.GAUGES: _gauges,
    Kind.DISCS: _discs,
    Kind.LAYOUT: _layout,
    Kind.PLATE: _plate,
    Kind.CARD: _card,
}


def _drawn(name: str, sheets: tuple[Sheet, ...], options: PaperOptions) -> dict[str, bytes]:
    """Return drawings in every format: one PDF, and of each an SVG and a DXF, numbered where there are several."""
    if not sheets:
        return {}
    pages = chain.from_iterable(paged(sheet, PAPERS[options.paper]) for sheet in sheets)
    files = {f"{name}.pdf": pdf_bytes(tuple(pages))}
    for number, sheet in enumerate(sheets, 1):
        stem = name if len(sheets) == 1 else f"{name}-{number}"
        files |= {f"{stem}.svg": svg_bytes(sheet), f"{stem}.dxf": dxf_bytes(sheet)}
    return files
