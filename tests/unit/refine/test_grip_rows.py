"""Refinement with grip as a limit."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import approx_fprime

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.records import Candidate, Problem
from optimizer.records.speeds import grip_of
from optimizer.refine import refine
from optimizer.refine.limit_rows import Carried
from optimizer.refine.variables import Variables
from optimizer.search import round_sizes, search
from tests.unit.search.machines import two_stage_machine


def loaded(window_mm: float, grip: float = 0.0) -> Problem:
    """Return a machine of two turned stages whose belts carry 0.5 kW at every speed, with a grip as a limit."""
    problem = two_stage_machine(window_mm=window_mm)
    ratings = ratings_of(section("A"))
    bands = tuple(band.model_copy(update={"power_kw": 0.5}) for band in problem.targets.bands)
    targets = problem.targets.model_copy(update={"bands": bands, "power_kw": 0.5, "least_grip": grip})
    stages = tuple(stage.model_copy(update={"ratings": ratings}) for stage in problem.stages)
    return problem.model_copy(update={"targets": targets, "stages": stages})


def best(problem: Problem) -> Candidate:
    """Return the best listed design."""
    candidate = search(problem).candidate
    assert candidate is not None
    return candidate


def _one(carried: Carried, number: int, vector: NDArray[np.float64]) -> float:
    return float(carried.values(vector)[number])


@pytest.mark.parametrize("window_mm", [0.2, 5.0])
def test_rows_are_the_logarithm_of_power_over_need(window_mm: float) -> None:
    """The least row is ln of the grip over its limit, and slopes agree with finite differences."""
    free = best(loaded(window_mm))
    limit = 0.9 * grip_of(free.problem, free.stages)
    candidate = Candidate(problem=loaded(window_mm, limit), stages=free.stages)
    variables = Variables.of(candidate)
    carried = Carried(variables)
    vector = variables.start((0.0, 0.2, 0.0, 0.0))
    assert carried.values(vector).min() == pytest.approx(np.log(1 / 0.9), abs=1e-3)
    assert len(carried.limits) == carried.values(vector).size
    gradients = carried.gradients(vector)
    for number in range(carried.values(vector).size):
        slope = approx_fprime(vector, partial(_one, carried, number), 1e-7)
        assert np.abs(slope - gradients[number]).max() < 1e-4


def test_without_a_limit_there_are_no_rows() -> None:
    """Where grip is no limit nothing is asked of the belts."""
    variables = Variables.of(best(loaded(5.0)))
    assert Carried(variables).values(variables.start((0.0, 0.2, 0.0, 0.0))).size == 0


@pytest.mark.parametrize("window_mm", [0.2, 5.0])
def test_refined_and_rounded_sizes_keep_the_grip(window_mm: float) -> None:
    """A grip above that of the best design is kept through refinement and rounding, at no worse a J than found."""
    free = best(loaded(window_mm))
    limit = 1.08 * grip_of(free.problem, free.stages)
    problem = loaded(window_mm, limit)
    found = search(problem)
    assert found.candidate is not None
    refined = refine(found.candidate, found.proof.structural)
    assert grip_of(problem, refined.smooth) >= limit * (1 - 1e-9)
    assert refined.smooth_j <= found.proof.listed + 1e-9
    rounded = round_sizes(problem, refined.smooth)
    if rounded.stages is not None:
        assert grip_of(problem, rounded.stages) >= limit * (1 - 1e-9)
