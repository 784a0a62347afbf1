"""Choices side by side, series of many designs, what a search may spend: each rule where it alone decides."""

from __future__ import annotations

from math import inf, log
from typing import Any

import numpy as np
import pytest

from optimizer.clock import Clock, LimitReachedError
from optimizer.records import BandTarget, Problem
from optimizer.search.carrying import Carrying
from optimizer.search.chains import Chain, Joined, _merge
from optimizer.search.fit import SeriesRules
from optimizer.search.limits import AllowanceSpentError, Meter, refuse_to_hold
from optimizer.search.tuples import Ceiling
from tests.unit.search.machines import two_stage_machine


def chain(**columns: float | tuple[float, ...]) -> Chain:
    """Return one choice that forbids nothing but what is named."""
    free = {
        "first": 0.0,
        "last": 0.5,
        "ratio_low": 0.0,
        "ratio_high": 1.0,
        "timber_mm3": 100.0,
        "entering": inf,
        "leaving": inf,
    }
    carrying = columns.pop("carrying", ())
    assert isinstance(carrying, tuple)
    figures: dict[str, Any] = {name: np.array([columns.get(name, value)]) for name, value in free.items()}
    return Chain(
        rows=(np.zeros((1, 2), dtype=np.int64),), carrying=tuple(np.array([value]) for value in carrying), **figures
    )


def stand_together(one: Chain, other: Chain, timber_most: float = inf) -> bool:
    """Tell whether two choices are kept side by side, the second driver turning at ln 7 plus the first's ratio."""
    join = Joined((), SeriesRules.of(two_stage_machine()), (6.0, 7.0), timber_most, Ceiling(inf, inf))
    nought = np.zeros(1, dtype=np.int64)
    return len(_merge(join, (one, nought), (other, nought))) == 1


@pytest.mark.parametrize(
    ("one", "other", "kept"),
    [
        pytest.param(chain(), chain(), True, id="nothing forbids it"),
        pytest.param(chain(ratio_low=0.8), chain(ratio_high=0.7), False, id="no common ratio"),
        pytest.param(chain(ratio_low=0.6), chain(ratio_high=0.7), True, id="a common ratio"),
        # the second driver turns at most at 7 + 0.5
        pytest.param(chain(last=0.5), chain(entering=7.4), False, id="the second driver too fast"),
        pytest.param(chain(last=0.5), chain(entering=7.5), True, id="the second driver just as fast as it may"),
        # and what it drives at 7 + 0.5 + 0.5
        pytest.param(chain(last=0.5), chain(last=0.5, leaving=7.9), False, id="the driven shaft too fast"),
        pytest.param(chain(last=0.5), chain(last=0.5, leaving=8.0), True, id="the driven shaft as fast as it may"),
        # slowest 7 - 0.2, fastest 7 + 0.5: spans of the slowest, of the fastest
        pytest.param(chain(first=-0.2), chain(carrying=(6.8, 7.0, 7.4, 7.5)), True, id="carries at both ends"),
        pytest.param(chain(first=-0.2), chain(carrying=(6.9, 7.3, 7.4, 7.6)), False, id="too slow to carry"),
        pytest.param(chain(first=-0.2), chain(carrying=(6.5, 6.7, 7.4, 7.6)), False, id="slowest too fast to carry"),
        pytest.param(chain(first=-0.2), chain(carrying=(6.5, 7.0, 7.6, 7.9)), False, id="fastest too slow to carry"),
        pytest.param(chain(first=-0.2), chain(carrying=(6.5, 7.0, 7.1, 7.4)), False, id="too fast to carry"),
    ],
)
def test_what_two_stages_must_keep_together(one: Chain, other: Chain, kept: bool) -> None:
    """Each rule lets a pair of choices pass that keeps it, and no other."""
    assert stand_together(one, other) is kept


def test_timber_of_two_stages_is_added() -> None:
    """100 and 100 are within 200, not within 199."""
    assert stand_together(chain(), chain(), 200.0)
    assert not stand_together(chain(), chain(), 199.0)


def series_of(**changes: float) -> SeriesRules:
    """Return the rules of three speeds, wanted from 500 to 2000 rpm by a motor of 1000 rpm, without bands."""
    problem = two_stage_machine()
    targets = problem.targets.model_copy(update={"bands": (), "lo_rpm": 500.0, "hi_rpm": 2000.0, **changes})
    layout = problem.layout.model_copy(update={"positions": (3,), "offsets": ((0, 1, 2),)})
    return SeriesRules.of(
        problem.model_copy(
            update={"layout": layout, "motor_rpm": 1000.0, "stages": problem.stages[:1], "targets": targets}
        )
    )


def kept_by(rules: SeriesRules, rpm: tuple[float, float, float], most: float = inf) -> list[float]:
    """Return J of a design by its speeds where it keeps the rules, nothing where it does not."""
    chosen, j = rules.judge([np.log([rpm]) - log(1000)], most)
    assert len(chosen) == len(j)
    return [float(value) for value in j]


def test_j_of_a_design_is_miss_and_half_the_spread() -> None:
    """500, 1100, 2000: no miss; the middle is ln 1.1 above the chord, half of it remains."""
    assert kept_by(series_of(), (500, 1100, 2000)) == pytest.approx([log(1.1) / 2])
    assert kept_by(series_of(end_weight=2.0), (510, 1020, 2040)) == pytest.approx([2 * log(1.02)])


@pytest.mark.parametrize(
    ("rules", "rpm", "kept"),
    [
        ({"end_miss_most": 0.10}, (550, 1000, 2000), True),  # ln 1.1 = 0.0953
        ({"end_miss_most": 0.09}, (550, 1000, 2000), False),
        ({"end_miss_most": 0.0}, (500, 1000, 2000), True),
        ({"unevenness_most": 0.05}, (500, 1100, 2000), True),  # 0.0477
        ({"unevenness_most": 0.04}, (500, 1100, 2000), False),
        ({"never_below_rpm": 500.0}, (500, 1000, 2000), True),
        ({"never_below_rpm": 501.0}, (500, 1000, 2000), False),
        ({"never_above_rpm": 2000.0}, (500, 1000, 2000), True),
        ({"never_above_rpm": 1999.0}, (500, 1000, 2000), False),
        ({"distinct": 0.99}, (500, 1000, 2000), True),
        ({"distinct": 1.01}, (500, 1000, 2000), False),
        ({"end_miss_most": 1.0, "unevenness_most": 1.0, "distinct": 0.0}, (500, 500, 2000), False),
        ({"end_miss_most": 1.0, "unevenness_most": 1.0, "distinct": 0.0}, (500, 510, 2000), True),
    ],
)
def test_each_limit_of_the_series_decides_alone(
    rules: dict[str, float], rpm: tuple[float, float, float], kept: bool
) -> None:
    """Miss, unevenness, outer speeds, distinct speeds: just within each limit a design is kept, beyond it is not."""
    assert bool(kept_by(series_of(**rules), rpm)) is kept


def test_only_designs_up_to_a_j_are_kept() -> None:
    """J is ln(1.1)/2 = 0.04766: kept up to 0.0477, not up to 0.0476; the same for a miss of ln 1.02 = 0.0198."""
    for rpm, most in (((500, 1100, 2000), 0.0477), ((510, 1020, 2040), 0.0199)):
        assert kept_by(series_of(), rpm, most)
        assert not kept_by(series_of(), rpm, most - 1.5e-4)


def limited(**changes: object) -> Problem:
    """Return a machine on whose belts limits of grip lie."""
    problem = two_stage_machine()
    bands = (
        BandTarget(name="slow", low_rpm=200, high_rpm=600, power_kw=0.4, least_grip=1.0),
        BandTarget(name="also slow", low_rpm=400, high_rpm=700, power_kw=0.3, least_grip=1.2),
        BandTarget(name="fast", low_rpm=1000, high_rpm=2000, top=True, power_kw=0.5),
    )
    targets = problem.targets.model_copy(
        update={"bands": bands, "power_kw": 0.75, "least_grip": 0.8, "never_above_rpm": inf, **changes}
    )
    return problem.model_copy(update={"targets": targets})


def test_what_belts_must_carry_is_the_most_that_any_band_asks() -> None:
    """Slow alone 0.4, both 0.4, the second alone 0.3·1.2, none 0.75·0.8, the fast one 0.5·0.8, its edge too."""
    problem = limited()
    carrying = Carrying(problem, SeriesRules.of(problem), (0.0, 0.0), ())
    speeds = np.log([300.0, 500.0, 650.0, 800.0, 1500.0, 2000.0, 2001.0])
    assert carrying._power_kw(speeds) == pytest.approx([0.4, 0.4, 0.36, 0.6, 0.4, 0.4, 0.6])


def test_a_meter_counts_and_stops() -> None:
    """It begins at nothing; an allowance ends within another, and what is left can be shortened."""
    meter = Meter(Clock(most=100))
    assert meter.examined == 0
    with meter.allowance(50):
        meter.spend(20)
        meter.shorten(10)
        meter.spend(10)
        with pytest.raises(AllowanceSpentError):
            meter.spend(1)
    meter.spend(69)
    assert meter.examined == 100
    with pytest.raises(LimitReachedError, match="100 combinations"):
        meter.spend(1)


def test_memory_is_refused_beyond_what_may_be_held(monkeypatch: pytest.MonkeyPatch) -> None:
    """Just as many choices as may be held are held, one more is refused."""
    monkeypatch.setattr("optimizer.search.limits.MOST_HELD", 10)
    refuse_to_hold(10)
    with pytest.raises(LimitReachedError, match="more than 10 choices"):
        refuse_to_hold(11)
