"""The parts of docs/recheck.md that are made: a file of measurements, and what the command says of it."""

from __future__ import annotations

from optimizer.documents.recheck import recheck_screen
from optimizer.pipeline.job import job_of
from optimizer.recheck.loading import load_measured
from optimizer.recheck.verdict import MeasuredFile, recheck
from optimizer.records.design import Design
from optimizer.records.sheet import StepSheet
from tests.docs.markup import with_blocks
from tests.docs.pages import page

__all__ = ["recheck_page"]

OFF_MM = {(2, "driver", 3): 8.0, (1, "driven", 1): 0.2, (2, "driven", 1): -0.1}
"""How far steps are off what was drawn, by stage, side, position."""
LATER = (2, "driven", 2)
"""The step that is not turned yet."""
BY_BELT = (2, "driven", 3)
"""The step that is measured by its belt's top."""


def recheck_page(design: Design) -> str:
    """Return the page with its made blocks renewed, from the design of the README's scenario."""
    job = job_of(design)
    text = _measured(design)
    measured = load_measured(text, "measured.toml", design.machine, job.scenario.units)
    told = recheck(job, MeasuredFile(measured, "measured.toml", ""))
    screen = recheck_screen(told, design.machine, job.scenario.making.division_mm)
    call = "conewright recheck pattern-mill-design pattern-mill-design/measured.toml"
    blocks = {"measured": f"```toml\n{text}```", "example": f"```text\n$ {call}\n{screen}```"}
    return with_blocks(page("recheck.md"), blocks)


def _measured(design: Design) -> str:
    """Return the form filled in, its empty lines left out."""
    lines = ['units = "mm"', "", "[[check]]", "date = 2026-11-26", "step = ["]
    for number, stage in enumerate(design.machine.stages, 1):
        for side in ("driver", "driven"):
            for p in stage.positions:
                where = (number, side, p.number)
                if where != LATER:
                    step: StepSheet = getattr(p, side)
                    at = f'stage = {number}, side = "{side}", position = {p.number}'
                    lines.append(f"  {{ {at}, {_read(step, OFF_MM.get(where, 0.0), by_belt=where == BY_BELT)} }},")
    return "\n".join([*lines, "]"]) + "\n"


def _read(step: StepSheet, off_mm: float, *, by_belt: bool) -> str:
    """Return what is read on a step that is so far off; by the belt, one whose groove is a little too wide."""
    assert step.over_pins_mm is not None
    if by_belt:
        return f"outside = {step.outside_mm:.1f}, belt_top = -0.1"
    return f"over_pins = {step.over_pins_mm + off_mm:.1f}"
