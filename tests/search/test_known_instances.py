"""The search against optima of larger problems that general solvers have proved, or one exact method has found.

The figures come from a table of known answers of this project (status: computed; general mixed-integer solvers and
a windowed enumeration, with the exact length of the belt). Two of the two-stage figures come from one exact method
alone and were an upper bound until agreed; they are marked so.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf
from typing import NamedTuple

import pytest

from optimizer.records.candidate import Candidate
from optimizer.records.layout import Layout
from optimizer.records.problem import BandTarget, BeltChoice, Problem, SideSizes, StageProblem, Targets
from optimizer.records.speeds import speeds_rpm
from optimizer.search import search

MOTOR_RPM = 1425.0
OUTER_EDGE = 0.03
HAIR = 1e-6


class Belt(NamedTuple):
    """One stage with one belt over one grid of sizes."""

    length_mm: float
    centre_mm: tuple[float, float]
    travel_mm: float


def _stage(key: str, grid: range, belt: Belt, *, clearance_mm: float) -> StageProblem:
    sizes = tuple(float(size) for size in grid)
    driver, driven = (SideSizes(key=f"{key}.{name}", ready_mm=sizes, cone=False) for name in ("driver", "driven"))
    return StageProblem(
        key=key,
        driver=driver,
        driven=driven,
        belts=(BeltChoice(section="A", marking="A", length_mm=belt.length_mm, window_mm=belt.travel_mm),),
        centre_mm=belt.centre_mm,
        clearance_mm=clearance_mm,
    )


def _widened(rows: Sequence[tuple[float, float, int]], *, closed: bool) -> tuple[BandTarget, ...]:
    """Return bands with their outermost edges 3 % further out; closed ones count a speed on an inner edge twice."""
    last = len(rows) - 1
    return tuple(
        BandTarget(
            name=f"band {number}",
            low_rpm=low * (1 - OUTER_EDGE) if number == 0 else low,
            high_rpm=high * (1 + OUTER_EDGE if number == last else 1 + HAIR if closed else 1),
            top=number == last,
            want=want,
        )
        for number, (low, high, want) in enumerate(rows)
    )


def _both(rows: Sequence[tuple[float, float, int]], *, closed: bool) -> Targets:
    return Targets(
        bands=_widened(rows, closed=closed),
        lo_rpm=rows[0][0],
        hi_rpm=rows[-1][1],
        end_miss_most=inf,
        unevenness_most=inf,
    )


def _found(problem: Problem) -> tuple[float, Candidate]:
    found = search(problem)
    assert found.proof.status == "proved"
    assert found.candidate is not None
    return found.proof.listed, found.candidate


def _steps(candidate: Candidate) -> list[list[tuple[float, float]]]:
    return [[(p.driver_mm, p.driven_mm) for p in stage.positions] for stage in candidate.stages]


def _four_positions(*, closed: bool) -> Problem:
    rows = [(450.0, 900.0, 1), (900.0, 1700.0, 1), (1700.0, 2900.0, 1)]
    stage = _stage("stage[0]", range(60, 231, 10), Belt(1300, (300, 500), 4), clearance_mm=0)
    return Problem(
        layout=Layout(positions=(4,), offsets=((0, 1, 2, 3),)),
        motor_rpm=MOTOR_RPM,
        stages=(stage,),
        targets=_both(rows, closed=closed),
    )


def test_one_stage_reaches_the_printed_optimum_where_an_edge_speed_may_count_twice() -> None:
    """With the inner edges a hair further out, J of four positions is the one a general solver proved."""
    # computed (HiGHS, gap 0): J = 0.08493412706; its 900.0 rpm lies on an edge and was counted in both bands
    j, candidate = _found(_four_positions(closed=True))
    assert j == pytest.approx(0.08493412706, abs=1e-10)
    assert _steps(candidate) == [[(70, 230), (120, 190), (170, 140), (210, 100)]]
    assert speeds_rpm(candidate.problem, candidate.stages) == pytest.approx([433.7, 900.0, 1730.4, 2992.5], abs=0.05)


def test_one_stage_counts_an_edge_speed_once() -> None:
    """With half-open inner edges the 900 rpm no longer serve two bands, and J is that of the next best."""
    # computed with the mixed-integer program of tests/oracle (HiGHS, gap 0): J = 0.0920138744034
    j, candidate = _found(_four_positions(closed=False))
    assert j == pytest.approx(0.0920138744034, abs=1e-12)
    assert _steps(candidate) == [[(60, 180), (90, 150), (130, 110), (160, 80)]]


def test_two_stages_reach_the_printed_optimum_of_both_aims() -> None:
    """J of a coarse pair before three positions is the one a general solver proved."""
    # computed (HiGHS, gap 0): J = 0.02014412554
    rows = [(180.0, 450.0, 2), (450.0, 1000.0, 2), (1000.0, 2400.0, 1)]
    grid = range(60, 251, 15)
    problem = Problem(
        layout=Layout(positions=(2, 3), offsets=((0, 3), (0, 1, 2))),
        motor_rpm=MOTOR_RPM,
        stages=(
            _stage("stage[0]", grid, Belt(1400, (300, 500), 30), clearance_mm=0),
            _stage("stage[1]", grid, Belt(1300, (300, 450), 6), clearance_mm=0),
        ),
        targets=_both(rows, closed=False),
    )
    j, candidate = _found(problem)
    assert j == pytest.approx(0.02014412554, abs=1e-10)
    assert speeds_rpm(problem, candidate.stages) == pytest.approx(
        [178.1, 301.4, 498.7, 855.0, 1446.9, 2394.0], abs=0.05
    )
    assert _steps(candidate) == [[(60, 240), (180, 150)], [(120, 240), (165, 195), (210, 150)]]


# unevenness alone, one stage: the first speed in 500-600 rpm, the last in 2200-2700 rpm, rims 10 mm clear, proved by
# three general solvers; travel [mm], grid step [mm], positions, least unevenness
SINGLE = [
    (0.5, 5, 4, 0.18050667, 1e-8),
    (6.0, 5, 4, 0.00034704, 1e-8),
    (6.0, 5, 5, 0.00193311, 1e-8),
    (0.5, 2, 4, 0.0000116337, 1e-10),
]


@pytest.mark.parametrize(("travel_mm", "step_mm", "positions", "least", "digits"), SINGLE)
def test_one_stage_reaches_the_least_unevenness(
    travel_mm: float, step_mm: int, positions: int, least: float, digits: float
) -> None:
    """The most even series of one stage with given ends is as even as three general solvers proved."""
    low, high = (500.0, 600.0), (2200.0, 2700.0)
    targets = Targets(
        bands=(
            BandTarget(name="first", low_rpm=low[0], high_rpm=low[1], top=True),
            BandTarget(name="last", low_rpm=high[0], high_rpm=high[1], top=True),
        ),
        lo_rpm=low[0],
        hi_rpm=high[1],
        never_below_rpm=low[0],
        never_above_rpm=high[1],
        distinct=0.0,
        end_miss_most=inf,
        unevenness_most=inf,
        end_weight=0.0,
    )
    belt = Belt(1300, (300, 500), travel_mm)
    problem = Problem(
        layout=Layout(positions=(positions,), offsets=(tuple(range(positions)),)),
        motor_rpm=MOTOR_RPM,
        stages=(_stage("stage[0]", range(60, 231, step_mm), belt, clearance_mm=10),),
        targets=targets,
    )
    value, _ = _found(problem)
    assert value == pytest.approx(least, abs=digits)


# unevenness alone, 2x4, coarse stage first, ratio at least 1.05, no rule on the ends; step of the grid [mm], least
# unevenness, speeds. 15 mm is proved by a general solver too, 10 and 5 mm come from one exact method.
DOUBLE = [
    (15, 0.00165589497, [307, 390, 493, 626, 798, 1013, 1283, 1629]),
    (10, 0.00050882219, [366, 448, 548, 671, 819, 1003, 1225, 1500]),
    (5, 0.00016852755, [202, 308, 469, 716, 1092, 1666, 2543, 3879]),
]


@pytest.mark.parametrize(("step_mm", "least", "speeds"), DOUBLE)
def test_two_stages_reach_the_least_unevenness(step_mm: int, least: float, speeds: list[int]) -> None:
    """The most even series of eight speeds is as even as other exact methods found."""
    bands = tuple(
        BandTarget(name=f"band {number}", low_rpm=low, high_rpm=high, top=number == 2, want=want)
        for number, (low, high, want) in enumerate([(150, 450, 2), (450, 1200, 3), (1200, 2600, 2)])
    )
    targets = Targets(
        bands=bands,
        lo_rpm=150,
        hi_rpm=2600,
        distinct=0.0,
        ratio_least=1.05,
        end_miss_most=inf,
        unevenness_most=inf,
        end_weight=0.0,
    )
    grid = range(60, 251, step_mm)
    problem = Problem(
        layout=Layout(positions=(2, 4), offsets=((0, 4), (0, 1, 2, 3))),
        motor_rpm=MOTOR_RPM,
        stages=(
            _stage("stage[0]", grid, Belt(1400, (300, 500), 30), clearance_mm=10),
            _stage("stage[1]", grid, Belt(1300, (300, 450), 3), clearance_mm=10),
        ),
        targets=targets,
    )
    value, candidate = _found(problem)
    assert value == pytest.approx(least, abs=1e-11)
    found = speeds_rpm(problem, candidate.stages)
    assert all(lower < upper for lower, upper in pairwise(found))
    assert found == pytest.approx(speeds, abs=0.6)
