"""The linear program of a series: its rows, its choices of speeds that count, its answers."""

from __future__ import annotations

from itertools import pairwise, product
from math import inf, log

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.records import BandTarget, Layout
from optimizer.search import bound, search
from optimizer.search.bound import SeriesProgram, _Case, lower_bound
from optimizer.search.fit import SeriesRules
from optimizer.search.reach import Cut, Reach
from tests.unit.search.machines import two_stage_machine
from tests.unit.search.made_up import PlainProgram, made_up_rules

Floats = NDArray[np.float64]
WIDE = (-3.0, 3.0)


def test_rows_name_what_they_stand_for() -> None:
    """Two positions before three: five log ratios, ln of the ratio, miss, unevenness, two levels a stage."""
    names = ["x00", "x01", "x10", "x11", "x12", "ratio", "miss", "delta", "top0", "low0", "top1", "low1"]
    program = SeriesProgram(made_up_rules(), None)

    def named(row: Floats) -> dict[str, float]:
        return {name: float(value) for name, value in zip(names, row, strict=True) if value}

    assert named(program.speed(0)) == {"x00": 1, "x10": 1}
    assert named(program.speed(4)) == {"x01": 1, "x11": 1}
    assert named(program.place(1, 2)) == {"x12": 1}
    assert named(program.rise(1, 1)) == {"x10": -1, "x11": 1}
    assert named(program.rise(0, 1)) == {"x00": -1, "x01": 1}
    assert named(program.rise(1, 0)) == {}
    assert (named(program.ratio), named(program.delta)) == ({"ratio": 1}, {"delta": 1})
    assert named(program.j) == {"miss": 0.7, "delta": 1.3}


def plain_slacks(rules: SeriesRules, reach: Reach, at: Floats) -> list[float]:
    """Return what every rule leaves at some values of the variables, the rules read one by one."""
    ends = np.cumsum([0, *(o.size for o in rules.offsets)])
    x = [at[a:b] for a, b in pairwise(ends)]
    (ratio, miss, delta), levels = at[ends[-1] : ends[-1] + 3], at[ends[-1] + 3 :].reshape(-1, 2)
    logs = [sum(float(x[s][p]) for s, p in enumerate(place)) + rules.base for place in rules.places]
    slacks = [float(delta - sum(top - low for top, low in levels) / 2)]
    for own, offsets, (top, low) in zip(x, rules.offsets, levels, strict=True):
        for value, offset in zip(own, offsets, strict=True):
            slacks += [float(top - (value - offset * ratio)), float(value - offset * ratio - low)]
    middle = (rules.low + rules.high) / 2
    for speed, end in ((logs[0], rules.low), (logs[-1], rules.high)) if len(logs) > 1 else ((logs[0], middle),):
        slacks += [float(miss - (speed - end)), float(miss + (speed - end))]
    slacks += [logs[0] - rules.limits[0]] if rules.limits[0] > -inf else []
    slacks += [rules.limits[1] - logs[-1]] if rules.limits[1] < inf else []
    slacks += [upper - lower - max(rules.distinct, 0.0) for lower, upper in pairwise(logs)]
    for cut in reach.cuts:
        own = x[cut.stage]
        used = cut.first * own[0] + cut.last * own[-1]
        used += sum(cut.before * before[-1] + cut.slowest * before[0] for before in x[: cut.stage])
        slacks.append(float(cut.most - used))
    return slacks


@pytest.mark.parametrize(
    ("positions", "changes"),
    [
        ((1,), {}),
        ((1,), {"limits": (6.1, 7.4)}),
        ((2,), {"limits": (6.0, inf)}),
        ((2, 3), {"limits": (-inf, 7.0)}),
        ((2, 3), {"distinct": -0.5}),
        ((2, 2, 2), {"limits": (5.9, 7.6)}),
    ],
)
def test_every_rule_is_a_row_that_leaves_what_the_rule_leaves(
    positions: tuple[int, ...], changes: dict[str, object]
) -> None:
    """At any values the rows leave what levels, spread, ends, limits, distinct speeds and cuts do, none besides."""
    rules = made_up_rules(positions, **changes)
    cuts = [Cut(s, -0.5 - s, 1.25 + s, 0.75 - s, 0.4 + s, 0.3 * s) for s in range(len(positions))]
    reach = Reach([WIDE] * len(positions), cuts)
    program = SeriesProgram(rules, reach)
    for at in np.random.default_rng(3).normal(0, 1, (4, len(program.j))):
        left = program._most - program._matrix @ at
        assert sorted(left.tolist()) == pytest.approx(sorted(plain_slacks(rules, reach, at)))


def test_bounds_are_those_of_reach_and_limits() -> None:
    """Log ratios keep the spans of their stages, the ratio its least, miss and unevenness their limits, levels none."""
    program = SeriesProgram(made_up_rules(), Reach([(-1.0, 2.0), (-4.0, 3.0)], []))
    spans = [(-1.0, 2.0)] * 2 + [(-4.0, 3.0)] * 3
    assert program._bounds == [*spans, (0.02, inf), (0.0, 0.2), (0.0, 0.15), *[(-inf, inf)] * 4]
    free = SeriesProgram(made_up_rules(), None)
    assert free._bounds[:5] == [(-15.0, 15.0)] * 5


ADJACENT = ((6.0, 6.4, 2), (6.4, 7.1, 2))
CASES: list[tuple[tuple[int, ...], dict[str, object]]] = [
    ((5,), {"bands": ADJACENT}),
    ((2, 3), {"bands": ((6.1, 6.5, 2), (6.6, 7.4, 3))}),
    ((3, 2), {"bands": ((6.05, 6.9, 2), (6.4, 7.2, 3)), "caps": (0.4, 0.3)}),
    ((5,), {"bands": ((6.0, 7.4, 2), (6.3, 6.9, 1)), "caps": (0.3, 0.3)}),
    ((2, 3), {"bands": ((6.3, 6.5, 1), (6.1, 6.2, 0), (7.4, 7.6, 1)), "limits": (6.05, 7.45)}),
    ((2, 2, 2), {"bands": ((6.2, 6.5, 3),), "weights": (1.0, 0.2), "caps": (inf, 0.2)}),
    ((3,), {"bands": ((6.1, 6.7, 2),), "caps": (inf, inf), "distinct": 0.5, "ratio_least": 0.7}),
    ((5,), {"bands": ((6.0, 6.1, 4),)}),
    ((5,), {"bands": ((6.0, 6.5, 1), (6.0, 7.0, 2))}),
    ((5,), {"bands": ((6.0, 7.2, 2), (6.3, 7.2, 1))}),
    ((1,), {"bands": ((6.6, 6.7, 1),)}),
]


def all_choices(rules: SeriesRules) -> list[float]:
    """Return the least J of every choice of speeds that count for which there is one.

    Of two bands of which the second begins and ends no lower, a run in the second that ends before that in the first
    need not be looked at: exchanged, the runs serve as well. Bands that only touch have no speed in common.
    """
    plain = PlainProgram(rules, Reach([WIDE] * len(rules.offsets), []))
    objective = plain.row(miss=rules.weights[0], delta=rules.weights[1])
    wants = sorted(band for band in rules.bands if band[2])
    found = []
    for starts in product(*(range(rules.speeds - want + 1) for *_, want in wants)):
        runs = [(a, a + want - 1, low, high) for a, (low, high, want) in zip(starts, wants, strict=True)]
        swapped = any(
            other[0] <= one[1] if one[3] <= other[2] else other[3] >= one[3] and other[1] < one[1]
            for one, other in pairwise(runs)
        )
        if not swapped:
            found.append(plain.least(objective, runs))
    return sorted(value for value in found if value < inf)


@pytest.mark.parametrize(("positions", "changes"), CASES)
def test_choices_of_the_speeds_that_count_are_all_there_with_their_least_j(
    positions: tuple[int, ...], changes: dict[str, object]
) -> None:
    """Every choice, tried one after the other over all speeds, has its case with its least J; no other case is kept."""
    rules = made_up_rules(positions, **changes)
    program = SeriesProgram(rules, Reach([WIDE] * len(positions), []))
    expected = all_choices(rules)
    assert sorted(case.least_j for case in program._cases) == pytest.approx(expected, abs=1e-7)
    assert program.least_j == pytest.approx(min(expected, default=inf), abs=1e-7)


def test_wants_that_are_left_aside_bound_nothing() -> None:
    """Without wants there is one case, that of the bare series; with them four speeds of five in ln 0.1 are none."""
    rules = made_up_rules((5,), bands=((6.0, 6.1, 4),))
    program = SeriesProgram(rules, None, wants=False)
    assert [case.least_j for case in program._cases] == pytest.approx([0.0], abs=1e-9)
    assert SeriesProgram(rules, None)._cases == []
    assert SeriesProgram(made_up_rules((5,), limits=(7.0, inf)), None).least_j == inf


def test_what_limits_leave_decides_where_speeds_may_lie() -> None:
    """Steps of 0.5 from 6, each away by 0.25 + 2·0.125 = 0.5 at most: figures that are whole in binary."""
    program = SeriesProgram(made_up_rules((5,), low=6.0, high=8.0, caps=(0.25, 0.125)), None)
    # the second at 6.5 and the fourth at 7.5, the first at most 7.0, the last at least 7.0
    for edges, may in (((7.0, 7.0), True), ((7.0625, 7.5), False), ((6.5, 6.9375), False), ((6.0, 9.0), True)):
        assert program._may_lie(edges, (1, 3)) is may
    one = SeriesProgram(made_up_rules((1,), low=6.0, high=8.0, caps=(0.25, 0.125)), None)
    two = SeriesProgram(made_up_rules((2,), low=6.0, high=8.0, caps=(0.25, 0.125)), None)
    for edges, may in (((8.5, 9.0), True), ((8.5625, 9.0), False), ((6.0, 7.5), True), ((6.0, 7.4375), False)):
        assert two._may_lie(edges, (1, 1)) is may
    # a single speed is asked for in the middle of both ends, at 7
    for edges, may in (((7.5, 9.0), True), ((7.5625, 9.0), False), ((6.0, 6.5), True), ((6.0, 6.4375), False)):
        assert one._may_lie(edges, (0, 0)) is may


@pytest.mark.parametrize("number", [0, 1, 4, 5])
def test_least_values_of_rows_are_those_over_all_speeds(number: int) -> None:
    """First, last, ratio, a rise, the greatest unevenness: of each choice as a program over all speeds has them."""
    positions, changes = CASES[number]
    rules = made_up_rules(positions, **changes)
    cut = Cut(0, -1.0, 1.0, 0.0, 1.45)
    reach = Reach([WIDE] * len(positions), [cut])
    program, plain = SeriesProgram(rules, reach), PlainProgram(rules, reach)
    most = program.least_j + 0.04
    rise = np.zeros(plain.count)
    rise[0], rise[1] = -1.0, 1.0
    last = rules.speeds - 1
    objectives = [program.speed(0), -program.speed(last), program.ratio, program.rise(0, 1), -program.delta]
    rows = [
        plain.row(logs=plain.logs(0)),
        plain.row(logs=-plain.logs(last)),
        plain.row(ratio=1.0),
        plain.row(logs=rise),
        plain.row(delta=-1.0),
    ]
    found = program.least(objectives, most)
    assert found
    expected = []
    wants = sorted(band for band in rules.bands if band[2])
    for starts in product(*(range(rules.speeds - want + 1) for *_, want in wants)):
        runs = [(a, a + want - 1, low, high) for a, (low, high, want) in zip(starts, wants, strict=True)]
        if all(a[1] < b[0] for a, b in pairwise(runs)) and plain.least(rows[0], runs, most) < inf:
            expected.append([plain.least(row, runs, most) for row in rows])
    assert np.array(sorted(found)) == pytest.approx(np.array(sorted(expected)), abs=1e-6)


def test_of_many_choices_none_is_told_from_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    """As many as may be boxed are boxed by themselves; one more, and the series without its wants is."""
    rules = made_up_rules((5,), bands=((6.05, 6.9, 2),), caps=(0.4, 0.3))
    program = SeriesProgram(rules, None)
    count = len(program._cases)
    assert count > 1
    monkeypatch.setattr(bound, "MOST_CASES", count)
    assert len(program.least([program.speed(0)], 9.0)) == count
    monkeypatch.setattr(bound, "MOST_CASES", count - 1)
    ((least,),) = program.least([program.speed(0)], 9.0)
    assert least == pytest.approx(rules.low - rules.caps[0] - rules.base)
    dearest = max(case.least_j for case in program._cases)
    monkeypatch.setattr(bound, "MOST_CASES", count)
    assert len(program.least([program.speed(0)], dearest)) == count
    assert len(program.least([program.speed(0)], dearest - 1e-6)) < count


def test_what_has_no_solution_is_infinite_and_what_has_no_end_bounds_nothing() -> None:
    """Asked for J below the least there are none, one by one: infinity; an unevenness without limit: minus infinity."""
    program = SeriesProgram(made_up_rules((3,), weights=(1.0, 0.0), caps=(0.1, inf)), None)
    assert program.least([program.speed(0), -program.delta], 0.05) == [
        [pytest.approx(6.0 - 0.05 - 6.9, abs=1e-7), -inf],
    ]
    none = _Case(np.vstack([program._matrix, program.j]), np.append(program._most, -1.0), 0.0)
    assert program._solve_all(none, [program.speed(0), program.ratio]) == [inf, inf]


def test_a_lower_bound_is_the_greater_of_what_is_known_and_what_a_reach_leaves() -> None:
    """A reach of 1.4 for ends 1.5 apart misses each by 0.05 at least; an ideal series in a wide reach misses none."""
    rules = made_up_rules((5,), base=6.75, weights=(1.0, 1.0))
    wide, narrow = Reach([(-1.0, 1.0)], []), Reach([(-0.7, 0.7)], [])
    found, program = lower_bound(rules, 0.0, wide)
    assert found == 0.0 and not program._wants
    found, program = lower_bound(rules, 0.0, narrow)
    assert found == pytest.approx(0.05, abs=1e-9) and program._wants
    assert lower_bound(rules, 0.07, narrow)[0] == 0.07
    assert lower_bound(rules, 0.03, narrow)[0] == pytest.approx(0.05, abs=1e-9)
    assert lower_bound(rules, 0.03, wide)[1]._wants
    assert lower_bound(rules, inf, narrow)[0] == inf
    assert program.least_j == program._cases[0].least_j


def test_a_single_speed_may_lie_far_above_the_lower_end() -> None:
    """From 400 to 2200 rpm one speed is asked for at 938, and may miss it by a tenth: 1000 rpm is possible."""
    problem = two_stage_machine()
    bands = (
        BandTarget(name="lower", low_rpm=400, high_rpm=1000, want=0),
        BandTarget(name="upper", low_rpm=1000, high_rpm=2200, want=1, top=True),
    )
    targets = problem.targets.model_copy(update={"bands": bands, "lo_rpm": 400.0, "hi_rpm": 2200.0})
    layout = Layout(positions=(1,), offsets=((0,),))
    own = {"layout": layout, "stages": problem.stages[:1], "targets": targets}
    found = search(problem.model_copy(update=own))
    assert found.proof.status == "proved"
    assert log(1000 / (400 * 2200) ** 0.5) <= found.proof.listed <= 0.1
