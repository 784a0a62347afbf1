"""The search of a middle shaft at the sizes of a workshop, all cones turned."""

from __future__ import annotations

from math import log, sqrt

import pytest

from optimizer.clock import Clock
from optimizer.geometry.settings import Slide
from optimizer.records.coupling import Coupling, SharedBelt
from optimizer.records.middle import MiddleFound, MiddleProblem, largest_gap, middle_logs
from optimizer.records.problem import Targets
from optimizer.search.middle import search_middle
from tests.oracle.plain import centre_mm
from tests.search.middle_drill import STOCK_MM, drill


@pytest.fixture(scope="module")
def one_pair() -> MiddleFound:
    """Return the drill of the goal: four levels, 5 mm, one pair of belts, 3 mm of travel."""
    return search_middle(drill(5.0))


def test_four_levels_on_one_pair_of_belts_are_proved(one_pair: MiddleFound) -> None:
    """The best is proved after a few million combinations, which take about a second; the ends are within 3 %."""
    assert one_pair.proof.status == "proved"
    assert one_pair.proof.examined < 4_000_000
    assert one_pair.end_miss <= 0.03


def test_the_design_has_the_f_it_was_proved_with(one_pair: MiddleFound) -> None:
    """F worked out again from the candidate's own sizes is that of the proof, so scaling has changed no ratio."""
    candidate = one_pair.candidate
    assert candidate is not None
    logs = sorted(middle_logs(candidate.problem, candidate.stages))
    miss = max(abs(logs[0] - log(500)), abs(logs[-1] - log(3000)))
    assert miss + largest_gap(logs) == pytest.approx(one_pair.proof.listed, abs=1e-9)


def test_no_design_spans_the_bands_with_smaller_gaps_than_its_speeds_allow(one_pair: MiddleFound) -> None:
    """Twelve speeds leave eleven gaps: the largest is at least an eleventh of what they span."""
    assert one_pair.proof.structural == pytest.approx(log(3000 / 500) / 11, abs=1e-12)
    assert one_pair.largest_gap >= (log(3000 / 500) - 2 * one_pair.end_miss) / 11


def test_both_belts_keep_their_windows_on_the_steps_they_share(one_pair: MiddleFound) -> None:
    """Centre distances found by bracketing lie within 3 mm for either belt, and both belts run on the same steps."""
    assert one_pair.candidate is not None
    first, second = one_pair.candidate.stages
    assert [p.driven_mm for p in first.positions] == [p.driver_mm for p in second.positions]
    for sizes in (first, second):
        centres = [centre_mm(p.driver_mm, p.driven_mm, sizes.belt.length_mm) or 0.0 for p in sizes.positions]
        assert max(centres) - min(centres) <= 3.0 + 1e-5


def test_a_limit_leaves_the_best_so_far_with_its_gap() -> None:
    """Over all stock belts with 12 mm of travel a few million combinations bring the gap below 15 %."""
    found = search_middle(drill(5.0, STOCK_MM, 12.0), Clock(most=7_000_000))
    assert (found.proof.status, found.proof.reason) == ("not proved", "7,000,000 combinations were looked at")
    assert found.candidate is not None
    assert found.proof.bound >= 0.85 * found.proof.listed


def test_the_same_machine_gives_the_same_design() -> None:
    """Two searches of one machine give the same bytes."""
    assert search_middle(drill(10.0)).model_dump_json() == search_middle(drill(10.0)).model_dump_json()


def test_a_finer_list_is_no_worse() -> None:
    """A grid of 5 mm holds all sizes of one of 10 mm, but its rays are shorter; as points it is no worse."""
    coarse, fine = (_points(drill(grid, window_mm=8.0)) for grid in (20.0, 10.0))
    assert search_middle(fine).proof.listed <= search_middle(coarse).proof.listed + 1e-9


def test_rays_are_no_worse_than_points() -> None:
    """Scaling sizes together gives every design that the listed sizes give as they are, and more."""
    rays = drill(10.0, window_mm=6.0)
    assert search_middle(rays).proof.listed <= search_middle(_points(rays)).proof.listed + 1e-9


def test_two_cones_on_the_middle_shaft_come_near_an_even_series() -> None:
    """Sixteen speeds of two cones can lie almost a fifteenth of the span apart, and do on the 5 mm grid."""
    found = search_middle(drill(5.0, shared=False))
    assert found.proof.status == "proved"
    assert found.distinct == 16
    assert found.largest_gap <= 1.05 * log(3000 / 500) / 15


def test_one_movement_leaves_less_than_two() -> None:
    """A design whose belts share one movement is also one for two movements with the window that this implies."""
    free = drill(10.0, window_mm=5.0, levels=(3, 3))
    free = free.model_copy(update={"targets": Targets(bands=(), lo_rpm=700, hi_rpm=2600)})
    one, two = search_middle(_on_one_slide(free, 2.0)), search_middle(free)
    assert one.proof.status == two.proof.status == "proved"
    assert one.candidate is not None
    assert two.proof.listed <= one.proof.listed + 1e-9
    own = [[p.centre_mm for p in sizes.positions] for sizes in one.candidate.stages]
    settings = [
        [sqrt(centre**2 - across**2) - along for centre in row]
        for row, along, across in zip(own, (220.0, 200.0), (60.0, 90.0), strict=True)
    ]
    # each belt forgives 1 mm of centre distance either way; a setting moves its centre distance by no less than 0.88
    for i, j in one.candidate.problem.positions:
        assert abs(settings[0][i] - settings[1][j]) <= 2 * 1.0 / 0.88


def _points(problem: MiddleProblem) -> MiddleProblem:
    stages = [
        stage.model_copy(
            update={
                "driver": stage.driver.model_copy(update={"grid_mm": 0.0}),
                "driven": stage.driven.model_copy(update={"grid_mm": 0.0}),
            }
        )
        for stage in problem.stages
    ]
    return problem.model_copy(update={"stages": tuple(stages)})


def _on_one_slide(problem: MiddleProblem, forgives_mm: float) -> MiddleProblem:
    """Return the machine with the middle shaft on one slide past motor and spindle.

    Any two settings of a belt that agree with one of the other lie within twice what both forgive either way, and the
    centre distance never changes faster than the setting: so with 1 mm either way its own centre distances lie within
    5 mm.
    """
    stages = [
        stage.model_copy(
            update={"belts": tuple(belt.model_copy(update={"forgives_mm": forgives_mm}) for belt in stage.belts)}
        )
        for stage in problem.stages
    ]
    belts = (
        SharedBelt(stage=0, path=Slide(along_mm=220.0, across_mm=60.0)),
        SharedBelt(stage=1, path=Slide(along_mm=200.0, across_mm=90.0)),
    )
    coupling = Coupling(key="shaft[0]", shaft="middle", belts=belts)
    return problem.model_copy(update={"stages": tuple(stages), "coupling": coupling})
