"""The sawing plan on its pages."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import combinations

import pytest

from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.nesting import Nesting, Square, Stock, nest, sawn
from optimizer.drawing.pages import PAPERS, paged
from optimizer.drawing.placing import Block, Column, Room, flowed, room_of
from optimizer.drawing.sawing_plan import sawing_plan_sheets
from optimizer.drawing.sheet import Circle, Line, Polyline, Sheet, Text
from tests.charts import LONG_NAME
from tests.clear_sheets import covered, outside
from tests.jobs import JOBS, job

DIVISION_MM = 25.4 / 64
HOSTILE = f"{LONG_NAME}\x00\x1b[31m مخرطة"
TOUCH_MM, CLOSE_MM = 1e-9, 1e-6


def _squares(sides: Sequence[float], name: str = "") -> list[Square]:
    return [
        Square(name=name or f"stage {1 + number % 2} driven, layer {number // 2 + 1}", side_mm=side)
        for number, side in enumerate(sides)
    ]


def _nest(squares: list[Square], *stocks: tuple[float, float, int | None], edge: float = 5.0) -> Nesting:
    return nest(squares, [Stock(width_mm=w, length_mm=h, count=count) for w, h, count in stocks], 3.2, edge)


STEPS = (108.0, 142.0, 176.0, 210.0)
NESTINGS = {
    "square sheet": _nest(_squares(STEPS * 4), (1525, 1525, None)),
    "long sheet": _nest(_squares(STEPS * 4), (1220, 2440, None)),
    "metric sheet": _nest(_squares(STEPS * 8), (1250, 2500, None)),
    "small sheet": _nest(_squares(STEPS * 4), (609.6, 1219.2, None)),
    "many": _nest(_squares((96.0, 131.0, 167.0, 203.0) * 18), (1525, 1525, None)),
    "every size once": _nest(_squares([80.0 + 8 * number for number in range(36)]), (1525, 1525, None)),
    "tiny squares": _nest(_squares([12.0, 20.0, 31.0] * 8), (1525, 3050, None)),
    "largest sheet": _nest(_squares([400.0] * 9), (5000, 5000, None)),
    "strip": _nest(_squares([90.0] * 9), (110, 5000, None)),
    "upright": _nest(_squares(STEPS), (2440, 300, None)),
    "offcuts": _nest(_squares((*STEPS, *STEPS, 1600.0)), (300, 700, 1), (1220, 2440, None)),
    "without edge": _nest(_squares([100.0] * 4), (203.2, 203.2, None), edge=0.0),
    "hostile": _nest(_squares((*STEPS, *STEPS, 1600.0), HOSTILE), (1250, 2500, None)),
    "no sheet": _nest(_squares([100.0] * 90, HOSTILE)),
}
CASES = [(name, units) for name in NESTINGS for units in ("mm", "cm", "in")]


@cache
def _plans(name: str, units: str = "mm", title: str = "Bench pattern mill") -> tuple[Sheet, ...]:
    return sawing_plan_sheets(NESTINGS[name], title, BenchWords(units, DIVISION_MM))


def _meet(a: Room, b: Room) -> bool:
    return min(a.right, b.right) - max(a.left, b.left) > TOUCH_MM and min(a.high, b.high) - max(a.low, b.low) > TOUCH_MM


def _crosses(line: Line, room: Room) -> bool:
    """Tell whether a line enters a rectangle: shares of it that lie inside both ways."""
    first, last = 0.0, 1.0
    for start, end, low, high in (
        (line.start[0], line.end[0], room.left, room.right),
        (line.start[1], line.end[1], room.low, room.high),
    ):
        if abs(end - start) < TOUCH_MM:
            if not low < start < high:
                return False
            continue
        near, far = sorted(((low + CLOSE_MM - start) / (end - start), (high - CLOSE_MM - start) / (end - start)))
        first, last = max(first, near), min(last, far)
    return first < last


def _strokes(sheet: Sheet) -> list[Line]:
    """Return every straight line of a sheet, outlines included."""
    found = [entity for entity in sheet.entities if isinstance(entity, Line)]
    for entity in sheet.entities:
        if isinstance(entity, Polyline):
            ends = (*entity.points[1:], entity.points[0])
            found += [Line(entity.layer, *pair) for pair in zip(entity.points, ends, strict=True)]
    return found


@pytest.mark.parametrize(("name", "units"), CASES)
def test_nothing_leaves_the_page(name: str, units: str) -> None:
    """Everything lies on its page, 3 mm off its edges, and every page goes on one side of A4 or Letter at true size."""
    for sheet in _plans(name, units, HOSTILE):
        assert not outside(sheet, 3.0)
        assert [len(paged(sheet, PAPERS[paper])) for paper in ("A4", "Letter")] == [1, 1]


@pytest.mark.parametrize(("name", "units"), CASES)
def test_no_lettering_lies_on_anything(name: str, units: str) -> None:
    """The room of a text is free of other texts, of lines, of circles, of tints."""
    assert not [covered(sheet) for sheet in _plans(name, units, HOSTILE) if covered(sheet)]


@pytest.mark.parametrize("name", JOBS)
def test_machines_have_a_plan_for_every_sheet(name: str) -> None:
    """The sheets of every machine whose papers are tested have plans, with all their squares placed."""
    one = job(name)
    nesting = sawn(one)
    if nesting is None:
        return
    plans = sawing_plan_sheets(nesting, one.scenario.title, BenchWords.of(one.scenario))
    assert len([plan for plan in plans if plan.on("squares")]) == len(nesting.sheets) >= 1
    assert not nesting.unplaced


@pytest.mark.parametrize("name", NESTINGS)
def test_squares_are_drawn_to_the_stated_scale(name: str) -> None:
    """Sides on paper are those of the squares times the scale, gaps at least the kerf, and the scale is a round one."""
    nesting = NESTINGS[name]
    plans = [sheet for sheet in _plans(name) if sheet.on("squares")]
    assert len(plans) == len(nesting.sheets)
    for plan, sheet in zip(plans, nesting.sheets, strict=True):
        assert round(1 / plan.scale, 6) in (1, 2, 2.5, 5, 10, 15, 20, 25, 50)
        rooms = [room_of([entity]) for entity in plan.on("squares")]
        sides = [(room.right - room.left, room.high - room.low) for room in rooms]
        expected = [square.side_mm * plan.scale for square in sheet.squares]
        assert [wide for wide, _ in sides] == pytest.approx(expected)
        assert [high for _, high in sides] == pytest.approx(expected)
        for a, b in combinations(rooms, 2):
            across = max(b.left - a.right, a.left - b.right)
            along = max(b.low - a.high, a.low - b.high)
            assert max(across, along) >= sheet.kerf_mm * plan.scale - 1e-6
        outline = room_of(plan.on("sheet"))
        assert outline.right - outline.left == pytest.approx(sheet.length_mm * plan.scale)
        assert outline.high - outline.low == pytest.approx(sheet.width_mm * plan.scale)


@pytest.mark.parametrize("name", NESTINGS)
def test_every_square_is_listed_and_described(name: str) -> None:
    """Every square has a circle with its number, side and name, and every number stands in a row of the list."""
    nesting = NESTINGS[name]
    plans = _plans(name)
    notes = [circle.note for plan in plans for circle in plan.on("discs") if isinstance(circle, Circle)]
    numbers = [square.number for sheet in nesting.sheets for square in sheet.squares]
    assert [int(note.split(":")[0]) for note in notes] == numbers
    words = [text.text for plan in plans for text in plan.entities if isinstance(text, Text)]
    listed: set[int] = set()
    for word in words:
        first, _, last = word.partition(" to ")
        if first.isdigit() and (not last or last.isdigit()):
            listed |= set(range(int(first), int(last or first) + 1))
    assert listed == set(numbers)
    assert len([word for word in words if word == "-"]) == len(nesting.unplaced)


def test_waste_kerf_and_edge_fill_what_no_square_takes() -> None:
    """Two squares of 100 mm and a kerf of 3.2 mm fill 110 x 213.2 mm within edges of 5 mm: 5 + 100 + 3.2 + 100 + 5.

    At 1:1 the strip of kerf between them is 3.2 mm wide, and there is no waste to hatch.
    """
    (plan,) = sawing_plan_sheets(_nest(_squares([100, 100]), (110, 213.2, None)), "t", BenchWords("mm", DIVISION_MM))
    assert plan.scale == 1
    outline = room_of(plan.on("sheet"))
    drawn = [room_of([entity]) for entity in plan.on("kerf")]
    between = [r for r in drawn if r.left - outline.left == pytest.approx(105) and r.high - r.low > 99]
    assert between and all(room.right - room.left == pytest.approx(3.2) for room in between)
    inside = [line for line in plan.on("waste") if isinstance(line, Line) and _crosses(line, outline)]
    assert not inside


def test_waste_is_hatched_but_not_what_is_left_over() -> None:
    """Slanted lines lie in the sheet, in no square and not in the rectangle left over, which is outlined and named."""
    (plan,) = _plans("square sheet")
    (left,) = [room_of([entity]) for entity in plan.on("left over") if isinstance(entity, Polyline)][:1]
    taken = [room_of([entity]) for entity in plan.on("squares")]
    lines = [line for line in plan.on("waste") if isinstance(line, Line)]
    assert len(lines) > 20
    assert not [line for line in lines if any(_crosses(line, room) for room in (left, *taken))]
    assert [text for text in plan.entities if isinstance(text, Text) and text.text.startswith("left over 1")]


def test_the_page_cautions_and_states_waste_and_scale() -> None:
    """Waste, scale, kerf, grain and the caution are on the page, and in the words for those who cannot see it."""
    nesting = NESTINGS["square sheet"]
    (plan,) = _plans("square sheet")
    words = " ".join(text.text for text in plan.entities if isinstance(text, Text))
    for said in (words, plan.said):
        assert f"waste {100 * nesting.waste:.1f} %" in said
        for part in ("drawn 1:10", "Kerf 3.20", "Caution: a saw can maim", "local rules come first"):
            assert part in said
    assert "face grain" in words


def test_what_has_no_place_is_said() -> None:
    """A square too large for every sheet is listed with its reason, even where there is no sheet at all."""
    for name in ("offcuts", "no sheet"):
        words = " ".join(text.text for plan in _plans(name) for text in plan.entities if isinstance(text, Text))
        assert "No place on any sheet" in words
        assert "too large for" in words
    assert sawing_plan_sheets(_nest([]), "t", BenchWords("mm", DIVISION_MM)) == ()


def test_squares_without_a_number_are_counted() -> None:
    """At 1:15 squares of 31 mm are 2.1 mm wide, too small for a number: the page says how many have none."""
    (plan, *_) = _plans("tiny squares")
    words = " ".join(text.text for text in plan.entities if isinstance(text, Text))
    assert "24 squares are too small on this paper for a number" in words
    inside = room_of(plan.on("sheet"))
    assert not [text for text in plan.on("words") if isinstance(text, Text) and _meet(room_of([text]), inside)][1:]


def test_inches_are_fractions_with_the_true_value_beside() -> None:
    """A square of 176 mm is 6 59/64 in (6.922), true 6.929 in, on two lines in the square."""
    (plan, *_) = _plans("small sheet", "in")
    words = [text.text for text in plan.entities if isinstance(text, Text)]
    assert '6 59/64"' in words
    assert "(6.929)" in words
    assert any("All lengths in inches" in word for word in words)


def test_the_same_plan_every_time() -> None:
    """Asked twice, every page is the same."""
    assert _plans("many") == _plans.__wrapped__("many")


def test_columns_run_on_from_page_to_page() -> None:
    """Blocks fill columns from the top, a gap at the top of one falls away, further pages open with their head."""
    line, gap = Block((Text("w", (0, 0), "line", 2),), 5), Block((), 3, falls_away=True)
    head = Block((Text("w", (0, 0), "head", 2),), 4)
    pages = flowed([line, line, gap, line, gap, line], [Column(0, 50, 40)], [Column(9, 100, 90)], head)
    places = [[(text.text, text.at) for text in page if isinstance(text, Text)] for page in pages]
    assert places == [
        [("line", (0, 50)), ("line", (0, 45))],
        [("head", (9, 100)), ("line", (9, 96))],
        [("head", (9, 100)), ("line", (9, 96))],
    ]
    assert flowed([line], [], [Column(9, 100, 90)]) == ((), (Text("w", (9, 100), "line", 2),))


def test_no_page_says_the_head_of_its_list_twice() -> None:
    """Where a list begins at the top of a further page, its head stands there once."""
    squares = [Square(name=f"disc {number}", side_mm=60) for number in range(40)]
    nesting = nest(squares, [Stock(width_mm=300, length_mm=600, count=9)], 3.2, 5.0)
    pages = sawing_plan_sheets(nesting, "Mill", BenchWords("mm", 0.4))
    for page in pages:
        heads = [text.at for text in page.entities if isinstance(text, Text) and text.text == "number"]
        lefts = [x for x, _ in heads]
        assert len(set(lefts)) == len(lefts)
