"""Sheets on paper: room, tiles, marks, captions."""

from __future__ import annotations

from itertools import pairwise, permutations
from math import ceil

import pytest

from optimizer.drawing.lettering import box_of, text_width_mm
from optimizer.drawing.pages import FOOT_MM, MARGIN_MM, OVERLAP_MM, PAPERS, Page, paged
from optimizer.drawing.sheet import Area, Entity, Layer, Line, Polyline, Sheet, Text
from tests.sheets import HOSTILE, rich_sheet

SIZES = [(10.0, 10.0), (194.0, 100.0), (250.0, 150.0), (300.0, 100.0), (150.0, 900.0), (1000.0, 700.0), (3000.0, 20.0)]
Box = tuple[float, float, float, float]


def _sheet(width_mm: float, height_mm: float, title: str = "A gauge") -> Sheet:
    return Sheet(title, width_mm, height_mm, (), ())


def _pages() -> list[tuple[str, tuple[float, float], tuple[Page, ...]]]:
    return [(paper, size, paged(_sheet(*size), PAPERS[paper])) for paper in PAPERS for size in SIZES]


def _texts(page: Page) -> list[str]:
    return [entity.text for entity in page.furniture.entities if isinstance(entity, Text)]


def _box(entity: Entity) -> Box:
    points = box_of(entity) if isinstance(entity, Text) else _points(entity)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _points(entity: Entity) -> tuple[tuple[float, float], ...]:
    match entity:
        case Line():
            return (entity.start, entity.end)
        case Polyline() | Area():
            return entity.points
    raise AssertionError(entity)


def _meet(one: Box, other: Box) -> bool:
    """Tell whether boxes share more than an edge."""
    near = 1e-9
    return all(one[k] < other[k + 2] - near and other[k] < one[k + 2] - near for k in (0, 1))


def test_a_sheet_that_fits_is_one_page_turned_to_suit() -> None:
    """A sheet as wide as the room is one upright page, a wider one lies; either is drawn whole, at its own size."""
    room = 210 - 2 * MARGIN_MM, 297 - 2 * MARGIN_MM - FOOT_MM
    (upright,) = paged(_sheet(*room), PAPERS["A4"])
    assert (upright.width_mm, upright.height_mm) == (210, 297)
    assert (upright.window.width, upright.window.height) == room
    assert upright.at == pytest.approx((MARGIN_MM, MARGIN_MM + FOOT_MM))
    (lying,) = paged(_sheet(250, 150), PAPERS["A4"])
    assert (lying.width_mm, lying.height_mm) == (297, 210)


def test_the_turn_that_needs_fewer_pages_is_taken() -> None:
    """A strip of 150 x 900 mm takes 4 upright pages of 265 mm, not 6 lying ones of 178 mm; a long one lies."""
    assert len(paged(_sheet(150, 900), PAPERS["A4"])) == 4
    pages = paged(_sheet(900, 150), PAPERS["A4"])
    assert (len(pages), pages[0].width_mm) == (4, 297)


def test_tiles_cover_the_sheet_and_overlap() -> None:
    """Row by row, tiles reach from edge to edge of the sheet, and each shares 10 mm with the next."""
    for _, (width, height), pages in _pages():
        columns = sorted({(page.window.left, page.window.right) for page in pages})
        rows = sorted({(page.window.low, page.window.high) for page in pages})
        assert len(pages) == len(columns) * len(rows)
        for spans, length in ((columns, width), (rows, height)):
            assert (spans[0][0], spans[-1][1]) == (0, length)
            for (_, end), (start, _) in pairwise(spans):
                assert end - start == pytest.approx(OVERLAP_MM)
        places = [(-page.window.low, page.window.left) for page in pages]
        assert places == sorted(places)


def test_no_more_tiles_than_the_room_asks_for() -> None:
    """A sheet of 1000 x 700 mm on A4: upright rooms of 194 mm less 10 mm overlap take ceil(990/184) = 6 across."""
    up = 297 - 2 * MARGIN_MM - FOOT_MM
    across = ceil((1000 - OVERLAP_MM) / (210 - 2 * MARGIN_MM - OVERLAP_MM)) * ceil(
        (700 - OVERLAP_MM) / (up - OVERLAP_MM)
    )
    low = 210 - 2 * MARGIN_MM - FOOT_MM
    along = ceil((1000 - OVERLAP_MM) / (297 - 2 * MARGIN_MM - OVERLAP_MM)) * ceil(
        (700 - OVERLAP_MM) / (low - OVERLAP_MM)
    )
    assert len(paged(_sheet(1000, 700), PAPERS["A4"])) == min(across, along)


def test_drawing_and_marks_stay_on_the_printable_part() -> None:
    """Nothing comes nearer to an edge of the paper than 8 mm, and the drawing ends above caption and bars."""
    for _, _, pages in _pages():
        for page in pages:
            right, top = page.placed((page.window.right, page.window.high))
            assert page.at[0] >= MARGIN_MM - 1e-9
            assert page.at[1] >= MARGIN_MM + FOOT_MM - 1e-9
            assert right <= page.width_mm - MARGIN_MM + 1e-9
            assert top <= page.height_mm - MARGIN_MM + 1e-9
            for entity in page.furniture.entities:
                left, bottom, right, top = _box(entity)
                low = MARGIN_MM - 1e-9 - 0.8 * isinstance(entity, Text)  # letters that reach below their base line
                assert left >= MARGIN_MM - 1e-9
                assert bottom >= low
                assert right <= page.width_mm - MARGIN_MM + 1e-9
                assert top <= page.height_mm - MARGIN_MM + 1e-9


def test_caption_bars_and_key_keep_apart() -> None:
    """Below the drawing no lettering lies on other lettering, on the bars or on the key, nor reaches the drawing."""
    for _, _, pages in _pages():
        for page in pages:
            foot = [entity for entity in page.furniture.entities if entity.layer in ("bars", "caption", "tiles")]
            letters = [entity for entity in foot if isinstance(entity, Text)]
            for place, text in enumerate(letters):
                box = _box(text)
                assert box[3] < page.at[1]
                assert not any(_meet(box, _box(other)) for other in foot if other not in letters[: place + 1])


def test_every_page_says_what_it_is() -> None:
    """A page has its title, its scale and its number, the bars and the advice; a tile also its row and column."""
    sheet = Sheet("Countershaft cone", 400, 300, (), (), scale=0.5)
    pages = paged(sheet, PAPERS["A4"])
    assert len(pages) == 4
    for number, page in enumerate(pages):
        words = _texts(page)
        assert "Countershaft cone" in words
        place = f"row {number // 2 + 1} of 2, column {number % 2 + 1} of 2, scale 1:2, page {number + 1} of 4"
        assert place in words
        assert {"50 mm", "2 in", "measure before cutting:", "print at 100 %, no fitting"} <= set(words)
    (single,) = paged(_sheet(100, 100), PAPERS["Letter"])
    assert "scale 1:1, page 1 of 1" in _texts(single)


def test_the_key_shows_where_the_tile_lies() -> None:
    """Of 2 x 2 cells, the black one lies like the tile among the others."""
    for page in paged(_sheet(400, 300), PAPERS["A4"]):
        cells = [entity for entity in page.furniture.entities if entity.layer == "tiles"]
        assert len(cells) == 4
        (black,) = [_box(cell) for cell in cells if isinstance(cell, Area)]
        boxes = [_box(cell) for cell in cells]
        assert (black[0] == min(box[0] for box in boxes)) == (page.window.left == 0)
        assert (black[1] == min(box[1] for box in boxes)) == (page.window.low == 0)


def _crosses(page: Page) -> set[tuple[float, float]]:
    """Return the middles of the crosses, where they lie on the drawing."""
    lines = [line for line in page.furniture.entities if isinstance(line, Line) and line.layer == "crosses"]
    zero = page.placed((0, 0))
    middles = [tuple((a + b) / 2 - o for a, b, o in zip(one.start, one.end, zero, strict=True)) for one in lines]
    found = {(round(x, 6), round(y, 6)) for x, y in middles}
    assert len(lines) == 2 * len(found)
    return found


def test_neighbours_share_their_crosses() -> None:
    """The same crosses lie on all tiles that show their place, at least two on every seam between neighbours."""
    for _, _, pages in _pages():
        places = set().union(*map(_crosses, pages))
        for page in pages:
            window = page.window
            shown = {(x, y) for x, y in places if window.left <= x <= window.right and window.low <= y <= window.high}
            assert _crosses(page) == shown
        for one, other in permutations(pages, 2):
            beside = one.window.low == other.window.low
            beside &= one.window.right - OVERLAP_MM == pytest.approx(other.window.left)
            above = one.window.left == other.window.left
            above &= one.window.high - OVERLAP_MM == pytest.approx(other.window.low)
            if beside or above:
                assert len(_crosses(one) & _crosses(other)) >= 2


def test_cut_lines_run_through_the_middle_of_the_overlap() -> None:
    """On either of two neighbours the line to cut along is the same line of the drawing, 5 mm from the edge."""
    left, right = paged(_sheet(300, 100), PAPERS["A4"])
    found = []
    for page in (left, right):
        (line,) = [line for line in page.furniture.entities if isinstance(line, Line) and line.layer == "cut lines"]
        zero = page.placed((0, 0))
        found.append((line.start[0] - zero[0], line.end[0] - zero[0], line.start[1] - zero[1], line.end[1] - zero[1]))
    # two tiles of (300 + 10)/2 = 155 mm meet at 150 mm
    for line_mm in found:
        assert line_mm == pytest.approx((150, 150, 0, 100))


def test_a_sheet_with_its_own_bar_fills_its_paper() -> None:
    """A card as large as the paper is put on it whole, nothing around; a larger one is tiled with bars."""
    (page,) = paged(_sheet(210, 297), PAPERS["A4"], bar=False)
    assert (page.at, page.furniture.entities) == ((0, 0), ())
    assert (page.window.width, page.window.height) == (210, 297)
    (lying,) = paged(_sheet(279.4, 215.9), PAPERS["Letter"], bar=False)
    assert (lying.width_mm, lying.at) == (279.4, (0, 0))
    (small,) = paged(_sheet(100, 97), PAPERS["A4"], bar=False)
    assert (small.width_mm, small.at) == (297, (98.5, 56.5))
    assert all("50 mm" in _texts(page) for page in paged(_sheet(300, 297), PAPERS["A4"], bar=False))


@pytest.mark.parametrize("title", [*HOSTILE, "A title that is as long as makers like them " * 5])
def test_a_hostile_title_keeps_to_its_place(title: str) -> None:
    """Titles are on one line, cut short before they reach the page's number."""
    for page in paged(Sheet(title, 400, 300, (), ()), PAPERS["A4"]):
        shown, place = [entity for entity in page.furniture.entities if isinstance(entity, Text)][:2]
        assert shown.text.isprintable()
        assert shown.at[0] + text_width_mm(shown.text, shown.height_mm) < place.at[0] - text_width_mm(
            place.text, place.height_mm
        )


def test_the_sheet_itself_is_not_touched() -> None:
    """Every page carries the very sheet it was made from, so that nothing is scaled or moved in it."""
    sheet = rich_sheet(700, 500)
    assert all(page.sheet is sheet for page in paged(sheet, PAPERS["A3"]))


def test_layers_of_pages_have_names_of_their_own() -> None:
    """What stands around a drawing is on layers that a sheet of the same page may have too."""
    sheet = Sheet("t", 50, 50, (Layer("bars"),), (Line("bars", (0, 0), (1, 1)),))
    (page,) = paged(sheet, PAPERS["A4"])
    assert {entity.layer for entity in page.furniture.entities} == {"bars", "caption"}
