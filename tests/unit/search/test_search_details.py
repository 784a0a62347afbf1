"""Figures of the search's parts that a whole search only shows by how long it takes."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from optimizer.records import SideSizes, StageProblem
from optimizer.search import closing_proof, search
from optimizer.search.index import PairIndex
from optimizer.search.pairs import lay_belts
from optimizer.search.reach import stage_span
from tests.unit.search.machines import stage_of, two_stage_machine


@pytest.mark.parametrize("slip", [0.0, 0.02])
def test_a_stage_reaches_from_smallest_over_largest_to_largest_over_smallest(slip: float) -> None:
    """Drivers of 50 to 100 on drivens of 80 to 160, a share of the speed lost: 50/160 to 100/80 of it."""
    stage = StageProblem(
        key="stage[0]",
        driver=SideSizes(key="stage[0].driver", ready_mm=(50.0, 100.0)),
        driven=SideSizes(key="stage[0].driven", ready_mm=(80.0, 160.0)),
        belts=(),
        centre_mm=(200, 400),
        slip=slip,
    )
    assert stage_span(stage) == pytest.approx((log(50 / 160 * (1 - slip)), log(100 / 80 * (1 - slip))))


def test_choices_are_counted_belt_by_belt() -> None:
    """For two positions every belt has as many choices as the square of its pairs, for three the cube."""
    pairs = lay_belts(stage_of(0, (75.0, 210.0, 15.0), (1120.0, 1250.0), 5.0), positions=3)
    counts = [int((pairs.belt == belt).sum()) for belt in (0, 1)]
    index = PairIndex.of(pairs)
    assert min(counts) > 0
    for positions in (2, 3):
        assert index.choices(positions) == sum(count**positions for count in counts)


def test_cells_are_as_wide_as_a_window_and_hold_every_pair() -> None:
    """Neighbours within a window lie in the same cell or the next, so that few cells are asked; none holds all."""
    pairs = lay_belts(stage_of(0, (75.0, 210.0, 15.0), (1120.0,), 5.0), positions=3)
    widest = float((pairs.centre_high - pairs.centre_low).max())
    reach = float(np.ptp((pairs.centre_low + pairs.centre_high) / 2))
    index = PairIndex.of(pairs)
    assert index.cell_mm == pytest.approx(5.0 + widest)
    assert index.cells == int(reach // index.cell_mm) + 1
    assert index.span == pytest.approx(float(np.ptp(index.pairs.log_ratio)) + 1)
    assert np.all(np.diff(index.key) >= 0)


def test_a_closing_proof_that_is_stopped_says_so() -> None:
    """Stopped at once it has a bound below the J to beat, and neither a design nor the claim that there is none."""
    candidate = search(two_stage_machine()).candidate
    assert candidate is not None
    closing = closing_proof(candidate, 0.05, stop=lambda examined: "enough looked at")
    assert (closing.status, closing.reason, closing.candidate) == ("not proved", "enough looked at", None)
    assert closing.bound < 0.05
