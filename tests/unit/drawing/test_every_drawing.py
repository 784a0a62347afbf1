"""What holds of every drawing: nothing leaves its page, no lettering lies on anything, twice the same is drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

import pytest

from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.nesting import sawn
from optimizer.drawing import Sheet
from optimizer.drawing.belt_layout import belt_layout_frame, belt_layout_sheet
from optimizer.drawing.cone_gauge import cone_gauge_sheet
from optimizer.drawing.cone_section import cone_section_sheet
from optimizer.drawing.disc_template import disc_template_sheets
from optimizer.drawing.inspection_card import inspection_card_sheet
from optimizer.drawing.sawing_plan import sawing_plan_sheets
from optimizer.drawing.sheet import Text
from optimizer.drawing.speed_plate import speed_plate_sheet
from optimizer.pipeline.job import Job
from tests.band_saw import SAWS
from tests.clear_sheets import covered, outside
from tests.cones import CONES, TURNED, cone_of
from tests.jobs import JOBS, job, job_from

SHARED = ("two middle cones", "hostile middle cone")
"""Machines with two belts on their middle shaft."""
Cone = tuple[str, int, str]


class Drawing(NamedTuple):
    """A kind of drawing, with machines or cones that it is made of."""

    sheets: Callable[[Job], Iterable[Sheet]]
    edge_mm: float
    """What stays free along the edges of its page."""
    capital_mm: float
    """Least height of its capitals."""


def _layouts(job: Job) -> Iterator[Sheet]:
    frame = belt_layout_frame(job)
    yield from (belt_layout_sheet(job, speed.number, frame=frame) for speed in job.design.machine.speeds)


def _plans(job: Job) -> Iterator[Sheet]:
    if nesting := sawn(job):
        yield from sawing_plan_sheets(nesting, job.scenario.title, BenchWords.of(job.scenario))


OF_MACHINES = {
    "speed plate": Drawing(lambda job: [speed_plate_sheet(job)], 2.0, 2.2),
    "inspection card": Drawing(lambda job: [inspection_card_sheet(job)], 3.0, 2.0),
    "belt layout": Drawing(_layouts, 5.0, 2.3),
    "sawing plan": Drawing(_plans, 3.0, 1.6),
}
OF_CONES: dict[str, tuple[tuple[Cone, ...], Callable[[Cone], Iterable[Sheet]]]] = {
    "section": (CONES, lambda cone: [cone_section_sheet(*cone_of(*cone))]),
    "gauge": (TURNED, lambda cone: [cone_gauge_sheet(*cone_of(*cone))]),
    "template": (TURNED, lambda cone: disc_template_sheets(*cone_of(*cone))),
}


def _made(name: str) -> Job:
    return job_from(SAWS[name]) if name in SAWS else job(name)


def _hold(sheets: Iterable[Sheet], edge_mm: float, capital_mm: float) -> None:
    """Hold sheets to what is asked of every drawing."""
    for sheet in sheets:
        assert not outside(sheet, edge_mm - 1e-9)
        assert not covered(sheet)
        assert min(text.height_mm for text in sheet.entities if isinstance(text, Text)) >= capital_mm


@pytest.mark.parametrize("kind", OF_MACHINES)
@pytest.mark.parametrize("name", [*JOBS, *SHARED, *SAWS])
def test_a_drawing_of_a_machine_can_be_read(name: str, kind: str) -> None:
    """The room of a text, for a wide face, is free of other texts, lines, tints; edges stay free; none is too small."""
    _hold(OF_MACHINES[kind].sheets(_made(name)), *OF_MACHINES[kind][1:])


@pytest.mark.parametrize(("kind", "cone"), [(kind, cone) for kind, (cones, _) in OF_CONES.items() for cone in cones])
def test_a_drawing_of_a_cone_can_be_read(kind: str, cone: Cone) -> None:
    """The same of sheets that are as large as their drawing, 5 mm off their edges, no capital lower than 2.5 mm."""
    _hold(OF_CONES[kind][1](cone), 5.0, 2.5)


def test_the_same_is_drawn_the_same() -> None:
    """Two drawings of one thing are equal."""
    made, cone = job("pattern-mill"), ("pattern-mill", 2, "driver")
    for drawing in OF_MACHINES.values():
        assert [*drawing.sheets(made)] == [*drawing.sheets(made)]
    for _, drawn in OF_CONES.values():
        assert [*drawn(cone)] == [*drawn(cone)]
