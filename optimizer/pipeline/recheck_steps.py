"""Every step of a made machine as it is told: what it was, what it is, what to measure on it."""

from __future__ import annotations

from typing import Literal, NamedTuple

from optimizer.asbuilt.newest import CONTRADICT, StepKnown
from optimizer.catalogue.sections import section
from optimizer.pipeline.job import Job
from optimizer.quantities import show_length
from optimizer.records.asbuilt import SizeThen, StepChange, StepNow
from optimizer.records.sheet import StepSheet

__all__ = ["Bench", "bench", "how_to_measure", "side_key", "step_change", "steps_now"]

How = Literal["over pins", "diameter", "belt top"]


class Bench(NamedTuple):
    """What is measured on a step at the bench."""

    how: How
    mm: float
    pin_mm: float | None = None


def bench(name: str, step: StepSheet, pitch_mm: float) -> Bench:
    """Return what measuring a step should give when its pitch diameter is so large.

    Parameters
    ----------
    name
        Section of its belt.
    step
        The step as it was designed, with a rim of that size.
    pitch_mm
        Its pitch diameter [mm].

    Examples
    --------
    >>> step = StepSheet(outside_mm=106.6, datum_mm=100, pitch_mm=100, over_pins_mm=117, pin_mm=12, source="turned",
    ...     rim="v", groove_deg=34, top_width_mm=13.018, groove_depth_mm=12, rim_speed_m_s=8)
    >>> bench("A", step, 99.5)
    Bench(how='over pins', mm=116.5, pin_mm=12.0)
    """
    if step.rim in ("flat", "crowned"):
        return Bench("diameter", step.outside_mm + pitch_mm - step.pitch_mm)
    if step.over_pins_mm is not None:
        return Bench("over pins", step.over_pins_mm + pitch_mm - step.pitch_mm, step.pin_mm)
    belt = section(name)
    top = pitch_mm - belt.pitch_shift_mm + 2 * belt.datum_depth_mm
    return Bench("belt top", (top - step.outside_mm) / 2)


def how_to_measure(how: str, pin: str = "") -> str:
    """Return in words how a step is measured so that its running diameter is known.

    Examples
    --------
    >>> how_to_measure("diameter")
    'measure the rim, or lay a tape once round it'
    """
    belt = "lay the belt in, taut, and measure how far its top stands above the rim (below: a minus) beside the outside"
    if how == "over pins":
        return f"lay two pins{pin} in the groove on opposite sides and measure over them; or {belt} diameter"
    return "measure the rim, or lay a tape once round it" if how == "diameter" else f"{belt} diameter"


def side_key(job: Job, step: StepKnown) -> str:
    """Return the place of a step's cone, such as `stage[0].driver`."""
    return f"{job.design.machine.stages[step.stage].key}.{step.side}"


def steps_now(job: Job, steps: tuple[StepKnown, ...]) -> tuple[StepNow, ...]:
    """Return every step, motor's stage first, drivers before driven, slowest position first."""
    return tuple(_step(job, step) for step in steps)


def step_change(job: Job, step: StepKnown, to_mm: float) -> StepChange:
    """Return what becomes of a step that is skimmed, turned or made anew."""
    sheet = job.design.machine.stages[step.stage]
    there = step.size.pitch_mm if step.size else step.designed.pitch_mm
    before, after = (bench(sheet.section, step.designed, mm) for mm in (there, to_mm))
    return StepChange(
        side=side_key(job, step),
        shaft=_shaft(job, step),
        position=step.place + 1,
        pitch_mm=to_mm,
        from_mm=there,
        deeper_mm=max((there - to_mm) / 2, 0.0) if step.size else 0.0,
        outside_mm=step.designed.outside_mm + to_mm - step.designed.pitch_mm,
        measure=after.how,
        measure_mm=after.mm,
        measure_from_mm=before.mm,
        pin_mm=after.pin_mm,
    )


def _shaft(job: Job, step: StepKnown) -> str:
    sheet = job.design.machine.stages[step.stage]
    return sheet.driver_shaft if step.side == "driver" else sheet.driven_shaft


def _step(job: Job, step: StepKnown) -> StepNow:
    sheet = job.design.machine.stages[step.stage]
    pitch = step.size.pitch_mm if step.size else step.designed.pitch_mm
    told = bench(sheet.section, step.designed, pitch)
    sizes = [dated.size.pitch_mm for dated in step.history if dated.size is not None]
    return StepNow(
        side=side_key(job, step),
        shaft=_shaft(job, step),
        position=step.place + 1,
        state=step.state,
        source=step.designed.source,
        read_by=step.size.how if step.size else "",
        designed_mm=step.designed.pitch_mm,
        pitch_mm=pitch,
        uncertainty_mm=2 * step.size.standard_mm if step.size else None,
        measure=told.how,
        measure_mm=told.mm,
        pin_mm=told.pin_mm,
        history=tuple(
            SizeThen(
                date=dated.date.isoformat(),
                pitch_mm=dated.size.pitch_mm if dated.size else None,
                read_by=dated.size.how if dated.size else "",
            )
            for dated in step.history
        ),
        worn_mm=sizes[-2] - sizes[-1] if len(sizes) > 1 and step.size else None,
        note=_note(job, step, told),
    )


def _note(job: Job, step: StepKnown, told: Bench) -> str:
    """Return what is odd about a step's readings."""
    if step.state == "cannot tell":
        pin = "" if told.pin_mm is None else f" of {show_length(told.pin_mm, job.scenario.units)}"
        why = "cannot tell: the outside diameter does not say where a belt runs in a groove"
        return f"{why}; {how_to_measure(told.how, pin)}"
    if step.history and step.history[-1].apart > CONTRADICT:
        return "its readings of one day contradict each other: measure it again"
    return ""
