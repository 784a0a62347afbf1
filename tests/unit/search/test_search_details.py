"""Figures of the search's parts that a whole search only shows by how long it takes."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.clock import ENDLESS, Clock
from optimizer.records import BandTarget, Layout, Problem, SideSizes, StageProblem
from optimizer.records.speeds import grip_of
from optimizer.search import closing_proof, look, search
from optimizer.search.index import PairIndex
from optimizer.search.pairs import lay_belts, size_pairs
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
    closing = closing_proof(candidate, 0.05, Clock(most=-1))
    assert (closing.status, closing.reason, closing.candidate) == ("not proved", "-1 combinations were looked at", None)
    assert closing.bound < 0.05


def test_two_kept_cones_are_turned_end_for_end_together() -> None:
    """Facing as they stand: 60-120, 80-100, 100-80; both turned round: 100-80, 80-100, 60-120, at positions 1 to 3."""
    driver = SideSizes(key="stage[0].driver", standing_mm=((60.0,), (80.0,), (100.0,)))
    driven = SideSizes(key="stage[0].driven", standing_mm=((120.0,), (100.0,), (80.0,)))
    stage = stage_of(0, (75.0, 210.0, 15.0), (1120.0,), 5.0).model_copy(update={"driver": driver, "driven": driven})
    (pairs,) = size_pairs(stage, positions=3, ticks=False)
    by_variant = [
        [(a, b) for a, b, v in zip(pairs.driver_mm, pairs.driven_mm, pairs.variant, strict=True) if v == variant]
        for variant in (0, 1)
    ]
    assert by_variant == [[(60, 120), (80, 100), (100, 80)], [(100, 80), (80, 100), (60, 120)]]
    assert pairs.place[pairs.variant == 1].tolist() == [0, 1, 2]


def gripping() -> Problem:
    """Return one stage of three positions whose belts must carry 0.5 kW at all speeds."""
    problem = two_stage_machine()
    stage = problem.stages[0].model_copy(update={"ratings": ratings_of(section("A"))})
    bands = (BandTarget(name="all", low_rpm=700, high_rpm=2900, top=True, want=3, power_kw=0.5),)
    targets = problem.targets.model_copy(
        update={"bands": bands, "lo_rpm": 800.0, "hi_rpm": 2500.0, "power_kw": 0.5, "slack": 0.02}
    )
    layout = Layout(positions=(3,), offsets=((0, 1, 2),))
    return problem.model_copy(update={"layout": layout, "stages": (stage,), "targets": targets})


def test_the_greatest_grip_is_told_in_whole_ticks_of_a_design_that_has_it() -> None:
    """In ticks of 0.05, no less than the design of least J has, no more than the design told of has."""
    searched = look(gripping())
    found = searched.greatest_grip()
    assert found is not None and found.proved and searched.found.candidate is not None
    assert found.grip == pytest.approx(round(found.grip / 0.05) * 0.05)
    own = grip_of(gripping(), found.candidate.stages)
    assert found.grip <= own + 1e-9
    assert found.grip > grip_of(gripping(), searched.found.candidate.stages) - 0.05
    assert own < found.grip + 0.05


def test_the_extreme_of_grip_is_found_where_it_is_asked_for() -> None:
    """Timber and disc always, grip when asked; its value is that of its design."""
    searched = look(gripping())
    names = [[e.best_at for e in searched.with_extremes(ENDLESS, grip=grip).extremes] for grip in (False, True)]
    assert names == [["least timber", "smallest largest disc"], ["least timber", "smallest largest disc", "best grip"]]
    best = searched.with_extremes(ENDLESS, grip=True).extremes[-1]
    assert best.value == pytest.approx(grip_of(gripping(), best.candidate.stages))


def test_without_a_design_there_are_no_extremes() -> None:
    """Ends out of reach: the result stays as it is."""
    problem = gripping()
    far = problem.model_copy(update={"targets": problem.targets.model_copy(update={"hi_rpm": 9000.0})})
    searched = look(far)
    assert searched.found.candidate is None
    assert searched.with_extremes(ENDLESS) == searched.found
