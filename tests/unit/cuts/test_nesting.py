"""Squares on sheets, worked out by hand."""

from __future__ import annotations

from math import ceil
from time import perf_counter

import pytest
from pydantic import ValidationError

from optimizer.cuts.nesting import Box, Nesting, Square, Stock, are_parted_by_straight_cuts, largest_free, nest
from optimizer.records.nesting import NestedSheet, PlacedSquare
from tests.bench.nesting import MIXES, Mix, nested, nesting_table


def _nest(
    sides: list[float], *stocks: tuple[float, float, int | None], kerf: float = 3.0, edge: float = 5.0
) -> Nesting:
    squares = [Square(name=f"disc {number}", side_mm=side) for number, side in enumerate(sides, 1)]
    return nest(squares, [Stock(width_mm=w, length_mm=h, count=count) for w, h, count in stocks], kerf, edge)


def test_four_squares_on_a_long_sheet() -> None:
    """Four squares of 600 mm lie two by two on 1220 x 2440 mm: waste 1 - 4 · 0.36 / 2.9768 m² = 51.6 %.

    Across: 5 + 600 + 3 + 600 = 1208, at most 1220 - 5. Along two rows take as much, and up to 2440 - 5 there is left
    from 5 + 2 · 603 = 1211 on: 1224 mm, over the whole width of 1210 mm.
    """
    nesting = _nest([600] * 4, (1220, 2440, None))
    (sheet,) = nesting.sheets
    assert {(square.x_mm, square.y_mm) for square in sheet.squares} == {(5, 5), (608, 5), (5, 608), (608, 608)}
    assert nesting.waste == pytest.approx(1 - 1.44 / 2.9768, abs=1e-9)
    assert sheet.waste == nesting.waste
    left = nesting.leftover
    assert left is not None
    assert (left.x_mm, left.y_mm, left.width_mm, left.length_mm) == (5, 1211, 1210, 1224)
    assert sheet.straight


def test_eight_squares_fill_a_long_sheet_and_a_ninth_needs_another() -> None:
    """Two by four squares of 600 mm: 5 + 4 · 600 + 3 · 3 = 2414, at most 2440 - 5, so eight fit and nine do not."""
    assert len(_nest([600] * 8, (1220, 2440, None)).sheets) == 1
    nine = _nest([600] * 9, (1220, 2440, None))
    assert [len(sheet.squares) for sheet in nine.sheets] == [8, 1]
    assert [square.number for sheet in nine.sheets for square in sheet.squares] == list(range(1, 10))
    assert (nine.sheets[0].leftover, nine.leftover is None) == (None, False)


@pytest.mark.parametrize(("kerf", "sheets"), [(3.0, 1), (3.000002, 4)])
def test_a_kerf_that_just_fits(kerf: float, sheets: int) -> None:
    """Four squares of 100 mm take 5 + 100 + kerf + 100 + 5 mm each way: 213 mm with a kerf of 3 mm.

    With a millionth more only one square fits on a sheet.
    """
    assert len(_nest([100] * 4, (213, 213, None), kerf=kerf).sheets) == sheets


def test_inches_fit_to_the_last_bit() -> None:
    """Four squares of 12 in with kerfs of 1/8 in and edges of 13/64 in fill 48 + 3/8 + 13/32 in exactly."""
    inch = 25.4
    width = 4 * 12 * inch + 3 * inch / 8 + 2 * 13 / 64 * inch
    nesting = _nest([12 * inch] * 16, (width, width, None), kerf=inch / 8, edge=13 / 64 * inch)
    assert len(nesting.sheets) == 1
    assert nesting.leftover is None


def test_what_is_too_large_is_named() -> None:
    """A square of 500 mm is too large for 505 x 2000 mm with edges of 5 mm, one of 495 mm is not."""
    nesting = _nest([500, 495], (505, 2000, None))
    assert [(square.name, square.reason) for square in nesting.unplaced] == [("disc 1", "too large for every sheet")]
    assert [square.name for square in nesting.sheets[0].squares] == ["disc 2"]


def test_sheets_that_run_out_are_named() -> None:
    """One sheet of 213 x 213 mm holds four squares of 100 mm; the fifth has no sheet left."""
    nesting = _nest([100] * 5, (213, 213, 1))
    assert sum(len(sheet.squares) for sheet in nesting.sheets) == 4
    assert [square.reason for square in nesting.unplaced] == ["no sheet left"]


def test_without_sheets_or_squares() -> None:
    """No stock places nothing and loses nothing; no squares use no sheet and waste nothing."""
    nothing = _nest([100, 200])
    assert (nothing.sheets, len(nothing.unplaced), nothing.waste) == ((), 2, 0)
    assert _nest([], (1220, 2440, None)).sheets == ()
    narrow = _nest([5], (10, 2440, None))
    assert [square.reason for square in narrow.unplaced] == ["too large for every sheet"]


def test_equal_squares_are_numbered_as_they_were_stated() -> None:
    """Of equal squares the first stated has the lowest number, and it is the last stated that find no sheet left."""
    nesting = _nest([100, 80, 100, 100, 100, 100, 100], (213, 213, 1), (174, 174, 1))
    names = [square.name for sheet in nesting.sheets for square in sheet.squares if square.side_mm == 100]
    assert names == sorted(names)
    assert [square.name for square in nesting.unplaced if square.side_mm == 100] == ["disc 7"]
    assert [square.number for sheet in nesting.sheets for square in sheet.squares] == list(range(1, 6))


def test_offcuts_are_used_before_whole_sheets() -> None:
    """Two offcuts of 213 mm take eight of nine squares, the smaller offcut first; the ninth goes on a whole sheet."""
    nesting = _nest([100] * 9, (1525, 1525, None), (214, 214, 1), (213, 213, 1))
    assert [(sheet.width_mm, sheet.counted, len(sheet.squares)) for sheet in nesting.sheets] == [
        (213, True, 4),
        (214, True, 4),
        (1525, False, 1),
    ]


def test_an_offcut_too_small_stays_on_the_shelf() -> None:
    """An offcut that no square fits is not used, nor counted as waste."""
    nesting = _nest([300], (1525, 1525, None), (200, 200, 4))
    assert [sheet.width_mm for sheet in nesting.sheets] == [1525]


def test_the_first_stated_of_endless_sheets_is_taken_where_it_holds_the_square() -> None:
    """Of two sizes without end, the second is only opened for what the first cannot hold."""
    nesting = _nest([250, 150, 150], (213, 213, None), (310, 310, None))
    assert sorted((sheet.width_mm, sheet.squares[0].side_mm) for sheet in nesting.sheets) == [
        (213, 150),
        (213, 150),
        (310, 250),
    ]


def test_the_bound_by_area_counts_kerf_and_edge() -> None:
    """Nine squares of 100 mm: 9 · 103² = 95481; one sheet of 305 mm gives 298² = 88804, two hold twice as much.

    Two by two to a sheet take 5 + 100 + 3 + 100 = 208 mm; a third in a row would need 311 mm, more than 300 mm. So
    three sheets are used where area alone would allow two: waste 67.7 % instead of 1 - 90000 / (2 · 305²) = 51.6 %.
    """
    nesting = _nest([100] * 9, (305, 305, None))
    assert (len(nesting.sheets), nesting.bound.sheets) == (3, 2)
    assert nesting.bound.waste == pytest.approx(1 - 90000 / (2 * 93025), abs=1e-9)
    assert nesting.waste == pytest.approx(1 - 90000 / (3 * 93025), abs=1e-9)


def test_a_kerf_below_0_is_refused() -> None:
    """No saw adds timber."""
    with pytest.raises(ValueError, match="kerf and edge must be 0 or more"):
        _nest([100], (500, 500, None), kerf=-1)


def test_many_equal_discs_are_quick() -> None:
    """72 squares of 180 mm lie 8 by 8 on 1525 mm (5 + 8 · 183.2 - 3.2 = 1467.4), eight on a second sheet, in 0.3 s."""
    took_s = []
    for _ in range(3):
        start = perf_counter()
        nesting = _nest([180] * 72, (1525, 1525, None), kerf=3.2)
        took_s.append(perf_counter() - start)
        assert [len(sheet.squares) for sheet in nesting.sheets] == [64, 8]
    assert min(took_s) < 0.3


def test_a_sheet_that_cannot_be_sawn_is_no_record() -> None:
    """Squares that overlap, leave no kerf, or lie in the edge strip, are refused."""
    for x_mm, word in ((50.0, "kerf"), (107.0, "kerf"), (396.0, "edge"), (4.0, "edge")):
        with pytest.raises(ValidationError, match=word):
            NestedSheet(
                number=1,
                width_mm=500,
                length_mm=500,
                counted=False,
                kerf_mm=3,
                edge_mm=5,
                straight=True,
                squares=(
                    PlacedSquare(number=1, name="", x_mm=5, y_mm=5, side_mm=100),
                    PlacedSquare(number=2, name="", x_mm=x_mm, y_mm=5, side_mm=100),
                ),
            )


def test_straight_cuts_part_a_grid_but_not_a_wheel() -> None:
    """A grid comes apart by cuts right across; four around a fifth, each passing its neighbour's end, do not."""
    grid = [Box(x, y, x + 10, y + 10) for x in range(0, 50, 10) for y in range(0, 50, 10)]
    assert are_parted_by_straight_cuts(grid)
    wheel = [Box(0, 0, 6, 4), Box(6, 0, 10, 6), Box(4, 6, 10, 10), Box(0, 4, 4, 10), Box(4, 4, 6, 6)]
    assert not are_parted_by_straight_cuts(wheel)
    assert are_parted_by_straight_cuts([])


def test_the_largest_rectangle_left() -> None:
    """Of a room of 10 x 10 with a column 3 wide and a box in a corner, 7 x 6 is left, less a kerf each way."""
    boxes = [Box(0, 0, 3, 10), Box(6, 0, 10, 4)]
    assert largest_free(boxes, 10, 10, 1) == Box(3, 4, 10, 10)
    assert largest_free([], 10, 10, 1) == Box(0, 0, 10, 10)
    assert largest_free([Box(0, 0, 10, 9)], 10, 10, 1) is None


@pytest.mark.parametrize("mix", MIXES, ids=[mix.name for mix in MIXES])
def test_mixes_of_discs_take_as_few_sheets_as_area_allows(mix: Mix) -> None:
    """Every mix takes the sheets that area alone allows; two squares just over half a sheet's width take one more."""
    nesting = nested(mix)
    more = 1 if mix.name == "two just over half the width" else 0
    assert not nesting.unplaced
    assert len(nesting.sheets) == nesting.bound.sheets + more
    width_mm, length_mm = mix.sheet_mm
    need_mm2 = sum(count * (side + nesting.kerf_mm) ** 2 for count, side in mix.discs)
    room_mm2 = (width_mm + nesting.kerf_mm - 2 * nesting.edge_mm) * (length_mm + nesting.kerf_mm - 2 * nesting.edge_mm)
    assert nesting.bound.sheets == ceil(need_mm2 / room_mm2)
    assert nesting.waste == pytest.approx(nesting.bound.waste) or more


def test_the_table_of_mixes_is_the_same_every_time() -> None:
    """The table has a row for each of at least twelve mixes, and is the same text at every call."""
    table = nesting_table()
    assert len(MIXES) >= 12
    assert len([line for line in table.splitlines() if line.startswith("| ")]) == len(MIXES) + 2
    assert table == nesting_table()
