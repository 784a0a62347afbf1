"""Passes at one threshold, designs in order of what is wished: each as worked out by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from optimizer.clock import Clock, LimitReachedError
from optimizer.search import threshold as module
from optimizer.search.chains import Designs
from optimizer.search.limits import AllowanceSpentError, Meter
from optimizer.search.threshold import (
    CHEAP,
    DEAR,
    TRIM,
    VENTURE,
    Best,
    _ceiling,
    _Entry,
    _in_order,
    _Passes,
    any_below,
    improving,
    least,
    rise,
)

SPACE: Any = SimpleNamespace(rules=SimpleNamespace(offsets=[np.array([0.0, 3.0]), np.array([0.0, 1.0, 2.0])]))


class Meals:
    """A space that gives designs in blocks, and candidates of all but some."""

    def __init__(self, blocks: Sequence[Designs], bad: set[int] = frozenset()) -> None:  # type: ignore[assignment]
        self.blocks, self.bad = blocks, bad
        self.ceilings: list[tuple[float, float]] = []
        self.asked: list[int] = []
        column = np.arange(20.0)
        pairs = SimpleNamespace(timber_mm3=column * 10, belt=column * 0, driver_mm=100 - column, driven_mm=column)
        self.indexes = (SimpleNamespace(pairs=pairs), SimpleNamespace(pairs=pairs))
        self.problem = SimpleNamespace()

    def designs(self, boxes: Any, meter: Meter, timber_most: float, ceiling: Any) -> Iterator[Designs]:
        """Yield the blocks; note the ceiling as it is before each and at the end."""
        self.asked.append(timber_most)  # type: ignore[arg-type]
        for block in self.blocks:
            self.ceilings.append((ceiling.j, ceiling.timber_mm3))
            yield block
        self.ceilings.append((ceiling.j, ceiling.timber_mm3))

    def candidate(self, rows: list[Any]) -> Any:
        """Return a stand-in for the design, nothing where it cannot be trimmed."""
        row = int(rows[0][0])
        return None if row in self.bad else f"design {row}"


def block(*designs: tuple[int, float]) -> Designs:
    """Return designs by their row and J; their timber is 20 times the row."""
    rows = np.array([[row] for row, _ in designs])
    return Designs((rows, rows), np.array([j for _, j in designs]))


BOX: Any = SimpleNamespace(empty=False)
NONE: Any = SimpleNamespace(empty=True)


def improved(space: Meals, meter: Meter, **more: Any) -> list[tuple[str, float, float, float]]:
    """Return what is yielded: design, J, timber, bound."""
    told = improving(cast(Any, space), [NONE, BOX], meter, **more)
    return [(cast(Any, best.candidate), best.j, best.timber_mm3, best.bound) for best in told]


def test_designs_are_told_each_better_than_the_one_before() -> None:
    """Of a block the best is told; of later blocks only what is better, of equal J what has less timber."""
    blocks = [
        block((7, 0.3), (5, 0.2), (9, 0.4)),
        block((8, 0.2), (6, 0.25)),
        block((4, 0.2)),
        block((3, 0.1), (2, 0.2)),
    ]
    space = Meals(blocks)
    assert improved(space, Meter()) == [
        ("design 5", 0.2, 100.0, 0.2),
        ("design 4", 0.2, 80.0, 0.2),
        ("design 3", 0.1, 60.0, 0.1),
    ]
    # with room for a tie
    assert space.ceilings[0] == (inf, inf) and len(space.ceilings) == 5
    assert [j for j, _ in space.ceilings[1:]] == pytest.approx([0.2, 0.2, 0.2, 0.1]) and space.ceilings[1][0] > 0.2
    assert {timber for _, timber in space.ceilings} == {inf}
    assert space.asked == [inf]


def test_the_least_timber_is_told_where_that_is_wished() -> None:
    """By timber, then J; the ceiling is of timber, a hundredth of a cubic millimetre above."""
    space = Meals([block((7, 0.3), (5, 0.4), (5, 0.2)), block((5, 0.1), (4, 0.9))])
    assert improved(space, Meter(), timber_most=500.0, wish="timber") == [
        ("design 5", 0.2, 100.0, 0.2),
        ("design 4", 0.9, 80.0, 0.9),
    ]
    assert space.ceilings == [(inf, inf), (inf, pytest.approx(100.01)), (inf, pytest.approx(80.01))]
    assert space.asked == [500.0]
    assert (
        cast(Any, least(cast(Any, Meals([block((7, 0.3), (5, 0.4))])), [BOX], Meter(), wish="timber")).timber_mm3 == 100
    )
    assert least(cast(Any, Meals([])), [BOX], Meter()) is None


def test_a_design_that_cannot_be_trimmed_costs_and_the_next_is_tried() -> None:
    """The first two cannot: each costs 5000 combinations; the third is told, those after it are not tried."""
    meter = Meter()
    space = Meals([block((5, 0.1), (6, 0.2), (7, 0.3), (8, 0.4))], {5, 6, 8})
    assert [row[0] for row in improved(space, meter)] == ["design 7"]
    assert meter.examined == 2 * TRIM


def test_equal_designs_are_told_by_their_sizes() -> None:
    """Of the same J and timber to within rounding the one of the smaller belt, then driver, then driven comes out."""
    rows = (np.array([[3], [3]]), np.array([[4], [4]]))
    space = Meals([])
    entry, other = _in_order(cast(Any, space), Designs(rows, np.array([0.1, 0.1 + 1e-14])), "j")
    assert entry.merit == other.merit == pytest.approx((0.1, 70.0))
    assert entry.rank(cast(Any, space)) == (*entry.merit, 0.0, 97.0, 3.0, 0.0, 96.0, 4.0)
    equal = Meals(
        [
            Designs((np.array([[4]]), np.array([[3]])), np.array([0.1])),
            Designs((np.array([[3]]), np.array([[4]])), np.array([0.1])),
        ]
    )
    assert [row[0] for row in improved(equal, Meter())] == ["design 4"]
    turned = Meals(equal.blocks[::-1])
    assert [row[0] for row in improved(turned, Meter())] == ["design 3", "design 4"]


def test_designs_come_in_order_of_what_is_wished() -> None:
    """J 0.3, 0.1, 0.1 and timber 140, 180, 100: by J then timber, or by timber; the merit is both, rounded."""
    designs = block((7, 0.3), (9, 0.1), (5, 0.1 + 1e-15))
    space = cast(Any, Meals([]))
    by_j = [(int(e.rows[0][0]), e.merit, e.j, e.timber_mm3) for e in _in_order(space, designs, "j")]
    assert [row for row, *_ in by_j] == [5, 9, 7]
    assert by_j[0][1] == pytest.approx((0.1, 100.0)) and by_j[2][2:] == (0.3, 140.0)
    by_timber = list(_in_order(space, designs, "timber"))
    assert [int(e.rows[0][0]) for e in by_timber] == [5, 7, 9]
    assert by_timber[1].merit == pytest.approx((140.0, 0.3))
    entry = _Entry((0.1, 5.0), 0.1, 5.0, ())
    assert _ceiling(entry, "j") == pytest.approx((0.1 + 2e-12, inf), rel=0, abs=1e-15)
    assert _ceiling(entry, "timber") == pytest.approx((inf, 5.01))


def passes(space: Any, meter: Meter, **more: Any) -> _Passes:
    """Return passes over a space."""
    return _Passes(space, cast(Any, SimpleNamespace()), meter, 0.0, **more)


@pytest.fixture
def boxes(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, float]]:
    """Return which boxes are asked for, and at which threshold."""
    asked: list[tuple[str, float]] = []

    def closed(rules: Any, spans: Any, most: float) -> Any:
        asked.append(("closed", most))
        return BOX

    def narrow(program: Any, spans: Any, most: float) -> list[Any]:
        asked.append(("narrow", most))
        return [BOX]

    monkeypatch.setattr(module, "boxes_at", closed)
    monkeypatch.setattr(module, "boxes_by_program", narrow)
    return asked


class Costs(Meals):
    """A space whose first block comes after so many combinations, each further one after so many more."""

    def __init__(self, blocks: Sequence[Designs], costs: Sequence[int]) -> None:
        super().__init__(blocks)
        self.costs = list(costs)
        self.rules = SPACE.rules
        self.spans: list[tuple[float, float]] = []

    def designs(self, boxes: Any, meter: Meter, timber_most: float, ceiling: Any) -> Iterator[Designs]:
        """Yield the blocks after what they cost."""
        for cost, each in zip(self.costs, super().designs(boxes, meter, timber_most, ceiling), strict=True):
            meter.spend(cost)
            yield each


def test_narrow_boxes_are_taken_once_those_in_closed_form_are_dear(boxes: list[tuple[str, float]]) -> None:
    """Up to 200000 combinations closed boxes do; beyond them the pass begins again, and all later ones are narrow."""
    cheap = passes(Costs([block((5, 0.1))], [DEAR]), Meter())
    assert cast(Any, cheap.best(0.3)).j == 0.1
    assert boxes == [("closed", 0.3)] and not cheap.narrow
    boxes.clear()
    costly = passes(Costs([block((5, 0.1))], [DEAR + 1]), Meter())
    assert cast(Any, costly.best(0.3)).j == 0.1
    assert boxes == [("closed", 0.3), ("narrow", 0.3)] and costly.narrow
    assert cast(Any, costly.best(0.4)).j == 0.1
    assert boxes[2:] == [("narrow", 0.4)]


def test_an_allowance_of_all_passes_ends_the_pass_itself(boxes: list[tuple[str, float]]) -> None:
    """Where less than 200000 was allowed in all, the pass is not begun again, whatever was looked at before."""
    meter = Meter()
    meter.spend(DEAR)
    costly = passes(Costs([block((5, 0.1))], [100]), meter)
    with pytest.raises(AllowanceSpentError), meter.allowance(50):
        costly.best(0.3)
    assert boxes == [("closed", 0.3)] and not costly.narrow


def test_a_pass_knows_its_best_design_and_stops_at_the_first_where_any_does(boxes: list[tuple[str, float]]) -> None:
    """Of J 0.3 and 0.1 the second is the best and is known; where any does only the first is made."""
    space = Costs([block((5, 0.29)), block((6, 0.1))], [1, 1])
    whole = passes(space, Meter())
    assert cast(Any, whole.best(0.3)).j == whole.known.j == 0.1
    first = passes(Costs([block((5, 0.29)), block((6, 0.1))], [1, 1]), Meter(), any_does=True)
    assert cast(Any, first.best(0.3)).j == first.known.j == 0.29
    # a better one of a pass before stays
    whole.known = Best(None, 0.05, 1.0, 0.05)
    whole.best(0.3)
    assert whole.known.j == 0.05
    assert passes(Costs([], []), Meter()).best(0.3) is None


@pytest.mark.parametrize(
    ("j", "cost", "more", "given_up"),
    [
        # nearer to the bound than three quarters of the way: no more than four times 25000 more, or as much again
        (0.22, 10, VENTURE * CHEAP, False),
        (0.22, 10, VENTURE * CHEAP + 1, True),
        (0.22, 150_000, 40_000, False),
        (0.22, 150_000 - DEAR // 10, 150_000, True),
        (0.23, 10, VENTURE * CHEAP + 1, False),
        (0.23, 10, DEAR - 10, False),
    ],
)
def test_a_good_design_makes_a_pass_begin_again_if_much_is_left(
    boxes: list[tuple[str, float]], j: float, cost: int, more: int, given_up: bool
) -> None:
    """With a bound of 0 and a threshold of 0.3 a J below 0.225 leaves the rest of the pass little."""
    meter = Meter()
    meter.spend(7)
    space = Costs([block((5, j)), block((6, 0.299))], [cost, more])
    run = passes(space, meter)
    run.narrow = True
    if given_up:
        with pytest.raises(AllowanceSpentError), meter.allowance(10**9):
            run.best(0.3)
    else:
        with meter.allowance(10**9):
            run.best(0.3)
    assert run.known.j == j


def test_any_design_is_tried_for_at_the_last_threshold_first(boxes: list[tuple[str, float]]) -> None:
    """Found at once, or none there; beyond 25000 combinations the threshold rises from the bound instead."""
    span = (0.1, 0.4)
    found = any_below(cast(Any, Costs([block((5, 0.3)), block((6, 0.2))], [CHEAP, 1])), cast(Any, None), span, Meter())
    assert found.j == 0.3 and boxes == [("closed", 0.4)]
    assert any_below(cast(Any, Costs([], [])), cast(Any, None), span, Meter()) == Best.none(0.4)
    boxes.clear()
    slow = any_below(cast(Any, Costs([block((5, 0.3))], [CHEAP + 1])), cast(Any, None), span, Meter())
    # begun again at 0.1 and a fiftieth of it, where there is as much to look at
    assert slow.j == 0.3 and boxes[:2] == [("closed", 0.4), ("closed", pytest.approx(0.102))]
    meter = Meter(Clock(most=5))
    stopped = any_below(cast(Any, Costs([block((5, 0.3))], [6])), cast(Any, None), span, meter)
    assert stopped == Best(None, inf, inf, 0.1, "5 combinations were looked at")


def test_a_rise_counts_and_stops_like_its_passes(boxes: list[tuple[str, float]]) -> None:
    """The first pass is at 0.0005 above a bound of 0; what is found there is the answer."""
    meter = Meter()
    best = rise(cast(Any, Costs([block((5, 0.0004))], [3])), cast(Any, None), (0.0, 0.4), meter)
    assert (best.j, best.bound, meter.examined) == (0.0004, 0.0004, 3)
    assert boxes == [("closed", 0.0005)]
    with pytest.raises(LimitReachedError):
        Meter(Clock(most=-1)).spend(0)
