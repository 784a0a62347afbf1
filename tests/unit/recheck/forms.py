"""A machine to measure, with its forms filled in."""

from __future__ import annotations

import re
from functools import cache

from optimizer.clock import Clock
from optimizer.documents.recheck_form import measured_csv, measured_toml
from optimizer.pipeline.job import Job
from optimizer.recheck.loading import load_measured
from optimizer.recheck.records import Recheck
from optimizer.recheck.verdict import MeasuredFile, recheck
from tests.jobs import job_from
from tests.machines import GRINDER

__all__ = ["as_designed", "csv_form", "filled", "grinder", "told_of", "toml_form"]

DAY = "2026-11-26"


@cache
def grinder() -> Job:
    """Return one stage of four positions, section A, both cones turned."""
    return job_from(GRINDER, "grinder.toml")


def toml_form(job: Job) -> str:
    """Return the form that `design` writes."""
    return measured_toml(job.design)


def csv_form(job: Job) -> str:
    """Return the form as a table."""
    return measured_csv(job.design)


def as_designed(job: Job) -> dict[tuple[int, str, int], float]:
    """Return the size over pins of every step as designed, by stage, side, position."""
    return {
        (number, side, p.number): getattr(p, side).over_pins_mm
        for number, stage in enumerate(job.design.machine.stages, 1)
        for side in (("driven",) if stage.shared_driver else ("driver", "driven"))
        for p in stage.positions
    }


def filled(form: str, sizes: dict[tuple[int, str, int], float], day: str = DAY) -> str:
    """Return a TOML form with a date and sizes over pins filled in."""
    form = form.replace('date = "" ', f"date = {day} ")
    for (stage, side, position), size in sizes.items():
        at = f'stage = {stage}, side = "{side}", position = {position}, over_pins = '
        assert f'{at}""' in form
        form = re.sub(re.escape(at) + '""', f"{at}{size:.10g}", form)
    return form


def told_of(job: Job, text: str, clock: Clock | None = None) -> Recheck:
    """Return what is told of a machine by a file of measurements."""
    measured = load_measured(text, "measured.toml", job.design.machine, job.scenario.units)
    return recheck(job, MeasuredFile(measured, "measured.toml", "0" * 64), clock)
