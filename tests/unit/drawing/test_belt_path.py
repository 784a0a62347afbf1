"""The line of a belt round two circles."""

from __future__ import annotations

from math import cos, dist, hypot, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.drawing.belt_places import BeltPath, PathArc, Round, belt_path, belt_side
from optimizer.geometry.belts import belt_length_mm, wrap_deg

RADII = st.floats(2, 300)
PLACES = st.floats(-500, 500)
TURNS = st.floats(0, 360)


@st.composite
def paths(draw: st.DrawFn) -> tuple[BeltPath, Round, Round, bool]:
    """Return a path round any two circles that take a belt, in any direction, open or crossed."""
    crossed = draw(st.booleans())
    large, small = draw(RADII), draw(RADII)
    least = large + small if crossed else abs(large - small)
    apart, turn = least + draw(st.floats(0.5, 800)), radians(draw(TURNS))
    x, y = draw(PLACES), draw(PLACES)
    driver = Round((x, y), large)
    driven = Round((x + apart * cos(turn), y + apart * sin(turn)), small)
    return belt_path(driver, driven, crossed), driver, driven, crossed


@given(paths())
def test_the_line_is_as_long_as_the_exact_formula_says(drawn: tuple[BeltPath, Round, Round, bool]) -> None:
    """Two tangents and two arcs add up to the exact length of `geometry.belts`, whichever way the circles lie."""
    path, driver, driven, crossed = drawn
    sizes = 2 * driver.radius_mm, 2 * driven.radius_mm
    apart = dist(driver.centre, driven.centre)
    assert path.length_mm == pytest.approx(belt_length_mm(*sizes, apart, crossed=crossed), abs=1e-9)
    spans = [arc.end_deg - arc.start_deg for arc in (path.driver, path.driven)]
    assert spans == pytest.approx(wrap_deg(*sizes, apart, crossed=crossed), abs=1e-6)


@given(paths())
def test_every_strand_is_square_to_the_radius_where_it_touches(drawn: tuple[BeltPath, Round, Round, bool]) -> None:
    """A strand's ends lie on the circles, and the radius there is perpendicular to it."""
    path, *circles, _ = drawn
    for start, end in path.strands:
        along = end[0] - start[0], end[1] - start[1]
        for point, circle in zip((start, end), circles, strict=True):
            out = point[0] - circle.centre[0], point[1] - circle.centre[1]
            assert hypot(*out) == pytest.approx(circle.radius_mm, abs=1e-9)
            assert abs(out[0] * along[0] + out[1] * along[1]) <= 1e-9 * hypot(*along) * circle.radius_mm + 1e-9


@given(paths())
def test_arcs_begin_and_end_where_strands_touch(drawn: tuple[BeltPath, Round, Round, bool]) -> None:
    """The four ends of the strands are the four ends of the arcs: the line is closed."""
    path = drawn[0]
    for index, arc in enumerate((path.driver, path.driven)):
        touching = sorted(strand[index] for strand in path.strands)
        ends = sorted((arc.at(arc.start_deg), arc.at(arc.end_deg)))
        nearest = [min(dist(point, end) for end in ends) for point in touching]
        assert max(nearest) < 1e-6


@given(paths())
def test_the_belt_lies_on_the_far_sides(drawn: tuple[BeltPath, Round, Round, bool]) -> None:
    """The middle of each arc lies on the line of centres, away from the other circle."""
    path, driver, driven, _ = drawn
    apart = dist(driver.centre, driven.centre)
    for arc, other in ((path.driver, driven.centre), (path.driven, driver.centre)):
        middle = arc.at((arc.start_deg + arc.end_deg) / 2)
        assert dist(middle, other) == pytest.approx(apart + arc.radius_mm, abs=1e-6)


def test_crossed_strands_cross() -> None:
    """Circles of radius 60 and 40, 250 apart, are touched at cos a = 100/250, in the same direction turned by 180°."""
    path = belt_path(Round((0, 0), 60), Round((250, 0), 40), crossed=True)
    (start, end), other = path.strands
    assert start == pytest.approx((60 * 0.4, 60 * (1 - 0.16) ** 0.5))
    assert end == pytest.approx((250 - 40 * 0.4, -40 * (1 - 0.16) ** 0.5))
    assert other[0] == pytest.approx((start[0], -start[1]))


@pytest.mark.parametrize(
    ("driver", "driven", "centre", "length"),
    [
        # J. Rose, Modern Machine-Shop Practice, vol. I (1887-88), cone pulleys, example 1: 147 1/8 in
        (15, 15, 50, 147.125),
        (4.5, 24.2538, 50, 147.125),
        # T. H. Wentzell, Machine Design (2007), example 14.2, p. 310: a 54 in belt
        (4, 6, 19.12, 54.0),
    ],
)
def test_books_agree(driver: float, driven: float, centre: float, length: float) -> None:
    """Lengths printed in books, in inches, are met to their digits."""
    path = belt_path(Round((0, 0), driver / 2), Round((0, centre), driven / 2))
    assert path.length_mm == pytest.approx(length, abs=0.005)


@pytest.mark.parametrize(("apart", "crossed"), [(10.0, False), (99.0, True), (0.0, False)])
def test_no_line_where_no_belt_goes_round(apart: float, crossed: bool) -> None:
    """Circles of radius 60 and 40 take no open belt 10 apart, no crossed one 99 apart."""
    with pytest.raises(ValueError, match=r"no (open|crossed) belt goes round circles of radius 60 and 40 mm"):
        belt_path(Round((0, 0), 60), Round((apart, 0), 40), crossed)


def test_top_and_bottom_lie_beside_the_line() -> None:
    """An open belt's top is the path of circles that much larger, its bottom of circles that much smaller."""
    sizes = Round((0, 0), 50.0), Round((200, 100), 30.0)
    path = belt_path(*sizes)
    for out in (3.3, -4.7):
        large, small = (circle._replace(radius_mm=circle.radius_mm + out) for circle in sizes)
        expected = belt_path(large, small)
        side = belt_side(path, out)
        for one, other in zip(side.strands, expected.strands, strict=True):
            assert one[0] == pytest.approx(other[0])
            assert one[1] == pytest.approx(other[1])
    with pytest.raises(ValueError, match="thicker than a pulley"):
        belt_side(path, -30.0)


def test_an_arc_has_its_length() -> None:
    """A quarter of a circle of radius 10 is 15.708 long."""
    assert PathArc((0, 0), 10, 0, 90).length_mm == pytest.approx(15.707963)
