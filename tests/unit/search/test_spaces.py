"""A space tells of every design in its boxes once, and hands each of its stages what the others leave."""

from __future__ import annotations

from dataclasses import replace
from math import inf, log
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from optimizer.clock import LimitReachedError
from optimizer.records import Candidate, Problem, SideSizes
from optimizer.records.problem import Piece
from optimizer.search import index as shelves
from optimizer.search.bound import boxes_at
from optimizer.search.chains import Designs
from optimizer.search.index import PairIndex, Shelf
from optimizer.search.limits import Meter
from optimizer.search.space import Space, _gathered
from optimizer.search.tuples import Ceiling, Tuples
from tests.oracle.brute import every_design, keeps_the_rules, worth
from tests.oracle.instances import tiny_problem
from tests.unit.search.machines import stage_of, two_stage_machine

SEEDS = (200, 203, 207, 211, 214, 216, 219, 221, 225, 227, 230, 236, 241, 246)


def weighed(space: Space) -> Space:
    """Return a space whose pairs, which are not turned, have a timber by their sizes."""
    indexes = [
        replace(index, pairs=replace(index.pairs, timber_mm3=index.pairs.driver_mm + 2 * index.pairs.driven_mm))
        for index in space.indexes
    ]
    return replace(space, indexes=tuple(indexes))


Key = tuple[tuple[object, ...], ...]


def key_of(problem: Problem, space: Space, designs: Designs, n: int) -> Key:
    """Return belts and sizes of a design."""
    key = []
    for stage, index, rows in zip(problem.stages, space.indexes, designs.rows, strict=True):
        own, pairs = rows[n], index.pairs
        sizes = zip(pairs.driver_mm[own].tolist(), pairs.driven_mm[own].tolist(), strict=True)
        key.append((stage.belts[int(pairs.belt[own[0]])].marking, *sizes))
    return tuple(key)


@pytest.mark.parametrize("seed", SEEDS)
def test_designs_are_all_that_keep_the_rules_within_j_and_timber(seed: int) -> None:
    """Every combination looked at one by one: those up to a J, and of less timber than half of them have."""
    problem = tiny_problem(seed)
    space = weighed(Space.of(problem))
    known: dict[Key, tuple[float, float]] = {}
    for design in every_design(problem):
        if keeps_the_rules(problem, design):
            timber = sum(pair.driver_mm + 2 * pair.driven_mm for stage in design for pair in stage.pairs)
            key = tuple(
                (s.variant.belt.marking, *((pair.driver_mm, pair.driven_mm) for pair in s.pairs)) for s in design
            )
            known[key] = (worth(problem, design), timber)
    worths = sorted(j for j, _ in known.values()) or [0.1]
    timbers = sorted(timber for _, timber in known.values()) or [100.0]
    for most, timber_most in (
        (worths[-1] + 1e-9, inf),
        (worths[len(worths) // 2] + 1e-9, inf),
        (worths[-1] + 1e-9, timbers[len(timbers) // 2] + 1e-6),
    ):
        boxes = boxes_at(space.rules, space.spans, most)
        found: dict[Key, float] = {}
        for designs in [] if boxes.empty else space.designs(boxes, Meter(), timber_most, Ceiling()):
            found |= {key_of(problem, space, designs, n): float(designs.j[n]) for n in range(len(designs))}
        assert found == pytest.approx(
            {key: j for key, (j, timber) in known.items() if j <= most and timber <= timber_most}, abs=1e-9
        )


def test_drivers_of_later_stages_turn_by_all_gears_before_them() -> None:
    """1420 rpm, gears of 1.3 and 0.5; pairs of the first stage that its own driver is too fast for are left out."""
    problem = two_stage_machine()
    first, second = (
        stage.model_copy(update={"gain": gain, "belt_speed_m_s": 12.0})
        for stage, gain in zip(problem.stages, (1.3, 0.5), strict=True)
    )
    space = Space.of(problem.model_copy(update={"stages": (first, second)}))
    assert space.entering == pytest.approx((log(1420 * 1.3), log(1420 * 1.3 * 0.5)))
    fast, whole = space.indexes[0].pairs, space.indexes[1].pairs
    assert len(fast) < len(whole)
    assert fast.entering.min() >= log(1420 * 1.3) - 1e-9 > whole.entering.min()
    assert len(fast) == int((whole.entering >= log(1420 * 1.3)).sum())
    assert space.held_bytes == sum(index.held_bytes for index in space.indexes) > 0
    assert space.spans == [index.reach for index in space.indexes]
    assert space.combinations() == space.indexes[0].choices(2) * space.indexes[1].choices(3) > 1
    largest = float(np.sort(fast.disc_mm)[len(fast) // 2])
    small = space.restricted(largest)
    assert [len(i.pairs) for i in small.indexes] == [int((i.pairs.disc_mm <= largest).sum()) for i in space.indexes]
    assert all(float(index.pairs.disc_mm.max()) == largest for index in small.indexes[:1])
    assert small.entering == space.entering


def test_ticks_are_laid_where_they_are_asked_for() -> None:
    """Sizes on ticks, not those listed, make more pairs, none of them a ray."""
    problem = two_stage_machine(grid_mm=60.0)
    listed, ticks = Space.of(problem), Space.of(problem, ticks=True)
    assert len(ticks.indexes[0].pairs) > 10 * len(listed.indexes[0].pairs)
    assert np.all(ticks.indexes[0].pairs.scale_low == ticks.indexes[0].pairs.scale_high)


def test_a_shelf_tells_stages_apart_by_what_their_pairs_depend_on() -> None:
    """Positions matter to steps that stand on either side; ticks and the driver's speed always do."""
    shelf, stage = Shelf(), stage_of(0, (75.0, 210.0, 45.0), (1120.0,), 5.0)
    plain = shelf.index(stage, positions=2, ticks=False, entering=None)
    assert shelf.index(stage, positions=3, ticks=False, entering=None) is plain
    assert shelf.index(stage, positions=2, ticks=True, entering=None) is not plain
    assert shelf.index(stage, positions=2, ticks=False, entering=7.0) is not plain
    assert shelf.index(stage, positions=2, ticks=False, entering=None) is plain
    for name in ("driver", "driven"):
        standing = SideSizes(key=f"stage[0].{name}", standing_mm=((120.0,), (130.0,), (140.0,)))
        kept = stage.model_copy(update={name: standing})
        two = shelf.index(kept, positions=2, ticks=False, entering=None)
        assert shelf.index(kept, positions=2, ticks=False, entering=None) is two
        three = shelf.index(kept, positions=3, ticks=False, entering=None)
        assert three is not two and set(three.pairs.place) == {0, 1, 2}


def test_a_speed_just_as_great_as_a_pair_may_run_is_kept() -> None:
    """Pairs whose greatest driver speed is just the one there is stay, those a hair below do not."""
    shelf, stage = Shelf(), stage_of(0, (75.0, 210.0, 15.0), (1120.0,), 5.0)
    speeds = np.sort(shelf.index(stage, positions=2, ticks=False, entering=None).pairs.entering)
    middle = float(speeds[speeds.size // 2])
    for speed, count in ((middle, speeds >= middle), (middle + 1e-6, speeds > middle), (0.0, speeds > 0)):
        index = shelf.index(stage, positions=2, ticks=False, entering=speed)
        assert len(index.pairs) == int(count.sum())


def test_a_shelf_holds_as_many_pairs_as_it_may(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three stages of equally many pairs, room for two of them: the one used longest ago is given up."""
    shelf = Shelf()
    stages = [stage_of(number, (75.0, 210.0, 45.0), (1120.0,), 5.0) for number in range(3)]

    def asked(number: int) -> PairIndex:
        return shelf.index(stages[number], positions=2, ticks=False, entering=None)

    count = len(asked(0).pairs)
    monkeypatch.setattr(shelves, "MOST_PAIRS", 2 * count)
    first, second = asked(0), asked(1)
    assert asked(0) is first and asked(1) is second
    assert asked(0) is first
    asked(2)  # the second was used longest ago
    assert asked(0) is first
    assert asked(1) is not second
    # the one in use is kept whatever it holds
    monkeypatch.setattr(shelves, "MOST_PAIRS", 0)
    alone = asked(2)
    assert asked(2) is alone


def test_what_one_stage_chooses_narrows_what_is_left() -> None:
    """Ratios 0, 0.3 and 0, 0.5 over three places: the span of ln φ is theirs, the least spread that of the better."""
    space = Space.of(two_stage_machine())
    offsets = space.rules.offsets[0]
    boxes = boxes_at(space.rules, [(-2.0, 2.0), (-2.0, 2.0)], 0.2)
    table = Tuples(np.zeros((2, 2), dtype=np.int64), np.array([0.35, 0.30]), np.array([0.40, 0.45]))
    step = (space.rules.high - space.rules.low) / 5
    ratios = np.array([[0.0, 3 * step], [0.0, 3 * step + 0.5]])
    left = space._left_by(table, ratios, [(0.0, 2.0), (-2.0, 2.0)], boxes, 0)
    assert offsets.tolist() == [0.0, 3.0]
    assert left.ratio == pytest.approx((max(boxes.ratio[0], 0.30), min(boxes.ratio[1], 0.45)))
    assert left.spread == pytest.approx(boxes.spread, abs=1e-9)
    # only the second choice, and no ratio beyond (3·step + 0.1)/3: a spread of 0.4 at least
    held = replace(boxes, ratio=(0.2, step + 0.1 / 3))
    left = space._left_by(table.take(np.array([1])), ratios[1:], [(0.0, 2.0), (-2.0, 2.0)], held, 0)
    assert boxes.spread - left.spread == pytest.approx(0.4, abs=1e-9)
    assert left.spread >= boxes.spread - 0.4
    held = replace(boxes, ratio=(step + 0.6 / 3, 0.9))
    left = space._left_by(table.take(np.array([1])), ratios[1:], [(0.0, 2.0), (-2.0, 2.0)], held, 0)
    assert boxes.spread - left.spread == pytest.approx(0.1, abs=1e-9)


def test_a_promise_has_the_spans_of_the_tabulated_choices() -> None:
    """Sums of first ratios, of last ones, and what lies between them, with the places climbed."""
    space = Space.of(two_stage_machine())
    chains = cast(Any, SimpleNamespace(first=np.array([0.1, -0.2]), last=np.array([0.6, 0.5])))
    told = space._prospect(chains, 1)
    assert (told.first, told.last, told.places) == ((-0.2, 0.1), (0.5, 0.6), 3.0)
    assert told.rise == pytest.approx((0.5, 0.7))
    assert space._prospect(chains, 2).places == 5.0 and space._prospect(chains, 0).places == 0.0
    none = space._prospect(cast(Any, SimpleNamespace(first=np.empty(0), last=np.empty(0))), 1)
    assert none.first == none.rise == (inf, -inf)


def test_blocks_of_choices_are_put_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """In their order, none of them nothing; more than may be held are refused."""
    parts = [
        Tuples(np.array([[1, 2]]), np.array([0.1]), np.array([0.3])),
        Tuples(np.array([[3, 4], [5, 6]]), np.array([0.2, 0.4]), np.array([0.5, 0.6])),
    ]
    whole = _gathered(iter(parts), 2)
    assert whole.rows.tolist() == [[1, 2], [3, 4], [5, 6]]
    assert whole.ratio_low.tolist() == [0.1, 0.2, 0.4] and whole.ratio_high.tolist() == [0.3, 0.5, 0.6]
    none = _gathered(iter([]), 3)
    assert none.rows.shape == (0, 3) and none.ratio_low.size == none.ratio_high.size == len(none) == 0
    monkeypatch.setattr("optimizer.search.limits.MOST_HELD", 2)
    with pytest.raises(LimitReachedError):
        _gathered(iter(parts), 2)


def test_stages_are_told_what_ties_them() -> None:
    """Offsets, cones, rises and speed of the driver of the stage that is asked for."""
    problem = two_stage_machine()
    first, second = problem.stages
    driver = second.driver.model_copy(update={"cone": False, "rise_mm": 3.0})
    driven = second.driven.model_copy(update={"rise_mm": 4.0})
    space = Space.of(
        problem.model_copy(update={"stages": (first, second.model_copy(update={"driver": driver, "driven": driven}))})
    )
    rules = space._stage_rules(1, 123.0, 6.5)
    assert (rules.stage, rules.offsets, rules.driver_cone, rules.driven_cone) == (1, (0, 1, 2), False, True)
    assert (rules.driver_rise_mm, rules.driven_rise_mm, rules.entering, rules.timber_most) == (3.0, 4.0, 6.5, 123.0)
    assert rules.carrying is None and rules.stock is None


def trimming(space: Space, answers: list[Any], monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """Have trimming answer so for one stage after another; return what it is asked."""
    asked: list[tuple[Any, ...]] = []

    def trimmed(stage: Any, pairs: Any, rows: Any, entering: float, within: Any, aim: Any) -> Any:
        assert aim is None  # no mount is shared
        asked.append((stage.key, rows.tolist(), entering, within))
        return answers[len(asked) - 1]

    monkeypatch.setattr("optimizer.search.space.trimmed", trimmed)
    return asked


def test_each_stage_is_trimmed_at_the_speed_the_ones_before_leave(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second driver's greatest speed counts the last ratio of the first stage; nothing trimmed is no design."""
    space = Space.of(two_stage_machine())
    rows = [np.array([3, 7]), np.array([1, 2, 5])]
    asked = trimming(space, ["sizes", None], monkeypatch)
    assert space.candidate(rows) is None
    ratio = float(space.indexes[0].pairs.log_ratio[7])
    assert [(key, chosen) for key, chosen, *_ in asked] == [("stage[0]", [3, 7]), ("stage[1]", [1, 2, 5])]
    assert [entering for _, _, entering, _ in asked] == pytest.approx([space.entering[0], space.entering[1] + ratio])
    assert [within for *_, within in asked] == [(-inf, inf)] * 2


def test_a_design_that_breaks_a_rule_is_none_only_where_rounding_or_pieces_may_have_done_it() -> None:
    """Rays that miss a narrow limit, or pieces that do not go round, give no design; anything else is an error."""
    listed = two_stage_machine(grid_mm=60.0)
    change = {"turned_mm": None, "listed_mm": (), "ready_mm": (100.0, 130.0, 160.0)}
    stages = []
    for stage in listed.stages:
        sides = {name: getattr(stage, name).model_copy(update=change) for name in ("driver", "driven")}
        stages.append(stage.model_copy(update=sides))
    ready = listed.model_copy(update={"stages": tuple(stages)})
    piece = Piece(key="in_hand.sheave[0]", steps_mm=(500.0,), count=1, sides=("stage[0].driver",))
    for problem, refused in (
        (listed, False),
        (ready, True),
        (ready.model_copy(update={"pieces": (piece,)}), False),
    ):
        space = Space.of(problem)
        # the slowest position last: no cone rises so, and the speeds do not either
        rows = []
        for index, count in zip(space.indexes, (2, 3), strict=True):
            belt = index.pairs.belt == index.pairs.belt[0]
            centre = np.abs(index.pairs.centre_low - index.pairs.centre_low[0]) < 1e-9
            some = np.flatnonzero(belt & centre) if problem is not listed else np.flatnonzero(belt)
            rows.append(np.resize(some[:1], count))
        assert broken(problem, space, rows) is refused


def broken(problem: Problem, space: Space, rows: list[Any]) -> bool:
    """Tell whether a choice that breaks rules is an error; if it is not it must be no design."""
    try:
        assert space.candidate(rows) is None
    except ValueError:
        return True
    return False


def test_a_design_is_told_with_its_problem() -> None:
    """Of a tiny problem the design of the rows of its best is a candidate of that problem."""
    for seed in SEEDS[:6]:
        problem = tiny_problem(seed)
        space = Space.of(problem)
        boxes = boxes_at(space.rules, space.spans, 0.5)
        for designs in [] if boxes.empty else space.designs(boxes, Meter(), inf, Ceiling()):
            for n in range(min(2, len(designs))):
                candidate = space.candidate([rows[n] for rows in designs.rows])
                assert isinstance(candidate, Candidate) and candidate.problem == problem
                sizes = [[p.driver_mm for p in stage.positions] for stage in candidate.stages]
                assert sizes == [
                    index.pairs.driver_mm[rows[n]].tolist()
                    for index, rows in zip(space.indexes, designs.rows, strict=True)
                ]
