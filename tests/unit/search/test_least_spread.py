"""The least spread of series and the rules of a series, against looking at every ratio and every speed."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from math import inf, log

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.records import BandTarget, Layout
from optimizer.search.fit import SeriesRules
from optimizer.series import least_spread
from tests.unit.search.machines import two_stage_machine
from tests.unit.search.made_up import OFFSETS, made_up_rules

Floats = NDArray[np.float64]


def spread_at(parts: list[Floats], offsets: list[Floats], ratio: float) -> float:
    """Return the sum of spreads of one design at one ratio."""
    return sum(float(np.ptp(part - o * ratio)) for part, o in zip(parts, offsets, strict=True))


def plain_spread(parts: list[Floats], offsets: list[Floats], least: float) -> float:
    """Return the least sum of spreads: it turns only where two positions of a stage lie level."""
    turns = [least]
    for part, o in zip(parts, offsets, strict=True):
        turns += [(part[p] - part[q]) / (o[p] - o[q]) for p, q in combinations(range(o.size), 2)]
    return min(spread_at(parts, offsets, ratio) for ratio in turns if ratio >= least)


@pytest.mark.parametrize(("least", "steep"), [(0.0, 1.0), (0.02, 1.0), (0.3, 1.0), (2.0, 1.0), (0.0, 30.0)])
@pytest.mark.parametrize("positions", [(1,), (2,), (5,), (1, 3), (2, 3), (2, 2, 2)])
def test_the_least_spread_is_that_over_all_turns(positions: tuple[int, ...], least: float, steep: float) -> None:
    """For logs at random, rising or falling, the spread is the least over all ratios, and the ratio one that has it."""
    rng = np.random.default_rng(13)
    offsets = [np.array(row, dtype=float) for row in OFFSETS[positions]]
    rises = rng.uniform(-0.1, 0.5, (25, 1))
    parts = [steep * (o * rises + rng.normal(0, 0.2, (25, o.size))) for o in offsets]
    spread, ratio = least_spread(parts, offsets, least)
    for design in range(25):
        own = [part[design] for part in parts]
        expected = plain_spread(own, offsets, least)
        assert spread[design] == pytest.approx(expected, abs=1e-11)
        assert ratio[design] >= least
        assert spread_at(own, offsets, float(ratio[design])) == pytest.approx(expected, abs=1e-11)


def test_designs_beyond_interest_are_infinite_the_others_exact() -> None:
    """With a limit each of its own: just at its spread a design is worked out, a little below it is not."""
    rng = np.random.default_rng(14)
    offsets = [np.array(row, dtype=float) for row in OFFSETS[2, 3]]
    parts = [o * 0.2 + rng.normal(0, 0.1, (40, o.size)) for o in offsets]
    exact = least_spread(parts, offsets)[0]
    assert least_spread(parts, offsets, 0.0, exact + 1e-12)[0] == pytest.approx(exact, abs=1e-12)
    limited = least_spread(parts, offsets, 0.0, exact / 4)[0]
    assert np.all((limited == inf) | (np.abs(limited - exact) < 1e-12))
    assert (limited == inf).sum() > 30


def plain_judge(rules: SeriesRules, parts: list[Floats], most: float) -> dict[int, float]:
    """Return J of the designs that keep the rules, speed by speed."""
    found = {}
    for design in range(parts[0].shape[0]):
        own = [part[design] for part in parts]
        logs = [rules.base + sum(float(own[s][p]) for s, p in enumerate(place)) for place in rules.places]
        ends = [abs(logs[0] - rules.low), abs(logs[-1] - rules.high)]
        miss = max(ends) if len(logs) > 1 else abs(logs[0] - (rules.low + rules.high) / 2)
        delta = plain_spread(own, rules.offsets, rules.ratio_least) / 2
        j = rules.weights[0] * miss + rules.weights[1] * delta
        keeps = [miss <= rules.caps[0], delta <= rules.caps[1] + 1e-9, j <= most]
        keeps += [logs[0] >= rules.limits[0], logs[-1] <= rules.limits[1]]
        keeps += [b - a >= rules.distinct and b > a for a, b in pairwise(logs)]
        keeps += [sum(low <= log <= high for log in logs) >= want for low, high, want in rules.bands]
        if all(keeps):
            found[design] = j
    return found


@pytest.mark.parametrize(
    ("positions", "changes", "most"),
    [
        ((1,), {"caps": (0.1, 0.1), "limits": (6.7, 6.8)}, 0.05),
        ((2,), {"ratio_least": 0.0, "caps": (0.08, 0.0)}, inf),
        ((2,), {"ratio_least": 1.5, "weights": (0.5, 1.5)}, 0.04),
        ((3,), {"weights": (0.0, 1.0), "caps": (inf, 0.05)}, 0.04),
        ((5,), {"weights": (1.0, 0.0), "caps": (0.1, 0.08)}, 0.08),
        ((2, 3), {"limits": (5.98, 7.55), "bands": ((6.2, 6.7, 2), (6.7, 7.6, 3))}, 0.2),
        ((3, 2), {"distinct": 0.25, "ratio_least": 0.3}, 0.15),
        ((2, 2, 2), {"caps": (0.08, 0.04), "bands": ((6.0, 7.0, 4), (9.0, 9.5, 0))}, inf),
    ],
)
def test_designs_are_judged_as_each_rule_says(
    positions: tuple[int, ...], changes: dict[str, object], most: float
) -> None:
    """Of designs at random near a good series those are kept that keep every rule, with their J."""
    rng = np.random.default_rng(15)
    rules = made_up_rules(positions, **changes)
    step = 1.5 / max(1, rules.speeds - 1)
    shift = ((rules.low if rules.speeds > 1 else 6.75) - rules.base) / len(positions)
    parts = [o * step + shift + rng.normal(0, 0.05, (150, o.size)) for o in rules.offsets]
    rows, j = rules.judge(parts, most)
    expected = plain_judge(rules, parts, most)
    assert 0 < len(expected) < 150
    assert rows.tolist() == list(expected)
    assert j == pytest.approx(list(expected.values()), abs=1e-12)
    # a J of just what is allowed is
    row, value = int(rows[0]), float(j[0])
    assert rules.judge([part[[row]] for part in parts], value)[1].tolist() == [value]


def test_rules_are_read_from_a_problem_as_logarithms() -> None:
    """Motor 1000 rpm, gains of 0.5, 0.8 and 1.25: 500 rpm at unit ratios; edges of bands a billionth wider."""
    problem = two_stage_machine()
    bands = (
        BandTarget(name="slow", low_rpm=200, high_rpm=600, want=1),
        BandTarget(name="fast", low_rpm=600, high_rpm=900, want=3, top=True),
    )
    targets = problem.targets.model_copy(
        update={
            "bands": bands,
            "lo_rpm": 210.0,
            "hi_rpm": 880.0,
            "end_weight": 0.4,
            "unevenness_weight": 1.7,
            "end_miss_most": 0.11,
            "unevenness_most": 0.12,
            "distinct": 0.25,
            "ratio_least": 1.06,
            "never_below_rpm": 150.0,
            "never_above_rpm": 950.0,
        }
    )
    stages = tuple(s.model_copy(update={"gain": gain}) for s, gain in zip(problem.stages, (0.5, 0.8), strict=True))
    own = {"motor_rpm": 1000.0, "gain_out": 1.25, "stages": stages, "targets": targets}
    rules = SeriesRules.of(problem.model_copy(update=own))
    assert rules.base == pytest.approx(log(500))
    assert (rules.low, rules.high) == (log(210), log(880))
    assert (rules.weights, rules.caps) == ((0.4, 1.7), (0.11, 0.12))
    assert (rules.distinct, rules.ratio_least) == pytest.approx((log(1.25), log(1.06)))
    assert rules.limits == (log(150), log(950))
    (slow, fast) = rules.bands
    assert [slow[0] - log(200), slow[1] - log(600)] == pytest.approx([-1e-9, -1e-9], rel=1e-5)
    assert [fast[0] - log(600), fast[1] - log(900)] == pytest.approx([-1e-9, 1e-9], rel=1e-5)
    assert (slow[2], fast[2]) == (1, 3)
    assert [row.tolist() for row in rules.offsets] == [[0, 3], [0, 1, 2]]
    assert rules.places.tolist() == [[0, 0], [0, 1], [0, 2], [1, 0], [1, 1], [1, 2]]
    assert rules.speeds == 6
    free = targets.model_copy(update={"never_below_rpm": 0.0, "never_above_rpm": inf})
    assert SeriesRules.of(problem.model_copy(update={"targets": free})).limits == (-inf, inf)
    crawling = targets.model_copy(update={"never_below_rpm": 0.5})
    assert SeriesRules.of(problem.model_copy(update={"targets": crawling})).limits[0] == log(0.5)


def test_spreads_are_worked_out_as_far_as_they_are_of_interest(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice what J or the limit leaves, by the weight; no end without weight; of two speeds none is worked out."""
    asked: list[Floats | None] = []

    def spy(
        parts: list[Floats], offsets: list[Floats], ratio_least: float, most: Floats | None
    ) -> tuple[Floats, Floats]:
        asked.append(most)
        return least_spread(parts, offsets, ratio_least, most)

    monkeypatch.setattr("optimizer.search.fit.least_spread", spy)
    logs = np.array([[6.03, 6.78, 7.5], [6.0, 6.7, 7.41]])
    rules = made_up_rules((3,), base=6.9)
    for most, caps in ((0.2, (0.2, 0.15)), (9.0, (0.2, 0.15)), (0.2, (0.2, 0.05))):
        replace(rules, caps=caps).judge([logs - 6.9], most)
        left = [min(most - 0.7 * miss, 1.3 * caps[1]) for miss in (0.03, 0.09)]
        found = asked.pop()
        assert found is not None
        assert found - np.array(left) * 2 / 1.3 == pytest.approx(1e-9, rel=1e-4)
    replace(rules, weights=(1.0, 0.0)).judge([logs - 6.9], 0.2)
    assert asked.pop() is None
    two = made_up_rules((2,), ratio_least=0.0)
    assert two.judge([logs[:, [0, 2]] - 6.9], 1.0)[1] == pytest.approx([0.7 * 0.03, 0.7 * 0.09])
    assert asked == []
    replace(two, ratio_least=0.9).judge([logs[:, [0, 2]] - 6.9], 1.0)
    replace(rules, ratio_least=0.0).judge([logs - 6.9], 1.0)
    assert len(asked) == 2


def test_end_miss_of_one_speed_is_to_the_middle() -> None:
    """One speed: its distance from the middle of both ends; of more, the greater of both ends' distances."""
    one, many = made_up_rules((1,)), made_up_rules()
    ends = np.array([6.1, 5.9, 6.9]), np.array([7.3, 7.55, 7.5])
    assert one.end_miss(*ends) == pytest.approx([0.65, 0.85, 0.15])
    assert many.end_miss(*ends) == pytest.approx([0.2, 0.1, 0.9])
    assert Layout(positions=(1,), offsets=((0,),)).speeds == one.speeds == 1
