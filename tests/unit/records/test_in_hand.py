"""Pieces put on cones by hand: what goes round, what does not."""

from __future__ import annotations

import pytest

from optimizer.records.candidate import PositionSizes, StageSizes
from optimizer.records.layout import Layout
from optimizer.records.problem import (
    BandTarget,
    BeltChoice,
    DiscStock,
    Piece,
    Problem,
    SideSizes,
    StageProblem,
    Targets,
)
from optimizer.records.rules import Slots, in_hand_faults, pieces_reach

ONE, OTHER = "stage[0].driver", "stage[1].driver"


def cone(*sizes: float | None, key: str = ONE, sold: tuple[float, ...] = (), overhang: int = 0) -> Slots:
    """Return a cone whose steps are pulleys of these sizes, those not sold only in hand; nothing for turned steps."""
    scarce = tuple({size for size in sizes if size is not None and size not in sold})
    return Slots(SideSizes(key=key, scarce_mm=scarce, overhang=overhang), sizes)


def piece(*steps: float, count: int = 1, sides: tuple[str, ...] = (ONE, OTHER), key: str = "") -> Piece:
    """Return a piece in the drawer."""
    return Piece(key=key or f"{steps}", steps_mm=steps, count=count, sides=sides)


@pytest.mark.parametrize(
    ("pieces", "cones", "reach"),
    [
        # single sheaves: as often as there are of them
        ([piece(63)], [cone(63)], True),
        ([piece(63)], [cone(63, 63)], False),
        ([piece(63, count=2), piece(90)], [cone(63, 63, 90)], True),
        ([piece(63, count=2), piece(90)], [cone(63, 90, 90)], False),
        ([piece(63, key="a"), piece(63, key="b")], [cone(63, 63)], True),
        # one drawer for two cones
        ([piece(63)], [cone(63), cone(63, key=OTHER)], False),
        ([piece(63, count=2)], [cone(63), cone(63, key=OTHER)], True),
        ([piece(63, sides=(OTHER,), count=2)], [cone(63), cone(63, key=OTHER)], False),
        # what is sold too, or turned, needs none
        ([piece(63)], [cone(63, 90, 90, sold=(90,))], True),
        ([piece(63)], [cone(63, None, None)], True),
        # a double sheave is one piece: neighbours, either way round
        ([piece(63, 90)], [cone(63, 90)], True),
        ([piece(90, 63)], [cone(63, 90)], True),
        ([piece(63, 90)], [cone(63, None, 90)], False),
        ([piece(63, 90)], [cone(63), cone(90, key=OTHER)], False),
        ([piece(63, 63)], [cone(63, 63), cone(63, key=OTHER)], False),
        ([piece(63, 90, 125)], [cone(63, 90, 125)], True),
        ([piece(63, 90, 125)], [cone(63, 125, 90)], False),
        # its other groove may not be over a step of another size, nor over one that is turned
        ([piece(63, 90)], [cone(63, 100, sold=(100,))], False),
        ([piece(63, 90)], [cone(63, None)], False),
        # it may be over a size that is sold: then that step is the piece's
        ([piece(63, 90)], [cone(63, 90, sold=(90,))], True),
        # a groove beyond the end stands idle, where there is room
        ([piece(63, 90)], [cone(63)], False),
        ([piece(63, 90)], [cone(63, overhang=1)], True),
        ([piece(63, 90, 125)], [cone(63, overhang=1)], False),
        ([piece(63, 90, 125)], [cone(63, overhang=2)], True),
        ([piece(90, 63, 90)], [cone(63, overhang=2)], True),
        # an exact cover: the double must leave the single its place
        ([piece(63, 63), piece(63)], [cone(63, 63, 63)], True),
        ([piece(63, 63)], [cone(63, 63, 63)], False),
        ([piece(63, 90), piece(90)], [cone(63, 90, 90)], True),
        ([piece(63, 63), piece(63, 90)], [cone(63, 63, 63, 90)], True),
        ([piece(63, 63, count=2)], [cone(63, 63, 63, 63)], True),
        ([piece(63, 63, count=2)], [cone(63, 63, 63, overhang=1)], True),
        ([piece(63, 63, count=2)], [cone(63, 63, 63)], False),
    ],
)
def test_pieces_go_round_or_do_not(pieces: list[Piece], cones: list[Slots], reach: bool) -> None:
    """Every step that only a piece can be is under one piece, and no piece is in two places."""
    assert pieces_reach(pieces, cones) is reach


def test_the_order_of_the_drawer_does_not_matter() -> None:
    """A piece tried first that leaves the rest without a place is taken off again."""
    pieces = [piece(63, 63), piece(63, 90), piece(90, 125)]
    steps = cone(63, 63, 63, 90, 90, 125)
    assert pieces_reach(pieces, [steps])
    assert pieces_reach(pieces[::-1], [steps])
    assert not pieces_reach(pieces[:2], [steps])


# A whole design


def _problem(belt: BeltChoice, discs: tuple[DiscStock, ...] = (), scarce_above_mm: float = 0.0) -> Problem:
    side = {"outside_shift_mm": 6.6, "truing_mm": 4.0, "scarce_above_mm": scarce_above_mm}
    stages = tuple(
        StageProblem(
            key=f"stage[{n}]",
            driver=SideSizes.model_validate({"key": f"stage[{n}].driver", **side}),
            driven=SideSizes.model_validate({"key": f"stage[{n}].driven", **side}),
            belts=(belt,),
            centre_mm=(200, 400),
        )
        for n in range(2)
    )
    bands = (BandTarget(name="all", low_rpm=100, high_rpm=3000),)
    return Problem(
        layout=Layout(positions=(1, 1), offsets=((0,), (0,))),
        motor_rpm=1400,
        stages=stages,
        targets=Targets(bands=bands, lo_rpm=100, hi_rpm=3000),
        discs=discs,
    )


def _stages(belt: BeltChoice, *sizes: tuple[float, float]) -> list[StageSizes]:
    return [
        StageSizes(belt=belt, positions=(PositionSizes(driver_mm=a, driven_mm=b, centre_mm=300),)) for a, b in sizes
    ]


SOLD = BeltChoice(section="A", marking="A 1120", length_mm=1120, window_mm=20, in_hand=1)
OLD = BeltChoice(section="A", marking="A 1133 mm", length_mm=1133, window_mm=20, in_hand=1, sold=False)


def test_a_belt_that_is_not_sold_runs_on_as_many_stages_as_there_are_of_it() -> None:
    """One old belt on two stages is one too few; of a belt that is sold another is bought."""
    assert list(in_hand_faults(_problem(SOLD), _stages(SOLD, (100, 100), (100, 100)))) == []
    assert list(in_hand_faults(_problem(OLD), _stages(OLD, (100, 100), (100, 100)))) == [
        "the belt A 1133 mm is used more often than it is in hand"
    ]
    two = OLD.model_copy(update={"in_hand": 2})
    assert list(in_hand_faults(_problem(two), _stages(two, (100, 100), (100, 100)))) == []


@pytest.mark.parametrize(
    ("counts", "enough"),
    [
        # pitch 100, 120, 140, 160 need discs of 10.6 mm more: 110.6, 130.6, 150.6, 170.6
        ({120: 1, 140: 1, 160: 1, 180: 1}, True),
        ({180: 4}, True),
        ({180: 3}, False),
        ({120: 1, 160: 2, 180: 1}, True),
        ({120: 2, 160: 1, 180: 1}, False),
        ({120: 9, 140: 9, 160: 9}, False),
        ({170.6: 1, 150.6: 1, 130.6: 1, 110.6: 1}, True),
        ({170.5: 1, 150.6: 1, 130.6: 1, 110.6: 1}, False),
    ],
)
def test_every_step_has_a_disc_of_its_own(counts: dict[float, int], enough: bool) -> None:
    """A larger disc does for a smaller step, never a smaller one for a larger."""
    discs = tuple(DiscStock(diameter_mm=size, count=count) for size, count in sorted(counts.items()))
    faults = list(in_hand_faults(_problem(SOLD, discs), _stages(SOLD, (100, 160), (140, 120))))
    assert faults == ([] if enough else ["more discs are used than are in hand"])


def test_steps_from_discs_that_are_sold_need_none_in_hand() -> None:
    """Where sizes up to 130 mm can be turned from bought discs only those of 140 and 160 mm come from the shelf."""
    discs = (DiscStock(diameter_mm=180, count=2),)
    stages = _stages(SOLD, (100, 160), (140, 120))
    assert list(in_hand_faults(_problem(SOLD, discs, 130.0), stages)) == []
    assert list(in_hand_faults(_problem(SOLD, discs, 110.0), stages)) == ["more discs are used than are in hand"]
