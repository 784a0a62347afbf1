"""The chance that all is well, by trying many sets of errors exactly."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.tolerance.rows import EVENNESS, PARTS, Rows, row_changes, speed_weights
from optimizer.tolerance.turning import Turning, spreads_mm

__all__ = ["SAMPLES", "SEED", "Cut", "Drawn", "chance_by_cuts", "drawn", "kept"]

Array = NDArray[np.float64]

SAMPLES = 4096
SEED = 20_260_102
ROUNDING = 1e-9
"""By how much a demand may be passed without being broken [mm, or share]."""


class Drawn(NamedTuple):
    """What many sets of errors came to."""

    all_well: float
    """Share of the sets that keep every demand."""
    parts: tuple[float, ...]
    """Share that keeps those of each part, in the order of `PARTS`."""
    speed_sd: Array
    """Standard deviation of the logarithm of every speed."""
    spread_sd_mm: Array
    """Standard deviation of the spread of every stage's own centre distances."""
    spread_mm: Array
    """Spread of every stage that 19 of 20 sets stay below."""


class Cut(NamedTuple):
    """How sizes are cut: where one aims first, when one cuts again, where one aims then, all from the drawing."""

    first_mm: Array
    above_mm: Array
    """A size found above this is cut once more, where all is not well."""
    second_mm: Array


def drawn(turning: Turning, rows: Rows, sd_mm: Array, samples: int = SAMPLES, seed: int = SEED) -> Drawn:
    """Return what independent normal errors about the drawing come to, worked out exactly.

    Parameters
    ----------
    turning, rows
        The machine, and what it is held to.
    sd_mm
        Standard deviation of every turned size's running diameter [mm].
    samples, seed
        How many sets are tried, and the seed of the random numbers.
    """
    errors = np.random.default_rng(seed).standard_normal((samples, turning.sizes)) * sd_mm
    changed = row_changes(turning, errors)
    broken = _broken(turning, rows, changed)
    parts = tuple(1 - float(np.mean(broken[:, part])) for part in range(len(PARTS)))
    speeds = changed @ speed_weights(turning).T
    spreads = spreads_mm(turning, changed)
    return Drawn(
        1 - float(np.mean(np.any(broken, axis=1))),
        parts,
        np.std(speeds, axis=0),
        np.std(spreads, axis=0),
        np.quantile(spreads, 0.95, axis=0),
    )


def kept(turning: Turning, rows: Rows, errors_mm: Array) -> NDArray[np.bool_]:
    """Return which sets of errors keep every demand."""
    well: NDArray[np.bool_] = ~np.any(_broken(turning, rows, row_changes(turning, errors_mm)), axis=1)
    return well


def chance_by_cuts(
    turning: Turning, rows: Rows, sd_mm: Array, cut: Cut, samples: int = SAMPLES, seed: int = SEED
) -> float:
    """Return the chance that all is well where one measures all sizes and cuts those left large once more."""
    source = np.random.default_rng(seed)
    first = cut.first_mm + source.standard_normal((samples, turning.sizes)) * sd_mm
    again = source.standard_normal((samples, turning.sizes)) * sd_mm
    well = kept(turning, rows, first)
    if np.all(well):
        return 1.0
    bad, again = first[~well], again[~well]
    second = np.where(bad > cut.above_mm, np.minimum(cut.second_mm + again, bad), bad)
    return float((np.sum(well) + np.sum(kept(turning, rows, second))) / samples)


def _broken(turning: Turning, rows: Rows, changed: Array) -> NDArray[np.bool_]:
    """Return which parts every set breaks, one row a set, one column a part.

    A row that even the greatest changes of all sets together cannot use up is not looked at.
    """
    greatest = np.abs(rows.weights) @ np.max(np.abs(changed), axis=0)
    some = rows.but((greatest > rows.left) & (rows.part != EVENNESS))
    passed = changed @ some.weights.T > some.left + ROUNDING
    found = np.zeros((changed.shape[0], len(PARTS)), dtype=np.bool_)
    for part in range(len(PARTS)):
        own = some.part == part
        found[:, part] = np.any(passed[:, own], axis=1) if np.any(own) else False
    if np.any((greatest > rows.left) & (rows.part == EVENNESS)):
        found[:, EVENNESS] = _uneven(turning, changed)
    return found


def _uneven(turning: Turning, changed: Array) -> NDArray[np.bool_]:
    """Return in which sets no even series has every speed within the unevenness allowed.

    A series of slope s does where ``|y_k − y_i − (k − i)·s| ≤ 2·δ`` for any two speeds: where the greatest of all the
    least slopes is at most the least of all the greatest.
    """
    low, high = np.triu_indices(turning.series.size, 1)
    apart = high - low
    weights, logs = speed_weights(turning)[turning.series], turning.log_rpm[turning.series]
    rise = (weights[high] - weights[low]) / apart[:, None]
    drawn_rise = (logs[high] - logs[low]) / apart
    slope = changed @ rise.T + drawn_rise
    spare = 2 * (turning.unevenness_most + ROUNDING) / apart
    uneven: NDArray[np.bool_] = np.max(slope - spare, axis=1) > np.min(slope + spare, axis=1)
    return uneven
