"""Papers of machines whose speeds are free: all kinds, every speed to be chosen, what both belts share once."""

from __future__ import annotations

import pytest

from optimizer.documents.data import design_json, design_of_json
from optimizer.documents.design_sheet import design_sheet_html
from optimizer.documents.figures import rpm
from optimizer.documents.html import shown
from optimizer.documents.kinds import Kind, is_paper
from optimizer.documents.papers import paper_files, paper_options
from optimizer.documents.speeds import plate_lines
from optimizer.pipeline.job import checked_job
from tests.jobs import job
from tests.unit.documents.outline import Outline, outline_of


@pytest.fixture(scope="module")
def page() -> bytes:
    """Return the design sheet of the machine with one middle cone."""
    return design_sheet_html(job("middle cone"))


@pytest.fixture(scope="module")
def outline(page: bytes) -> Outline:
    """Return its elements."""
    return outline_of(page)


def test_every_speed_can_be_chosen(outline: Outline) -> None:
    """There are as many choices, drawings and tables of belts as speeds; those not on the plate say so."""
    speeds = job("middle cone").design.machine.speeds
    assert not outline.wrong and not outline.open
    assert [box["value"] for box in outline.named("input")] == [str(speed.number) for speed in speeds]
    assert len([article for article in outline.named("article") if article.get("class") == "speed"]) == len(speeds)
    below = [text.endswith("not on the plate") for text in outline.texts["small"]]
    assert below == [not speed.on_plate for speed in speeds]
    assert outline.texts["dt"].count("plate") == sum(not speed.on_plate for speed in speeds)


def test_chart_and_table_tell_what_is_not_on_the_plate(page: bytes) -> None:
    """Both say which speeds; the table marks the others; stage 2 tells that its driver is the middle cone."""
    machine = job("middle cone").design.machine
    (line,) = plate_lines(machine)
    told = page.decode()
    assert told.count(shown(line)) == 2
    assert told.count("<td>yes</td>") == sum(speed.on_plate for speed in machine.speeds)
    assert "4x4, not on the plate" in told
    assert "Its driver is the driven cone of stage 1" in told
    assert told.count("Stage 1, driven, and stage 2, driver, on middle: steps") >= 1
    assert "Stage 2, driver on middle" not in told
    assert all(f"<b>{rpm(speed.rpm)}</b>" in told for speed in machine.speeds)


def test_no_name_of_the_middle_shaft_breaks_the_page() -> None:
    """Every element is closed where that shaft and a band are called by markup and letters of many scripts."""
    outline = outline_of(design_sheet_html(job("hostile middle cone")))
    assert not outline.wrong and not outline.open


@pytest.mark.parametrize("name", ["middle cone", "two middle cones"])
def test_there_are_all_papers(name: str) -> None:
    """No kind is missing; a shared cone has one section, one gauge, whose files are those of stage 1."""
    made = job(name)
    files = paper_files(made, paper_options(made))
    assert all(files[kind] for kind in Kind)
    assert all(is_paper(file) for some in files.values() for file in some)
    sections = sorted(file for file in files[Kind.SECTIONS] if file.endswith(".pdf"))
    assert sections == ["stage-1-driven-section.pdf", "stage-2-driven-section.pdf"]


def test_papers_of_the_document_are_the_same() -> None:
    """What is read from `design.json` gives the same plate, card and cut list, byte for byte."""
    made = job("middle cone")
    again = checked_job(design_of_json(design_json(made.design)))
    kinds = ("plate", "card", "cuts")
    assert paper_files(made, paper_options(made, kinds)) == paper_files(again, paper_options(again, kinds))
