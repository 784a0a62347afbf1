"""What a choice promises is just what the best of the other stages' choices would make of it, where little is open."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.records import Layout
from optimizer.search.fit import Prospect, SeriesRules
from tests.oracle.plain import unevenness
from tests.unit.search.machines import two_stage_machine

Row = tuple[int, ...]


def rules_of(offsets: tuple[Row, ...], end: float, uneven: float) -> SeriesRules:
    """Return the rules of a layout by its offsets."""
    problem = two_stage_machine()
    layout = Layout(positions=tuple(map(len, offsets)), offsets=offsets)
    targets = problem.targets.model_copy(update={"bands": (), "end_weight": end, "unevenness_weight": uneven})
    stages = tuple(problem.stages[0] for _ in offsets)
    return SeriesRules.of(problem.model_copy(update={"layout": layout, "stages": stages, "targets": targets}))


@pytest.mark.parametrize(
    "offsets", [((0, 2), (0, 1)), ((0, 1), (0, 2)), ((0, 1),), ((0, 1, 2),), ((0,), (0, 1, 2)), ((0,),)]
)
@pytest.mark.parametrize("weights", [(0.7, 1.3), (1.0, 0.0)])
def test_with_one_choice_of_the_others_the_promise_is_the_j_itself(
    offsets: tuple[Row, ...], weights: tuple[float, float]
) -> None:
    """Two positions before two, or one stage of up to three: J by the triples of its speeds, not only a bound of it."""
    rng = np.random.default_rng(1)
    rules = rules_of(offsets, *weights)
    for _ in range(25):
        others = [np.sort(rng.normal(0, 0.5, len(row))) for row in offsets[:-1]]
        own = np.sort(rng.normal(-0.5, 0.7, len(offsets[-1])))
        first, last = sum(float(x[0]) for x in others), sum(float(x[-1]) for x in others)
        places = float(sum(row[-1] for row in offsets[:-1]))
        prospect = Prospect(rules, (first, first), (last, last), (last - first, last - first), places)
        logs = sorted(
            (sum(place), rules.base + sum(at))
            for place, at in zip(_products(offsets), _products([*others, own]), strict=True)
        )
        series = [value for _, value in logs]
        ends = [abs(series[0] - rules.low), abs(series[-1] - rules.high)]
        miss = abs(series[0] - (rules.low + rules.high) / 2) if len(series) == 1 else max(ends)
        expected = weights[0] * miss + weights[1] * unevenness(series, 1e-9)
        shuffled = rng.permutation(len(offsets[-1]))
        told = prospect.least_j(tuple(offsets[-1][n] for n in shuffled), own[None, shuffled])
        assert told == pytest.approx([expected], abs=1e-12)


def _products(rows: object) -> list[tuple[float, ...]]:
    """Return every combination of one value a row."""
    found: list[tuple[float, ...]] = [()]
    for row in rows:  # type: ignore[attr-defined]
        found = [(*start, float(value)) for start in found for value in row]
    return found


def test_of_several_choices_the_promise_is_of_the_best() -> None:
    """Misses alone, or the spread alone: the least over a fine grid of what the other stages may add."""
    rng = np.random.default_rng(4)
    for offsets in (((0, 2), (0, 1)), ((0, 1), (0, 2)), ((0, 3), (0, 1, 2))):
        for _ in range(6):
            a, b = (float(x) for x in np.sort(rng.normal(0.0, 0.4, 2)))
            c, d = (float(x) for x in np.sort(rng.normal(0.6, 0.4, 2)))
            e, f = (float(x) for x in np.sort(rng.normal(0.8, 0.5, 2)))
            own = np.sort(rng.normal(-0.5, 0.7, 2))
            ends = (0, offsets[-1][-1])
            by_miss, by_spread = (rules_of(offsets, *weights) for weights in ((1.0, 0.0), (0.0, 1.0)))
            places = float(offsets[0][-1])
            firsts, lasts = np.linspace(a, b, 101), np.linspace(c, d, 101)
            miss = max(
                float(np.abs(by_miss.base + own[0] + firsts - by_miss.low).min()),
                float(np.abs(by_miss.base + own[-1] + lasts - by_miss.high).min()),
            )
            told = Prospect(by_miss, (a, b), (c, d), (e, f), places).least_j(ends, own[None, :])
            assert told == pytest.approx([miss], abs=8e-3)
            spreads = [
                min(
                    abs(own[1] - own[0] - ends[1] * ln) + abs(rise - places * ln)
                    for ln in (rise / places, (own[1] - own[0]) / ends[1])
                )
                for rise in np.linspace(e, f, 101).tolist()
            ]
            told = Prospect(by_spread, (a, b), (c, d), (e, f), places).least_j(ends, own[None, :])
            assert told == pytest.approx([min(spreads) / 2], abs=8e-3)
