"""Design problems that several tests of the search share."""

from __future__ import annotations

import numpy as np

from optimizer.records import BandTarget, BeltChoice, Layout, Problem, SideSizes, StageProblem, Targets

__all__ = ["stage_of", "two_stage_machine"]


def stage_of(
    number: int, sizes_mm: tuple[float, float, float], belts_mm: tuple[float, ...], window_mm: float
) -> StageProblem:
    """Return a stage with both sides turned over a grid: from, to, step."""
    low, high, grid = sizes_mm
    sides = [
        SideSizes(
            key=f"stage[{number}].{name}",
            turned_mm=(low, high),
            listed_mm=tuple(map(float, np.arange(low, high + 1e-9, grid))),
            grid_mm=grid,
            rise_mm=1.0,
            tick_mm=1.0,
            outside_shift_mm=6.6,
            truing_mm=4.0,
            width_mm=30.0,
        )
        for name in ("driver", "driven")
    ]
    return StageProblem(
        key=f"stage[{number}]",
        driver=sides[0],
        driven=sides[1],
        belts=tuple(
            BeltChoice(section="A", marking=f"A {length:g}", length_mm=length, window_mm=window_mm)
            for length in belts_mm
        ),
        centre_mm=(220.0, 500.0),
        clearance_mm=10.0,
        least_wrap_deg=90.0,
        belt_speed_m_s=30.0,
    )


def two_stage_machine(grid_mm: float = 15.0, window_mm: float = 5.0) -> Problem:
    """Return a small machine with two positions before three, both cones turned."""
    bands = (
        BandTarget(name="slow", low_rpm=250 / 1.03, high_rpm=600, want=2),
        BandTarget(name="fast", low_rpm=600, high_rpm=1900 * 1.03, top=True, want=2),
    )
    return Problem(
        layout=Layout(positions=(2, 3), offsets=((0, 3), (0, 1, 2))),
        motor_rpm=1420,
        stages=tuple(stage_of(i, (75.0, 210.0, grid_mm), (1120.0, 1250.0), window_mm) for i in range(2)),
        targets=Targets(bands=bands, lo_rpm=250, hi_rpm=1900),
    )
