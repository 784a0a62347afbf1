"""Thresholds that rise, passes that are given up: each step as worked out by hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from optimizer.clock import Clock
from optimizer.search import threshold as module
from optimizer.search.limits import Meter
from optimizer.search.threshold import (
    CHEAP,
    VENTURE,
    Best,
    _careful_growth,
    _risen,
    greatest_j,
)
from tests.clocks import Ear

Pass = Callable[[Meter], "Best | None"]
SPACE: Any = SimpleNamespace(rules=SimpleNamespace(offsets=[np.array([0.0, 3.0]), np.array([0.0, 1.0, 2.0])]))


class Script:
    """Passes that end as they are told to, one after another."""

    def __init__(self, passes: Sequence[Pass], bound: float, most: float = inf) -> None:
        self.thresholds: list[float] = []
        ear = Ear()
        self.told = ear.heard
        self.meter = Meter(Clock(most=most, watch=ear))
        self.space, self.bound, self.known = SPACE, bound, Best.none(inf)
        self._passes = list(passes)

    def best(self, threshold: float) -> Best | None:
        """Do the next pass; the last is done again and again."""
        self.thresholds.append(threshold)
        return (self._passes.pop(0) if len(self._passes) > 1 else self._passes[0])(self.meter)


def nothing(meter: Meter) -> None:
    """Find nothing, for nothing."""


def dear(meter: Meter) -> None:
    """Cost more than is allowed."""
    meter.spend(10 * VENTURE * CHEAP)


def risen(script: Script, span: tuple[float, float]) -> Best:
    """Let the threshold rise."""
    return _risen(cast(Any, script), span)


def test_thresholds_grow_eightfold_from_the_first_step() -> None:
    """From 0: 0.0005 and eight times as far each; nothing is found up to the last, which is the bound then."""
    script = Script([nothing], 0.0)
    best = risen(script, (0.0, 0.1))
    assert script.thresholds == pytest.approx([0.0005, 0.004, 0.032, 0.1])
    assert [threshold for threshold, _ in script.told] == script.thresholds
    assert (best.candidate, best.j, best.bound, best.stopped) == (None, inf, 0.1, "")
    assert script.bound == 0.1


def test_a_lower_bound_sets_the_first_step() -> None:
    """From 0.1 the first step is a fiftieth of it, 0.002; the next reaches eight times as far: 0.116."""
    script = Script([nothing], 0.1)
    risen(script, (0.1, 0.13))
    assert script.thresholds == pytest.approx([0.102, 0.116, 0.13])


def test_a_design_ends_the_rise() -> None:
    """What the second pass finds is the answer."""
    found = Best(None, 0.003, 1.0, 0.003)
    script = Script([nothing, lambda meter: found], 0.0)
    assert risen(script, (0.0, 0.1)) is found
    assert len(script.thresholds) == 2
    assert risen(Script([nothing], 0.2), (0.2, 0.2)).bound == 0.2


def test_a_dear_pass_is_given_up_for_a_quarter_of_its_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a first step of 1: 1 is free, 8 dear; a quarter of the way, half the rest, 8 again, then careful growth."""
    monkeypatch.setattr(module, "FIRST_STEP", 1.0)
    script = Script([nothing, dear, nothing], 0.0)
    risen(script, (0.0, 100.0))
    growth = 16 ** (1 / 4)  # three positions beyond the first of their stages, and one
    assert script.thresholds == pytest.approx([1, 8, 2.75, 5.375, 8, *(8 * growth**n for n in (1, 2, 3)), 100])


def test_a_design_of_a_pass_given_up_is_the_last_threshold() -> None:
    """With a design of J 0.003 known nothing above it is looked at any more."""
    script = Script([nothing, dear, nothing], 0.0)
    script.known = Best(None, 0.003, 1.0, 0.003)
    risen(script, (0.0, 0.1))
    assert script.thresholds[-1] == pytest.approx(0.003) and script.thresholds[1] == pytest.approx(0.004)
    assert max(script.thresholds[2:]) == pytest.approx(0.003, abs=1e-9) and script.thresholds[-1] > 0.003


def test_a_pass_may_cost_four_times_all_before_it() -> None:
    """The first may look at 4·25000; when 50000 have been looked at, the second at 200000, not at one more."""
    for first, second, given_up in (
        (VENTURE * CHEAP, 0, False),
        (VENTURE * CHEAP + 1, 0, True),
        (50_000, VENTURE * 50_000, False),
        (50_000, VENTURE * 50_000 + 1, True),
    ):
        script = Script([lambda meter, n=first: meter.spend(n), lambda meter, n=second: meter.spend(n), nothing], 0.0)  # type: ignore[misc]
        risen(script, (0.0, 0.1))
        plain = script.thresholds == pytest.approx([0.0005, 0.004, 0.032, 0.1])
        assert plain is not given_up


def test_a_limit_ends_the_rise_with_what_is_known() -> None:
    """The bound is the last threshold up to which nothing was; the reason that of the limit, or that memory ran out."""

    def stopping(meter: Meter) -> None:
        meter.spend(1)

    def full(meter: Meter) -> None:
        raise MemoryError

    for last, why in ((stopping, "0 combinations were looked at"), (full, "the memory there is ran out")):
        script = Script([nothing, last], 0.0, 0)
        script.known = Best(None, 0.07, 5.0, 0.07)
        assert risen(script, (0.0, 0.1)) == Best(None, 0.07, 5.0, 0.0005, why)


def test_growth_is_careful_by_the_number_of_positions() -> None:
    """16 to the power of one over the positions beyond the first of each stage, and one: 1 + 2 + 1."""
    assert _careful_growth(SPACE) == pytest.approx(2.0)
    one = cast(Any, SimpleNamespace(rules=SimpleNamespace(offsets=[np.array([0.0, 1.0])])))
    assert _careful_growth(one) == pytest.approx(4.0)


def test_no_j_passes_the_limits_or_what_the_spans_leave() -> None:
    """2·0.1 and 3·0.2: 0.8; without limits the spans 1 and 2, base 6, ends 5 and 7, and one: 22 times 2 and 3."""
    rules = SimpleNamespace(weights=(2.0, 3.0), caps=(0.1, 0.2), base=-6.0, low=5.0, high=7.0)
    space = cast(Any, SimpleNamespace(rules=rules, spans=[(-0.5, 0.5), (1.0, 3.0)]))
    assert greatest_j(space) == pytest.approx(0.8)
    rules.caps = (inf, inf)
    assert greatest_j(space) == pytest.approx(22 * 5)
    rules.base, rules.low, rules.high = 6.0, -5.0, -7.0
    assert greatest_j(space) == pytest.approx(22 * 5)
