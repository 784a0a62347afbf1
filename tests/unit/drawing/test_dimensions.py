"""Dimension lines: their figures keep clear, their ends are where they should be."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.cuts.bench_words import BenchWords
from optimizer.drawing.dimensions import (
    DIMENSION_LAYERS,
    Diameter,
    Ordinate,
    across,
    angle_between,
    diameter_stack,
    ordinates,
    upright,
)
from optimizer.drawing.placing import moved, room_of
from optimizer.drawing.sheet import Arc, Entity, Line, Sheet, Text
from tests.clear_sheets import covered

METRIC, INCH = BenchWords("mm", 0.4), BenchWords("in", 25.4 / 64)
BOTH = st.sampled_from([METRIC, INCH])
SIZE = st.floats(0.5, 400)


def _sheet(entities: Iterable[Entity]) -> Sheet:
    found = tuple(entities)
    room = room_of(found)
    return Sheet("t", room.right - room.left, room.high - room.low, DIMENSION_LAYERS, found)


@given(SIZE, BOTH, st.booleans())
def test_a_level_figure_keeps_clear_of_its_lines(size: float, sizes: BenchWords, chained: bool) -> None:
    """However short a dimension is, in a chain if it is 4 mm long, its figure lies on nothing."""
    span = max(size, 4.5) if chained else size
    assert not covered(_sheet(across((0, span), -20, (0, 0), sizes.bare(span), chained=chained)))


@given(SIZE, BOTH, st.sampled_from([1, -1]))
def test_an_upright_figure_keeps_clear_of_its_lines(size: float, sizes: BenchWords, side: int) -> None:
    """However short an upright dimension is, its figure lies on nothing, on either side."""
    lines = sizes.diameter(size).replace(" (", "\n(").split("\n")
    assert not covered(_sheet(upright((0, size), 20 * side, (0, 0), lines, side)))


@given(st.lists(st.floats(6, 400), min_size=1, max_size=12), BOTH, st.sampled_from([1, -1]), st.booleans())
def test_a_stack_of_diameters_keeps_clear(diameters: list[float], sizes: BenchWords, way: int, pins: bool) -> None:
    """Figures of diameters from 6 mm beside each other lie on no line and on no other figure."""
    word = "over pins " if pins else ""
    stack = [Diameter(size, 0.0, word + sizes.diameter(size)) for size in diameters]
    assert not covered(_sheet(diameter_stack(stack, 3.0 * way, way)))


def test_a_stack_stands_in_order_of_size() -> None:
    """The smallest diameter stands next to the body, one that comes twice stands once, from its nearest foot."""
    diameters = [Diameter(80, 10, "80"), Diameter(60, 30, "60"), Diameter(80, 20, "80")]
    lines = [e for e in diameter_stack(diameters, 40, 1) if isinstance(e, Line) and e.start[0] == e.end[0]]
    assert [(line.start[1], line.end[1]) for line in lines] == [(-30, 30), (-40, 40)]
    assert 40 < lines[0].start[0] < lines[1].start[0]
    feet = [e.start for e in diameter_stack(diameters, 40, 1) if isinstance(e, Line) and e.start[1] == e.end[1]]
    assert feet == [(31, -30), (31, 30), (21, -40), (21, 40)]


def test_a_diameter_too_small_for_its_figure_has_it_level() -> None:
    """A figure that has no room along its line stands level beside it."""
    (text,) = [e for e in diameter_stack([Diameter(12, 0, "⌀12.00")], 0, 1) if isinstance(e, Text)]
    assert (text.turn_deg, text.at[1]) == (0.0, 0.0)


@given(st.lists(st.integers(0, 200), min_size=1, max_size=14, unique=True), BOTH)
def test_places_close_together_are_set_apart(places: list[int], sizes: BenchWords) -> None:
    """Figures of places one millimetre apart lie on nothing, and every line starts at its own place."""
    row = [Ordinate(place, 0.0, sizes.bare(place)) for place in sorted(places)]
    entities = [*ordinates(row, 10)]
    assert not covered(_sheet(entities))
    starts = [e.start for e in entities if isinstance(e, Line) and e.start[1] == 1.0]
    assert starts == [(place, 1.0) for place in sorted(places)]


@pytest.mark.parametrize(("sizes", "room", "lines"), [(METRIC, 40, 1), (INCH, 40, 1), (INCH, 20, 2)])
def test_brackets_go_below_the_line_where_room_is_short(sizes: BenchWords, room: float, lines: int) -> None:
    """A figure in inches is broken between its fraction and its true value, above and below its line."""
    texts = [e for e in across((0, room), 0, (0, 0), sizes.bare(38.1)) if isinstance(e, Text)]
    assert len(texts) == lines
    assert texts[0].at[1] > 0
    if lines == 2:
        assert [text.text for text in texts] == ['1 1/2"', "(1.500)"]
        assert texts[1].at[1] < 0


def test_a_line_ends_where_the_size_ends() -> None:
    """The line and the tips of its arrow heads span exactly what is stated, extension lines pass it."""
    entities = [*across((5, 45), 20, (0, 0), "40.00")]
    line, left, right, *feet, _ = entities
    assert isinstance(line, Line)
    assert (line.start, line.end) == ((5, 20), (45, 20))
    assert [room_of([head])[side] for head, side in ((left, 0), (right, 2))] == [5, 45]
    assert [foot.end[1] for foot in feet if isinstance(foot, Line)] == [21.5, 21.5]


def test_an_angle_spans_its_flanks() -> None:
    """The arc of 34 degrees runs from 73 to 107 degrees about the apex; its figure stands above it."""
    entities = [*angle_between((0, -40), 30, 34, "34°")]
    arc, *_, text = entities
    assert isinstance(arc, Arc)
    assert (arc.start_deg, arc.end_deg) == (73, 107)
    assert isinstance(text, Text)
    assert text.at[1] > -10
    assert not covered(_sheet(entities))


def test_moving_keeps_shape() -> None:
    """Entities that are moved keep their sizes."""
    for entity in across((0, 40), 20, (0, 0), "40.00"):
        before, after = room_of([entity]), room_of([moved(entity, (7, -3))])
        assert after == pytest.approx((before.left + 7, before.low - 3, before.right + 7, before.high - 3))
