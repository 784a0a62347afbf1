"""Pairs of turned sizes stand for rays: the search against a fine scan of scales."""

from __future__ import annotations

from itertools import combinations, product
from math import log
from random import Random

import numpy as np
import pytest

from optimizer.records import BandTarget, BeltChoice, Layout, Problem, SideSizes, StageProblem, Targets
from optimizer.search import search
from tests.oracle.plain import centre_mm, end_miss, unevenness
from tests.sampled import sampled

SCALES = 201


def _problem(seed: int) -> Problem:
    """Return a single cone with few listed sizes, a coarse grid, and hardly any travel."""
    random = Random(seed)
    grid = random.choice([12.0, 16.0, 20.0])
    start = random.uniform(70, 80)
    sides = [
        SideSizes(
            key=f"stage[0].{name}",
            turned_mm=(start, start + 8 * grid),
            listed_mm=tuple(start + k * grid for k in range(9)),
            grid_mm=grid,
            rise_mm=0.0,
            tick_mm=0.5,
        )
        for name in ("driver", "driven")
    ]
    belt = BeltChoice(section="A", marking="A", length_mm=random.uniform(950, 1100), window_mm=random.choice([0.3, 3]))
    stage = StageProblem(
        key="stage[0]", driver=sides[0], driven=sides[1], belts=(belt,), centre_mm=(250, 330), clearance_mm=5
    )
    bands = (BandTarget(name="all", low_rpm=500, high_rpm=3200, top=True, want=3),)
    return Problem(
        layout=Layout(positions=(3,), offsets=((0, 1, 2),)),
        motor_rpm=1400,
        stages=(stage,),
        targets=Targets(bands=bands, lo_rpm=random.uniform(800, 1000), hi_rpm=random.uniform(1700, 2300)),
    )


def _span(problem: Problem, a: float, b: float) -> tuple[float, float] | None:
    """Return the span of own centre distances of a ray within every limit, by trying scales one after another."""
    stage = problem.stages[0]
    (low, high), reach = stage.driver.turned_mm or (0, 0), stage.driver.grid_mm / 2 / max(a, b)
    centres = []
    for scale in np.linspace(1 - reach, 1 + reach, SCALES):
        sizes = (a * scale, b * scale)
        if min(sizes) < low - 1e-9 or max(sizes) > high + 1e-9:
            continue
        centre = centre_mm(*sizes, stage.belts[0].length_mm)
        if centre is not None and 250 <= centre <= 330 and sum(sizes) / 2 + 5 <= centre:
            centres.append(centre)
    return (min(centres), max(centres)) if centres else None


Ray = tuple[float, float, float, float, float]


def _rays(problem: Problem) -> list[Ray]:
    """Return the rays that fit the belt by rising speed: its logarithm, the sizes, the span of centre distances."""
    stage = problem.stages[0]
    rays = []
    for a, b in product(stage.driver.listed_mm, stage.driven.listed_mm):
        span = _span(problem, a, b)
        if span:
            rays.append((log(1400 * a / b), a, b, *span))
    return sorted(rays)


def _least_j(problem: Problem, rays: list[Ray], ease_mm: float) -> float:
    """Return the least J over all choices of rays whose spans come within the window, eased by a little."""
    targets = problem.targets
    window = problem.stages[0].belts[0].window_mm + ease_mm
    best = float("inf")
    for chosen in combinations(rays, 3):
        logs = [ray[0] for ray in chosen]
        if min(logs[1] - logs[0], logs[2] - logs[1]) < log(1.04):
            continue
        if any(x[1] > y[1] or x[2] < y[2] for x, y in combinations(chosen, 2)):
            continue
        if max(ray[3] for ray in chosen) - min(ray[4] for ray in chosen) > window:
            continue
        miss, delta = end_miss(logs, targets.lo_rpm, targets.hi_rpm), unevenness(logs)
        if miss <= 0.1 and delta <= 0.1:
            best = min(best, miss + delta)
    return best


@pytest.mark.parametrize("seed", sampled(range(12), every=3))
def test_rays_agree_with_a_fine_scan(seed: int) -> None:
    """J of the best rays lies between what a scan finds with the window a little eased and a little tightened."""
    problem = _problem(seed)
    found = search(problem).proof.listed
    rays = _rays(problem)
    assert _least_j(problem, rays, 0.2) - 1e-9 <= found <= _least_j(problem, rays, -0.2) + 1e-9


def test_the_seeds_hold_designs() -> None:
    """Most seeds have a design, so that the comparison is of figures and not of absences."""
    assert sum(search(_problem(seed)).candidate is not None for seed in range(12)) >= 8
