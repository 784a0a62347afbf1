"""The spans that a threshold leaves, each against its statement read one position at a time."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from scipy.optimize import linprog

from optimizer.search.bound import Boxes, SeriesProgram, StageBoxes, _Reach, boxes_at, boxes_by_program, narrowed
from optimizer.search.fit import SeriesRules
from optimizer.search.reach import Reach
from optimizer.series import least_spread
from tests.unit.search.made_up import OFFSETS, made_up_rules, parts_of

Span = tuple[float, float]
MARGIN = 1e-7
"""How much wider what the linear program says is taken, as it keeps its rules to this."""
SPANS: list[Span] = [(-0.8, 0.9), (-0.7, 0.5), (-0.3, 0.4)]
RULES: list[tuple[tuple[int, ...], dict[str, object]]] = [
    ((1,), {}),
    ((1,), {"limits": (6.7, 6.8)}),
    ((2,), {"caps": (0.05, 0.1)}),
    ((3,), {"caps": (0.02, 0.15)}),
    ((2, 3), {}),
    ((2, 3), {"caps": (0.2, 0.03), "limits": (6.05, 7.4)}),
    ((3, 2), {"weights": (0.0, 1.0)}),
    ((3, 2), {"weights": (2.0, 0.0), "ratio_least": 0.29}),
    ((2, 2, 2), {"weights": (0.5, 0.1), "caps": (inf, inf)}),
]


def most_of(rules: SeriesRules, most: float, misses: float, deltas: float) -> float:
    """Return the most that so many end misses and unevennesses can be together, by a program of two variables."""
    bounds = [(0.0, None if cap == inf else cap) for cap in rules.caps]
    result = linprog([-misses, -deltas], A_ub=[list(rules.weights)], b_ub=[most], bounds=bounds)
    return -float(result.fun or 0.0) if result.status == 0 else inf


def both(*spans: Span) -> Span:
    """Return what is in all of some spans."""
    return max(low for low, _ in spans), min(high for _, high in spans)


def plain_stage(rules: SeriesRules, spans: list[Span], boxes: Boxes, s: int) -> tuple[list[Span], list[Span]]:
    """Return places and rises of a stage's positions by what first, last, ratio and spread say of each."""
    offsets, last = rules.offsets[s], rules.offsets[s].size - 1
    others = [span for t, span in enumerate(spans) if t != s]
    least, most = sum(low for low, _ in others), sum(high for _, high in others)
    rises = [(0.0, 0.0)]
    rises += [(o * boxes.ratio[0] - boxes.spread, o * boxes.ratio[1] + boxes.spread) for o in offsets[1:]]
    lows = [max(spans[s][0], boxes.first[0] - rules.base - most)] * (last + 1)
    highs = [min(spans[s][1], boxes.last[1] - rules.base - least)] * (last + 1)
    highs[0] = min(highs[0], boxes.first[1] - rules.base - least)
    lows[last] = max(lows[last], boxes.last[0] - rules.base - most)
    lows = [lows[0], *(max(lows[p], lows[0] + rises[p][0]) for p in range(1, last + 1))]
    rest = [(offsets[last] - offsets[p]) * boxes.ratio[0] - boxes.spread for p in range(last)]
    highs = [*(min(highs[p], highs[last] - rest[p]) for p in range(last)), highs[last]]
    return list(zip(lows, highs, strict=True)), rises


def assert_stages(rules: SeriesRules, spans: list[Span], boxes: Boxes) -> None:
    """Hold places and rises of all stages against the plain ones."""
    assert len(boxes.stages) == len(rules.offsets)
    for s, stage in enumerate(boxes.stages):
        places, rises = plain_stage(rules, spans, boxes, s)
        assert stage.place == pytest.approx(np.array(places))
        assert stage.rise == pytest.approx(np.array(rises))


@pytest.mark.parametrize(("misses", "deltas"), [(2.0, 2.0), (1.0, 3.0), (3.0, 0.5), (0.0, 1.0), (1.0, 0.0)])
def test_miss_and_unevenness_together_reach_a_corner_of_what_is_left(misses: float, deltas: float) -> None:
    """For weights and limits at random, some of them nothing, the most of a sum is that of a linear program."""
    rng = np.random.default_rng(5)
    for _ in range(12):
        weights = tuple(float(w) for w in rng.uniform(0.1, 2, 2) * (rng.random(2) > 0.2))
        caps = tuple(float(c) for c in rng.uniform(0.01, 0.3, 2))
        most = float(rng.uniform(0.01, 0.3))
        rules = made_up_rules(weights=weights, caps=caps)
        assert _Reach.of(rules, most).sum(misses, deltas) == pytest.approx(most_of(rules, most, misses, deltas))


@pytest.mark.parametrize("most", [0.0, 0.04, 0.3])
@pytest.mark.parametrize(("positions", "changes"), RULES)
def test_spans_in_closed_form(positions: tuple[int, ...], changes: dict[str, object], most: float) -> None:
    """Ends within the greatest miss and the limits of speed, the ratio within both ends' and the series' swing."""
    rules = made_up_rules(positions, **changes)
    spans = SPANS[: len(positions)]
    boxes = boxes_at(rules, spans, most)
    miss, delta = most_of(rules, most, 1, 0), most_of(rules, most, 0, 1)
    steps = rules.speeds - 1
    ends = (rules.low, rules.high) if steps else ((rules.low + rules.high) / 2,) * 2
    first, last = (both((end - miss, end + miss), rules.limits) for end in ends)
    ratio = (rules.ratio_least, sum(b - a for a, b in spans) + rules.ratio_least + 1)
    if steps:
        # the ends may lie off by a miss each, and off the fitted series by the unevenness each
        swing, step = most_of(rules, most, 2, 2) / steps, (rules.high - rules.low) / steps
        ratio = both(ratio, (step - swing, step + swing))
    assert boxes.most == most
    assert boxes.spread == pytest.approx(2 * delta)
    assert (*boxes.first, *boxes.last) == pytest.approx((*first, *last))
    assert boxes.ratio == pytest.approx(ratio)
    assert_stages(rules, spans, boxes)


@pytest.mark.parametrize("positions", [(3,), (2, 3), (2, 2, 2)])
def test_no_design_up_to_a_threshold_lies_outside(positions: tuple[int, ...]) -> None:
    """For series at random near an even one, all log ratios, ends and ratio lie in the boxes of their own J."""
    rng = np.random.default_rng(9)
    rules = made_up_rules(positions, caps=(0.3, 0.3))
    step = 1.5 / (rules.speeds - 1)
    even = np.concatenate([np.array(row) * step for row in OFFSETS[positions]])
    shift = (rules.low - rules.base) / len(positions)
    for _ in range(30):
        parts = parts_of(rules, even + shift + rng.normal(0, 0.03, even.size))
        rows, (j, *_) = rules.judge(parts, inf)
        assert rows.size == 1
        boxes = boxes_at(rules, [(-3.0, 3.0)] * len(positions), float(j) + 1e-12)
        ratio = float(least_spread(parts, rules.offsets)[1][0])
        assert boxes.ratio[0] - 1e-9 <= ratio <= boxes.ratio[1] + 1e-9
        for stage, part in zip(boxes.stages, parts, strict=True):
            for span, values in ((stage.place, part[0]), (stage.rise, part[0] - part[0, 0])):
                assert np.all((span[:, 0] - 1e-9 <= values) & (values <= span[:, 1] + 1e-9))


def test_boxes_are_empty_where_any_span_is_the_wrong_way_round() -> None:
    """A span of one value holds that; of ratio, first, last, places and rises each alone may have nothing in it."""
    whole = np.array([[0.0, 0.0], [0.5, 0.6]])
    full = Boxes(0.1, 0.0, (0.2, 0.2), (6.0, 6.0), (7.0, 7.0), (StageBoxes(whole, whole), StageBoxes(whole, whole)))
    assert not full.empty
    reversed_ = np.array([[0.0, 0.0], [0.6, 0.5]])
    assert replace(full, ratio=(0.3, 0.2)).empty
    assert replace(full, first=(0.3, 0.2)).empty
    assert replace(full, last=(0.3, 0.2)).empty
    for broken in (StageBoxes(whole, reversed_), StageBoxes(reversed_, whole)):
        assert replace(full, stages=(full.stages[0], broken)).empty
        assert replace(full, stages=(broken, full.stages[0])).empty


@pytest.mark.parametrize(("positions", "changes"), RULES)
def test_what_a_known_stage_leaves_to_the_others(positions: tuple[int, ...], changes: dict[str, object]) -> None:
    """Its spread is gone from the unevenness, the miss is what J leaves beside it, ln φ lies in its span as well."""
    rules = made_up_rules(positions, **changes)
    spans = SPANS[: len(positions)]
    before = boxes_at(rules, spans, 0.2)
    nearer = [(low + 0.1, high - 0.15) for low, high in spans]
    found = narrowed(rules, nearer, before, 0.03, (0.2, 0.33))
    miss = (0.2 - rules.weights[1] * 0.03 / 2) / rules.weights[0] + MARGIN if rules.weights[0] else inf
    ends = (rules.low, rules.high) if rules.speeds > 1 else ((rules.low + rules.high) / 2,) * 2
    assert found.most == 0.2
    assert found.spread == pytest.approx(before.spread - 0.03)
    assert found.ratio == pytest.approx(both(before.ratio, (0.2, 0.33)))
    assert found.first == pytest.approx(both(before.first, (ends[0] - miss, ends[0] + miss)), abs=1e-12)
    assert found.last == pytest.approx(both(before.last, (ends[1] - miss, ends[1] + miss)), abs=1e-12)
    for s, (stage, known) in enumerate(zip(found.stages, before.stages, strict=True)):
        for mine, plain, old in zip(
            (stage.place, stage.rise), plain_stage(rules, nearer, found, s), (known.place, known.rise), strict=True
        ):
            expected = [both(a, tuple(b)) for a, b in zip(plain, old.tolist(), strict=True)]
            assert mine == pytest.approx(np.array(expected))


@pytest.mark.parametrize(
    ("positions", "changes"),
    [
        ((1,), {}),
        ((2,), {}),
        ((3,), {"bands": ((6.2, 7.0, 2),)}),
        ((2, 3), {"bands": ((6.1, 6.5, 2), (6.6, 7.4, 3))}),
        ((3, 2), {"caps": (0.03, 0.02)}),
    ],
)
def test_spans_by_program_are_what_is_in_both(positions: tuple[int, ...], changes: dict[str, object]) -> None:
    """Of each choice of the speeds that count: its least and greatest values, a margin beyond, within closed form."""
    rules = made_up_rules(positions, **changes)
    spans = SPANS[: len(positions)]
    program = SeriesProgram(rules, Reach(spans, []))
    most = program.least_j + 0.03
    closed = boxes_at(rules, spans, most)
    found = boxes_by_program(program, spans, most)
    last = rules.speeds - 1
    rows = {"first": program.speed(0), "last": program.speed(last), "ratio": program.ratio}
    for s, offsets in enumerate(rules.offsets):
        rows.update({f"place {s} {p}": program.place(s, p) for p in (0, offsets.size - 1)})
        rows.update({f"rise {s} {p}": program.rise(s, p) for p in range(1, offsets.size)})
    signed = [*rows.values(), *(-row for row in rows.values()), -program.delta]
    cases = program.least(signed, most)
    assert len(found) == len(cases) > 0
    for boxes, least in zip(found, cases, strict=True):
        lows, highs = least[: len(rows)], least[len(rows) : -1]
        spanned = {name: (a - MARGIN, MARGIN - b) for name, a, b in zip(rows, lows, highs, strict=True)}
        first, end = ((a + rules.base, b + rules.base) for a, b in (spanned["first"], spanned["last"]))
        assert boxes.most == most
        assert boxes.spread == pytest.approx(min(closed.spread, 2 * (MARGIN - least[-1])), abs=1e-9)
        ratio = both(closed.ratio, spanned["ratio"]) if last else closed.ratio
        assert boxes.ratio == pytest.approx(ratio, abs=1e-9)
        assert boxes.first == pytest.approx(both(closed.first, first), abs=1e-9)
        assert boxes.last == pytest.approx(both(closed.last, end), abs=1e-9)
        for s, stage in enumerate(boxes.stages):
            places, rises = plain_stage(rules, spans, boxes, s)
            for p in {0, len(places) - 1}:
                places[p] = both(places[p], spanned[f"place {s} {p}"])
            rises = [rises[0], *(both(rises[p], spanned[f"rise {s} {p}"]) for p in range(1, len(rises)))]
            assert stage.place == pytest.approx(np.array(places), abs=1e-9)
            assert stage.rise == pytest.approx(np.array(rises), abs=1e-9)
