"""The parts of the search, each against the plain statement of its job."""

from __future__ import annotations

from math import inf, log

import numpy as np
import pytest

from optimizer.clock import Clock, LimitReachedError
from optimizer.layouts.orders import orders
from optimizer.records import BandTarget, Layout, Problem
from optimizer.search import limits, search
from optimizer.search.bound import SeriesProgram, boxes_at, boxes_by_program
from optimizer.search.fit import SeriesRules
from optimizer.search.index import PairIndex, spread_ranges
from optimizer.search.limits import AllowanceSpentError, Meter
from optimizer.search.pairs import lay_belts
from optimizer.search.reach import Reach, ideal_series_fits, stage_span
from optimizer.search.tuples import BLOCK, FIRST_BLOCK, _block_ends
from optimizer.series import least_spread, unevenness
from tests.unit.search.machines import stage_of, two_stage_machine


@pytest.mark.parametrize("positions", [(3,), (5,), (2, 3), (3, 2), (2, 4), (2, 2, 2)])
def test_unevenness_of_a_chain_is_half_the_sum_of_the_stages_spreads(positions: tuple[int, ...]) -> None:
    """For every order, half the least sum of spreads is the minimax unevenness of all speeds together."""
    rng = np.random.default_rng(3)
    for layout in orders(positions):
        offsets = [np.array(row, dtype=float) for row in layout.offsets]
        parts = [np.sort(rng.uniform(0, 1 + row[-1] / 5, (20, row.size)), axis=1) for row in offsets]
        spread, _ = least_spread(parts, offsets)
        for design in range(20):
            logs = [
                sum(parts[stage][design, position] for stage, position in enumerate(place)) for place in layout.places
            ]
            assert spread[design] / 2 == pytest.approx(unevenness(logs).delta, abs=1e-12)


def test_least_spread_keeps_a_least_ratio() -> None:
    """With a least ln φ above the free optimum, the spread is the one at that limit."""
    part = np.array([[0.0, 0.1, 0.2]])
    spread, ratio = least_spread([part], [np.arange(3.0)], 0.3)
    assert ratio[0] == 0.3
    assert spread[0] == pytest.approx(0.4)


def test_range_queries_miss_nothing() -> None:
    """Every pair of the group whose centre distance and ratio answer a query is in some range."""
    pairs = lay_belts(stage_of(0, (75.0, 210.0, 15.0), (1120.0, 1250.0), 5.0), positions=3)
    index = PairIndex.of(pairs)
    held = index.pairs
    rng = np.random.default_rng(5)
    group = rng.integers(0, 2, 50)
    near = rng.uniform(220, 480, 50)
    low = rng.uniform(-1, 0.8, 50)
    asked, rows = spread_ranges(*index.ranges(group, (near, near + 12), (low, low + 0.2)))
    for query in range(50):
        answers = (
            (index.group == group[query])
            & (held.centre_high >= near[query])
            & (held.centre_low <= near[query] + 12)
            & (held.log_ratio >= low[query])
            & (held.log_ratio <= low[query] + 0.2)
        )
        assert set(np.flatnonzero(answers)) <= set(rows[asked == query])


def _reach_bound() -> Problem:
    """Return a machine whose ends lie beyond what its stage can reach."""
    stage = stage_of(0, (75.0, 150.0, 5.0), (1120.0,), 30.0)
    bands = (BandTarget(name="all", low_rpm=600, high_rpm=3000, top=True, want=3),)
    targets = two_stage_machine().targets.model_copy(
        update={"bands": bands, "lo_rpm": 1420 / 2.1, "hi_rpm": 1420 * 2.1}
    )
    return Problem(
        layout=Layout(positions=(3,), offsets=((0, 1, 2),)), motor_rpm=1420, stages=(stage,), targets=targets
    )


def test_structural_bound_of_a_reach_too_wide() -> None:
    """A stage of ratio 2 either way misses ends at 2.1 either way by ln(2.1/2): worked out by hand."""
    problem = _reach_bound()
    spans = [stage_span(stage) for stage in problem.stages]
    program = SeriesProgram(SeriesRules.of(problem), Reach(spans, []))
    assert spans[0] == pytest.approx((-log(2), log(2)))
    assert program.least_j == pytest.approx(log(2.1 / 2), abs=1e-7)
    assert not ideal_series_fits(SeriesRules.of(problem), Reach(spans, []))
    assert ideal_series_fits(SeriesRules.of(problem), None)
    found = search(problem)
    assert found.proof.structural == pytest.approx(log(2.1 / 2), abs=1e-7)
    assert found.proof.listed >= found.proof.structural - 1e-9


def test_boxes_by_program_are_no_wider_than_those_in_closed_form() -> None:
    """Where the reach binds, the program's spans lie within the closed ones, and hold the best design's ratio."""
    problem = _reach_bound()
    spans = [stage_span(stage) for stage in problem.stages]
    program = SeriesProgram(SeriesRules.of(problem), Reach(spans, []))
    closed, (narrow, *_) = boxes_at(program.rules, spans, 0.08), boxes_by_program(program, spans, 0.08)
    assert closed.ratio[0] <= narrow.ratio[0] <= log(2) <= narrow.ratio[1] <= closed.ratio[1]
    assert narrow.spread <= closed.spread
    assert not narrow.empty
    assert all(boxes.empty for boxes in boxes_by_program(program, spans, program.least_j - 1e-4))


def test_wants_no_layout_can_meet_bound_nothing() -> None:
    """More speeds wanted in a band than the layout has leaves no value of J at all."""
    problem = _reach_bound()
    bands = (problem.targets.bands[0].model_copy(update={"want": 4}),)
    wanting = problem.model_copy(update={"targets": problem.targets.model_copy(update={"bands": bands})})
    program = SeriesProgram(SeriesRules.of(wanting), None)
    assert program.least_j == inf


def test_an_edge_speed_counts_once() -> None:
    """A speed exactly on an inner edge counts in the upper band and not in the lower."""
    problem = two_stage_machine()
    bands = (
        BandTarget(name="lower", low_rpm=500, high_rpm=1000, want=1),
        BandTarget(name="upper", low_rpm=1000, high_rpm=2000, want=1, top=True),
    )
    targets = problem.targets.model_copy(update={"bands": bands, "lo_rpm": 900.0, "hi_rpm": 1000.0})
    layout = Layout(positions=(1,), offsets=((0,),))
    one = problem.model_copy(
        update={"targets": targets, "layout": layout, "stages": problem.stages[:1], "motor_rpm": 1000.0}
    )
    rules = SeriesRules.of(one)
    assert rules.judge([np.array([[0.0]])], inf)[0].size == 0
    relaxed = bands[0].model_copy(update={"want": 0})
    upper_only = one.model_copy(update={"targets": targets.model_copy(update={"bands": (relaxed, bands[1])})})
    assert SeriesRules.of(upper_only).judge([np.array([[0.0]])], inf)[0].size == 1


def test_meter_stops_and_allows() -> None:
    """A stopping rule ends the count with its reason; an allowance ends only its own block."""
    meter = Meter(Clock(most=10))
    with pytest.raises(AllowanceSpentError), meter.allowance(3):
        meter.spend(4)
    meter.spend(1)
    with pytest.raises(LimitReachedError, match="10 combinations"):
        meter.spend(6)


def test_three_stages_need_no_new_code() -> None:
    """A chain of three stages is searched by the same code, and its design keeps every rule."""
    problem = two_stage_machine(grid_mm=30.0, window_mm=20.0)
    stage = stage_of(2, (100.0, 160.0, 30.0), (1120.0,), 20.0)
    layout = orders((2, 2, 1))[0]
    bands = tuple(band.model_copy(update={"want": 1}) for band in problem.targets.bands)
    three = problem.model_copy(
        update={
            "layout": layout,
            "stages": (*problem.stages, stage),
            "targets": problem.targets.model_copy(update={"bands": bands}),
        }
    )
    found = search(three)
    assert found.proof.status == "proved"
    assert found.candidate is not None
    assert len(found.candidate.stages) == 3


def test_same_problem_same_answer() -> None:
    """Two searches of one problem give the same record, counts and all."""
    problem = two_stage_machine()
    assert search(problem, extremes=True) == search(problem, extremes=True)


def test_a_limit_on_memory_is_a_limit_like_any_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that would have to hold too many choices ends unproved and says why."""
    monkeypatch.setattr(limits, "MOST_HELD", 0)
    proof = search(two_stage_machine()).proof
    assert proof.status == "not proved"
    assert proof.reason == "more than 0 choices would have to be held in memory"


def test_a_reach_too_short_is_told_in_speeds() -> None:
    """Where the sizes do not reach, the reason gives what they do reach: 1420 rpm times and over 2, by hand."""
    problem = _reach_bound()
    bands = (BandTarget(name="all", low_rpm=300, high_rpm=5000, top=True, want=3),)
    targets = problem.targets.model_copy(update={"bands": bands, "lo_rpm": 400.0, "hi_rpm": 4000.0})
    proof = search(problem.model_copy(update={"targets": targets})).proof
    assert proof.status == "no design"
    assert proof.reason.startswith(
        "the sizes let the spindle run from 710 to 2840 rpm; the bands ask for 400 to 4000 rpm, which is out of reach"
    )


def test_blocks_of_very_many_rows_stay_short() -> None:
    """Blocks double from the first and never pass the most, however many rows there are."""
    ends = _block_ends(500 * BLOCK * 3)
    lengths = np.diff(ends, prepend=0.0)
    assert lengths[0] == FIRST_BLOCK
    assert lengths[1] == 2 * FIRST_BLOCK
    assert lengths.max() == BLOCK
    assert ends[-2] < 500 * BLOCK * 3 <= ends[-1]
