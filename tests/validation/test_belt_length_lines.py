"""A belt's length inside, along the datum line and outside: geometry (computed) beside what handbooks print (read).

Two closed lines of which one runs t outside the other differ by 2πt in length, whatever the pulleys (computed). From
the cross-sections so follows how far the printed lengths ought to lie apart. The printed differences are rounder
than geometry has them, for a nominal length is not a measured one. Each disagreement is stated here as it is; no
tolerance spans it. The sources are ANSI/RMA tables in Machinery's Handbook, 31st ed., pp. 2575-2576 and 2581, and a
handbook's table of light-duty belts.
"""

from math import pi

import pytest

from optimizer.catalogue.lengths import datum_length_mm, number_datum_length_mm, stock_lengths
from optimizer.catalogue.sections import section

INCH_MM = 25.4


@pytest.mark.parametrize(("name", "number", "outside_in"), [("4L", 460, 46.0), ("3L", 200, 20.0), ("5L", 610, 61.0)])
def test_a_light_duty_number_is_the_outside_length(name: str, number: float, outside_in: float) -> None:
    """4L460 is 46.0 in outside (read); along its datum line 2π times that line's depth less (computed)."""
    belt = section(name)
    expected = outside_in * INCH_MM - 2 * pi * belt.datum_depth_mm
    assert number_datum_length_mm(belt, number) == pytest.approx(expected, abs=1e-9)
    stock = {kept.marking: kept.datum_length_mm for kept in stock_lengths(belt)}
    assert stock[f"{name}{number}"] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "printed_in", "computed_in"),
    [pytest.param("4L", 2.0, 1.96, id="4L: 0.04 in apart"), pytest.param("3L", 1.5, 1.37, id="3L: 0.13 in apart")],
)
def test_outside_less_inside_is_not_what_is_printed(name: str, printed_in: float, computed_in: float) -> None:
    """Inside = outside − 2.0 in (4L), − 1.5 in (3L) is printed (read); 2π times the height is 1.96 in, 1.37 in.

    The catalogue takes the outside length, which the number states, and geometry from there: a belt stated by its
    inside length is so taken 0.04 in (4L) and 0.13 in (3L) shorter than the printed rule would have it.
    """
    belt = section(name)
    inside_in = 40.0
    outside_mm = datum_length_mm(belt, inside_in * INCH_MM, "inside") + 2 * pi * belt.datum_depth_mm
    found_in = outside_mm / INCH_MM - inside_in
    assert found_in == pytest.approx(computed_in, abs=0.005)
    assert printed_in - found_in == pytest.approx(printed_in - computed_in, abs=0.005)
    assert printed_in - found_in > 0.03


@pytest.mark.parametrize(
    ("name", "printed_in", "computed_in"),
    [pytest.param("A", 1.3, 1.16, id="A: 0.14 in apart"), pytest.param("B", 1.8, 1.68, id="B: 0.12 in apart")],
)
def test_datum_less_nominal_inside_length_is_not_what_geometry_has(
    name: str, printed_in: float, computed_in: float
) -> None:
    """Datum length = number + 1.3 in (A), + 1.8 in (B) is printed (read); from the inside it is 1.16 in, 1.68 in.

    Classical numbers are *nominal* inside lengths. The catalogue takes the printed sum for a number, and geometry for
    an inside length that a maker has measured: the two differ by 0.14 in (A), 0.12 in (B) for the same figure.
    """
    belt = section(name)
    by_number_in = number_datum_length_mm(belt, 46, "inch") / INCH_MM
    by_inside_in = datum_length_mm(belt, 46 * INCH_MM, "inside") / INCH_MM
    assert by_number_in - 46 == pytest.approx(printed_in)
    assert by_inside_in - 46 == pytest.approx(computed_in, abs=0.005)
    assert by_number_in - by_inside_in == pytest.approx(printed_in - computed_in, abs=0.005)
    assert by_number_in - by_inside_in > 0.11


@pytest.mark.parametrize("name", ["Z", "A", "B", "3L", "4L", "5L"])
def test_the_three_lines_lie_whole_turns_apart(name: str) -> None:
    """L_datum = L_inside + 2π(h − h_d) = L_outside − 2π·h_d (computed), with the height and the datum line's depth."""
    belt = section(name)
    assert datum_length_mm(belt, 1000.0, "inside") - 1000 == pytest.approx(
        2 * pi * (belt.height_mm - belt.datum_depth_mm), abs=1e-9
    )
    assert 1000 - datum_length_mm(belt, 1000.0, "outside") == pytest.approx(2 * pi * belt.datum_depth_mm, abs=1e-9)
