"""Seeded tiny machines with a middle shaft, most of them built round a design that exists."""

from __future__ import annotations

from functools import cache
from math import exp, inf, log, sqrt
from random import Random

from optimizer.geometry.settings import Slide
from optimizer.records.coupling import Coupling, SharedBelt
from optimizer.records.middle import MiddleProblem
from optimizer.records.problem import BandTarget, BeltChoice, SideSizes, StageProblem, Targets
from tests.oracle.plain import belt_mm, centre_mm

__all__ = ["small_middle", "tiny_middle"]


@cache
def tiny_middle(seed: int, *, shared: bool = True, coupled: bool = False) -> MiddleProblem:
    """Return a machine of which every design can be looked at."""
    rng = Random(f"{seed} {shared} {coupled}")
    count = rng.choice([2, 3, 3])
    levels = (count, count) if shared else rng.choice([(2, 2), (2, 3), (3, 2), (3, 3), (1, 3)])
    many = rng.randint(3, 6) if max(levels) == 2 else rng.randint(3, 4)
    totals = [rng.uniform(180, 230), rng.uniform(180, 230)]
    cones = _shared_cones(rng, count, totals) if shared else _own_cones(rng, levels, totals)
    kept = rng.choice([None, None, None, *range(len(cones))])
    sides = []
    for number, (key, planted) in enumerate(cones):
        sides.append(_side(rng, key, planted, many, kept=kept == number))
    if shared:
        sides.insert(2, sides[1])
    stages = [_stage(rng, n, sides[2 * n], sides[2 * n + 1], totals[n], coupled) for n in (0, 1)]
    coupling = _coupling(rng, stages) if coupled else None
    motor = rng.choice([950.0, 1420.0, 1720.0, 2850.0])
    ratios = [[log(a / b) for a, b in _pairs(cones, shared, n)] for n in (0, 1)]
    logs = sorted(
        log(motor * stages[0].gain * stages[1].gain) + one + other + sum(log(1 - stage.slip) for stage in stages)
        for i, one in enumerate(ratios[0])
        for j, other in enumerate(ratios[1])
        if not shared or i != j
    )
    return MiddleProblem(
        motor_rpm=motor,
        stages=(stages[0], stages[1]),
        levels=levels,
        shared=shared,
        coupling=coupling,
        gain_out=rng.choice([1.0, 1.0, 0.9]),
        targets=_targets(rng, logs),
    )


def _shared_cones(rng: Random, count: int, totals: list[float]) -> list[tuple[str, list[float]]]:
    middle = sorted((rng.choice(range(60, 130, 5)) + rng.choice([0, 0, 1.5]) for _ in range(count)), reverse=True)
    motor = [round(totals[0] - size + rng.uniform(-1, 1), 1) for size in middle]
    last = [round(totals[1] - size + rng.uniform(-1, 1), 1) for size in middle]
    return [("stage[0].driver", motor), ("stage[0].driven", middle), ("stage[1].driven", last)]


def _own_cones(rng: Random, levels: tuple[int, int], totals: list[float]) -> list[tuple[str, list[float]]]:
    cones = []
    for number, (count, total) in enumerate(zip(levels, totals, strict=True)):
        driven = sorted((float(rng.choice(range(60, 130, 5))) for _ in range(count)), reverse=True)
        driver = [round(total - size + rng.uniform(-1, 1), 1) for size in driven]
        cones += [(f"stage[{number}].driver", driver), (f"stage[{number}].driven", driven)]
    return cones


def _pairs(cones: list[tuple[str, list[float]]], shared: bool, number: int) -> list[tuple[float, float]]:
    first = number if shared else 2 * number
    return list(zip(cones[first][1], cones[first + 1][1], strict=True))


def _side(rng: Random, key: str, planted: list[float], many: int, *, kept: bool) -> SideSizes:
    sizes = set(planted)
    while len(sizes) < many:
        sizes.add(round(rng.uniform(55, 150), 1))
    listed = tuple(sorted(sizes))
    made = rng.choice(["turned", "ready", "both"])
    free = {"turned": listed, "ready": (), "both": listed[::2]}[made] if not kept else ()
    ready = {"turned": (), "ready": listed, "both": listed[1::2]}[made] if not kept else ()
    return SideSizes(
        key=key,
        turned_mm=(50.0, 180.0) if free else None,
        listed_mm=free,
        ready_mm=ready,
        standing_mm=tuple((size,) for size in planted) if kept else (),
        reversible=kept and rng.random() < 0.3,
        cone=rng.random() < 0.8,
        rise_mm=rng.choice([0.0, 5.0]),
        outside_shift_mm=rng.choice([0.0, 6.6]),
        rim_speed_m_s=rng.choice([inf, inf, inf, rng.uniform(11, 30)]),
        truing_mm=4.0,
        width_mm=30.0,
    )


def _stage(rng: Random, number: int, driver: SideSizes, driven: SideSizes, total: float, coupled: bool) -> StageProblem:
    centre = rng.uniform(200, 300)
    window = rng.choice([rng.uniform(1, 3), rng.uniform(3, 8), rng.uniform(8, 20)])
    belts = tuple(
        BeltChoice(
            section="A",
            marking=f"A {n}",
            length_mm=round(belt_mm(total / 2, total / 2, centre + 7 * n), 1),
            window_mm=window * rng.uniform(0.8, 1.2),
            forgives_mm=window * rng.uniform(1.2, 2) if coupled else 0.0,
            inward_mm=rng.uniform(2, 6) if coupled else 0.0,
            outward_mm=rng.uniform(2, 6) if coupled else 0.0,
        )
        for n in range(rng.randint(1, 2))
    )
    return StageProblem(
        key=f"stage[{number}]",
        driver=driver,
        driven=driven,
        belts=belts,
        centre_mm=(centre - rng.uniform(8, 40), centre + rng.uniform(8, 40)),
        crossed=rng.random() < 0.1,
        slip=rng.choice([0.0, 0.01]),
        gain=1.0 if number else rng.choice([1.0, 0.7]),
        least_wrap_deg=rng.choice([0.0, 120.01]),
        clearance_mm=rng.choice([0.0, 10.013]),
        belt_speed_m_s=rng.choice([inf, inf, rng.uniform(11, 30)]),
        driven_rpm=rng.choice([inf, inf, rng.uniform(2500, 6000)]),
    )


def _coupling(rng: Random, stages: list[StageProblem]) -> Coupling:
    """Return a slide past both outer shafts, which brings the second belt's shafts together or apart."""
    both = rng.random() < 0.5
    belts = []
    for number, stage in enumerate(stages):
        sizes = [sorted({*side.listed_mm, *side.ready_mm, *(s for step in side.standing_mm for s in step or ())})
                 for side in (stage.driver, stage.driven)]  # fmt: skip
        middles = [row[len(row) // 2] for row in sizes]
        centre = centre_mm(middles[0], middles[1], stage.belts[0].length_mm, crossed=stage.crossed) or 250.0
        across = rng.uniform(0.2, 0.95) * centre
        along = sqrt(centre**2 - across**2) * (1 if both or number == 0 else -1)
        travel = rng.uniform(8, 30) if both or rng.random() < 0.5 else 0.0
        belts.append(SharedBelt(stage=number, path=Slide(along_mm=along, across_mm=across), travel_mm=travel))
    if not both:
        belts[1] = belts[1].model_copy(update={"travel_mm": 0.0})
    return Coupling(key="shaft[0]", shaft="middle", belts=tuple(belts))


def _targets(rng: Random, logs: list[float]) -> Targets:
    off = rng.uniform(-0.04, 0.04)
    low, high = exp(logs[0] + off), exp(logs[-1] - off / 2)
    high = max(high, low * 1.2)
    cut = exp(rng.uniform(log(low), log(high)))
    bands = []
    if rng.random() < 0.6 and low * 1.05 < cut < high / 1.05:
        most = max(1, len(logs) // 3)
        bands = [
            BandTarget(name="slow", low_rpm=low / 1.03, high_rpm=cut, want=rng.randint(0, most)),
            BandTarget(name="fast", low_rpm=cut, high_rpm=high * 1.03, top=True, want=rng.randint(0, most)),
        ]
    return Targets(
        bands=tuple(bands),
        lo_rpm=low,
        hi_rpm=high,
        never_above_rpm=rng.choice([inf, inf, high * rng.uniform(0.99, 1.1)]),
        never_below_rpm=rng.choice([0.0, 0.0, low * rng.uniform(0.9, 1.01)]),
        distinct=rng.choice([0.04, 0.04, 0.1]),
        end_weight=rng.choice([1.0, 1.0, 0.5, 0.1]),
        unevenness_weight=rng.choice([1.0, 1.0, 2.0]),
    )


@cache
def small_middle(seed: int) -> MiddleProblem:
    """Return a machine with a shared cone that a general solver closes: ready sizes, no wants, no limits on speeds."""
    rng = Random(seed)
    levels = rng.choice([2, 3, 3])
    many = rng.randint(4, 6)
    totals = [rng.uniform(180, 230), rng.uniform(180, 230)]
    cones = _shared_cones(rng, levels, totals)
    sides = []
    for key, planted in cones:
        sizes = set(planted)
        while len(sizes) < many:
            sizes.add(float(rng.randrange(55, 150, 5)))
        sides.append(SideSizes(key=key, ready_mm=tuple(sorted(sizes)), cone=rng.random() < 0.8, rise_mm=5.0))
    stages = []
    for number, (driver, driven) in enumerate(((sides[0], sides[1]), (sides[1], sides[2]))):
        length = round(belt_mm(totals[number] / 2, totals[number] / 2, 250), 1)
        window = rng.uniform(2, 12)
        belts = (BeltChoice(section="A", marking="A", length_mm=length, window_mm=window),)
        stages.append(StageProblem(key=f"stage[{number}]", driver=driver, driven=driven, belts=belts,
                                   centre_mm=(200.0, 300.0), slip=rng.choice([0.0, 0.01])))  # fmt: skip
    ratios = [[log(a / b * (1 - stages[n].slip)) for a, b in _pairs(cones, True, n)] for n in (0, 1)]
    logs = sorted(
        log(1420) + one + other for i, one in enumerate(ratios[0]) for j, other in enumerate(ratios[1]) if i != j
    )
    targets = Targets(
        bands=(), lo_rpm=exp(logs[0] + rng.uniform(-0.02, 0.02)), hi_rpm=exp(logs[-1] + rng.uniform(-0.02, 0.02))
    )
    return MiddleProblem(motor_rpm=1420, stages=(stages[0], stages[1]), levels=(levels, levels), targets=targets)
