"""Joint rounding against every product of neighbouring ticks."""

from __future__ import annotations

from itertools import product
from math import inf

import numpy as np
import pytest

from optimizer.geometry.belts import centre_for_length_mm
from optimizer.records import BandTarget, BeltChoice, Candidate, Layout, Problem, SideSizes, StageProblem, Targets
from optimizer.records.candidate import PositionSizes, StageSizes
from optimizer.records.rules import broken_rules
from optimizer.records.speeds import log_speeds
from optimizer.refine import refine
from optimizer.scoring import j_of
from optimizer.search import round_sizes, search
from tests.sampled import EVERYTHING

REACH = 2
"""Ticks on either side of a size that rounding may move it."""


def machine(positions: tuple[int, ...], offsets: tuple[tuple[int, ...], ...], window_mm: float) -> Problem:
    """Return a machine of free sizes on a wide grid, every stage with one belt."""

    def side(number: int, name: str) -> SideSizes:
        sizes = tuple(float(size) for size in range(70, 211, 20))
        return SideSizes(
            key=f"stage[{number}].{name}",
            turned_mm=(70.0, 210.0),
            listed_mm=sizes,
            grid_mm=20.0,
            rise_mm=1.0,
            tick_mm=1.0,
            width_mm=20.0,
        )

    belt = BeltChoice(section="A", marking="A 1180", length_mm=1180.0, window_mm=window_mm)
    stages = tuple(
        StageProblem(
            key=f"stage[{n}]",
            driver=side(n, "driver"),
            driven=side(n, "driven"),
            belts=(belt,),
            centre_mm=(240.0, 480.0),
            clearance_mm=10.0,
            slip=0.01,
        )
        for n in range(len(positions))
    )
    speeds = len(positions) * 2 if len(positions) > 1 else positions[0]
    band = BandTarget(name="all", low_rpm=400, high_rpm=2600, top=True, want=min(2, speeds))
    return Problem(
        layout=Layout(positions=positions, offsets=offsets),
        motor_rpm=1425,
        stages=stages,
        targets=Targets(bands=(band,), lo_rpm=550, hi_rpm=1900),
    )


def _refined(problem: Problem) -> tuple[StageSizes, ...]:
    candidate = search(problem).candidate
    assert candidate is not None
    return refine(candidate, 0.0).smooth


def _near(size_mm: float) -> list[float]:
    return [float(round(size_mm) + step) for step in range(-REACH, REACH + 1)]


def _every(problem: Problem, stages: tuple[StageSizes, ...]) -> float:
    """Return the least J over every product of ticks near the refined sizes, each held against the rules."""
    listed = []
    for sizes in stages:
        length_mm, window_mm = sizes.belt.length_mm, sizes.belt.window_mm
        places = []
        for p in sizes.positions:
            pairs = [
                (a, b, centre_for_length_mm(a, b, length_mm))
                for a, b in product(_near(p.driver_mm), _near(p.driven_mm))
            ]
            places.append(pairs)
        rows = [
            row for row in product(*places) if max(c for *_, c in row) - min(c for *_, c in row) <= window_mm + 1e-9
        ]
        listed.append([StageSizes(belt=sizes.belt, positions=tuple(map(_position, row))) for row in rows])
    best = inf
    for chosen in product(*listed):
        j = j_of(problem.targets, log_speeds(problem, chosen))
        if j < best and not broken_rules(problem, chosen):
            best = j
    return best


def _position(sizes: tuple[float, float, float]) -> PositionSizes:
    driver, driven, centre = sizes
    return PositionSizes(driver_mm=driver, driven_mm=driven, centre_mm=centre)


ROUNDED = [(2, 0.3), (2, 1.0), (2, 4.0), (3, 0.3), (3, 1.0), *([(3, 4.0)] if EVERYTHING else [])]


@pytest.mark.parametrize(("positions", "window_mm"), ROUNDED)
def test_one_stage_is_rounded_as_well_as_can_be(positions: int, window_mm: float) -> None:
    """With one stage no product of ticks near the refined sizes is better, whatever the window."""
    problem = machine((positions,), (tuple(range(positions)),), window_mm)
    stages = _refined(problem)
    rounded = round_sizes(problem, stages)
    assert rounded.j == pytest.approx(_every(problem, stages), abs=1e-12)


def test_two_stages_are_rounded_as_well_as_can_be() -> None:
    """With two stages of two positions, and a narrow window, no product of ticks is better either."""
    problem = machine((2, 2), ((0, 2), (0, 1)), 0.3)
    stages = _refined(problem)
    rounded = round_sizes(problem, stages)
    assert rounded.j == pytest.approx(_every(problem, stages), abs=1e-12)


def test_rounding_judged_by_timber_keeps_the_slack() -> None:
    """Judged by timber, rounding takes no more of it than rounding by J does, and keeps J within what is allowed."""
    problem = machine((3,), ((0, 1, 2),), 8.0)
    stages = _refined(problem)
    best = round_sizes(problem, stages)
    spare = round_sizes(problem, stages, "timber", best.j + 0.005)
    assert best.stages is not None and spare.stages is not None
    assert spare.j <= best.j + 0.005
    assert _timber_mm3(problem, spare.stages) < _timber_mm3(problem, best.stages)
    Candidate(problem=problem, stages=spare.stages)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(("positions", "offsets"), [((3,), ((0, 1, 2),)), ((2, 2), ((0, 2), (0, 1)))])
def test_rounding_does_not_hang_on_the_last_bits(
    positions: tuple[int, ...], offsets: tuple[tuple[int, ...], ...], seed: int
) -> None:
    """Refined sizes moved by a billionth, more than kernels differ by, are rounded to the same ticks."""
    problem = machine(positions, offsets, 1.0)
    stages, rng = _refined(problem), np.random.default_rng(seed)

    def moved(p: PositionSizes) -> PositionSizes:
        a, b = (size * (1 + 1e-9 * rng.uniform(-1, 1)) for size in (p.driver_mm, p.driven_mm))
        return p.model_copy(update={"driver_mm": a, "driven_mm": b, "centre_mm": centre_for_length_mm(a, b, 1180.0)})

    near = tuple(sizes.model_copy(update={"positions": tuple(map(moved, sizes.positions))}) for sizes in stages)
    assert round_sizes(problem, near).stages == round_sizes(problem, stages).stages


def _timber_mm3(problem: Problem, stages: tuple[StageSizes, ...]) -> float:
    return sum(
        rules.driver.timber_mm3(p.driver_mm) + rules.driven.timber_mm3(p.driven_mm)
        for rules, sizes in zip(problem.stages, stages, strict=True)
        for p in sizes.positions
    )
