"""Narrower settings for rays on a shared cone, where one movement sets both belts."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimizer.records.middle import MiddleProblem
from optimizer.search.middle.choices import BeltOver

__all__ = ["narrow_settings"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
ROUNDING_MM = 1e-5


def narrow_settings(
    problem: MiddleProblem,
    over: tuple[BeltOver, BeltOver],
    belts: tuple[int, int],
    choice: Ints,
    ray: NDArray[np.bool_],
    places: tuple[Floats, Floats],
) -> NDArray[np.bool_]:
    """Say in place how far the settings of a row's two belts lie apart, and tell which rows have a common scale.

    Let D be the setting that the first belt of a row wants less that of its second. Two rows p and q take a position
    each way, so that ``s1_p − s2_q`` and ``s1_q − s2_p`` are both no more than the belts forgive; their sum is
    ``D_p + D_q``. One scale of a row moves both its settings, and D is so nearly straight in it that it lies between
    its values at the ends, but for twice what it leaves the line by half way.

    Parameters
    ----------
    problem
        The machine, with a coupling.
    over, belts
        How the belts of either stage lie, and which one of them counts.
    choice, ray
        The rows: places of their sizes, and whether they are rays.
    places
        Least and greatest (3, rows): settings of both belts, and their difference widened by what the belts forgive.
    """
    assert problem.coupling is not None
    low, high = places
    lines = []
    for stage, belt in enumerate(belts):
        pick = belt, choice[:, stage], choice[:, stage + 1]
        arrays = (over[stage].scale_low, over[stage].scale_high, over[stage].near_mm, over[stage].far_mm)
        lines.append([array[pick] for array in arrays])
    start, stop = np.maximum(lines[0][0], lines[1][0]), np.minimum(lines[0][1], lines[1][1])
    apart = []
    forgiven = np.zeros(len(choice))
    for scale in (start, (start + stop) / 2, stop):
        settings, spared = [], np.zeros(len(choice))
        for stage, (least, most, near, far) in enumerate(lines):
            path, half = problem.coupling.belts[stage].path, over[stage].stage.belts[belts[stage]].forgives_mm / 2
            slope = np.where(most > least, (near - far) / np.where(most > least, most - least, 1.0), 0.0)
            centre = far + slope * (scale - least)
            own = path.setting_mm(centre)
            settings.append(own)
            spared += np.maximum(
                np.abs(path.setting_mm(centre + half) - own), np.abs(path.setting_mm(centre - half) - own)
            )
        apart.append(settings[0] - settings[1])
        forgiven = np.maximum(forgiven, spared)
    bent = 2 * np.abs(apart[1] - (apart[0] + apart[2]) / 2) + ROUNDING_MM
    off = bent + 1.1 * forgiven + 0.02 * (stop > start)
    low[2] = np.where(ray, np.minimum(apart[0], apart[2]) - off, -np.inf)
    high[2] = np.where(ray, np.maximum(apart[0], apart[2]) + off, np.inf)
    return np.asarray(~ray | (start <= stop))
