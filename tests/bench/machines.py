"""The machines of the benchmarks: all of them invented."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import NamedTuple

import numpy as np

from optimizer.layouts import orders
from optimizer.records.layout import Layout
from optimizer.records.problem import BandTarget, BeltChoice, Problem, SideSizes, StageProblem, Targets

__all__ = [
    "CHAIN_BANDS",
    "R40_MM",
    "SINGLE_BANDS",
    "StageSketch",
    "even_chain",
    "even_single",
    "layout_of",
    "machine",
    "stage_of",
    "targets_of",
]

R40_MM = (900, 950, 1000, 1060, 1120, 1180, 1250, 1320, 1400, 1500, 1600, 1700, 1800, 1900, 2000)
"""Fifteen stock lengths of section A, GOST 1284.3-96, table 19."""
OUTER_EDGE = 0.03
Band = tuple[float, float, int]
CHAIN_BANDS: tuple[Band, ...] = ((180, 420, 2), (420, 1000, 2), (1000, 2200, 2))
SINGLE_BANDS: tuple[Band, ...] = ((520, 1100, 2), (1100, 2400, 2))


class StageSketch(NamedTuple):
    """What one stage of an invented machine is made from; lengths in millimetres."""

    grid_mm: float
    belts_mm: Sequence[float]
    window_mm: float
    sizes_mm: tuple[float, float] = (75.0, 230.0)
    centre_mm: tuple[float, float] = (220.0, 500.0)
    clearance_mm: float = 10.0
    rays: bool = False
    """Whether a listed pair of sizes stands for a ray, half a grid step either way, as with a turned cone."""
    cone: bool = True


def stage_of(number: int, sketch: StageSketch) -> StageProblem:
    """Return a stage with the same listed sizes on both sides."""
    low, high = sketch.sizes_mm
    listed = tuple(float(size) for size in np.arange(low, high + 1e-9, sketch.grid_mm))
    sides = [_side(f"stage[{number}].{name}", listed, sketch) for name in ("driver", "driven")]
    return StageProblem(
        key=f"stage[{number}]",
        driver=sides[0],
        driven=sides[1],
        belts=tuple(
            BeltChoice(section="A", marking=f"A {length:g}", length_mm=length, window_mm=sketch.window_mm)
            for length in sketch.belts_mm
        ),
        centre_mm=sketch.centre_mm,
        clearance_mm=sketch.clearance_mm,
    )


def targets_of(bands: Sequence[Band], *, cap: float = 0.1) -> Targets:
    """Return the targets of some bands, the outermost edges widened."""
    last = len(bands) - 1
    return Targets(
        bands=tuple(
            BandTarget(
                name=f"band {number + 1}",
                low_rpm=low * (1 - OUTER_EDGE if number == 0 else 1),
                high_rpm=high * (1 + OUTER_EDGE if number == last else 1),
                top=number == last,
                want=want,
            )
            for number, (low, high, want) in enumerate(bands)
        ),
        lo_rpm=bands[0][0],
        hi_rpm=bands[-1][1],
        end_miss_most=cap,
        unevenness_most=cap,
    )


def layout_of(positions: tuple[int, ...], order: str = "coarse") -> Layout:
    """Return a layout with one of the two plain orders of its series.

    Examples
    --------
    >>> layout_of((2, 3), "fine").title
    '2x3, fine stage first'
    """
    return next(one for one in orders(positions) if one.order == "one stage" or one.order.startswith(order))


def machine(
    layout: Layout, sketches: Sequence[StageSketch], bands: Sequence[Band], motor_rpm: float = 1420.0, cap: float = 0.1
) -> Problem:
    """Return the problem of an invented machine: least J."""
    return Problem(
        layout=layout,
        motor_rpm=motor_rpm,
        stages=tuple(stage_of(number, sketch) for number, sketch in enumerate(sketches)),
        targets=targets_of(bands, cap=cap),
    )


def even_single(grid_mm: int, positions: int, travel_mm: float) -> Problem:
    """Return one of the single stages whose least unevenness is known from outside.

    One belt of 1300 mm, sizes of 60 to 230 mm, first speed in 500 to 600 rpm, last in 2200 to 2700 rpm.
    """
    low, high = (500.0, 600.0), (2200.0, 2700.0)
    targets = Targets(
        bands=tuple(
            BandTarget(name=name, low_rpm=span[0], high_rpm=span[1], top=True)
            for name, span in (("first", low), ("last", high))
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
    sketch = StageSketch(grid_mm, (1300,), travel_mm, (60.0, 230.0), (300.0, 500.0), cone=False)
    return Problem(layout=layout_of((positions,)), motor_rpm=1425.0, stages=(stage_of(0, sketch),), targets=targets)


def even_chain(grid_mm: int) -> Problem:
    """Return one of the two-stage machines whose least unevenness is known from outside."""
    bands = [(150.0, 450.0, 2), (450.0, 1200.0, 3), (1200.0, 2600.0, 2)]
    targets = Targets(
        bands=tuple(
            BandTarget(name=f"band {number}", low_rpm=low, high_rpm=high, top=number == 2, want=want)
            for number, (low, high, want) in enumerate(bands)
        ),
        lo_rpm=150,
        hi_rpm=2600,
        distinct=0.0,
        ratio_least=1.05,
        end_miss_most=inf,
        unevenness_most=inf,
        end_weight=0.0,
    )
    first = StageSketch(grid_mm, (1400,), 30, (60.0, 250.0), (300.0, 500.0), cone=False)
    second = StageSketch(grid_mm, (1300,), 3, (60.0, 250.0), (300.0, 450.0), cone=False)
    return Problem(
        layout=layout_of((2, 4)),
        motor_rpm=1425.0,
        stages=(stage_of(0, first), stage_of(1, second)),
        targets=targets,
    )


def _side(key: str, listed: tuple[float, ...], sketch: StageSketch) -> SideSizes:
    if not sketch.rays:
        return SideSizes(key=key, ready_mm=listed, cone=sketch.cone)
    return SideSizes(
        key=key, turned_mm=sketch.sizes_mm, listed_mm=listed, grid_mm=sketch.grid_mm, cone=sketch.cone, width_mm=17.7
    )
