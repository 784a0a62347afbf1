"""The sizes of a stage that may face each other: on the grid, on ticks, on cones that exist."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.independent.stage_numbers import Array, Numbers

__all__ = ["Final", "Pairs", "facing_pairs"]

Run = tuple[float | None, ...]


class Final(NamedTuple):
    """Sizes of one stage about which choices are drawn: pitch diameters, and the pitch length of the belt."""

    a: Array
    b: Array
    length: float


@dataclass(frozen=True)
class Pairs:
    """Facing sizes, with the half width of the scale of turned pairs, and the position a kept cone gives them to."""

    a: Array
    b: Array
    reach: Array
    place: NDArray[np.int64]

    @property
    def log_ratio(self) -> Array:
        """Logarithm of the ratio, without slip."""
        return np.log(self.a / self.b)


def facing_pairs(numbers: Numbers, final: Final, kind: str) -> list[Pairs]:
    """Return the facing sizes of a kind, once for every way in which kept cones may stand."""
    if not numbers.driver.kept and not numbers.driven.kept:
        a, b, reach = _facing(numbers, (None, None), final, kind)
        return [Pairs(a, b, reach, np.full(len(a), -1))]
    found = []
    for run in _runs(numbers, len(final.a)):
        rows = [_facing(numbers, (x, y), final, kind) for x, y in zip(*run, strict=True)]
        place = np.concatenate([np.full(len(a), p) for p, (a, _, _) in enumerate(rows)])
        a, b, reach = (np.concatenate(column) for column in zip(*rows, strict=True))
        found.append(Pairs(a, b, reach, place))
    return found


def _facing(
    numbers: Numbers, kept: tuple[float | None, float | None], final: Final, kind: str
) -> tuple[Array, Array, Array]:
    """Return what may face each other where steps are kept, or nothing is: sizes, half width of the scale."""
    near = kind == "ticks"
    sides = numbers.driver, numbers.driven
    blocks = []
    for turned in product((True, False), repeat=2):
        rays = all(turned) and kept == (None, None) and not near
        options = []
        for side, own, turns, sizes in zip(sides, kept, turned, (final.a, final.b), strict=True):
            if own is not None:
                options.append(np.empty(0) if turns else np.array([own]))
            else:
                options.append(_sizes(side.listed if rays else side.ticks, sizes, near) if turns else side.fixed)
        both = np.array(list(product(*options))).reshape(-1, 2)
        larger, first = both.max(axis=1), both[:, 0] >= both[:, 1]
        reach = np.where(first, *numbers.grids) / 2 / larger if rays and len(both) else np.zeros(len(both))
        blocks.append((both[:, 0], both[:, 1], reach))
    a, b, reach = (np.concatenate(column) for column in zip(*blocks, strict=True))
    return a, b, reach


def _sizes(sizes: Array, final: Array, near: bool) -> Array:
    if not near or not sizes.size:
        return sizes
    tick = float(np.diff(sizes).min()) if sizes.size > 1 else 1.0
    return sizes[(np.abs(sizes[:, None] - final[None, :]) <= 8.5 * tick).any(axis=1)]


def _runs(numbers: Numbers, count: int) -> list[tuple[Run, Run]]:
    """Return the runs of kept cones that may face each other, slowest position first."""

    def windows(kept: Run) -> list[Run]:
        return [kept[k : k + count] for k in range(len(kept) - count + 1)] if kept else [(None,) * count]

    both = list(product(windows(numbers.driver.kept), windows(numbers.driven.kept)))
    if numbers.stage.driver.reversible or numbers.stage.driven.reversible:
        both += [(x, y[::-1]) for x, y in both]
    return [*both, *((x[::-1], y[::-1]) for x, y in both)]
