"""All papers of a design as files, as bytes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
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
    title = job.scenario.title
    match kind:
        case Kind.SHEET:
            return {"design-sheet.html": design_sheet_html(job)}
        case Kind.CUTS:
            page = lists_html(f"{title}: cut list", cut_sections(job), job.cautions)
            return {"cuts.html": page, "cuts.csv": cuts_csv(job).encode(), "cuts.json": cuts_json(job).encode()}
        case Kind.BUYING:
            page = lists_html(f"{title}: buying list", buying_sections(job), job.cautions)
            texts = {"buying.csv": buying_csv(job), "buying.json": buying_json(job)}
            return {"buying.html": page, **{name: text.encode() for name, text in texts.items()}}
    files: dict[str, bytes] = {}
    for name, sheets in _drawings(kind, job, options.speed):
        files |= _drawn(name, tuple(headed(s, CHANGED) for s in sheets) if job.changed else sheets, options)
    return files


def _drawings(kind: Kind, job: Job, speed: int) -> Iterator[tuple[str, tuple[Sheet, ...]]]:
    """Yield the drawings of a kind by the stem of their files."""
    turned = [cone for cone in cut_cones(job) if cone.turned]
    match kind:
        case Kind.SAWING:
            if (nesting := sawn(job)) is not None:
                yield "sawing-plan", sawing_plan_sheets(nesting, job.scenario.title, BenchWords.of(job.scenario))
        case Kind.SECTIONS:
            yield from ((f"{cone.slug}-section", (cone_section_sheet(job, cone),)) for cone in turned)
        case Kind.GAUGES:
            yield from ((f"{cone.slug}-gauge", (cone_gauge_sheet(job, cone),)) for cone in turned)
        case Kind.DISCS:
            yield from ((f"{cone.slug}-disc", disc_template_sheets(job, cone)) for cone in turned)
        case Kind.LAYOUT:
            yield "belt-layout", (belt_layout_sheet(job, speed),)
        case Kind.PLATE:
            yield "speed-plate", (speed_plate_sheet(job),)
        case Kind.CARD:
            yield "inspection-card", (inspection_card_sheet(job),)


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
