"""A design beside what its maker stated: what every paper is made from."""

from __future__ import annotations

import hashlib
from typing import NamedTuple

from optimizer.records.design import Design
from optimizer.scenario import Scenario, load_scenario

__all__ = ["Job", "job_of"]


class Job(NamedTuple):
    """A design with the scenario it was made from."""

    design: Design
    scenario: Scenario


def job_of(design: Design) -> Job:
    """Return a design beside its scenario, read again from the text that the design carries.

    Raises
    ------
    ValueError
        The text is not the one that the design's digest is of.
    ScenarioError
        The text is not a scenario.
    """
    digest = hashlib.sha256(design.scenario.text.encode(errors="surrogatepass")).hexdigest()
    if digest != design.scenario.sha256:
        raise ValueError("the scenario's text is not the one that the design was made from")
    return Job(design, load_scenario(design.scenario.text, design.scenario.file))
