"""What the checks know of a machine, from its design: for papers that measure more than the design tells."""

from __future__ import annotations

from optimizer.checks.stated import Machine, read_machine
from optimizer.pipeline.built import built_of
from optimizer.pipeline.job import Job

__all__ = ["machine_of"]


def machine_of(job: Job) -> Machine:
    """Return a design's machine as the checks read it."""
    return job.once("machine", lambda: read_machine(job.scenario, built_of(job.design.machine)))
