"""A bench drill with a middle cone, in plain sizes, as several tests ask it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from optimizer.records.middle import MiddleProblem
from optimizer.records.problem import BandTarget, BeltChoice, SideSizes, StageProblem, Targets

__all__ = ["STOCK_MM", "drill"]

STOCK_MM = (700, 710, 725, 750, 775, 787, 800, 825, 838, 850, 863, 875, 900, 914, 925, 950, 975, 990, 1000)
"""Belt lengths of a section as a shop's stock might have them (invented)."""


def drill(
    grid_mm: float,
    belts_mm: Sequence[float] = (800.0,),
    window_mm: float = 3.0,
    *,
    levels: tuple[int, int] = (4, 4),
    shared: bool = True,
    bands: tuple[BandTarget, ...] = (),
) -> MiddleProblem:
    """Return a machine from 1720 rpm to 500…3000 rpm, all cones turned from 50 to 150 mm."""
    stages = []
    for number in (0, 1):
        sides = [
            SideSizes(
                key=f"stage[{number}].{name}",
                turned_mm=(50.0, 150.0),
                listed_mm=tuple(map(float, np.arange(50, 150.01, grid_mm))),
                grid_mm=grid_mm,
                rise_mm=5.0,
                outside_shift_mm=6.6,
                truing_mm=4.0,
                width_mm=30.0,
            )
            for name in ("driver", "driven")
        ]
        belts = tuple(
            BeltChoice(section="A", marking=f"A {length:g}", length_mm=float(length), window_mm=window_mm)
            for length in belts_mm
        )
        stages.append(
            StageProblem(
                key=f"stage[{number}]",
                driver=sides[0],
                driven=sides[1],
                belts=belts,
                centre_mm=(150.0, 350.0),
                slip=0.01,
                clearance_mm=10.0,
                least_wrap_deg=90.0,
                belt_speed_m_s=30.0,
            )
        )
    targets = Targets(bands=bands, lo_rpm=500, hi_rpm=3000)
    return MiddleProblem(motor_rpm=1720, stages=(stages[0], stages[1]), levels=levels, shared=shared, targets=targets)
