"""The parts of docs/papers.md that are made: the kinds of papers, the waste of nested squares, two drawings."""

from __future__ import annotations

import re

from optimizer.cuts import cut_cones
from optimizer.documents.kinds import SAID, Kind
from optimizer.documents.papers import paper_files, paper_options
from optimizer.drawing.belt_layout import belt_layout_sheet
from optimizer.drawing.cone_section import cone_section_sheet
from optimizer.pipeline.job import job_of
from optimizer.records.design import Design
from optimizer.render import svg_bytes
from tests.bench.nesting import nesting_table
from tests.docs.markup import table, with_blocks
from tests.docs.pages import page

__all__ = ["DRAWN_CONE", "drawings", "papers_page"]

DRAWN_CONE = "stage-2-driver"


def papers_page(design: Design) -> str:
    """Return the page with its made blocks renewed, from the design of the README's scenario."""
    return with_blocks(page("papers.md"), {"papers": _papers(design), "waste": nesting_table()})


def drawings(design: Design) -> dict[str, str]:
    """Return the drawings that pages show, by the name of their file."""
    job = job_of(design)
    cone = next(cone for cone in cut_cones(job) if cone.slug == DRAWN_CONE)
    sheets = {"belt-layout.svg": belt_layout_sheet(job, 1), "cone-section.svg": cone_section_sheet(job, cone)}
    return {name: svg_bytes(sheet).decode() for name, sheet in sheets.items()}


def _papers(design: Design) -> str:
    """Return every kind with the names of its files for one machine."""
    job = job_of(design)
    rows = []
    for kind in Kind:
        names = sorted(paper_files(job, paper_options(job, [kind.value]))[kind])
        rows.append((f"`{kind.value}`", SAID[kind], ", ".join(f"`{name}`" for name in _short(names))))
    return table(("`--only`", "what it is", "files"), rows)


def _short(names: list[str]) -> list[str]:
    """Return one name for files that differ only in their format or their cone.

    Examples
    --------
    >>> _short(["stage-1-driver-gauge.dxf", "stage-1-driver-gauge.pdf", "stage-2-driven-gauge.pdf"])
    ['stage-N-SIDE-gauge.dxf', '….pdf']
    """
    shortened = [re.sub(r"stage-\d+-(driver|driven)", "stage-N-SIDE", name) for name in names]
    shortened = [re.sub(r"-\d+\.", "-N.", name) for name in shortened]
    stems: dict[str, list[str]] = {}
    for name in dict.fromkeys(shortened):
        stem, _, end = name.rpartition(".")
        stems.setdefault(stem, []).append(end)
    return [
        f"{stem}.{end}" if not place else f"….{end}" for stem, ends in stems.items() for place, end in enumerate(ends)
    ]
