"""Seeded small machines whose countershaft changes several belts at once, and the truth of them from plain places.

Shafts are points that are moved; where a centre distance is reached is found by halving. Nothing of the package's own
paths is used but to state the problem.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import count, product
from math import cos, dist, hypot, pi, sin
from random import Random
from typing import NamedTuple

from optimizer.geometry.settings import Path, slide_past, swing_past
from optimizer.records.candidate import StageSizes
from optimizer.records.coupling import Coupling, SharedBelt
from optimizer.records.problem import Problem
from tests.oracle.brute import Chosen, every_design, keeps_the_rules, stages_of, worth
from tests.oracle.instances import Scale, make_problem

__all__ = ["Machine", "best_design", "coupled_machine", "fits_one_setting", "settings"]

Point = tuple[float, float]
SCALE = Scale(
    shapes=((1, 2), (2, 1), (2, 2), (1, 3), (3, 1), (2, 3), (3, 2), (1, 2, 2), (2, 1, 2)),
    sizes=(2, 4),
    sizes_of_two=(3, 4),
    belts=2,
)
FAR_MM = 400.0
HALVINGS = 60
STEPS = 800
LEAST_DESIGNS = 12
MOST_DESIGNS = 100


class Machine(NamedTuple):
    """A problem with one shared mount, and where its shafts stand."""

    problem: Problem
    axis: Point
    """The mount's own axis."""
    hinge: Point | None
    direction: Point
    others: tuple[Point, ...]
    """The shaft at the other end of each of the mount's belts."""
    riders: tuple[Point, ...]
    """The shaft of each of them that rides on the mount."""
    branches: tuple[tuple[float, float], ...] = ()
    """Between which settings, around 0, each centre distance changes one way only."""

    def centre_mm(self, belt: int, setting_mm: float) -> float:
        """Return the centre distance of one of the mount's belts with the mount moved."""
        x, y = self.riders[belt]
        if self.hinge is None:
            return dist((x + self.direction[0] * setting_mm, y + self.direction[1] * setting_mm), self.others[belt])
        turn = setting_mm / dist(self.axis, self.hinge)
        x, y = x - self.hinge[0], y - self.hinge[1]
        here = (x * cos(turn) - y * sin(turn) + self.hinge[0], x * sin(turn) + y * cos(turn) + self.hinge[1])
        return dist(here, self.others[belt])

    def branch(self, belt: int) -> tuple[float, float]:
        """Return between which settings, around 0, a centre distance changes one way only, by going step by step."""
        ends = []
        for way in (-1, 1):
            step, here = way * FAR_MM / STEPS, 0.0
            sign = self.centre_mm(belt, 1e-4) > self.centre_mm(belt, -1e-4)
            for _ in range(STEPS):
                if (self.centre_mm(belt, here + step) > self.centre_mm(belt, here)) != (sign == (way > 0)):
                    here = self._turn(belt, here - step, here + step)
                    break
                here += step
            ends.append(here)
        return min(ends), max(ends)

    def _turn(self, belt: int, one: float, other: float) -> float:
        """Return where a centre distance turns round, by cutting the span in thirds."""
        away = self.centre_mm(belt, (one + other) / 2) < self.centre_mm(belt, one)
        for _ in range(HALVINGS * 2):
            a, b = one + (other - one) / 3, other - (other - one) / 3
            nearer = self.centre_mm(belt, a) < self.centre_mm(belt, b)
            one, other = (one, b) if nearer == away else (a, other)
        return (one + other) / 2


def settings(machine: Machine, belt: int, centre_mm: float) -> float:
    """Return the setting of a centre distance, or the end of the branch that comes nearest."""
    low, high = machine.branches[belt]
    rising = machine.centre_mm(belt, high) > machine.centre_mm(belt, low)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if (machine.centre_mm(belt, middle) < centre_mm) == rising:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def fits_one_setting(machine: Machine, stages: Sequence[StageSizes], ease_mm: float = 0.0) -> bool:
    """Tell whether every combination of positions has a setting that fits all belts, within the travel."""
    belts = machine.problem.couplings[0].belts
    spans = []
    for number, belt in enumerate(belts):
        sizes = stages[belt.stage]
        half = sizes.belt.forgives_mm / 2 + ease_mm
        spans.append(
            [sorted(settings(machine, number, p.centre_mm + side * half) for side in (-1, 1)) for p in sizes.positions]
        )
    common = all(max(low for low, _ in some) <= min(high for _, high in some) for some in product(*spans))
    return common and _within_travel(machine, stages, ease_mm)


def _within_travel(machine: Machine, stages: Sequence[StageSizes], ease_mm: float) -> bool:
    belts = machine.problem.couplings[0].belts
    on, out = [], []
    for number, belt in enumerate(belts):
        sizes = stages[belt.stage]
        centres = [p.centre_mm for p in sizes.positions]
        near, far = min(centres), max(centres)
        if belt.travel_mm:
            near, far = near - sizes.belt.inward_mm, far + sizes.belt.outward_mm
            on.append(settings(machine, number, near))
            out.append(settings(machine, number, far))
        ends = [machine.centre_mm(number, setting) for setting in machine.branches[number]]
        if near < min(ends) - 1e-6 or far > max(ends) + 1e-6:
            return False
    # every belt that is tensioned grows tighter with the setting, as the instances are made
    return all(
        machine.centre_mm(n, max(out)) - machine.centre_mm(n, min(on))
        <= belt.travel_mm + stages[belt.stage].belt.forgives_mm + ease_mm
        for n, belt in enumerate(belts)
        if belt.travel_mm and len(on) > 1
    )


def best_design(machine: Machine, ease_mm: float = 0.0) -> tuple[float, tuple[Chosen, ...]] | None:
    """Return the least J with a design that has it, by looking at every combination; nothing where there is none."""
    designs = [(worth(machine.problem, d), n, d) for n, d in enumerate(_ruled(machine.problem))]
    for value, _, design in sorted(designs, key=lambda entry: entry[:2]):
        if fits_one_setting(machine, stages_of(design), ease_mm):
            return value, design
    return None


def _ruled(problem: Problem) -> Iterator[tuple[Chosen, ...]]:
    return (design for design in every_design(problem) if keeps_the_rules(problem, design))


def coupled_machine(seed: int) -> Machine:
    """Return the machine of a seed, its shafts placed round a design that keeps the other rules where there is one."""
    rng = Random(seed)
    bare, known = next(found for n in count(seed * 100) if len((found := _loose(n))[1]) >= LEAST_DESIGNS)
    chosen = rng.choice(known)
    numbers = (0, len(bare.stages) - 1)
    apart = []
    for number in numbers:
        centres = [p.centre_mm for p in chosen[number].positions]
        apart.append(rng.uniform(min(centres), max(centres)) + rng.uniform(-1, 1))
    while True:
        machine = _placed(rng, bare, numbers, apart)
        if machine is not None:
            return machine


def _loose(number: int) -> tuple[Problem, list[tuple[StageSizes, ...]]]:
    """Return a problem that leaves speeds much room, with some of the designs that keep its other rules."""
    bare = make_problem(number, SCALE)
    bands = tuple(band.model_copy(update={"want": min(band.want, 1)}) for band in bare.targets.bands)
    loose = bare.targets.model_copy(update={"bands": bands, "end_miss_most": 0.6, "unevenness_most": 0.6})
    bare = bare.model_copy(update={"targets": loose})
    few = zip(range(MOST_DESIGNS), _ruled(bare), strict=False)
    return bare, [stages_of(design) for _, design in few]


def _placed(rng: Random, bare: Problem, numbers: tuple[int, int], apart: list[float]) -> Machine | None:
    """Return the machine with the shafts placed by chance; nothing where the mount hardly changes a belt."""
    riders: list[Point] = [(0.0, 0.0), (0.0, 0.0) if numbers[1] == 1 else (rng.uniform(100, 300), rng.uniform(0, 90))]
    angles = [rng.uniform(0, 2 * pi) for _ in numbers]
    others = [(x + c * cos(a), y + c * sin(a)) for (x, y), c, a in zip(riders, apart, angles, strict=True)]
    way, arm = rng.uniform(0, 2 * pi), rng.uniform(150, 500)
    hinge = (arm * cos(way), arm * sin(way)) if rng.random() < 0.6 else None
    direction = (cos(way), sin(way))
    paths: list[Path] = []
    for rider, other in zip(riders, others, strict=True):
        if hinge is None:
            paths.append(slide_past(rider, other, way * 180 / pi))
        else:
            paths.append(swing_past(rider, other, hinge, riders[0]))
    if min(abs(float(path.slope(0.0))) for path in paths) < 0.15 or hypot(*riders[1]) > arm:
        return None
    if not paths[0].grows:
        return None
    both = paths[1].grows and rng.random() < 0.6
    travels = (rng.uniform(15, 60), rng.uniform(15, 60) if both else 0.0)
    belts = tuple(
        SharedBelt(stage=n, path=path, travel_mm=travel)
        for n, path, travel in zip(numbers, paths, travels, strict=True)
    )
    eased = rng.choice([0.6, 2.0, 4.0, 6.0])
    stages = list(bare.stages)
    for number in numbers:
        stages[number] = stages[number].model_copy(
            update={
                "belts": tuple(
                    belt.model_copy(
                        update={
                            "forgives_mm": eased * rng.uniform(0.5, 2),
                            "inward_mm": rng.uniform(1, 8),
                            "outward_mm": rng.uniform(1, 15),
                        }
                    )
                    for belt in stages[number].belts
                )
            }
        )
    coupling = Coupling(key="shaft[0]", shaft="countershaft", belts=belts)
    problem = bare.model_copy(update={"stages": tuple(stages), "couplings": (coupling,)})
    machine = Machine(problem, riders[0], hinge, direction, tuple(others), tuple(riders))
    return machine._replace(branches=tuple(machine.branch(belt) for belt in range(len(belts))))
