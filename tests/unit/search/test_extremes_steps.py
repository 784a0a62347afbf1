"""What the searches for extremes ask for, step by step, and what they tell."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from optimizer.clock import ENDLESS, LimitReachedError
from optimizer.records import BeltChoice, Candidate, Extreme, PositionSizes, SideSizes, StageSizes
from optimizer.search import extremes
from optimizer.search.extremes import Gripping, _largest_disc, _least_timber, best_grip, smallest_disc
from optimizer.search.limits import Meter
from optimizer.search.space import Space
from optimizer.search.threshold import Best
from tests.unit.search.machines import two_stage_machine


def named(name: str = "") -> Candidate:
    """Return a stand-in for a design."""
    return Candidate.model_construct(problem=cast(Any, name), stages=())


def best_of(timber_mm3: float = 0.0, j: float = 0.02, candidate: Candidate | None = None) -> Best:
    """Return a design of so much timber."""
    return Best(candidate or named(), j, timber_mm3, j)


@dataclass
class Asked:
    """Answers questions about timber as a list of what there is does, and keeps the questions."""

    there: list[float]
    after: int = 1000
    limits: list[float] = field(default_factory=list)
    wishes: set[str] = field(default_factory=set)

    def __call__(self, space: Any, boxes: Any, meter: Meter, timber_most: float, wish: str) -> Best | None:
        """Return the least there is within a limit; stop after so many questions."""
        self.limits.append(timber_most)
        self.wishes.add(wish)
        if len(self.limits) > self.after:
            raise LimitReachedError("enough")
        within = [value for value in self.there if value <= timber_most]
        return best_of(min(within)) if within else None


@pytest.fixture(autouse=True)
def stand_ins(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let an extreme be told of a stand-in, which keeps no rule of a design."""
    monkeypatch.setattr(extremes, "Extreme", Extreme.model_construct)


def timber_space() -> Space:
    """Return two stages of two and three positions whose lightest pairs take 10 and 20."""
    indexes = [SimpleNamespace(pairs=SimpleNamespace(timber_mm3=np.array(v))) for v in ([30.0, 10.0], [20.0, 25.0])]
    rules = SimpleNamespace(offsets=[np.zeros(2), np.zeros(3)])
    return cast(Space, SimpleNamespace(indexes=indexes, rules=rules))


@pytest.mark.parametrize(
    ("known", "there", "value", "first"),
    [
        # 10·2 + 20·3 = 80 is the least of all pairs; limits 108, 145.8, 196.83: there is one of 150
        (1000.0, [150.0], 150.0, 80 * 1.35),
        (1000.0, [300.0, 150.0], 150.0, 80 * 1.35),
        # nothing lighter: up to the known design's own
        (100.0, [], 100.0, 100.0),
        (200.0, [200.0], 200.0, 80 * 1.35),
        # the known design far heavier than the lightest pairs: begun at its own by 1.35^12
        (80 * 1.35**13, [90.0], 90.0, 80 * 1.35**2),
    ],
)
def test_least_timber_is_sought_by_a_rising_limit(
    monkeypatch: pytest.MonkeyPatch, known: float, there: list[float], value: float, first: float
) -> None:
    """Limits rise by 1.35 from the least there can be until there is a design, never past the one that is known."""
    asked = Asked(there)
    monkeypatch.setattr(extremes, "least", asked)
    best = best_of(known)
    found = _least_timber(timber_space(), [], best, ENDLESS)
    assert (found.best_at, found.value, found.proved) == ("least timber", value, True)
    assert asked.wishes == {"timber"}
    assert asked.limits[0] == pytest.approx(first, rel=1e-11)
    for one, other in zip(asked.limits, asked.limits[1:], strict=False):
        assert other == pytest.approx(min(one * 1.35, known), rel=1e-11)
    assert all(0 < limit / min(limit, known) - 1 + 1e-13 < 1e-11 for limit in asked.limits if limit > known)
    assert asked.limits[-1] == pytest.approx(known, rel=1e-11) if value == known else asked.limits[-2:] != []
    assert all(limit < value for limit in asked.limits[:-1])


def test_a_design_as_heavy_as_the_known_one_does_not_take_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two of the same timber the one of less J, which is known, stays; one of less takes its place."""
    best = best_of(100.0, candidate=named("known"))
    for timber, name in ((100.0, "known"), (99.0, "other"), (101.0, "known")):
        other = best_of(timber, candidate=named("other"))
        monkeypatch.setattr(extremes, "least", lambda *_, other=other: other)
        assert cast(str, _least_timber(timber_space(), [], best, ENDLESS).candidate.problem) == name


def test_extremes_that_are_stopped_are_not_proved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped at the third limit, the known design is told of, without the claim that none is better."""
    monkeypatch.setattr(extremes, "least", Asked([], after=2))
    found = _least_timber(timber_space(), [], best_of(1000.0), ENDLESS)
    assert (found.value, found.proved) == (1000.0, False)


@dataclass
class Discs:
    """A space that tells by what disc it was restricted."""

    indexes: list[Any]
    most_mm: float = inf

    def restricted(self, disc_most_mm: float) -> Discs:
        """Return it with a limit."""
        return Discs(self.indexes, disc_most_mm)


def disc_best(largest_mm: float) -> Best:
    """Return a design of one turned driver whose disc is of that size."""
    side = SideSizes(key="stage[0].driver", turned_mm=(10.0, 500.0))
    position = PositionSizes(driver_mm=largest_mm, driven_mm=50.0, centre_mm=400.0, driven_source="ready")
    belt = BeltChoice(section="A", marking="A", length_mm=1200.0, window_mm=1.0)
    problem = two_stage_machine()
    stage = problem.stages[0].model_copy(update={"driver": side, "driven": side})
    only = problem.model_copy(update={"stages": (stage,)})
    own = StageSizes(belt=belt, positions=(position,))
    return best_of(candidate=Candidate.model_construct(problem=only, stages=(own,)))


@pytest.mark.parametrize("smallest", [100.0, 120.0, 130.0, 140.0, 150.0, 160.0, 170.0, 180.0])
def test_thesmallest_disc_is_found_by_halving(monkeypatch: pytest.MonkeyPatch, smallest: float) -> None:
    """Of discs below the known 180, ready ones left out, the smallest with a design is told; no disc is tried twice."""
    discs = [np.array([0.0, 100.0, 120.0, 180.0, 130.0]), np.array([140.0, 150.0, 120.0, 160.0, 170.0, 200.0])]
    space = Discs([SimpleNamespace(pairs=SimpleNamespace(disc_mm=part)) for part in discs])
    asked: list[float] = []

    def least(space: Discs, boxes: Any, meter: Meter) -> Best | None:
        asked.append(space.most_mm)
        return disc_best(smallest) if smallest <= space.most_mm else None

    monkeypatch.setattr(extremes, "least", least)
    best = disc_best(180.0)
    found = smallest_disc(cast(Space, space), [], best, ENDLESS)
    assert (found.best_at, found.value, found.proved) == ("smallest largest disc", smallest, True)
    assert (found.candidate is best.candidate) is (smallest == 180.0)
    assert len(asked) == len(set(asked)) <= 3
    for limit in asked:
        assert min(abs(limit - disc - 1e-9) for disc in (100, 120, 130, 140, 150, 160, 170)) < 1e-12
    # seven discs: the middle one first
    assert asked[0] == pytest.approx(140.0)


def test_a_search_for_discs_that_is_stopped_keeps_what_it_has(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped at its first question it keeps the known design; a design without one counts as none."""
    space = Discs([SimpleNamespace(pairs=SimpleNamespace(disc_mm=np.array([100.0, 120.0])))])

    def stopped(*_: Any) -> None:
        raise LimitReachedError("enough")

    monkeypatch.setattr(extremes, "least", stopped)
    found = smallest_disc(cast(Space, space), [], disc_best(180.0), ENDLESS)
    assert (found.value, found.proved) == (180.0, False)
    monkeypatch.setattr(extremes, "least", lambda *_: Best.none(0.1))
    assert smallest_disc(cast(Space, space), [], disc_best(180.0), ENDLESS).value == 180.0


def test_the_largest_disc_is_that_of_turned_sizes_only() -> None:
    """Drivers of 100 and 120 turned, drivens of 90 turned and 200 ready: 6.6 of rim and 4 of truing more than 120."""
    machine = two_stage_machine()
    belt = machine.stages[0].belts[0]
    rows: list[tuple[float, float, Any, Any]] = [(100, 200, "turned", "ready"), (120, 90, "turned", "turned")]

    def largest(rows: list[tuple[float, float, Any, Any]]) -> float:
        positions = tuple(
            PositionSizes(driver_mm=a, driven_mm=b, centre_mm=400.0, driver_source=one, driven_source=other)
            for a, b, one, other in rows
        )
        stages = (StageSizes(belt=belt, positions=positions),) * 2
        return _largest_disc(Candidate.model_construct(problem=machine, stages=stages))

    assert largest(rows) == pytest.approx(130.6)
    assert largest([(b, a, two, one) for a, b, one, two in rows]) == pytest.approx(130.6)
    assert largest([(100, 200, "ready", "kept")]) == 0.0


@pytest.mark.parametrize(("bound", "by_program"), [(0.0, False), (0.01, True)])
def test_extremes_are_sought_within_the_slack(monkeypatch: pytest.MonkeyPatch, bound: float, by_program: bool) -> None:
    """Up to J of the best and the slack, by the linear program where the bound is above 0; none without a disc."""
    asked: list[tuple[str, float]] = []
    monkeypatch.setattr(extremes, "boxes_at", lambda rules, spans, most: asked.append(("closed", most)))
    monkeypatch.setattr(extremes, "boxes_by_program", lambda program, spans, most: asked.append(("program", most)))
    monkeypatch.setattr(extremes, "_least_timber", lambda *_: "timber")
    monkeypatch.setattr(extremes, "smallest_disc", lambda *_: "disc")
    targets = SimpleNamespace(slack=0.005)
    space = cast(Space, SimpleNamespace(problem=SimpleNamespace(targets=targets), rules=None, spans=None))
    best = disc_best(180.0)
    assert cast(Any, extremes.extremes(space, cast(Any, ENDLESS), bound, best, ENDLESS)) == ("timber", "disc")
    assert [name for name, _ in asked] == ["program" if by_program else "closed"]
    assert asked[0][1] == pytest.approx(0.025)
    assert extremes.extremes(space, cast(Any, ENDLESS), bound, disc_best(0.0), ENDLESS) == ()
    assert extremes.extremes(space, cast(Any, ENDLESS), bound, Best.none(0.1), ENDLESS) == ()


def test_the_extreme_of_grip_is_a_design_of_the_problem_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sought up to J of the best and the slack; told with the grip of its sizes, its proof, in the problem asked of."""
    problem = two_stage_machine()
    space = Space.of(problem)
    asked: list[float] = []

    def greatest(space: Any, bound: float, best: Best, most_j: float, stop: Any) -> Gripping | None:
        asked.append(most_j)
        return Gripping(Candidate.model_construct(problem=cast(Any, None), stages=()), 1.5, True) if bound else None

    monkeypatch.setattr(extremes, "greatest_grip", greatest)
    monkeypatch.setattr(extremes, "grip_of", lambda problem, stages: 1.53)
    monkeypatch.setattr(
        extremes, "Candidate", lambda problem, stages: named("own") if problem is space.problem else None
    )
    (found,) = best_grip(space, 0.1, best_of(), ENDLESS)
    assert (found.best_at, found.value, found.proved) == ("best grip", 1.53, True)
    assert cast(str, found.candidate.problem) == "own"
    assert best_grip(space, 0.0, best_of(), ENDLESS) == ()
    assert asked == [pytest.approx(0.025)] * 2
