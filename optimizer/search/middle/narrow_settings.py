"""Narrower settings for rays on a shared cone, where one movement sets both belts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.settings import Path
from optimizer.records.middle import MiddleProblem
from optimizer.search.middle.choices import BeltOver

__all__ = ["narrow_settings"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
ROUNDING_MM = 1e-5
OFF_MM = 0.02
"""More than an own centre distance that is taken as straight in the scale leaves its line."""
AROUND = 1.1
"""What belts forgive in settings is so much at the most of what it is at the row itself."""


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
    lines = [_Line.of(over[stage], belts[stage], choice[:, stage : stage + 2]) for stage in (0, 1)]
    paths = [problem.coupling.belts[stage].path for stage in (0, 1)]
    start, stop = np.maximum(lines[0].low, lines[1].low), np.minimum(lines[0].high, lines[1].high)
    apart = []
    forgiven = np.zeros(len(choice))
    for scale in (start, (start + stop) / 2, stop):
        settings, spared = zip(
            *(line.settings(path, scale) for line, path in zip(lines, paths, strict=True)), strict=True
        )
        apart.append(settings[0] - settings[1])
        forgiven = np.maximum(forgiven, spared[0] + spared[1])
    bent = 2 * np.abs(apart[1] - (apart[0] + apart[2]) / 2) + ROUNDING_MM
    off = bent + 1.1 * forgiven + OFF_MM * (stop > start)
    low[2] = np.where(ray, np.minimum(apart[0], apart[2]) - off, -np.inf)
    high[2] = np.where(ray, np.maximum(apart[0], apart[2]) + off, np.inf)
    fit = ~ray | (start <= stop)
    if problem.levels[0] > 2 and len(choice):
        alike = bent + 3 * AROUND * float(np.max(forgiven, initial=0.0)) + OFF_MM
        fit &= ~ray | _narrowed(lines, paths, (start, stop), (apart[0], apart[2]), alike, (ray, low, high))
    return np.asarray(fit)


class _Line(NamedTuple):
    """A belt's own centre distance at every row as a line in the row's scale."""

    low: Floats
    high: Floats
    """Least and greatest scale."""
    near_mm: Floats
    far_mm: Floats
    """Own centre distances at the greatest and the least."""
    half_mm: float
    """Half of what the belt forgives."""

    @classmethod
    def of(cls, over: BeltOver, belt: int, choice: Ints) -> _Line:
        pick = belt, choice[:, 0], choice[:, 1]
        arrays = (over.scale_low, over.scale_high, over.near_mm, over.far_mm)
        low, high, near, far = (array[pick] for array in arrays)
        return cls(low, high, near, far, over.stage.belts[belt].forgives_mm / 2)

    def settings(self, path: Path, scale: Floats) -> tuple[Floats, Floats]:
        """Return the setting of every row at a scale, and how far the belt lets it be off at the most."""
        span = np.where(self.high > self.low, self.high - self.low, 1.0)
        slope = np.where(self.high > self.low, (self.near_mm - self.far_mm) / span, 0.0)
        centre = self.far_mm + slope * (scale - self.low)
        own = path.setting_mm(centre)
        far, near = path.setting_mm(centre + self.half_mm), path.setting_mm(centre - self.half_mm)
        return own, np.maximum(np.abs(far - own), np.abs(near - own))


def _narrowed(
    lines: Sequence[_Line],
    paths: Sequence[Path],
    scales: tuple[Floats, Floats],
    apart: tuple[Floats, Floats],
    alike: Floats,
    places: tuple[NDArray[np.bool_], Floats, Floats],
) -> NDArray[np.bool_]:
    """Narrow in place where rays on three levels or more want the mount, and tell which have such a scale.

    With a third row r, ``D_p = (s1_p − s2_q) + (s2_q − s1_r) + (s1_r − s2_p)``, each of which is no more than the belts
    forgive. So one scale brings both belts of a row to nearly the same setting, and that leaves little of the scale.
    """
    ray, low, high = places
    rise = apart[1] - apart[0]
    steep = np.where(np.abs(rise) > 0, rise, 1.0)
    ends = np.sort(np.stack([(-alike - apart[0]) / steep, (alike - apart[0]) / steep]), axis=0)
    always = np.abs(apart[0]) <= alike
    first = np.where(rise == 0, np.where(always, 0.0, 2.0), np.maximum(ends[0], 0.0))
    last = np.where(rise == 0, np.where(always, 1.0, -1.0), np.minimum(ends[1], 1.0))
    there = first <= last
    kept = ray & there
    for stage, (line, path) in enumerate(zip(lines, paths, strict=True)):
        span = scales[1] - scales[0]
        one, other = (line.settings(path, scales[0] + np.clip(part, 0.0, 1.0) * span) for part in (first, last))
        room = np.maximum(one[1], other[1]) * AROUND + OFF_MM
        low[stage] = np.where(kept, np.maximum(low[stage], np.minimum(one[0], other[0]) - room), low[stage])
        high[stage] = np.where(kept, np.minimum(high[stage], np.maximum(one[0], other[0]) + room), high[stage])
    return np.asarray(there & (low[0] <= high[0]) & (low[1] <= high[1]))
