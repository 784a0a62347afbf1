"""Whatever comes off the lathe, `recheck` finds it again, and what it proposes makes the belts fit."""

from __future__ import annotations

import pytest

from tests.recheck_truth import MACHINES, case, judge
from tests.sampled import sampled

SEEDS = sampled(range(1, 41), every=3)
"""Cases of the gate, or all forty; `python -m tests.recheck_truth 500` runs more."""


@pytest.mark.parametrize("seed", SEEDS)
def test_truth_is_found_and_proposals_restore_fit(seed: int) -> None:
    """Known errors, rounded readings: sizes come back to within the rounding; the proposal keeps belts and wants."""
    assert judge(case(seed)).failures == []


@pytest.mark.parametrize("machine", sorted(MACHINES))
def test_the_same_measurements_are_told_the_same(machine: str) -> None:
    """Two cases of one seed are the same text."""
    assert case(7, machine) == case(7, machine)
