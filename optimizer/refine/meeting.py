"""Which choices of ticks of different stages have settings of a shared mount in common."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from optimizer.records.coupling import Coupling, settings_of
from optimizer.refine.ticks import Options

__all__ = ["Meeting", "meeting_of", "meets"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
Meeting = tuple[tuple[Floats, Floats], ...]
"""For every shared mount, the greatest of the least settings of every choice and the least of its greatest."""


def meeting_of(
    couplings: Sequence[Coupling], stage: int, forgives_mm: float, options: Sequence[Options], rows: Rows
) -> Meeting:
    """Return between which settings choices of one stage, an array (choices, positions) of its options, are fitted."""
    found = []
    for coupling in couplings:
        low, high = np.full(len(rows), -np.inf), np.full(len(rows), np.inf)
        belt = coupling.belt_of(stage)
        for position, option in enumerate(options if belt is not None else ()):
            assert belt is not None
            least, most = settings_of(belt, option.centre_mm, forgives_mm)
            low, high = np.maximum(low, least[rows[:, position]]), np.minimum(high, most[rows[:, position]])
        found.append((low, high))
    return tuple(found)


def meets(parts: Sequence[Meeting], places: Rows) -> NDArray[np.bool_]:
    """Tell which combinations, an array (combinations, stages) of places among the choices, have common settings.

    Examples
    --------
    Of the second stage the first choice meets that of the first stage, the second lies beyond it:

    >>> one = ((np.array([0.0]), np.array([1.0])),)
    >>> other = ((np.array([0.5, 2.0]), np.array([1.5, 3.0])),)
    >>> meets([one, other], np.array([[0, 0], [0, 1]])).tolist()
    [True, False]
    """
    good = np.ones(len(places), dtype=bool)
    for mount in range(len(parts[0])):
        low, high = np.full(good.size, -np.inf), np.full(good.size, np.inf)
        for stage, part in enumerate(parts):
            least, most = (end[places[:, stage]] for end in part[mount])
            good &= (least <= high + 1e-9) & (low <= most + 1e-9)
            low, high = np.maximum(low, least), np.minimum(high, most)
    return good
