"""What must hold of the scales that rays are trimmed by."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog

from optimizer.geometry.cones import mate_for_ratio_mm
from optimizer.records import BeltChoice, SideSizes, StageProblem
from optimizer.search.pairs import StagePairs, lay_belts
from optimizer.search.trim import trimmed
from tests.sampled import sampled

Floats = NDArray[np.float64]
PLACES = 21
"""Places of the window that the linear program is tried at; the code tries 18 others."""
LENGTH_MM = 1100.0


def stage_of(grid_mm: float, rise_mm: float, window_mm: float) -> StageProblem:
    """Return a stage with both sides turned."""
    driver, driven = (
        SideSizes(
            key=f"stage[0].{name}",
            turned_mm=(60.0, 200.0),
            listed_mm=tuple(map(float, np.arange(60, 200.1, grid_mm))),
            grid_mm=grid_mm,
            rise_mm=rise_mm,
        )
        for name in ("driver", "driven")
    )
    belt = BeltChoice(section="A", marking="A 1100", length_mm=LENGTH_MM, window_mm=window_mm)
    return StageProblem(
        key="stage[0]", driver=driver, driven=driven, belts=(belt,), centre_mm=(250.0, 400.0), clearance_mm=5.0
    )


def cones_run(sizes: Floats, rise_mm: float) -> bool:
    """Tell whether sizes are equal to their neighbours or rise by enough."""
    rises = np.diff(sizes)
    return bool(np.all((np.abs(rises) <= 1e-9) | (rises >= rise_mm - 1e-9)))


def drawn(stage: StageProblem, pairs: StagePairs, positions: int, random: np.random.Generator) -> NDArray[np.int64]:
    """Draw pairs that lie near each other, slowest first; empty where they are no cones, or not within the window."""
    first = random.integers(len(pairs))
    window = stage.belts[0].window_mm
    near = np.abs(pairs.centre_low - pairs.centre_low[first]) < window + stage.driver.grid_mm
    near &= np.abs(pairs.driver_mm - pairs.driver_mm[first]) < 4 * stage.driver.grid_mm
    if near.sum() < positions:
        return np.empty(0, dtype=np.int64)
    rows = random.choice(np.flatnonzero(near), positions, replace=False)
    rows = rows[np.argsort(pairs.log_ratio[rows])]
    fits = pairs.centre_low[rows].max() - pairs.centre_high[rows].min() <= window
    cones = cones_run(pairs.driver_mm[rows], stage.driver.rise_mm) and cones_run(
        -pairs.driven_mm[rows], stage.driven.rise_mm
    )
    return rows if fits and cones else np.empty(0, dtype=np.int64)


def scales_exist(stage: StageProblem, pairs: StagePairs, rows: NDArray[np.int64]) -> bool:
    """Tell whether a linear program finds scales at any place of the window."""
    matrix, most = [], []
    for sizes, sign, side in ((pairs.driver_mm[rows], 1, stage.driver), (pairs.driven_mm[rows], -1, stage.driven)):
        for i in range(1, rows.size):
            row = np.zeros(rows.size)
            row[i - 1], row[i] = sign * sizes[i - 1], -sign * sizes[i]
            equal = abs(sizes[i] - sizes[i - 1]) <= 1e-9
            matrix += [row, -row] if equal else [row]
            most += [1e-9, 1e-9] if equal else [-side.rise_mm]
    near, far, window = pairs.centre_low[rows], pairs.centre_high[rows], stage.belts[0].window_mm
    for place in np.linspace(near.max() - window, far.min(), PLACES):
        closest = np.maximum(near, place)
        farthest = np.maximum(closest, np.minimum(far, place + window))
        least, greatest = (
            mate_for_ratio_mm(pairs.driver_mm[rows] / pairs.driven_mm[rows], LENGTH_MM, centre)[0]
            / pairs.driver_mm[rows]
            for centre in (farthest, closest)
        )
        low = np.maximum(least, pairs.scale_low[rows])
        high = np.maximum(low, np.minimum(greatest, pairs.scale_high[rows]))
        bounds = list(zip(low.tolist(), high.tolist(), strict=True))
        if linprog(np.zeros(rows.size), A_ub=np.array(matrix), b_ub=most, bounds=bounds).status == 0:
            return True
    return False


@pytest.mark.parametrize("seed", sampled(range(2), slow=(0,)))
def test_where_no_scales_are_found_there_are_none(seed: int) -> None:
    """Rays that trimming gives up have no scales by a linear program either, so that no design is lost to the proof."""
    random = np.random.default_rng(seed)
    kept = given_up = 0
    for grid_mm, rise_share, window_mm in [(5, 0.6, 0.2), (10, 0.2, 1.0), (10, 0.95, 0.05), (20, 1.0, 4.0)]:
        stage = stage_of(grid_mm, rise_share * grid_mm, window_mm)
        positions = int(random.integers(2, 5))
        pairs = lay_belts(stage, positions=positions)
        for _ in range(40):
            rows = drawn(stage, pairs, positions, random)
            if not rows.size:
                continue
            if trimmed(stage, pairs, rows, 5.0) is not None:
                kept += 1
            else:
                given_up += 1
                assert not scales_exist(stage, pairs, rows), (pairs.driver_mm[rows], pairs.driven_mm[rows])
    assert kept > 5 and given_up > 5
