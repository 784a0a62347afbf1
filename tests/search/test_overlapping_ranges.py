"""Ranges with speeds in common, and bands that lie in one range, against looking at every combination."""

from __future__ import annotations

from functools import cache
from itertools import combinations, pairwise, product
from math import inf, log
from random import Random

import pytest

from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.rules import broken_rules
from optimizer.search import search
from tests.oracle.brute import Chosen, every_design, stages_of
from tests.oracle.instances import Scale, make_problem
from tests.oracle.plain import end_miss, half_open
from tests.sampled import sampled

TWO = Scale(shapes=((2, 2), (2, 3), (3, 2), (2, 4)), sizes=(3, 5), sizes_of_two=(3, 4), belts=2)
OVERLAPS: dict[tuple[int, ...], tuple[tuple[int, ...], ...]] = {
    (2, 2): ((0, 1), (0, 1)),
    (2, 3): ((0, 2), (0, 1, 2)),
    (3, 2): ((0, 1, 2), (0, 2)),
    (2, 4): ((0, 2), (0, 1, 2, 3)),
}


@cache
def overlapping(seed: int) -> Problem:
    """Return a tiny problem whose ranges have speeds in common, every other one with its bands in one range."""
    problem, rng = make_problem(seed, TWO), Random(f"overlap {seed}")
    offsets = OVERLAPS[problem.layout.positions]
    layout = Layout(positions=problem.layout.positions, offsets=offsets)
    base = problem.motor_rpm * problem.gain_out * problem.stages[0].gain * problem.stages[1].gain
    designs = list(every_design(problem))
    widest = rng.sample(designs, min(3000, len(designs)))
    best = max(widest, key=lambda design: _clear(layout, design)[0] - _clear(layout, design)[1], default=None)
    if best is None:
        return problem.model_copy(update={"layout": layout})
    gap, alike = _clear(layout, best)
    free = {"belt_speed_m_s": inf, "driven_rpm": inf}
    stages = tuple(
        stage.model_copy(
            update=free
            | {
                "driver": stage.driver.model_copy(update={"rim_speed_m_s": inf}),
                "driven": stage.driven.model_copy(update={"rim_speed_m_s": inf}),
            }
        )
        for stage in problem.stages
    )
    logs = [log(base) + sum(stage.pairs[end].log_ratio for stage in best) for end in (0, -1)]
    lo, hi = (2.718281828459045 ** (each + rng.uniform(-0.02, 0.02)) for each in logs)
    targets = problem.targets.model_copy(
        update={
            "lo_rpm": lo,
            "hi_rpm": max(hi, lo * 1.01),
            "distinct": max(0.0, 2.718281828459045 ** (alike + rng.uniform(0.05, 0.95) * (gap - alike)) - 1),
            "end_miss_most": 0.4,
            "unevenness_most": 0.4,
            "one_range": seed % 2 == 1,
            "never_above_rpm": inf,
            "never_below_rpm": 0.0,
            "bands": tuple(
                band.model_copy(
                    update={"low_rpm": lo * 0.9, "high_rpm": (lo * hi) ** 0.5 if i else hi * 1.1, "want": 1 + seed % 2}
                )
                for i, band in enumerate(problem.targets.bands[:1] if seed % 4 < 2 else problem.targets.bands[:2])
            ),
        }
    )
    return problem.model_copy(update={"layout": layout, "targets": targets, "stages": stages})


def _ways(layout: Layout, design: tuple[Chosen, ...]) -> list[tuple[int, int, float]]:
    """Return place, range and ln of the ratio of every way, the first way of a place first."""
    coarse = max((0, 1), key=lambda row: layout.offsets[row][1])
    found = []
    for chosen in product(*map(range, layout.positions)):
        place = sum(row[p] for row, p in zip(layout.offsets, chosen, strict=True))
        value = sum(stage.pairs[p].log_ratio for stage, p in zip(design, chosen, strict=True))
        found.append((place, chosen[coarse], value))
    return sorted(found, key=lambda way: way[0])


def _clear(layout: Layout, design: tuple[Chosen, ...]) -> tuple[float, float]:
    """Return the least step between neighbouring places, and the greatest difference between ways of one."""
    ways = _ways(layout, design)
    same = [[value for place, _, value in ways if place == at] for at in range(ways[-1][0] + 1)]
    gap = min(b[0] - a[0] for a, b in pairwise(same))
    return gap, max(max(values) - min(values) for values in same)


def _uneven(layout: Layout, design: tuple[Chosen, ...]) -> float:
    """Return half the least spread of all ways about a geometric series, by trying the slope of every chord."""
    points = [(place, value) for place, _, value in _ways(layout, design)]
    slopes = [0.0, *(max(0.0, (b - a) / (k - i)) for (i, a), (k, b) in combinations(points, 2) if k > i)]
    return min((max(v - s * k for k, v in points) - min(v - s * k for k, v in points)) / 2 for s in slopes)


def _j(problem: Problem, design: tuple[Chosen, ...]) -> float | None:
    """Return J of a combination that keeps the rules of the series; nothing of one that does not."""
    targets = problem.targets
    base = log(problem.motor_rpm * problem.gain_out * problem.stages[0].gain * problem.stages[1].gain)
    ways = [(place, at, base + value) for place, at, value in _ways(problem.layout, design)]
    plate: dict[int, float] = {}
    for place, _, value in ways:
        plate.setdefault(place, value)
    logs = [plate[place] for place in sorted(plate)]
    apart = log(1 + targets.distinct)
    if any(b - a < apart for a, b in pairwise(logs)):
        return None
    if any(max(same) - min(same) > apart for same in ([v for p, _, v in ways if p == k] for k in plate)):
        return None
    for band in targets.bands:
        inside = [at for _, at, v in ways if half_open(2.718281828459045**v, band.low_rpm, band.high_rpm, top=band.top)]
        have = sum(half_open(2.718281828459045**v, band.low_rpm, band.high_rpm, top=band.top) for v in logs)
        if have < band.want or (targets.one_range and max(map(inside.count, inside), default=0) < band.want):
            return None
    miss, delta = end_miss(logs, targets.lo_rpm, targets.hi_rpm), _uneven(problem.layout, design)
    if miss > targets.end_miss_most or delta > targets.unevenness_most:
        return None
    return targets.end_weight * miss + targets.unevenness_weight * delta


@pytest.mark.parametrize("seed", sampled(range(60), every=3))
def test_search_finds_what_looking_at_everything_finds(seed: int) -> None:
    """The least J is that of the best of all combinations, every way of making a speed counted in the unevenness."""
    problem = overlapping(seed)
    values = [(value, design) for design in every_design(problem) if (value := _j(problem, design)) is not None]
    values = [(value, design) for value, design in values if broken_rules(problem, stages_of(design)) == []]
    found = search(problem)
    if not values:
        assert found.candidate is None
        return
    assert found.proof.status == "proved"
    assert found.proof.listed == pytest.approx(min(value for value, _ in values), abs=1e-9)


@pytest.mark.parametrize("seed", sampled(range(0, 60, 5), every=3, slow=(50,)))
def test_two_readings_of_the_rules_agree(seed: int) -> None:
    """A combination keeps the rules of the series as written here wherever the records find no rule broken."""
    problem = overlapping(seed)
    for design in list(every_design(problem))[::17]:
        if not broken_rules(problem, stages_of(design)):
            assert _j(problem, design) is not None


def test_there_are_enough_of_both() -> None:
    """Some problems have a design, some have none, and some designs are given up for a band in one range."""
    seeds = sampled(range(60), every=3)
    solved = sum(search(overlapping(seed)).candidate is not None for seed in seeds)
    assert len(seeds) / 4 <= solved <= len(seeds) * 11 / 12
