"""Small machines whose figures can be worked out by hand."""

from __future__ import annotations

from math import inf, pi

import numpy as np

from optimizer.tolerance.turning import Stage, Turning

__all__ = ["EQUAL_MM", "equal_stage", "held"]

EQUAL_MM = 2 * 300 + pi * 100
"""Length of a belt about two pulleys of 100 mm whose shafts are 300 mm apart."""


def equal_stage(positions: int, window_mm: float = 0.5, centres_mm: tuple[float, float] = (-inf, inf)) -> Stage:
    """Return a stage of pulleys of 100 mm, all turned, with the driver's columns before the driven's."""
    sizes = np.full(positions, 100.0)
    places = np.arange(positions, dtype=np.intp)
    return Stage(sizes, sizes, EQUAL_MM, False, centres_mm, window_mm, places, places + positions)


def held(
    stage: Stage,
    speed_within: float = 0.5,
    unevenness_most: float = inf,
    limits_mm: tuple[float, float] = (inf, inf),
    fastest_rpm: float = inf,
) -> Turning:
    """Return a machine of one stage at 1000 rpm, with what it is held to; by itself to hardly anything."""
    count = stage.positions
    sizes = 2 * count
    return Turning(
        stages=(stage,),
        places=np.arange(count, dtype=np.intp)[:, None],
        log_rpm=np.log(1000 * stage.driver_mm / stage.driven_mm),
        speed_within=speed_within,
        log_within=(np.full(count, -inf), np.log(np.full(count, fastest_rpm))),
        unevenness_most=unevenness_most,
        down_mm=np.full(sizes, limits_mm[0]),
        up_mm=np.full(sizes, limits_mm[1]),
    )
