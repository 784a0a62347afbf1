"""The best design of some spaces at or below a ceiling, with every tie told apart."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

import numpy as np
from numpy.typing import NDArray

from optimizer.records.middle import MiddleCandidate
from optimizer.search.limits import Meter
from optimizer.search.middle.settle import belts_that_fit, settled
from optimizer.search.middle.space import Space
from optimizer.search.middle.targets import SpeedRules
from optimizer.search.middle.walk import Ceiling, Designs, Walk

__all__ = ["Best", "sweep"]

Ints = NDArray[np.int64]
TOGETHER = 256
"""Designs whose belts are looked at together."""
TRIM = 5_000
"""Combinations that a design counts for which could not be scaled to fit, by the time it takes."""
DIGITS = 11
"""Values of F that agree to so many digits are a tie."""
Key = tuple[float, ...]


@dataclass
class Best:
    """The best design so far.

    Least F, then most distinct speeds, then least timber at the listed sizes, then the sizes themselves.
    """

    candidate: MiddleCandidate | None = None
    f: float = inf
    key: Key = field(default=(inf,))


def sweep(spaces: list[Space], rules: SpeedRules, ceiling: Ceiling, best: Best, meter: Meter) -> Best:
    """Return the best design with F up to the ceiling, the one known among them; the ceiling comes down with it.

    Raises
    ------
    LimitReachedError, AllowanceSpentError
        From the meter; the best so far is kept in what was given.
    """
    for space in spaces:
        for found in Walk(space, rules, ceiling, meter).designs():
            _consider(space, rules, found, ceiling, best, meter)
    return best


def _consider(space: Space, rules: SpeedRules, found: Designs, ceiling: Ceiling, best: Best, meter: Meter) -> None:
    gap = np.diff(found.speeds, axis=1).max(axis=1)
    f = rules.weights[0] * found.miss + rules.weights[1] * gap
    rows = np.flatnonzero(f <= min(ceiling.most, best.f) + 10.0**-DIGITS)
    good, distinct = rules.judge(found.speeds[rows])
    rows, distinct = rows[good], distinct[good]
    columns = [found.rows[slot][rows] for slot in space.slots]
    tables = [space.tables[slot.table] for slot in space.slots]
    if not rows.size:
        return
    timber = sum(table.timber_mm3[column] for table, column in zip(tables, columns, strict=True))
    sizes = np.concatenate([table.size_mm[column] for table, column in zip(tables, columns, strict=True)], axis=1)
    keys = np.column_stack([np.round(f[rows], DIGITS), -distinct, np.round(timber, 3), sizes])
    order = np.lexsort(keys.T[::-1])
    for start in range(0, order.size, TOGETHER):
        part = order[start : start + TOGETHER]
        if tuple(keys[part[0]]) >= best.key:
            return
        fitting = belts_that_fit(space, {s: c[part] for s, c in zip(space.slots, columns, strict=True)})
        for place in np.flatnonzero(fitting.any(axis=(1, 2))):
            key = tuple(map(float, keys[part[place]]))
            if key >= best.key:
                return
            chosen = {slot: int(column[part[place]]) for slot, column in zip(space.slots, columns, strict=True)}
            candidate = settled(space, chosen, fitting[place])
            if candidate is not None:
                best.candidate, best.f, best.key = candidate, float(f[rows[part[place]]]), key
                ceiling.most = min(ceiling.most, best.f)
                return
            meter.spend(TRIM)
