"""Refinement and rounding with one setting for all belts of a shared mount."""

from __future__ import annotations

from functools import cache, partial

import numpy as np
import pytest
from scipy.optimize import approx_fprime

from optimizer.geometry.settings import Path, Slide, Swing
from optimizer.records import Candidate, Problem
from optimizer.records.coupling import Coupling, SharedBelt
from optimizer.records.rules import broken_rules
from optimizer.refine import refine
from optimizer.refine.limit_rows import Shared
from optimizer.refine.variables import Variables
from optimizer.search import round_sizes, search
from tests.unit.search.machines import two_stage_machine

PATHS: dict[str, tuple[Path, Path]] = {
    "slide": (Slide(along_mm=250.0, across_mm=180.0), Slide(along_mm=240.0, across_mm=150.0)),
    "hinge": (Swing(300.0, 280.0, 1.1, 300.0), Swing(300.0, 310.0, 0.95, 300.0)),
    "against each other": (Slide(along_mm=250.0, across_mm=180.0), Slide(along_mm=-240.0, across_mm=150.0)),
}


@cache
def coupled(kind: str) -> Problem:
    """Return a machine of two turned stages whose countershaft is all that changes both belts."""
    bare = two_stage_machine(window_mm=3.0)
    free = search(bare).candidate
    assert free is not None
    belts = []
    for number, path in enumerate(PATHS[kind]):
        # moved so that at setting 0 the belt of the best uncoupled design is about taut
        own = free.stages[number].positions[0].centre_mm
        at = float(path.setting_mm(own)) + 0.3 * number
        moved = (
            Slide(path.along_mm + at, path.across_mm)
            if isinstance(path, Slide)
            else Swing(path.arm_mm, path.other_mm, path.angle_rad + at / path.radius_mm, path.radius_mm)
        )
        belts.append(SharedBelt(stage=number, path=moved, travel_mm=0.0 if number else 40.0))
    stages = tuple(
        stage.model_copy(update={"belts": tuple(b.model_copy(update={"forgives_mm": 0.4}) for b in stage.belts)})
        for stage in bare.stages
    )
    coupling = Coupling(key="shaft[0]", shaft="countershaft", belts=tuple(belts))
    return bare.model_copy(update={"stages": stages, "couplings": (coupling,)})


def _found(kind: str) -> Candidate:
    candidate = search(coupled(kind)).candidate
    assert candidate is not None
    return candidate


@pytest.mark.parametrize("kind", PATHS)
def test_gradients_are_exact(kind: str) -> None:
    """Gradients of the rows of a shared mount agree with finite differences."""
    variables = Variables.of(_found(kind))
    rows = Shared(variables)
    vector = variables.start((0.0, 0.1, 0.0, 0.0)) + 1e-3 * np.sin(np.arange(variables.size))
    gradients = rows.gradients(vector)
    assert len(rows.limits) == len(gradients) == 2 * 2 * 3
    for number in range(len(gradients)):
        slope = approx_fprime(vector, partial(lambda n, v: float(rows.values(v)[n]), number), 1e-7)
        assert np.abs(slope - gradients[number]).max() < 1e-5, number


@pytest.mark.parametrize("kind", PATHS)
def test_refined_and_rounded_sizes_have_a_common_setting(kind: str) -> None:
    """Refined sizes are those of the solver, no worse, and keep the rule; so do rounded ones."""
    candidate = _found(kind)
    refined = refine(candidate, 0.0)
    assert refined.kept == "refined"
    assert refined.smooth_j <= refined.candidate_j + 1e-9
    assert broken_rules(candidate.problem, refined.smooth) == []
    rounded = round_sizes(candidate.problem, refined.smooth)
    if rounded.stages is not None:
        assert broken_rules(candidate.problem, rounded.stages) == []
