"""Seeded small design problems whose sizes are all points."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from math import exp, inf, log, pi, prod
from random import Random
from typing import NamedTuple

from optimizer.records.layout import Layout
from optimizer.records.problem import BandTarget, BeltChoice, Problem, SideSizes, StageProblem, Targets
from tests.oracle.choices import Pair, Variant, tilings, variants
from tests.oracle.plain import belt_mm

__all__ = ["Scale", "make_problem", "small_problem", "tiny_problem"]


class Scale(NamedTuple):
    """How large the problems of a family may be."""

    shapes: tuple[tuple[int, ...], ...]
    sizes: tuple[int, int]
    """Least and greatest number of sizes on a side of a single stage."""
    sizes_of_two: tuple[int, int]
    """The same where there are two stages."""
    belts: int


SMALL = Scale(
    shapes=(
        *((count,) for count in range(1, 6)),
        *((first, second) for first in range(1, 4) for second in range(1, 5)),
    ),
    sizes=(6, 11),
    sizes_of_two=(4, 7),
    belts=3,
)
TINY = Scale(
    shapes=((1,), (2,), (3,), (4,), (1, 1), (1, 2), (2, 1), (2, 2), (1, 3), (3, 1), (2, 3), (3, 2)),
    sizes=(2, 5),
    sizes_of_two=(2, 4),
    belts=2,
)


@cache
def small_problem(seed: int) -> Problem:
    """Return a problem that a general solver closes in about a second."""
    return make_problem(seed, SMALL)


@cache
def tiny_problem(seed: int) -> Problem:
    """Return a problem of which every combination can be looked at."""
    return make_problem(seed, TINY)


def make_problem(seed: int, scale: Scale) -> Problem:
    """Return the problem of a seed; most are built round a design that exists, so that their rules bind."""
    rng = Random(seed)
    positions = rng.choice(scale.shapes)
    layout = Layout(positions=positions, offsets=rng.choice(tilings(positions)))
    numbers = scale.sizes if len(positions) == 1 else scale.sizes_of_two
    step = rng.uniform(0.09, min(0.45, 2.2 / max(1, *(row[-1] for row in layout.offsets))))
    stages = tuple(
        _stage(rng, place, [step * offset for offset in row], scale, numbers)
        for place, row in enumerate(layout.offsets)
    )
    bare = Problem(
        layout=layout,
        motor_rpm=rng.choice([950.0, 1420.0, 1425.0, 1725.0, 2850.0]),
        stages=stages,
        gain_out=rng.choice([1.0, 1.0, 0.8, 1.7]),
        targets=Targets(bands=(), lo_rpm=1, hi_rpm=2),
    )
    known = _planted(rng, bare) if rng.random() < 0.85 else None
    logs = known.logs if known else _blind_logs(rng, bare)
    moving = _moving(rng, bare, known) if known else stages
    return bare.model_copy(update={"targets": _targets(rng, logs), "stages": moving})


# Sizes and belts


def _stage(rng: Random, place: int, rises: Sequence[float], scale: Scale, numbers: tuple[int, int]) -> StageProblem:
    key = f"stage[{place}]"
    crossed = rng.random() < 0.15
    centre = rng.uniform(320, 450)
    plan = _Plan(rises, rng.uniform(250, 330), inf if crossed else centre)
    driver, driven = _sides(rng, key, plan, numbers)
    window = rng.choice([rng.uniform(0.2, 1.2), rng.uniform(2, 8), rng.uniform(10, 45)])
    belts = []
    for number in range(rng.randint(1, scale.belts)):
        half = plan.total_mm / 2
        length = round(belt_mm(half, half, centre + rng.uniform(-10, 10) * number, crossed=crossed), 1)
        own = window * rng.uniform(0.7, 1.3)
        belts.append(BeltChoice(section="A", marking=f"A {number}", length_mm=length, window_mm=own))
    spread = rng.choice([12.0, 40.0, 120.0])
    return StageProblem(
        key=key,
        driver=driver,
        driven=driven,
        belts=tuple(belts),
        centre_mm=(centre - spread * rng.uniform(0.8, 1.2), centre + spread * rng.uniform(0.8, 1.2)),
        crossed=crossed,
        slip=rng.choice([0.0, 0.01, 0.023]),
        gain=rng.choice([1.0, 1.0, 0.5, 1.3]),
        least_wrap_deg=rng.choice([0.0, 90.0, 120.01, 150.003]),
        clearance_mm=rng.choice([0.0, 10.013, 50.003]),
    )


class _Plan(NamedTuple):
    rises: Sequence[float]
    total_mm: float
    centre_mm: float


def _sides(rng: Random, key: str, plan: _Plan, numbers: tuple[int, int]) -> tuple[SideSizes, SideSizes]:
    kept = rng.choices(["neither", "driver", "driven", "both"], [72, 11, 11, 6])[0]
    planned = rng.random() < 0.8
    spare = rng.randint(0, 2)
    count = len(plan.rises)
    many = [
        count + spare if kept in (name, "both") else max(rng.randint(*numbers), count * planned)
        for name in ("driver", "driven")
    ]
    one, other = _facing(rng, plan, many) if planned else _draw(rng, *many)
    way = rng.choice([1, -1])
    return (
        _side(rng, f"{key}.driver", one[::way], kept=kept in ("driver", "both")),
        _side(rng, f"{key}.driven", other[::-way], kept=kept in ("driven", "both")),
    )


def _facing(rng: Random, plan: _Plan, many: Sequence[int]) -> tuple[list[float], list[float]]:
    """Return ascending diameters, those of a fairly even cone among them, which nearly agree on a belt."""
    middle = (plan.rises[0] + plan.rises[-1]) / 2 + rng.uniform(-0.2, 0.2)
    unit = rng.choice([0.1, 0.5, 5.0])
    drivers, drivens = [], []
    for rise in plan.rises:
        share = 1 / (1 + exp(middle - rise))
        apart = plan.total_mm * (2 * share - 1)
        total = plan.total_mm - apart**2 / (2 * pi * plan.centre_mm)
        drivers.append(total * share)
        drivens.append(total * (1 - share))
    sides = []
    for sizes, number in zip((drivers, drivens), many, strict=True):
        chosen = {round(round(size / unit) * unit, 1) for size in sizes}
        while len(chosen) < number:
            chosen.add(float(rng.randrange(60, 251, 5)))
        sides.append(sorted(chosen))
    return sides[0], sides[1]


def _side(rng: Random, key: str, sizes: Sequence[float], *, kept: bool) -> SideSizes:
    return SideSizes(
        key=key,
        standing_mm=tuple((size,) for size in sizes) if kept else (),
        ready_mm=() if kept else tuple(sorted(sizes)),
        reversible=kept and rng.random() < 0.5,
        cone=rng.random() < 0.6,
        rise_mm=rng.choice([0.0, 5.0, 14.5]),
    )


def _draw(rng: Random, drivers: int, drivens: int) -> tuple[list[float], list[float]]:
    """Return ascending diameters: of a grid, so that many sums agree, or mates of one another more or less."""
    if rng.random() < 0.35:
        grid = [float(size) for size in range(60, 60 + 15 * max(drivers, drivens, 8), 15)]
        return sorted(rng.sample(grid, drivers)), sorted(rng.sample(grid, drivens))
    total = rng.uniform(250, 330)
    off = rng.choice([0.2, 1.0, 4.0])
    one = sorted(rng.sample([float(size) for size in range(60, 231, 5)], drivers))
    faced = [rng.choice(one) for _ in range(max(0, drivens - drivers))]
    faced += rng.sample(one, min(drivens, drivers))
    return one, sorted({round(max(total - size + rng.uniform(-off, off), 50.0), 1) for size in faced})


# A design that exists


class _Known(NamedTuple):
    chosen: tuple[tuple[Pair, ...], ...]
    logs: list[float]


def _with_counts(problem: Problem) -> list[tuple[StageProblem, int]]:
    return list(zip(problem.stages, problem.layout.positions, strict=True))


def _planted(rng: Random, problem: Problem) -> _Known | None:
    """Return the most even of some designs found by chance, or nothing where chance finds none."""
    tables = [variants(rules, count) for rules, count in _with_counts(problem)]
    if not all(tables):
        return None
    best: tuple[float, _Known] | None = None
    for _ in range(300):
        step = rng.uniform(0.08, 0.5)
        chosen = tuple(
            _try_stage(rng, rules, rng.choice(table), [step * place for place in offsets])
            for rules, table, offsets in zip(problem.stages, tables, problem.layout.offsets, strict=True)
        )
        if not all(chosen):
            continue
        logs = _logs(problem, chosen)
        steps = [upper - lower for lower, upper in pairwise(logs)]
        if steps and min(steps) < 0.08:
            continue
        uneven = max(steps) - min(steps) if steps else 0.0
        if best is None or uneven < best[0]:
            best = uneven, _Known(chosen, logs)
    return best[1] if best else None


def _try_stage(rng: Random, rules: StageProblem, variant: Variant, rises: Sequence[float]) -> tuple[Pair, ...]:
    """Return a pair near each wanted ratio, or nothing where the draw breaks a rule of the stage."""
    place = rng.randrange(len(rises))
    pivot = rng.choice(variant.rows[place])
    low = pivot.centre_mm - rng.random() * variant.belt.window_mm
    drawn = []
    for rise, row in zip(rises, variant.rows, strict=True):
        near = [pair for pair in row if low <= pair.centre_mm <= low + variant.belt.window_mm]
        if not near:
            return ()
        goal = pivot.log_ratio + rise - rises[place]
        drawn.append(min((abs(pair.log_ratio - goal), pair) for pair in near)[1])
    fits = all(
        _climbs(rules.driver, lower.driver_mm, upper.driver_mm)
        and _climbs(rules.driven, -lower.driven_mm, -upper.driven_mm)
        for lower, upper in pairwise(drawn)
    )
    return tuple(drawn) if fits else ()


def _climbs(side: SideSizes, lower: float, upper: float) -> bool:
    rise = upper - lower
    return not side.cone or rise == 0 or rise >= max(side.rise_mm, 0)


def _logs(problem: Problem, chosen: Sequence[Sequence[Pair]]) -> list[float]:
    base = _base(problem)
    return [
        base + sum(chosen[stage][position].log_ratio for stage, position in enumerate(place))
        for place in problem.layout.places
    ]


def _base(problem: Problem) -> float:
    return log(problem.motor_rpm * problem.gain_out * prod(rules.gain for rules in problem.stages))


def _blind_logs(rng: Random, problem: Problem) -> list[float]:
    """Return a geometric series that the sizes may be able to make or not."""
    first = _base(problem) + rng.uniform(-1.2, 0.2)
    ratio = rng.uniform(0.15, 0.45)
    return [first + ratio * place for place in range(problem.layout.speeds)]


# What is asked


def _targets(rng: Random, logs: Sequence[float]) -> Targets:
    lo = round(exp(logs[0] + rng.uniform(-0.05, 0.05)), 1)
    hi = round(exp(logs[-1] + rng.uniform(-0.05, 0.05)), 1)
    if len(logs) == 1:
        half = rng.uniform(0.05, 0.4)
        lo, hi = round(exp(logs[0] - half * rng.uniform(0.8, 1.2)), 1), round(exp(logs[0] + half), 1)
    number = rng.randint(1, min(4, max(1, len(logs))))
    cuts = sorted(rng.uniform(log(lo), log(hi)) for _ in range(number - 1))
    edges = [0.97 * lo, *(round(exp(cut), 1) for cut in cuts), 1.03 * hi]
    slack = rng.random() < 0.2
    loose = rng.choice([0.1, 0.3, inf])
    return Targets(
        bands=tuple(
            _band(rng, number, low * (0.96 if slack else 1.0), high, logs)
            for number, (low, high) in enumerate(pairwise(edges))
        ),
        lo_rpm=lo,
        hi_rpm=hi,
        never_above_rpm=rng.choice([inf, inf, inf, 1.06 * hi, 0.99 * hi]),
        never_below_rpm=rng.choice([0.0, 0.0, 0.0, 0.96 * lo]),
        distinct=rng.choice([0.0413, 0.0413, 0.0413, 0.0807, 0.0807, 0.1519]),
        end_miss_most=loose,
        unevenness_most=rng.choice([loose, 0.05]),
        end_weight=rng.choice([1.0, 1.0, 1.0, 0.0, 2.5]),
        unevenness_weight=rng.choice([1.0, 1.0, 1.0, 0.3]),
    )


def _band(rng: Random, number: int, low: float, high: float, logs: Sequence[float]) -> BandTarget:
    """Return a band that wants about as many speeds as the design at hand has in it."""
    have = sum(log(low) <= value < log(high) for value in logs)
    want = max(0, have + rng.choice([0, 0, 0, 0, -1, -1, 1]))
    return BandTarget(name=f"band {number}", low_rpm=low, high_rpm=high, top=rng.random() < 0.5, want=want)


def _moving(rng: Random, problem: Problem, known: _Known) -> tuple[StageProblem, ...]:
    """Return the stages with limits on belt, rim and shaft speed a little above or below what the design does."""
    entering = problem.motor_rpm
    stages = []
    for rules, pairs in zip(problem.stages, known.chosen, strict=True):
        entering *= rules.gain
        change: dict[str, float] = {}
        if rng.random() < 0.15:
            largest = max(pair.driver_mm for pair in pairs)
            change["belt_speed_m_s"] = pi * largest * entering / 60_000 * _factor(rng)
        leaving = [entering * exp(pair.log_ratio) for pair in pairs]
        fastest = max(leaving)
        if rng.random() < 0.15:
            change["driven_rpm"] = fastest * _factor(rng)
        driver = rules.driver
        driven = rules.driven
        if rng.random() < 0.15:
            shift = rng.choice([0.0, 6.6])
            rim = pi * (max(p.driven_mm for p in pairs) + shift) * fastest / 60_000
            driven = driven.model_copy(update={"outside_shift_mm": shift, "rim_speed_m_s": rim * _factor(rng)})
        if rng.random() < 0.15:
            rim = max(pi * (p.driver_mm + 6.6) * entering / 60_000 for p in pairs)
            driver = driver.model_copy(update={"outside_shift_mm": 6.6, "rim_speed_m_s": rim * _factor(rng)})
        stages.append(rules.model_copy(update={**change, "driver": driver, "driven": driven}))
        entering = fastest
    return tuple(stages)


def _factor(rng: Random) -> float:
    return rng.uniform(1.01, 1.3) if rng.random() < 0.7 else rng.uniform(0.93, 0.99)
