"""What the search for grip and the closing proof ask for, step by step; what a meter tells."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from math import inf
from types import SimpleNamespace
from typing import Any, cast

import pytest

from optimizer.clock import ENDLESS, Clock
from optimizer.records import Candidate
from optimizer.search import closing, extremes, search
from optimizer.search.closing import closing_proof
from optimizer.search.extremes import Gripping, greatest_grip, with_least_grip
from optimizer.search.limits import Meter
from optimizer.search.space import Space
from optimizer.search.threshold import Best
from tests.clocks import Ear
from tests.unit.search.machines import two_stage_machine


def named(name: str = "") -> Candidate:
    """Return a stand-in for a design."""
    return Candidate.model_construct(problem=cast(Any, name), stages=())


def best_of(candidate: Candidate | None = None) -> Best:
    """Return a best design."""
    return Best(candidate or named(), 0.02, 0.0, 0.02)


@dataclass
class Grips:
    """Answers questions of grip as the greatest there is does, and keeps the questions; in ticks."""

    most: int
    over: int
    """How many ticks more than asked for a design has, where it can."""
    stopped: bool = False
    asked: list[int] = field(default_factory=list)

    def __call__(self, space: Any, bound: float, grip: float, most_j: float, stop: Any) -> Best:
        """Return a design whose name is its grip."""
        ticks = round(grip / 0.05)
        assert grip == pytest.approx(ticks * 0.05)
        self.asked.append(ticks)
        if ticks > self.most:
            return Best.none(most_j, "enough" if self.stopped else "")
        return best_of(candidate=named(str(min(self.most, ticks + self.over))))


def sought(monkeypatch: pytest.MonkeyPatch, grips: Grips, known: int) -> Gripping:
    """Return the greatest grip that is found from a known one."""
    monkeypatch.setattr(extremes, "_at_least", grips)
    monkeypatch.setattr(extremes, "_ticks", lambda candidate: int(cast(str, candidate.problem)))
    monkeypatch.setattr(extremes, "grip_of", lambda problem, stages: 1.0)
    found = greatest_grip(cast(Space, SimpleNamespace(problem=None)), 0.0, best_of(candidate=named(str(known))), 0.1)
    assert found is not None
    return found


@pytest.mark.parametrize("over", [0, 1, 3])
@pytest.mark.parametrize("more", range(17))
def test_the_greatest_grip_is_found_from_any_that_is_known(
    monkeypatch: pytest.MonkeyPatch, more: int, over: int
) -> None:
    """From 7 ticks, with so many more to be had: the greatest, of a design asked for it, no tick asked twice."""
    grips = Grips(7 + more, over)
    found = sought(monkeypatch, grips, 7)
    assert found.grip == pytest.approx((7 + more) * 0.05)
    assert cast(str, found.candidate.problem) == str(7 + more)
    assert found.proved
    assert len(set(grips.asked)) == len(grips.asked) <= 10
    assert 8 + more in grips.asked
    assert more == 0 or 7 + more in grips.asked


def test_ticks_are_tried_ever_farther_then_halved(monkeypatch: pytest.MonkeyPatch) -> None:
    """10 known, 21 to be had: 11, 13, 17, 25 is too much, then halves of what is left."""
    grips = Grips(21, 0)
    assert sought(monkeypatch, grips, 10).proved
    assert grips.asked == [11, 13, 17, 25, 21, 23, 22]
    grips = Grips(21, 0, stopped=True)
    assert not sought(monkeypatch, grips, 10).proved


def test_a_grip_asked_for_again_in_vain_keeps_the_design(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the last question finds nothing, the design of the one before is told of, with the grip that it has."""
    grips = Grips(9, 3)
    inner: Callable[..., Best] = grips.__call__

    def answer(*args: Any) -> Best:
        again = len(grips.asked) >= 2
        return Best.none(0.1) if again else inner(*args)

    monkeypatch.setattr(extremes, "_at_least", answer)
    monkeypatch.setattr(extremes, "_ticks", lambda candidate: int(cast(str, candidate.problem)))
    monkeypatch.setattr(extremes, "grip_of", lambda problem, stages: 1.0)
    found = greatest_grip(cast(Space, SimpleNamespace(problem=None)), 0.0, best_of(candidate=named("5")), 0.1)
    assert found is not None and cast(str, found.candidate.problem) == "9"


def test_grip_that_is_not_known_is_not_sought(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a design, or where belts must carry nothing, there is no greatest grip."""
    space = cast(Space, SimpleNamespace(problem=None))
    assert greatest_grip(space, 0.0, Best.none(0.1), 0.1) is None
    monkeypatch.setattr(extremes, "grip_of", lambda problem, stages: inf)
    assert greatest_grip(space, 0.0, best_of(), 0.1) is None


def test_a_limit_of_grip_is_the_greater_of_two() -> None:
    """Asked for 1.2 where the problem asks for 1.0, and for 0.8."""
    problem = two_stage_machine()
    space = Space.of(problem.model_copy(update={"targets": problem.targets.model_copy(update={"least_grip": 1.0})}))
    for grip, least in ((1.2, 1.2), (0.8, 1.0)):
        assert with_least_grip(space, grip).problem.targets.least_grip == least
    assert with_least_grip(space, 1.2).indexes is space.indexes


@pytest.mark.parametrize(("least", "rises"), [(0.05, True), (0.1, True), (0.11, False)])
def test_a_bound_beyond_the_limit_answers_at_once(monkeypatch: pytest.MonkeyPatch, least: float, rises: bool) -> None:
    """Where the lower bound is past the greatest J nothing is searched, at it or below it everything is."""
    asked: list[Any] = []
    monkeypatch.setattr(extremes, "with_least_grip", lambda space, grip: SimpleNamespace(rules=grip, reach="reach"))
    monkeypatch.setattr(extremes, "lower_bound", lambda rules, known, reach, clock: (least, (rules, known, reach)))

    def rise(space: Any, program: Any, span: tuple[float, float], meter: Meter) -> str:
        asked.append((program, span))
        return "risen"

    monkeypatch.setattr(extremes, "rise", rise)
    found = extremes._at_least(cast(Any, None), 0.03, 0.6, 0.1, ENDLESS)
    if rises:
        assert cast(str, found) == "risen" and asked == [((0.6, 0.03, "reach"), (least, 0.1))]
    else:
        assert (found.candidate, found.bound, asked) == (None, 0.1, [])


def test_ticks_of_a_grip_are_whole() -> None:
    """0.15 is three ticks of 0.05, though a little less in binary; 0.149 is two."""
    for grip, ticks in ((0.15, 3), (0.149, 2), (0.0, 0), (1.0, 20)):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(extremes, "grip_of", lambda problem, stages, grip=grip: grip)
            assert extremes._ticks(named()) == ticks


@cache
def known_design() -> Candidate:
    """Return the best design of the machine."""
    candidate = search(two_stage_machine()).candidate
    assert candidate is not None
    return candidate


@pytest.mark.parametrize(("known", "lo_rpm"), [("", 250.0), ("", 120.0), ("better", 250.0), ("stopped", 120.0)])
def test_a_closing_proof_rises_from_what_the_sizes_leave(
    monkeypatch: pytest.MonkeyPatch, known: str, lo_rpm: float
) -> None:
    """From 0 where an ideal series fits, otherwise from the bound of the program, to J less a billionth."""
    problem = two_stage_machine()
    candidate = known_design()
    targets = problem.targets.model_copy(update={"lo_rpm": lo_rpm, "end_miss_most": 3.0, "unevenness_most": 3.0})
    wide = candidate.model_copy(update={"problem": problem.model_copy(update={"targets": targets})})
    asked: list[tuple[Any, tuple[float, float]]] = []

    def rise(space: Space, program: Any, span: tuple[float, float], meter: Meter) -> Best:
        asked.append((program, span))
        meter.examined += 17
        if known == "better":
            return Best(candidate, 0.04, 1.0, 0.04)
        return Best.none(0.03, "enough" if known == "stopped" else "")

    monkeypatch.setattr(closing, "rise", rise)
    found = closing_proof(wide, 0.05)
    ((program, (start, most)),) = asked
    assert most == pytest.approx(0.05 - 1e-9, abs=1e-13)
    ideal = lo_rpm == 250.0
    assert program._wants is not ideal
    assert start == (0.0 if ideal else program.least_j)
    assert ideal or start > 0.01
    assert found.examined == 17 and found.combinations > 1000
    expected = {
        "": ("none better", "", 0.05),
        "better": ("better", "", 0.04),
        "stopped": ("not proved", "enough", 0.03),
    }
    assert (found.status, found.reason, found.bound) == expected[known]
    assert (found.candidate is not None) is (known == "better")
    assert found.j == (0.04 if known == "better" else inf)


def test_a_closing_proof_without_pairs_has_none_better() -> None:
    """A belt that no ticks of one stage fit leaves no pair there: nothing is searched, and none is better."""
    problem = two_stage_machine()
    candidate = known_design()
    narrow = problem.stages[1].model_copy(update={"centre_mm": (2000.0, 2001.0)})
    none = candidate.model_copy(update={"problem": problem.model_copy(update={"stages": (problem.stages[0], narrow)})})
    found = closing_proof(none, 0.05)
    assert (found.status, found.bound, found.examined, found.combinations) == ("none better", 0.05, 0, 0)


def test_a_meter_tells_its_watcher_and_keeps_the_greatest_memory() -> None:
    """The watcher hears threshold and count; less memory later on changes nothing; without either nothing happens."""
    ear = Ear()
    meter = Meter(Clock(watch=ear))
    meter.spend(5)
    meter.tell(0.25)
    assert ear.heard == [(0.25, 5)]
    assert meter.held_bytes == 0
    for held in (10, 30, 20):
        meter.hold(held)
    assert meter.held_bytes == 30
    Meter().tell(0.1)
