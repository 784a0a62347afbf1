"""Results that the tests of the papers share."""

from __future__ import annotations

import pytest

from optimizer.pipeline.compare import CompareOptions, compare
from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job, job_of
from optimizer.pipeline.known import tell_known
from optimizer.records.comparison import Comparison
from optimizer.records.design import Design
from optimizer.records.known import KnownMachine
from optimizer.scenario import load_scenario
from tests.machines import GRINDER, MIXER, OLD_SAW


@pytest.fixture(scope="session")
def mixer() -> Design:
    """Return the design of the clay mixer, a two-stage machine in inches."""
    return design(load_scenario(MIXER, "mixer.toml"))


@pytest.fixture(scope="session")
def saw() -> KnownMachine:
    """Return what the old saw gives."""
    return tell_known(load_scenario(OLD_SAW, "saw.toml"))


@pytest.fixture(scope="session")
def grinder_rows() -> Comparison:
    """Return the wet grinder's comparison, its extremes included."""
    return compare(load_scenario(GRINDER, "grinder.toml"), CompareOptions(extremes=True))


@pytest.fixture(scope="session")
def mixer_rows() -> Comparison:
    """Return the clay mixer's comparison with all orders."""
    return compare(load_scenario(MIXER, "mixer.toml"), CompareOptions(orders=True))


@pytest.fixture(scope="session")
def mixer_job(mixer: Design) -> Job:
    """Return the clay mixer beside its scenario."""
    return job_of(mixer)
