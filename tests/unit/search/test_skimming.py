"""The least that is turned off steps that stand: each part of it by hand, the whole against every combination."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf, log
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

import optimizer.search.skimming
from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.records import BandTarget, BeltChoice, Layout, Problem, SideSizes, StageProblem, Targets
from optimizer.search import least_skimming
from optimizer.search.skimming import _boxes, _limits, _skims_mm, _weighed
from optimizer.search.space import Space
from optimizer.search.threshold import Best, greatest_j, improving
from tests.oracle.brute import every_design, keeps_the_rules, worth
from tests.oracle.plain import belt_mm

Steps = tuple[tuple[float, ...] | None, ...]


def machine(driver: Steps, driven: Steps, **targets: object) -> Problem:
    """Return a machine of one stage, two positions, 100 to 160 and 160 to 100 mm if nothing is turned off."""
    sides = [
        SideSizes(key=f"stage[0].{name}", standing_mm=steps, ready_mm=(99.0, 159.0), placed=True, cone=False)
        for name, steps in (("driver", driver), ("driven", driven))
    ]
    belt = BeltChoice(section="A", marking="A", length_mm=belt_mm(100, 160, 350), window_mm=0.4)
    stage = StageProblem(key="stage[0]", driver=sides[0], driven=sides[1], belts=(belt,), centre_mm=(330.0, 370.0))
    bands = (BandTarget(name="all", low_rpm=400, high_rpm=2500, top=True, want=2),)
    wanted = Targets(bands=bands, lo_rpm=1000 * 100 / 160, hi_rpm=1000 * 160 / 100)
    return Problem(
        layout=Layout(positions=(2,), offsets=((0, 1),)),
        motor_rpm=1000,
        stages=(stage,),
        targets=wanted.model_copy(update=targets),
    )


def cut(size: float, *less: float) -> tuple[float, ...]:
    """Return a step as it stands with what it may be turned to."""
    return (size, *(size - each for each in less))


CASES: list[tuple[Steps, Steps]] = [
    ((cut(100.0), cut(160.0)), (cut(160.0), cut(100.0))),
    ((cut(101.0, 0.5, 1.0, 1.5), cut(160.0, 0.5)), (cut(160.0, 0.5), cut(101.5, 0.5, 1.0, 1.5, 2.0))),
    ((cut(104.0, 2.0, 4.0), cut(163.0, 1.0, 3.0)), (cut(162.0, 2.0), cut(105.0, 1.0, 5.0))),
    ((cut(100.0, 3.0), None), (cut(161.0, 1.0), None)),
    ((None, cut(163.0, 2.0, 3.0, 4.0)), (None, cut(101.0, 1.0, 2.0))),
    ((cut(120.0, 1.0), cut(160.0)), (cut(160.0), cut(100.0))),
]


def skimmed(problem: Problem, design: Any) -> float:
    """Return what a design turns off all steps that stand."""
    total = 0.0
    for stage, chosen in zip(problem.stages, design, strict=True):
        for place, pair in enumerate(chosen.pairs):
            for side, size in ((stage.driver, pair.driver_mm), (stage.driven, pair.driven_mm)):
                step = side.standing_mm[place] if side.standing_mm else None
                total += max(step) - size if step else 0.0
    return total


@pytest.mark.parametrize("case", range(len(CASES)))
@pytest.mark.parametrize("limit", [inf, 0.01])
def test_the_least_is_turned_off_of_all_combinations(case: int, limit: float) -> None:
    """Within the limit of J no combination takes off less; of those that take off as little none has a lower J."""
    problem = machine(*CASES[case])
    known = [
        (round(skimmed(problem, design), 6), worth(problem, design))
        for design in every_design(problem)
        if keeps_the_rules(problem, design) and worth(problem, design) <= limit
    ]
    found = least_skimming(problem, limit)
    assert (found is None) == (not known)
    if found is not None:
        assert (found.skim_mm, found.j) == pytest.approx(min(known), abs=1e-9)
        assert found.proved
        assert found.candidate.problem == problem


def test_some_of_the_machines_need_turning_and_one_none() -> None:
    """Nothing comes off the first; off the second 1 and 1.5 mm, or less where J may be larger; the last cannot be."""
    told = [least_skimming(machine(*case), 0.001) for case in CASES]
    assert told[0] is not None and told[0].skim_mm == 0 and told[0].j == pytest.approx(0.0, abs=1e-9)
    assert told[1] is not None and told[1].skim_mm == pytest.approx(2.5)
    assert told[2] is not None and told[2].skim_mm == pytest.approx(4 + 3 + 2 + 5)
    assert told[5] is None


def test_open_steps_are_turned_to_whole_ticks() -> None:
    """Both second steps are open and turned anew: of sizes on ticks of 0.5 mm, not of those listed 6 mm apart."""
    problem = machine((cut(100.0), None), (cut(160.0), None))
    stage = problem.stages[0]
    sides = {
        name: getattr(stage, name).model_copy(
            update={"ready_mm": (), "turned_mm": (low, low + 12), "listed_mm": (low + 3, low + 9), "grid_mm": 6.0}
        )
        for name, low in (("driver", 152.3), ("driven", 93.3))
    }
    found = least_skimming(problem.model_copy(update={"stages": (stage.model_copy(update=sides),)}))
    assert found is not None and found.skim_mm == 0 and found.j < 0.01
    sizes = [size for p in found.candidate.stages[0].positions for size in (p.driver_mm, p.driven_mm)]
    assert [size * 2 % 1 for size in sizes] == [0.0] * 4


def test_a_search_that_is_ended_gives_what_it_has_unproved() -> None:
    """Ended at once there is nothing to tell, nor where a side has no size."""
    problem = machine(*CASES[1])
    assert least_skimming(problem, clock=Clock(most=-1)) is None
    bare = problem.stages[0].model_copy(update={"driver": SideSizes(key="stage[0].driver")})
    assert least_skimming(problem.model_copy(update={"stages": (bare,)})) is None


@pytest.mark.parametrize("name", ["driver", "driven"])
def test_steps_must_have_their_positions(name: str) -> None:
    """Steps that stand on either side must be placed; sides on which none stand need not be."""
    problem = machine(*CASES[0])
    stage = problem.stages[0]
    loose = stage.model_copy(update={name: getattr(stage, name).model_copy(update={"placed": False})})
    with pytest.raises(ValueError, match=rf"stage\[0\]\.{name}: steps that stand must have their positions"):
        least_skimming(problem.model_copy(update={"stages": (loose,)}))
    free = SideSizes(key=f"stage[0].{name}", ready_mm=(100.0, 160.0), cone=False)
    open_ = problem.model_copy(update={"stages": (stage.model_copy(update={name: free}),)})
    assert least_skimming(open_) is not None


def costing(costs: list[list[float]], positions: tuple[int, ...]) -> Any:
    """Return a space whose pairs cost so much."""
    indexes = [SimpleNamespace(pairs=SimpleNamespace(timber_mm3=np.array(each))) for each in costs]
    return SimpleNamespace(
        indexes=indexes, stages=indexes, problem=SimpleNamespace(layout=SimpleNamespace(positions=positions))
    )


@pytest.mark.parametrize(
    ("costs", "positions", "limits"),
    [
        ([[0.0, 0.0]], (3,), [0.0]),
        ([[0.0, 0.5, 3.0]], (2,), [0.0, 0.5, 1.0, 2.0, 4.0, 6.0]),
        ([[0.0, 0.5, 3.0], [0.25, 1.0]], (2, 3), [0.0, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 9.0]),
        ([[0.0], [2.0]], (2, 1), [0.0, 2.0]),
        ([[2.0]], (2,), [0.0, 2.0, 4.0]),
        ([[]], (2,), [0.0]),
    ],
)
def test_limits_double_from_the_least_to_all_that_can_be_turned_off(
    costs: list[list[float]], positions: tuple[int, ...], limits: list[float]
) -> None:
    """Nothing, the least cost of a pair, twice that and so on, and last the greatest at every position."""
    assert _limits(costing(costs, positions)) == limits


def test_pairs_cost_what_is_turned_off_the_steps_of_their_position() -> None:
    """Steps of 101 and 160 mm facing 160 and an open one: 1.5 mm and 2 mm at the first, 0.5 mm at the second."""
    problem = machine((cut(101.0, 0.5, 1.5), cut(160.0, 0.5)), (cut(160.0, 2.0), None))
    stage = problem.stages[0]
    pairs = SimpleNamespace(
        driver_mm=np.array([101.0, 99.5, 159.5, 160.0]),
        driven_mm=np.array([158.0, 158.0, 99.0, 159.0]),
        place=np.array([0, 0, 1, 1]),
    )

    class Index:
        """Pairs that can be counted."""

    index: Any = Index()
    index.pairs = _Counted(pairs)
    assert _skims_mm(stage.driver, stage.driven, index).tolist() == [2.0, 3.5, 0.5, 0.0]
    space = Space.of(problem, ticks=True)
    costly = _weighed(space)
    (before,), (after,) = space.indexes, costly.indexes
    assert costly.entering == space.entering and costly.rules is space.rules and costly.problem is problem
    for n in range(len(after.pairs)):
        place = int(after.pairs.place[n])
        off = (101.0, 160.0)[place] - after.pairs.driver_mm[n]
        off += 160.0 - after.pairs.driven_mm[n] if place == 0 else 0.0
        assert after.pairs.timber_mm3[n] == pytest.approx(off)
    assert np.array_equal(after.key, before.key) and not before.pairs.timber_mm3.any()


class _Counted:
    """Columns of pairs with their number."""

    def __init__(self, columns: Any) -> None:
        self.driver_mm, self.driven_mm, self.place = columns.driver_mm, columns.driven_mm, columns.place

    def __len__(self) -> int:
        return int(self.place.size)


def test_boxes_are_those_of_the_limit_of_j_or_of_all_there_can_be() -> None:
    """An ideal series needs no linear program; without a limit all there can be is asked; below the bound nothing."""
    problem = machine(*CASES[1])
    space = Space.of(problem, ticks=True)
    (boxes,) = _boxes(space, 0.02, ENDLESS)
    assert boxes.most == 0.02
    (boxes,) = _boxes(space, inf, ENDLESS)
    assert boxes.most == greatest_j(space) < inf
    # ends that the steps reach a tenth beyond
    far = replace(space, rules=replace(space.rules, low=space.rules.low - 0.1, high=space.rules.high + 0.1))
    bound = min(far.rules.high - log(1000) - x for _, x in far.spans)
    assert _boxes(far, bound / 2, ENDLESS) == []
    programmed = _boxes(far, bound + 0.05, ENDLESS)
    assert len(programmed) == 1 and programmed[0].most == bound + 0.05
    assert not programmed[0].empty
    none = replace(space, indexes=(cast(Any, SimpleNamespace(pairs=[])),))
    assert _boxes(none, inf, ENDLESS) == []


def test_what_was_found_before_the_end_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that is ended after a first design gives that design, and says that it is not proved."""
    problem = machine(*CASES[2])
    whole = least_skimming(problem)
    assert whole is not None
    assert whole.proved

    def ended(*asked: Any) -> Iterator[Best]:
        yield from improving(*asked)
        raise LimitReachedError("enough")

    monkeypatch.setattr(optimizer.search.skimming, "improving", ended)
    assert least_skimming(problem) is None  # the first limits hold nothing, and the search ended there
    monkeypatch.setattr(optimizer.search.skimming, "_limits", lambda _: [100.0])
    kept = least_skimming(problem)
    assert kept == replace(whole, proved=False)
