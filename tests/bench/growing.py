"""The machines on which growth of time and memory is measured, by name."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from random import Random
from typing import NamedTuple

from optimizer.layouts import orders
from optimizer.records.problem import Problem
from tests.bench.machines import CHAIN_BANDS, R40_MM, SINGLE_BANDS, StageSketch, layout_of, machine

__all__ = ["BELTS", "GOALS", "GRIDS_MM", "LAYOUTS", "MACHINES", "Goal", "Measured", "every_measured"]

GRIDS_MM = (10.0, 5.0, 2.0, 1.0, 0.5)
_SHAPES = ((3,), (4,), (4,), (5,), (6,), (2, 3), (2, 3), (2, 4), (2, 4), (3, 3))
_LAYOUT_BANDS = ((300, 550), (550, 900), (900, 1500))


class Measured(NamedTuple):
    """Something to be measured in a process of its own."""

    name: str
    make: Callable[[], list[Problem]]


class Goal(NamedTuple):
    """A measurement with what it should stay below."""

    measured: Measured
    seconds: float | None
    memory_mb: float | None


def _of_seed(seed: int, grid_mm: float) -> list[Problem]:
    """Return an invented machine with turned cones, alike but for its grid."""
    random = Random(seed)
    positions = _SHAPES[seed % len(_SHAPES)]
    order = random.choice(["coarse", "fine"])
    start = random.randrange(4, 7)
    belts = R40_MM[start : start + random.randint(1, 4)]
    window = round(random.uniform(4, 6), 1)
    lift = random.uniform(0.85, 1.15)
    stated = SINGLE_BANDS if len(positions) == 1 else CHAIN_BANDS
    bands = [(round(low * lift), round(high * lift), 1 if len(positions) == 1 else want) for low, high, want in stated]
    sketch = StageSketch(grid_mm, belts, window, rays=True)
    return [machine(layout_of(positions, order), [sketch] * len(positions), bands)]


def _both_orders(grid_mm: float) -> list[Problem]:
    plain = [layout for layout in orders((2, 4)) if not layout.order.startswith("interleaved")]
    return [machine(layout, [StageSketch(grid_mm, R40_MM, 5.0, rays=True)] * 2, CHAIN_BANDS) for layout in plain]


def _chain(positions: tuple[int, ...], grid_mm: float, belts_mm: tuple[float, ...]) -> list[Problem]:
    sketch = StageSketch(grid_mm, belts_mm, 5.0, rays=True)
    return [machine(layout_of(positions), [sketch] * len(positions), CHAIN_BANDS)]


def _narrow(positions: tuple[int, ...]) -> list[Problem]:
    """Return a machine that 1x3 can make as well as 3x6."""
    bands = [(low, high, 1) for low, high in _LAYOUT_BANDS]
    sketch = StageSketch(5.0, R40_MM, 5.0, rays=True)
    return [machine(layout_of(positions), [sketch] * len(positions), bands)]


def _lengths(number: int) -> tuple[float, ...]:
    """Return the lengths nearest to 1250 mm out of sixty from 900 to 2000 mm."""
    sixty = [round(900 + 1100 * k / 59, 1) for k in range(60)]
    return tuple(sorted(sorted(sixty, key=lambda length: abs(length - 1250))[:number]))


MACHINES = {
    f"{'x'.join(map(str, _SHAPES[seed]))} no. {seed + 1}": [
        Measured(f"machine {seed + 1}, grid {grid:g} mm", partial(_of_seed, seed, grid)) for grid in GRIDS_MM
    ]
    for seed in range(10)
}
LAYOUTS = [
    Measured(f"layout {'x'.join(map(str, positions))}, grid 5 mm, 15 belts a stage", partial(_narrow, positions))
    for positions in ((1, 3), (2, 2), (1, 5), (2, 3), (2, 4), (3, 3), (2, 5), (3, 4), (2, 6), (3, 5), (3, 6))
]
BELTS = [
    Measured(f"2x4, grid 5 mm, {number} of sixty belts a stage", partial(_chain, (2, 4), 5.0, _lengths(number)))
    for number in (1, 2, 4, 8, 15, 30, 60)
]
GOALS = (
    Goal(Measured("2x4, both plain orders, 15 x 15 belts, grid 5 mm", partial(_both_orders, 5.0)), 0.15, None),
    Goal(Measured("2x4, both plain orders, 15 x 15 belts, grid 1 mm", partial(_both_orders, 1.0)), 1.5, None),
    Goal(Measured("3x6, 15 belts a stage, grid 1 mm", partial(_chain, (3, 6), 1.0, R40_MM)), None, 500.0),
    Goal(Measured("2x4, 1 belt a stage, grid 0.5 mm", partial(_chain, (2, 4), 0.5, (1250.0,))), None, 400.0),
    Goal(Measured("2x4, 15 belts a stage, grid 0.5 mm", partial(_chain, (2, 4), 0.5, R40_MM)), None, 400.0),
)


def every_measured() -> dict[str, Measured]:
    """Return everything that is measured, by name."""
    listed = [one for row in MACHINES.values() for one in row]
    listed += [*LAYOUTS, *BELTS, *(goal.measured for goal in GOALS)]
    return {one.name: one for one in listed}
