"""A job that the tests of pages share."""

from __future__ import annotations

import pytest

from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job
from optimizer.scenario import load_scenario
from tests.machines import MIXER


@pytest.fixture(scope="session")
def mixer_job() -> Job:
    """Return the clay mixer, a two-stage machine in inches, beside its scenario."""
    scenario = load_scenario(MIXER, "mixer.toml")
    return Job(design(scenario), scenario)
