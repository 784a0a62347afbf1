"""Tiny machines with a middle shaft whose sizes are turned, and what is asked of their refined sizes."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from random import Random

from optimizer.records.candidate import StageSizes
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.records.problem import BandTarget, SideSizes, Targets
from optimizer.records.refined import RefinedMiddle
from optimizer.refine.middle import refine_middle
from optimizer.search.middle import round_middle, search_middle
from tests.oracle.middle import Design, Level, Step
from tests.oracle.middle_instances import tiny_middle
from tests.search.middle_drill import drill

__all__ = ["as_design", "bench", "candidate_of", "refined_tiny", "turned_middle", "turned_steps", "with_sides"]


def turned_middle(seed: int, *, shared: bool = True, coupled: bool = False) -> MiddleProblem:
    """Return a tiny machine with most of its sizes turned, on rays; cones that exist are left as they are."""
    rng = Random(f"turned {seed}")
    problem = tiny_middle(seed, shared=shared, coupled=coupled)
    first, second = problem.stages
    driver, driven, last = (_turned(rng, side) for side in (first.driver, first.driven, second.driven))
    middle = driven.model_copy(update={"key": second.driver.key}) if shared else _turned(rng, second.driver)
    stages = (
        first.model_copy(update={"driver": driver, "driven": driven}),
        second.model_copy(update={"driver": middle, "driven": last}),
    )
    return problem.model_copy(update={"stages": stages})


def _turned(rng: Random, side: SideSizes) -> SideSizes:
    if side.standing_mm:
        return side
    every = sorted({*side.ready_mm, *side.listed_mm})
    listed = tuple(size for size in every if rng.random() < 0.8) or tuple(every)
    return side.model_copy(
        update={
            "turned_mm": (every[0] - rng.choice([0, 3, 10]), every[-1] + rng.choice([0, 3, 10])),
            "listed_mm": listed,
            "grid_mm": 5.0,
            "ready_mm": tuple(size for size in every if size not in listed),
            "tick_mm": rng.choice([0.5, 0.5, 1.0, 0.25]),
            "given_shift_mm": rng.choice([0.0, -3.3]),
        }
    )


@cache
def candidate_of(problem: MiddleProblem) -> MiddleCandidate | None:
    """Return the best listed design."""
    return search_middle(problem).candidate


@cache
def refined_tiny(seed: int, shared: bool, coupled: bool) -> RefinedMiddle | None:
    """Return a tiny machine's best listed design refined and rounded, or nothing where there is none."""
    candidate = candidate_of(turned_middle(seed, shared=shared, coupled=coupled))
    return None if candidate is None else refine_middle(candidate, 0.0, round_middle)


def bench(
    levels: tuple[int, int] = (3, 3),
    *,
    shared: bool = True,
    window_mm: float = 4.0,
    ends_rpm: tuple[float, float] = (800.0, 2400.0),
    tick_mm: float = 0.5,
    bands: tuple[BandTarget, ...] = (),
) -> MiddleProblem:
    """Return a machine on a wide grid, all cones turned from 50 to 150 mm, from a motor of 1720 rpm."""
    problem = drill(12.5, window_mm=window_mm, levels=levels, shared=shared)
    targets = Targets(bands=bands, lo_rpm=ends_rpm[0], hi_rpm=ends_rpm[1])
    return with_sides(problem.model_copy(update={"targets": targets}), tick_mm=tick_mm, rise_mm=1.0)


def with_sides(problem: MiddleProblem, **update: object) -> MiddleProblem:
    """Return the machine with something else stated of every side."""
    stages = tuple(
        stage.model_copy(
            update={
                "driver": stage.driver.model_copy(update=update),
                "driven": stage.driven.model_copy(update=update),
            }
        )
        for stage in problem.stages
    )
    return problem.model_copy(update={"stages": stages})


def as_design(stages: tuple[StageSizes, StageSizes]) -> Design:
    """Return sizes as they are written for looking at everything."""
    first, second = (
        tuple(
            Level(Step(p.driver_mm, p.driver_source), Step(p.driven_mm, p.driven_source), p.centre_mm)
            for p in sizes.positions
        )
        for sizes in stages
    )
    return Design((stages[0].belt, stages[1].belt), (first, second))


def turned_steps(problem: MiddleProblem, stages: tuple[StageSizes, StageSizes]) -> Iterator[tuple[SideSizes, float]]:
    """Yield every turned step with what it may be made of."""
    for rules, sizes in zip(problem.stages, stages, strict=True):
        for p in sizes.positions:
            if p.driver_source == "turned":
                yield rules.driver, p.driver_mm
            if p.driven_source == "turned":
                yield rules.driven, p.driven_mm
