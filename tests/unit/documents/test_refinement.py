"""What a result says of its refinement."""

from __future__ import annotations

import pytest

from optimizer.documents.proof import refinement_words
from optimizer.records.design import RefinementSheet
from optimizer.records.refined import Binding, SolverReport

SOLVER = SolverReport(method="SLSQP", success=True, status=0, message="done")
BEST = RefinementSheet(
    goal="j",
    kept="refined",
    why="J fell from 4.7e-02 to 4.4e-02",
    candidate_j=0.047,
    smooth_j=0.044,
    rounded_j=0.0445,
    structural_met=False,
    binding=(
        Binding(limit="stage[1].driven: the largest diameter", places=("step 1", "step 2"), falls=0.0022),
        Binding(limit="stage[0]: speed of the driven shaft", places=("position 3",), unit="rpm"),
    ),
    solver=SOLVER,
)


def test_every_limit_that_binds_is_told_with_its_cost() -> None:
    """The sentence names limits with the steps that stand at them, and what each costs where that is known."""
    assert refinement_words(BEST) == (
        "Refinement: J 4.700 % listed, 4.400 % refined, 4.450 % rounded; the structural bound is not met; what binds: "
        "stage[1].driven: the largest diameter, step 1 and step 2 (J falls 0.22 % for each mm); "
        "stage[0]: speed of the driven shaft, position 3. "
        "Final sizes: the refined sizes, rounded; J fell from 4.7e-02 to 4.4e-02"
    )


@pytest.mark.parametrize(
    ("goal", "said"),
    [("timber", "Refinement for least timber within the slack:"), ("disc", "Refinement for the smallest largest disc")],
)
def test_what_was_preferred_is_said(goal: str, said: str) -> None:
    """Where something else was made least the sentence says so, claims no proof, and tells the costs in it."""
    words = refinement_words(BEST.model_copy(update={"goal": goal}))
    assert words.startswith(said)
    assert "found, not proved" in words
    assert "structural" not in words
    assert f"({'timber' if goal == 'timber' else 'the largest disc'} falls 0.22 % for each mm)" in words
