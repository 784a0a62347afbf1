"""What designs use up of what is in hand, counted one by one."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from types import SimpleNamespace
from typing import Any, NamedTuple, cast

import numpy as np
import pytest

from optimizer.records import BeltChoice, Layout, Problem, SideSizes, StageProblem
from optimizer.records.problem import DiscStock, Piece
from optimizer.search.pairs import KEPT, READY, TURNED
from optimizer.search.stock import StageStock, Stock
from tests.unit.search.machines import two_stage_machine

SIZES = (60.0, 80.0, 100.0, 120.0)
LAYOUTS = (
    Layout(positions=(2, 3), offsets=((0, 3), (0, 1, 2))),
    Layout(positions=(2,), offsets=((0, 1),)),
    Layout(positions=(1, 2), offsets=((0,), (0, 1))),
)
KEYS = ("stage[0].driver", "stage[0].driven", "stage[1].driver", "stage[1].driven")


class Case(NamedTuple):
    """A machine with a few pairs a stage."""

    problem: Problem
    indexes: tuple[Any, ...]


def pairs_of(rng: Random, belts: int, count: int = 5) -> Any:
    """Return pairs of a few sizes, each ready, turned or kept; those that are turned are rays in part."""
    columns: dict[str, Any] = {
        "driver_mm": [rng.choice(SIZES) for _ in range(count)],
        "driven_mm": [rng.choice(SIZES) for _ in range(count)],
        "scale_high": [rng.choice([1.0, 1.0, 1.05]) for _ in range(count)],
        "driver_source": [rng.choice([READY, READY, TURNED, KEPT]) for _ in range(count)],
        "driven_source": [rng.choice([READY, READY, TURNED, KEPT]) for _ in range(count)],
        "belt": [rng.randrange(belts) for _ in range(count)],
    }
    return SimpleNamespace(pairs=SimpleNamespace(**{name: np.array(column) for name, column in columns.items()}))


def drawn(seed: int) -> Case:
    """Return a machine that has sheaves, discs and belts in hand, some of them, or nothing."""
    rng = Random(seed)
    layout = rng.choice(LAYOUTS)
    stages = []
    for number in range(len(layout.positions)):
        sides = [
            SideSizes(
                key=f"stage[{number}].{name}",
                ready_mm=SIZES,
                scarce_mm=tuple(size for size in SIZES if rng.random() < 0.7),
                outside_shift_mm=rng.choice([0.0, 6.0]),
                truing_mm=4.0,
                scarce_above_mm=rng.choice([0.0, 80.0, 100.0]),
            )
            for name in ("driver", "driven")
        ]
        belts = tuple(
            BeltChoice(
                section="A",
                marking=f"A {n}",
                length_mm=1000.0 + 100 * n,
                window_mm=5.0,
                in_hand=1 + n % 2,
                sold=rng.random() < 0.4 or seed % 4 == 0,
            )
            for n in range(2)
        )
        stages.append(
            StageProblem(
                key=f"stage[{number}]", driver=sides[0], driven=sides[1], belts=belts, centre_mm=(200.0, 500.0)
            )
        )
    keys = KEYS[: 2 * len(stages)]
    pieces = tuple(
        Piece(
            key=f"in_hand.sheave[{n}]",
            steps_mm=tuple(rng.sample(SIZES, rng.choice([1, 1, 2]))),
            count=rng.choice([1, 2]),
            sides=tuple(sorted(rng.sample(keys, rng.randint(1, len(keys))))),
        )
        for n in range(rng.choice([0, 2, 3]) if seed % 4 else 0)
    )
    discs = tuple(
        DiscStock(diameter_mm=size + 10, count=rng.choice([1, 2]))
        for size in SIZES[1:]
        if seed % 4 and rng.random() < 0.6
    )
    problem = two_stage_machine().model_copy(
        update={"layout": layout, "stages": tuple(stages), "pieces": pieces, "discs": discs}
    )
    return Case(problem, tuple(pairs_of(rng, 2) for _ in stages))


class Step(NamedTuple):
    """One step of a design."""

    side: SideSizes
    size_mm: float
    most_mm: float
    source: int


def steps_of(case: Case, rows: list[list[int]]) -> Iterator[Step]:
    """Yield every step of a design."""
    for stage, index, chosen in zip(case.problem.stages, case.indexes, rows, strict=True):
        pairs = index.pairs
        for row in chosen:
            for side, sizes, source in (
                (stage.driver, pairs.driver_mm, pairs.driver_source),
                (stage.driven, pairs.driven_mm, pairs.driven_source),
            ):
                yield Step(side, float(sizes[row]), float(sizes[row] * pairs.scale_high[row]), int(source[row]))


def sheaves_go_round(case: Case, steps: list[Step]) -> bool:
    """Tell whether there are as many grooves as scarce pulleys, size by size, on every side and on sides that share."""
    pieces = case.problem.pieces
    groups = {piece.sides for piece in pieces} | {(key,) for piece in pieces for key in piece.sides}
    for size in SIZES:
        for group in groups:
            there = sum(p.count * p.steps_mm.count(size) for p in pieces if set(p.sides) & set(group))
            used = sum(
                step.source == READY and step.size_mm == size and step.side.key in group and size in step.side.scarce_mm
                for step in steps
            )
            if any(size in piece.steps_mm for piece in pieces) and used > there:
                return False
    return True


def discs_go_round(case: Case, steps: list[Step]) -> bool:
    """Tell whether every turned step that needs a disc in hand has one, the largest first."""
    have = sorted((disc.diameter_mm for disc in case.problem.discs for _ in range(disc.count)), reverse=True)
    needed = sorted(
        (
            step.most_mm + step.side.outside_shift_mm + step.side.truing_mm
            for step in steps
            if step.source == TURNED and step.most_mm > step.side.scarce_above_mm
        ),
        reverse=True,
    )
    if not case.problem.discs:
        return True
    # what is larger than all discs was ruled out where the pairs were laid
    needed = [min(size, have[0]) for size in needed]
    return len(needed) <= len(have) and all(disc >= size for disc, size in zip(have, needed, strict=False))


def belts_go_round(case: Case, rows: list[list[int]]) -> bool:
    """Tell whether belts that are not sold are there for all stages, or for the parts of stages that are chosen yet."""
    used: dict[tuple[str, float], float] = {}
    there: dict[tuple[str, float], int] = {}
    for stage, index, chosen, count in zip(
        case.problem.stages, case.indexes, rows, case.problem.layout.positions, strict=True
    ):
        for belt in stage.belts:
            if not belt.sold:
                there[belt.section, belt.length_mm] = belt.in_hand
        for row in chosen:
            belt = stage.belts[int(index.pairs.belt[row])]
            if not belt.sold:
                kind = (belt.section, belt.length_mm)
                used[kind] = used.get(kind, 0.0) + 1 / count
    return all(amount <= there[kind] + 1e-9 for kind, amount in used.items())


@pytest.mark.parametrize("seed", range(36))
def test_designs_are_held_against_what_is_in_hand(seed: int) -> None:
    """Of drawn designs just those are held of which sheaves, discs and belts go round, counted one by one."""
    case, rng = drawn(seed), Random(seed)
    stock = Stock.of(case.problem, case.indexes)
    scarce = case.problem.pieces or case.problem.discs or any(not b.sold for s in case.problem.stages for b in s.belts)
    assert (stock is not None) == bool(scarce)
    if stock is None:
        return
    positions = case.problem.layout.positions
    designs = [[[rng.randrange(5) for _ in range(count)] for count in positions] for _ in range(40)]
    rows = tuple(np.array([design[stage] for design in designs]) for stage in range(len(positions)))
    expected = []
    for design in designs:
        steps = list(steps_of(case, design))
        expected.append(sheaves_go_round(case, steps) and discs_go_round(case, steps) and belts_go_round(case, design))
    assert stock.holds(rows).tolist() == expected


@pytest.mark.parametrize("seed", range(1, 20))
def test_choices_of_a_stage_are_held_with_one_more_pair(seed: int) -> None:
    """What one stage uses with a pair more is held just where that goes round, the other stages using nothing."""
    case, rng = drawn(seed), Random(seed)
    stock = Stock.of(case.problem, case.indexes)
    if stock is None:
        return
    number = len(case.indexes) - 1
    count = case.problem.layout.positions[number]
    known = np.array([[rng.randrange(5) for _ in range(count - 1)] for _ in range(6)])
    asked, rows = np.array([rng.randrange(6) for _ in range(30)]), np.array([rng.randrange(5) for _ in range(30)])
    expected = []
    for n in range(30):
        chosen: list[list[int]] = [[] for _ in case.indexes]
        chosen[number] = [*known[asked[n]].tolist(), int(rows[n])]
        steps = list(steps_of(case, chosen))
        expected.append(sheaves_go_round(case, steps) and discs_go_round(case, steps) and belts_go_round(case, chosen))
    assert stock.stages[number].reaches(known, asked, rows).tolist() == expected


def test_enough_designs_are_held_and_enough_are_not() -> None:
    """Of the drawn cases a fair share of designs goes round, and a fair share does not."""
    held = []
    for seed in range(0, 60, 3):
        case, rng = drawn(seed), Random(seed)
        stock = Stock.of(case.problem, case.indexes)
        if stock is not None:
            rows = tuple(np.array([[rng.randrange(5) for _ in range(n)]]) for n in case.problem.layout.positions)
            held.append(bool(stock.holds(rows)[0]))
    assert 3 < sum(held) < len(held) - 3


def test_two_sizes_nearer_than_a_millionth_are_one() -> None:
    """A pulley of 80.0000005 mm uses the groove of 80 up, one of 80.00001 does not; so of discs just large enough."""
    case = drawn(1)
    stage = case.problem.stages[0]
    driver = stage.driver.model_copy(
        update={"scarce_mm": (80.0,), "scarce_above_mm": 90.0, "outside_shift_mm": 6.0, "truing_mm": 4.0}
    )
    belts = tuple(belt.model_copy(update={"sold": True}) for belt in stage.belts)
    stage = stage.model_copy(update={"driver": driver, "belts": belts})
    piece = Piece(key="in_hand.sheave[0]", steps_mm=(80.0000003,), count=1, sides=("stage[0].driver",))
    sizes = np.array([80.0, 80.0000005, 80.00001, 79.9999995, 79.99999])
    pairs = SimpleNamespace(
        driver_mm=sizes,
        driven_mm=np.full(5, 200.0),
        scale_high=np.ones(5),
        driver_source=np.full(5, READY),
        driven_source=np.full(5, KEPT),
        belt=np.zeros(5, dtype=int),
    )
    problem = case.problem.model_copy(
        update={"layout": LAYOUTS[1], "stages": (stage,), "pieces": (piece,), "discs": ()}
    )
    stock = Stock.of(problem, (cast(Any, SimpleNamespace(pairs=pairs)),))
    assert stock is not None
    assert stock.stages[0].uses[:, 0].tolist() == [1, 1, 0, 1, 0] and stock.stages[0].limit.tolist() == [1]
    pairs.driver_mm = np.array([90.0, 90.0000005, 90.00001, 100.0000005, 100.00001])
    pairs.driver_source = np.full(5, TURNED)
    discs = (DiscStock(diameter_mm=110.0, count=1), DiscStock(diameter_mm=130.0, count=2))
    stock = Stock.of(
        problem.model_copy(update={"pieces": (), "discs": discs}), (cast(Any, SimpleNamespace(pairs=pairs)),)
    )
    assert stock is not None
    # 90 and less is bought; of 110 as large a disc is enough up to 100, and either of the three does
    assert stock.stages[0].uses.T.tolist() == [[0, 0, 1, 1, 1], [0, 0, 0, 0, 1]]
    assert stock.stages[0].limit.tolist() == [3, 2]


def test_a_stage_of_many_positions_uses_its_belt_once() -> None:
    """Six positions use a sixth each: all of them one belt, of which there is one; two stages of the same two."""
    stock = StageStock(np.array([[10], [0]]), np.array([60]))
    known = np.array([[0, 0, 0, 0, 0]])
    nought = np.zeros(1, dtype=np.int64)
    assert stock.reaches(known, nought, nought).tolist() == [True]
    assert StageStock(stock.uses, np.array([59])).reaches(known, nought, nought).tolist() == [False]
    both = Stock((stock, stock))
    whole = np.zeros((1, 6), dtype=np.int64)
    assert both.holds((whole, whole)).tolist() == [False]
    assert both.holds((whole, whole + 1)).tolist() == [True]
