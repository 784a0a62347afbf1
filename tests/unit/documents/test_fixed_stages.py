"""Couplings, reducers and crossed belts on every paper that shows the chain."""

from __future__ import annotations

from html import unescape

import pytest

from optimizer.checks.crossed import CROSSED_CAUTION
from optimizer.documents.design import design_paper, design_screen
from optimizer.documents.design_sheet import design_sheet_html
from optimizer.documents.gears import GEAR_CAUTION
from optimizer.drawing.belt_layout import belt_layout_sheet
from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job
from optimizer.scenario import load_scenario
from tests.unit.documents.outline import outline_of

DRUM = """
title = "Tumbling drum on a crossed cord"
units = "mm"
[motor]
speed = 1420
power = "0.18 kW"
turns = "clockwise"
[[band]]
name = "polishing"
from = 29
to = 64
want = 3
[[shaft]]
name = "jackshaft"
[[shaft]]
name = "worm shaft"
[[stage]]
from = "motor"
to = "jackshaft"
ratio = 1
[[stage]]
from = "jackshaft"
to = "worm shaft"
positions = 3
centres = [400, 500]
run = "crossed"
belt = { section = "round 6", lengths = "any" }
driver = { free = [55, 100] }
driven = { free = [80, 150] }
[[stage]]
from = "worm shaft"
to = "spindle"
ratio = "20:1"
efficiency = 0.7
input_speed = 1500
torque = "80 N m"
"""


@pytest.fixture(scope="module")
def drum() -> Job:
    """Return a drum behind coupling, crossed belt, and reducer."""
    scenario = load_scenario(DRUM, "drum.toml")
    return Job(design(scenario), scenario)


def words(text: str) -> str:
    """Return a text on one line."""
    return " ".join(text.split())


def test_screen_and_sheet_name_what_joins_the_shafts(drum: Job) -> None:
    """A ratio of 1 is a direct coupling; a reducer is told with its losses and limits."""
    screen = words(design_screen(drum.design))
    assert "motor to jackshaft: direct coupling." in screen
    assert "worm shaft to spindle: fixed ratio 0.05 (20:1), passes on 70 % of the power; driven at up to" in screen
    sheet = words(design_paper(drum.design))
    assert "| motor | jackshaft | direct coupling | 100 % |" in sheet
    assert "| worm shaft | spindle | fixed ratio 0.05 (20:1) | 70 % |" in sheet


def test_cautions_stand_beside_what_they_concern(drum: Job) -> None:
    """The crossing's is with its stage, on screen, sheet, page and layout; that of gears with the gears."""
    layout = belt_layout_sheet(drum, 1)
    for text in (design_screen(drum.design), design_paper(drum.design), layout.said):
        assert CROSSED_CAUTION in words(text)
    page = design_sheet_html(drum).decode()
    stages = page[page.index('id="stages"') : page.index('id="tolerance"')]
    for caution in (CROSSED_CAUTION, GEAR_CAUTION):
        assert caution in unescape(stages)
        assert caution in words(design_screen(drum.design))


def test_layout_and_chart_name_the_coupling(drum: Job) -> None:
    """The layout has it as a label, the speed chart's words beside the chart."""
    labels = " ".join(text.text for text in belt_layout_sheet(drum, 1).on("words") if hasattr(text, "text"))
    assert "direct coupling" in words(labels)
    page = words(design_sheet_html(drum).decode())
    assert (
        "Fixed in the chain: motor to jackshaft direct coupling, worm shaft to spindle fixed ratio 0.05 (20:1)." in page
    )


def test_the_spindle_turns_against_the_motor(drum: Job) -> None:
    """One crossing among couplings and gears that keep the direction turns the spindle round."""
    assert drum.design.machine.turns == "anticlockwise"
    assert "spindle turns anticlockwise" in words(design_paper(drum.design))


def test_the_page_stays_whole(drum: Job) -> None:
    """With the tables of gears in it the page still has its sections."""
    outline = outline_of(design_sheet_html(drum))
    assert outline.wrong == []
    assert {"stages", "checks", "cautions"} <= {section.get("id") for section in outline.named("section")}
