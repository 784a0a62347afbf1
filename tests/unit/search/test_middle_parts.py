"""Parts of the search of a middle shaft: bounds, the plate, and what cannot be built."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise
from math import exp, log
from random import Random

import numpy as np
import pytest
from pydantic import ValidationError

from optimizer.records.candidate import PositionSizes, StageSizes
from optimizer.records.middle import MiddleCandidate, MiddleProblem, broken_middle_rules, plate_of
from optimizer.records.plate import even_subset
from optimizer.records.problem import BandTarget, BeltChoice, SideSizes, StageProblem, Targets
from optimizer.search.middle.targets import SpeedRules, wanting
from tests.oracle.plain import centre_mm, unevenness
from tests.search.middle_drill import drill

LATTICE = 16


def _lattice_gaps(levels: int, span: int) -> int:
    """Return the least largest gap of a shared cone of levels whose log ratios are whole numbers, by trying all."""
    least = span
    for top in range(levels - 1, span - levels + 2):
        for first in combinations(range(1, top), levels - 2):
            for second in combinations(range(1, span - top), levels - 2):
                one, other = (0, *first, top), (span - top, *reversed(second), 0)
                speeds = sorted(one[i] + other[j] for i in range(levels) for j in range(levels) if i != j)
                least = min(least, max(upper - lower for lower, upper in pairwise(speeds)))
    return least


def _rules(levels: int) -> SpeedRules:
    return SpeedRules.of(drill(10.0, levels=(levels, levels)), log(1720))


def test_three_levels_leave_a_gap_of_a_quarter_of_the_span() -> None:
    """On a lattice no cone of three levels has gaps below a quarter of its span, and some has just that."""
    assert _lattice_gaps(3, LATTICE) == LATTICE / _rules(3).steps


def test_four_levels_can_be_perfectly_even() -> None:
    """Twelve speeds eleven steps apart exist with all gaps alike, so that the bound of an eleventh can be reached."""
    assert _lattice_gaps(4, 11) == 11 / _rules(4).steps == 1


@pytest.mark.parametrize("levels", [2, 3, 4])
def test_no_speeds_have_an_f_below_the_bound(levels: int) -> None:
    """Random log ratios whose ends are within the limit never have an F below the bound."""
    rng, rules = Random(levels), _rules(levels)
    for _ in range(300):
        first = sorted(rng.uniform(0, 1) for _ in range(levels))
        second = sorted((rng.uniform(0, 1) for _ in range(levels)), reverse=True)
        logs = sorted(first[i] + second[j] for i in range(levels) for j in range(levels) if i != j)
        scale = (rules.high - rules.low + rng.uniform(-0.1, 0.1)) / (logs[-1] - logs[0])
        speeds = [rules.low + rng.uniform(-0.05, 0.05) + (value - logs[0]) * scale for value in logs]
        miss = max(abs(speeds[0] - rules.low), abs(speeds[-1] - rules.high))
        gap = max(upper - lower for lower, upper in pairwise(speeds))
        if miss <= rules.cap:
            f = rules.weights[0] * miss + rules.weights[1] * gap
            assert f >= rules.bound - 1e-12
            assert miss <= rules.miss_most(f)
            assert gap <= rules.gap_most(f, np.array([miss]))[0]


def test_the_speeds_wanted_to_close_gaps_are_counted() -> None:
    """A gap of 3.5 steps takes three more speeds, one of 1 none, whatever rounding makes of it."""
    assert wanting(np.array([[0.0, 3.5], [0.0, 1.0], [0.0, 1.0 + 1e-12]]), np.ones(3)).tolist() == [3, 0, 0]


@pytest.mark.parametrize("seed", range(12))
def test_the_plate_takes_the_largest_even_subset(seed: int) -> None:
    """Among all subsets with both ends none larger is within ±10(φ − 1) %, and none of its size is more even."""
    rng = Random(seed)
    logs = sorted(rng.uniform(0, 2) for _ in range(8))
    chosen = even_subset(logs)

    def delta(places: Sequence[int]) -> float:
        return unevenness([logs[place] for place in places])

    assert (chosen[0], chosen[-1]) == (0, 7)
    for count in range(len(chosen), 9):
        for middle in combinations(range(1, 7), count - 2):
            places = (0, *middle, 7)
            if count == len(chosen):
                assert delta(chosen) <= delta(places) + 1e-12
            else:
                # advised up to 10 % of (φ − 1), common practice, no source; the fitted line rises at least this a step
                least = (logs[-1] - logs[0] - 2 * delta(places)) / (count - 1)
                assert delta(places) > 0.10 * (exp(least) - 1) - 1e-12


def test_the_plate_keeps_what_bands_want() -> None:
    """A speed that spoils the series stays where its band wants it."""
    logs = [0.0, 1.0, 1.3, 2.0, 3.0]
    assert even_subset(logs) == (0, 1, 3, 4)
    assert 2 in even_subset(logs, [(1.25, 1.35, 1)])


def _machine(levels: Sequence[tuple[float, float, float]], *, distinct: float = 0.04) -> MiddleCandidate:
    """Return a shared cone of given sizes on belts that leave all the room they need."""
    keys = ("stage[0].driver", "stage[0].driven", "stage[1].driven")
    sides = [
        SideSizes(key=key, ready_mm=tuple(sorted({row[n] for row in levels})), rise_mm=1.0)
        for n, key in enumerate(keys)
    ]
    stages = []
    for number, (one, other) in enumerate(((sides[0], sides[1]), (sides[1], sides[2]))):
        belt = BeltChoice(section="A", marking="A 900", length_mm=900.0, window_mm=100.0)
        stages.append(
            StageProblem(key=f"stage[{number}]", driver=one, driven=other, belts=(belt,), centre_mm=(100.0, 500.0))
        )
    a, b, c = zip(*levels, strict=True)
    slowest, fastest = 1000 * a[0] / b[0] * b[-1] / c[-1], 1000 * a[-1] / b[-1] * b[0] / c[0]
    problem = MiddleProblem(
        motor_rpm=1000,
        stages=(stages[0], stages[1]),
        levels=(len(levels), len(levels)),
        targets=Targets(bands=(), lo_rpm=slowest, hi_rpm=fastest, distinct=distinct),
    )
    return MiddleCandidate(problem=problem, stages=_sizes(problem, levels))


def _sizes(problem: MiddleProblem, levels: Sequence[tuple[float, float, float]]) -> tuple[StageSizes, StageSizes]:
    made = []
    for number, rules in enumerate(problem.stages):
        positions = tuple(
            PositionSizes(
                driver_mm=row[number],
                driven_mm=row[number + 1],
                centre_mm=centre_mm(row[number], row[number + 1], rules.belts[0].length_mm) or 0.0,
                driver_source="ready",
                driven_source="ready",
            )
            for row in levels
        )
        made.append(StageSizes(belt=rules.belts[0], positions=positions))
    return made[0], made[1]


LEVELS = ((60.0, 120.0, 80.0), (80.0, 100.0, 100.0), (100.0, 80.0, 120.0))


def test_near_equal_speeds_count_once_and_stand_beside_the_one_shown() -> None:
    """Every position is on the plate, beside a speed it nearly equals, or among those left out, just once.

    Ratios 1/2, 4/5, 5/4 of the first belt and 3/2, 1, 2/3 of the second: positions (1, 2), (1, 3), (2, 1), (2, 3),
    (3, 1), (3, 2) give 500, 333, 1200, 533, 1875, 1250 rpm, so that 1200 and 1250 are one at 5 %, 500 and 533 are not.
    """
    plate = plate_of(_machine(LEVELS, distinct=0.05))
    rows = [*plate.speeds, *plate.left_out]
    assert sorted(p for row in rows for p in (row.position, *row.also)) == [
        (0, 1),
        (0, 2),
        (1, 0),
        (1, 2),
        (2, 0),
        (2, 1),
    ]
    near = [{row.position, *row.also} for row in rows if row.also]
    assert near == [{(1, 0), (2, 1)}]
    assert round(plate.speeds[0].rpm) == 333
    assert round(plate.speeds[-1].rpm) == 1875


def test_the_easier_of_near_equal_positions_moves_fewer_belts() -> None:
    """Where both keep the rules, the position is shown that moves fewer belts from the next slower speed shown."""
    plate = plate_of(_machine(LEVELS, distinct=0.05))
    for before, row in pairwise(plate.speeds):
        assert row.moved == sum(a != b for a, b in zip(before.position, row.position, strict=True))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"coupling": None, "levels": (3, 2)}, "as many levels"),
        ({"levels": (1, 1)}, "as many levels"),
        ({"levels": (6, 6)}, "2 to 20 positions"),
    ],
)
def test_machines_that_make_no_sense_cannot_be_built(change: dict[str, object], said: str) -> None:
    """Levels that do not pair, or too many of them, are refused."""
    problem = drill(10.0)
    with pytest.raises(ValidationError, match=said):
        MiddleProblem(**{**{name: getattr(problem, name) for name in MiddleProblem.model_fields}, **change})


def test_a_broken_rule_is_told_in_a_sentence() -> None:
    """Sizes that break a rule cannot be a candidate, and the sentence says which."""
    good = _machine(LEVELS)
    problem = good.problem
    turned = _sizes(problem, (LEVELS[0], LEVELS[2], LEVELS[1]))
    assert any("run the wrong way for a cone" in fault for fault in broken_middle_rules(problem, turned))
    assert any("order of their speeds" in fault for fault in broken_middle_rules(problem, turned))
    with pytest.raises(ValidationError, match="wrong way"):
        MiddleCandidate(problem=problem, stages=turned)
    other = (good.stages[0], _sizes(problem, ((60.0, 100.0, 80.0), *LEVELS[1:]))[1])
    assert any("one and the same step" in fault for fault in broken_middle_rules(problem, other))


def test_limits_of_speed_and_wants_are_rules_of_the_candidate() -> None:
    """Rims, belts, shafts, ends and wants are each told where they are passed."""
    good = _machine(LEVELS)
    first, second = good.problem.stages
    band = BandTarget(name="slow", low_rpm=300, high_rpm=400, want=2)
    # the middle shaft runs at most at 1000·100/80 = 1250 rpm, its rim of 120 mm then at 7.85 m/s, the spindle at 1875
    tight = {
        "middle rim": (
            first.model_copy(update={"driven": first.driven.model_copy(update={"rim_speed_m_s": 7.8})}),
            second,
        ),
        "middle shaft": (first.model_copy(update={"driven_rpm": 1249.0}), second),
        "spindle": (first, second.model_copy(update={"driven_rpm": 1874.0})),
        # belt 2 on the largest step runs with the first belt on the last level: 120 mm at 1250 rpm
        "second belt": (first, second.model_copy(update={"belt_speed_m_s": 7.8})),
    }
    said = {
        "middle rim": "rim speed",
        "middle shaft": "driven shaft",
        "spindle": "driven shaft",
        "second belt": "belt speed",
    }
    for name, stages in tight.items():
        problem = good.problem.model_copy(update={"stages": stages})
        assert [said[name] in fault for fault in broken_middle_rules(problem, good.stages)] == [True], name
    wanting_more = good.problem.targets.model_copy(update={"bands": (band,)})
    faults = broken_middle_rules(good.problem.model_copy(update={"targets": wanting_more}), good.stages)
    assert faults == ["band slow: 1 distinct speeds where 2 are wanted"]
