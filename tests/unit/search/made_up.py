"""Rules of a series and pairs of sizes made up for tests of single parts of the search."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from optimizer.records import Layout
from optimizer.search.fit import SeriesRules
from optimizer.search.pairs import StagePairs
from optimizer.search.reach import Reach

__all__ = ["OFFSETS", "PlainProgram", "made_up_pairs", "made_up_rules", "parts_of"]

Floats = NDArray[np.float64]
OFFSETS: dict[tuple[int, ...], tuple[tuple[int, ...], ...]] = {
    (1,): ((0,),),
    (2,): ((0, 1),),
    (3,): ((0, 1, 2),),
    (5,): ((0, 1, 2, 3, 4),),
    (1, 3): ((0,), (0, 1, 2)),
    (2, 3): ((0, 3), (0, 1, 2)),
    (3, 2): ((0, 1, 2), (0, 3)),
    (2, 2, 2): ((0, 4), (0, 1), (0, 2)),
}
"""A layout of so many positions each."""


def made_up_rules(positions: tuple[int, ...] = (2, 3), **changes: Any) -> SeriesRules:
    """Return rules that say something different of everything; logarithms, the changes last."""
    layout = Layout(positions=positions, offsets=OFFSETS[positions])
    rules = SeriesRules(
        base=6.9,
        places=np.array(layout.places),
        offsets=[np.array(row, dtype=float) for row in layout.offsets],
        low=6.0,
        high=7.5,
        weights=(0.7, 1.3),
        caps=(0.2, 0.15),
        distinct=0.04,
        ratio_least=0.02,
        limits=(-inf, inf),
        bands=(),
    )
    return replace(rules, **changes)


def parts_of(rules: SeriesRules, logs: Floats) -> list[Floats]:
    """Return one row of log ratios a stage, cut out of a row of all stages' positions."""
    ends = np.cumsum([o.size for o in rules.offsets])
    return [part[None, :] for part in np.split(logs, ends[:-1])]


def made_up_pairs(seed: int, count: int, **columns: Any) -> StagePairs:
    """Return pairs whose figures have nothing to do with each other, on two belts in two variants."""
    rng = np.random.default_rng(seed)
    belt = rng.integers(0, 2, count).astype(np.int16)
    near = rng.uniform(300, 420, count)
    low = rng.uniform(0.97, 1.0, count)
    own: dict[str, Any] = {
        "driver_mm": rng.uniform(70, 200, count),
        "driven_mm": rng.uniform(70, 200, count),
        "driver_source": np.zeros(count, dtype=np.int8),
        "driven_source": np.zeros(count, dtype=np.int8),
        "place": np.full(count, -1, dtype=np.int16),
        "variant": rng.integers(0, 2, count).astype(np.int16),
        "belt": belt,
        "window_mm": np.array([4.0, 6.0])[belt],
        "scale_low": low,
        "scale_high": low + rng.uniform(0, 0.03, count),
        "centre_low": near,
        "centre_high": near + rng.uniform(0, 5, count),
        "log_ratio": rng.uniform(-1, 1, count),
        "entering": rng.uniform(7, 9, count),
        "leaving": rng.uniform(7, 9, count),
        "disc_mm": rng.uniform(80, 220, count),
        "timber_mm3": rng.uniform(1e5, 1e6, count),
    }
    return StagePairs(**{**own, **columns})


@dataclass
class PlainProgram:
    """The least of something over all series that keep the rules, by one linear program over all speeds.

    Variables are the log ratios of all positions, ln of the first term and of the ratio of the fitted series, end miss
    and unevenness: every speed may lie away from its term by the unevenness. No stage's own spread is in it.
    """

    rules: SeriesRules
    reach: Reach

    def __post_init__(self) -> None:
        self.starts = np.concatenate([[0], np.cumsum([o.size for o in self.rules.offsets])])
        self.count = int(self.starts[-1])

    def row(self, **parts: float | Floats) -> Floats:
        """Return a row by what it holds: log ratios, first term, ratio, miss, unevenness."""
        found = np.zeros(self.count + 4)
        found[: self.count] = parts.get("logs", 0.0)
        for place, name in enumerate(("term", "ratio", "miss", "delta")):
            found[self.count + place] = parts.get(name, 0.0)
        return found

    def logs(self, k: int) -> Floats:
        """Return which log ratios add up to a speed."""
        found = np.zeros(self.count)
        for stage, position in enumerate(self.rules.places[k]):
            found[self.starts[stage] + position] = 1.0
        return found

    def least(self, objective: Floats, runs: list[tuple[int, int, float, float]], most_j: float = inf) -> float:
        """Return the least of a row with speeds from one to another inside edges, infinity where none can be."""
        rules = self.rules
        rows = [*self._of_series(), *self._of_cuts()]
        for low, high, least, most in [(0, rules.speeds - 1, *rules.limits), *runs]:
            for k in (low, high):
                rows += [(self.row(logs=-self.logs(k)), rules.base - least)] if least > -inf else []
                rows += [(self.row(logs=self.logs(k)), most - rules.base)] if most < inf else []
        if most_j < inf:
            rows.append((self.row(miss=rules.weights[0], delta=rules.weights[1]), most_j))
        spans = [span for span, offsets in zip(self.reach.spans, rules.offsets, strict=True) for _ in offsets]
        spans += [(-inf, inf), (rules.ratio_least, inf), (0.0, rules.caps[0]), (0.0, rules.caps[1])]
        matrix, most_of = np.array([row for row, _ in rows]), np.array([value for _, value in rows])
        result = linprog(objective, A_ub=matrix, b_ub=most_of, bounds=spans)
        return float(result.fun or 0.0) if result.status == 0 else inf

    def _of_series(self) -> Iterator[tuple[Floats, float]]:
        """Yield that speeds lie near their terms, in order, the outer ones near the ends."""
        rules, last = self.rules, self.rules.speeds - 1
        ends = {0: rules.low, last: rules.high} if last else {0: (rules.low + rules.high) / 2}
        for k in range(last + 1):
            logs = self.logs(k)
            for sign in (1.0, -1.0):
                yield self.row(logs=sign * logs, term=-sign, ratio=-sign * k, delta=-1.0), 0.0
                if k in ends:
                    yield self.row(logs=sign * logs, miss=-1.0), sign * (ends[k] - rules.base)
            if k < last:
                yield self.row(logs=logs - self.logs(k + 1)), -max(rules.distinct, 0.0)

    def _of_cuts(self) -> Iterator[tuple[Floats, float]]:
        """Yield what the reach leaves to first and last positions."""
        for cut in self.reach.cuts:
            logs = np.zeros(self.count)
            for t in range(cut.stage):
                logs[self.starts[t + 1] - 1] += cut.before
                logs[self.starts[t]] += cut.slowest
            logs[self.starts[cut.stage]] += cut.first
            logs[self.starts[cut.stage + 1] - 1] += cut.last
            yield self.row(logs=logs), cut.most
