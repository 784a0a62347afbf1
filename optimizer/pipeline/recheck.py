"""A made machine checked again: sizes from what was measured, fit, speeds, what to skim."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.asbuilt.measured import Measured
from optimizer.asbuilt.newest import StepKnown, newest
from optimizer.pipeline.effort import stop_after
from optimizer.pipeline.job import CHANGED, Job
from optimizer.pipeline.listener import Listener, Silent
from optimizer.pipeline.parts import cautions_of, skipped_sheets, versions_of
from optimizer.pipeline.recheck_made import Made, built_machine, joined, made_sheet, sizes_now
from optimizer.pipeline.recheck_options import Asked, options
from optimizer.pipeline.recheck_speeds import belt_lengths, read_speeds, slip_sheet
from optimizer.pipeline.recheck_steps import steps_now
from optimizer.pipeline.recheck_words import judged, remarks_of
from optimizer.records.asbuilt import Recheck
from optimizer.search import Stop

__all__ = ["MeasuredFile", "recheck"]

MOST_EXAMINED = 2_000_000
"""Combinations looked at in one of its many searches before it ends unproved."""
SKIMMING = (
    "Skim with the belt off and the machine's plug pulled, a little at a time, measured after every cut: what is off "
    "cannot be put back.",
)


@dataclass(frozen=True)
class MeasuredFile:
    """The readings with the name and digest of their file."""

    measured: Measured
    name: str
    sha256: str


def recheck(job: Job, file: MeasuredFile, *, stop: Stop | None = None, watch: Listener | None = None) -> Recheck:
    """Return what a machine is by what was measured on it, and what could be done about it.

    Parameters
    ----------
    job
        The design beside its scenario.
    file
        What was measured.
    stop
        Ends every search that goes too far; `stop_after(MOST_EXAMINED)` of this module where none is given.
    watch
        Hears how far the work is.

    Raises
    ------
    NoDesignError
        The scenario no longer states a problem for the design's layout.
    """
    listener = watch or Silent()
    measured = file.measured
    steps = newest(measured, job.design.machine)
    sizes = sizes_now(job, steps)
    made = joined(Made.of(job), sizes)
    now = made_sheet(made, sizes)
    limit = _Remembering(stop or stop_after(MOST_EXAMINED))
    asked = Asked(made, steps, sizes, now, listener, limit)
    found = () if _untold(steps) else options(asked)
    lengths = belt_lengths(made, sizes, measured)
    verdict, said = judged(asked, found, cut_short=bool(limit.reason))
    return Recheck(
        title=job.scenario.title,
        units=job.scenario.units,
        scenario=job.scenario.name,
        scenario_sha256=job.scenario.sha256,
        measured=file.name,
        measured_sha256=file.sha256,
        dates=tuple(dict.fromkeys(str(check.date) for check in measured.checks)),
        verdict=verdict,
        said=said,
        steps=steps_now(job, steps),
        designed=job.design.series,
        now=now,
        lengths=lengths,
        read_speeds=read_speeds(made, sizes, measured),
        slip=slip_sheet(made, sizes, measured),
        options=found,
        skipped=skipped_sheets(made.scenario, built_machine(made, sizes)),
        remarks=(*((f"{CHANGED}.",) if job.changed else ()), *remarks_of(asked, measured, lengths)),
        cautions=(*SKIMMING, *cautions_of(made.scenario)),
        versions=versions_of("numpy", "scipy", "pydantic"),
    )


class _Remembering:
    """A rule to stop that remembers whether it did."""

    def __init__(self, stop: Stop) -> None:
        self._stop = stop
        self.reason: str | None = None

    def __call__(self, examined: int) -> str | None:
        """Return a reason to stop, or nothing to go on."""
        reason = self._stop(examined)
        self.reason = reason or self.reason
        return reason


def _untold(steps: tuple[StepKnown, ...]) -> bool:
    """Tell whether some step stands whose size nobody can tell, so that nothing can be worked out from it."""
    return any(step.state == "cannot tell" for step in steps)
