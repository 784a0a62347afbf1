"""Laws that squares on sheets keep for any squares, sheets, kerf and edge."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, product

from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.cuts.nesting import Box, Nesting, Square, Stock, largest_free, nest
from optimizer.records.nesting import NestedSheet
from tests.sampled import examples

CLOSE_MM = 1e-5
"""Far below what any saw does, above the rounding of floats."""
sides = st.one_of(st.floats(20, 700), st.integers(40, 320).map(float), st.just(180.0))
edges_mm = st.one_of(st.just(0.0), st.floats(0, 30))
kerfs_mm = st.one_of(st.just(0.0), st.just(25.4 / 8), st.floats(0, 6))
sheet_sides = st.floats(30, 2500)
stocks = st.builds(Stock, width_mm=sheet_sides, length_mm=sheet_sides, count=st.one_of(st.none(), st.integers(1, 3)))


@st.composite
def questions(draw: st.DrawFn) -> tuple[list[Square], list[Stock], float, float]:
    """Return squares, sheets, kerf and edge."""
    squares = [
        Square(name=f"disc {number}", side_mm=side) for number, side in enumerate(draw(st.lists(sides, max_size=30)))
    ]
    return squares, draw(st.lists(stocks, max_size=3)), draw(kerfs_mm), draw(edges_mm)


def _gap_mm(sheet: NestedSheet) -> float:
    """Return the least gap of a sheet's squares, by their edges alone."""
    gaps = [1e9]
    for one, other in combinations(sheet.squares, 2):
        left, right = sorted((one, other), key=lambda square: square.x_mm)
        low, high = sorted((one, other), key=lambda square: square.y_mm)
        gaps.append(max(right.x_mm - left.x_mm - left.side_mm, high.y_mm - low.y_mm - low.side_mm))
    return min(gaps)


@settings(max_examples=examples(60), deadline=None)
@given(questions())
def test_a_nesting_can_be_sawn_and_loses_nothing(question: tuple[list[Square], list[Stock], float, float]) -> None:
    """Squares keep a kerf from each other and the edge strip free, are all there once, on sheets that there are."""
    squares, shelf, kerf, edge = question
    nesting = nest(squares, shelf, kerf, edge)
    for sheet in nesting.sheets:
        assert _gap_mm(sheet) >= kerf - CLOSE_MM
        for square in sheet.squares:
            assert min(square.x_mm, square.y_mm) >= edge - CLOSE_MM
            assert square.x_mm + square.side_mm <= sheet.width_mm - edge + CLOSE_MM
            assert square.y_mm + square.side_mm <= sheet.length_mm - edge + CLOSE_MM
    placed = [(square.name, square.side_mm) for sheet in nesting.sheets for square in sheet.squares]
    unplaced = [(square.name, square.side_mm) for square in nesting.unplaced]
    assert Counter(placed + unplaced) == Counter((square.name, square.side_mm) for square in squares)
    used = Counter((sheet.width_mm, sheet.length_mm) for sheet in nesting.sheets if sheet.counted)
    for size, count in used.items():
        assert count <= sum(stock.count or 0 for stock in shelf if (stock.width_mm, stock.length_mm) == size)
    _holds_its_reasons(nesting, shelf)


def _holds_its_reasons(nesting: Nesting, shelf: list[Stock]) -> None:
    """What has no place is too large for every sheet, or there is no end of no sheet that would hold it."""
    for square in nesting.unplaced:
        holds = [
            stock
            for stock in shelf
            if square.side_mm <= min(stock.width_mm, stock.length_mm) - 2 * nesting.edge_mm + CLOSE_MM
        ]
        if square.reason == "no sheet left":
            assert holds
        assert all(stock.count is not None or square.reason == "too large for every sheet" for stock in holds)
    assert nesting.bound.sheets <= len(nesting.sheets)
    assert nesting.bound.waste <= nesting.waste + 1e-9


@settings(max_examples=examples(30), deadline=None)
@given(questions())
def test_what_is_left_over_is_free(question: tuple[list[Square], list[Stock], float, float]) -> None:
    """The rectangle left over keeps a kerf from every square, and the edge strip free."""
    squares, shelf, kerf, edge = question
    nesting = nest(squares, shelf, kerf, edge)
    left = nesting.leftover
    if left is None:
        return
    sheet = nesting.sheets[-1]
    assert edge - CLOSE_MM <= min(left.x_mm, left.y_mm)
    assert left.x_mm + left.width_mm <= sheet.width_mm - edge + CLOSE_MM
    assert left.y_mm + left.length_mm <= sheet.length_mm - edge + CLOSE_MM
    for square in sheet.squares:
        across = max(square.x_mm - left.x_mm - left.width_mm, left.x_mm - square.x_mm - square.side_mm)
        along = max(square.y_mm - left.y_mm - left.length_mm, left.y_mm - square.y_mm - square.side_mm)
        assert max(across, along) >= kerf - CLOSE_MM


@settings(max_examples=examples(20), deadline=None)
@given(questions())
def test_the_same_question_has_the_same_answer(question: tuple[list[Square], list[Stock], float, float]) -> None:
    """Asked twice, every square lies in the same place."""
    assert nest(*question) == nest(*question)


small = st.integers(0, 8)


@settings(max_examples=examples(200), deadline=None)
@given(st.lists(st.tuples(small, small, small, small), max_size=6), st.integers(0, 3))
def test_the_largest_rectangle_is_that_of_all_rectangles(corners: list[tuple[int, int, int, int]], kerf: int) -> None:
    """On a board of 8 x 8 fields, trying every rectangle of whole fields finds none larger than the one returned."""
    boxes = [Box(min(a, c), min(b, d), max(a, c) + 1, max(b, d) + 1) for a, b, c, d in corners]
    boxes = [Box(box.left, box.low, min(box.right, 8), min(box.high, 8)) for box in boxes]
    boxes = [box for box in boxes if box.left < box.right and box.low < box.high]
    most = 0
    spans = [(low, high) for low, high in combinations(range(9), 2) if high - low > kerf]
    for (left, right), (low, high) in product(spans, spans):
        if all(box.right <= left or right <= box.left or box.high <= low or high <= box.low for box in boxes):
            most = max(most, (right - left - kerf) * (high - low - kerf))
    found = largest_free(boxes, 8, 8, kerf)
    assert most == (0 if found is None else (found.right - found.left - kerf) * (found.high - found.low - kerf))
