"""Light-duty belts 3L, 4L, 5L to ANSI/RMA IP-23; from memory, but for what is marked read.

Inches. The cross-sections and the meaning of the numbers were read in a handbook's table of light-duty belts.
"""

import pytest

from optimizer.catalogue.grooves import groove
from optimizer.catalogue.lengths import stock_lengths
from optimizer.catalogue.lines import datum_of_outside
from optimizer.catalogue.sections import section

INCH_MM = 25.4
GROOVES = [
    ("3L", 1.50, 32, 0.364),
    ("3L", 2.19, 32, 0.364),
    ("3L", 2.20, 34, 0.364),
    ("3L", 3.19, 34, 0.364),
    ("3L", 3.20, 36, 0.364),
    ("3L", 4.20, 36, 0.364),
    ("3L", 4.21, 38, 0.364),
    ("4L", 2.50, 30, 0.490),
    ("4L", 2.64, 30, 0.490),
    ("4L", 2.65, 32, 0.490),
    ("4L", 3.24, 32, 0.490),
    ("4L", 3.25, 34, 0.490),
    ("4L", 5.65, 34, 0.490),
    ("4L", 5.66, 38, 0.490),
    ("5L", 3.50, 30, 0.630),
    ("5L", 3.94, 30, 0.630),
    ("5L", 3.95, 32, 0.630),
    ("5L", 4.94, 32, 0.630),
    ("5L", 4.95, 34, 0.630),
    ("5L", 7.35, 34, 0.630),
    ("5L", 7.36, 38, 0.630),
]
"""Section, outside diameter, angle [°], width at the rim; all from memory."""


@pytest.mark.parametrize(
    ("name", "top_in", "height_in"), [("3L", 3 / 8, 7 / 32), ("4L", 1 / 2, 5 / 16), ("5L", 5 / 8, 13 / 32)]
)
def test_the_belts_have_the_printed_cross_sections(name: str, top_in: float, height_in: float) -> None:
    """3L is 3/8 x 7/32, 4L 1/2 x 5/16, 5L 5/8 x 13/32 in (read)."""
    sizes = [section(name).top_mm / INCH_MM, section(name).height_mm / INCH_MM]
    assert sizes == pytest.approx([top_in, height_in])


@pytest.mark.parametrize(("name", "outside_in", "angle_deg", "top_in"), GROOVES)
def test_a_groove_has_the_angle_for_its_outside_diameter(
    name: str, outside_in: float, angle_deg: float, top_in: float
) -> None:
    """The angle changes with the outside diameter, the width at the rim does not (from memory)."""
    found = groove(section(name), datum_of_outside(section(name), outside_in * INCH_MM))
    assert found.angle_deg == angle_deg
    assert found.top_width_mm / INCH_MM == pytest.approx(top_in)


@pytest.mark.parametrize(("name", "outside_in"), [("3L", 1.5), ("4L", 2.5), ("5L", 3.5)])
def test_the_smallest_pulleys_are_those_remembered(name: str, outside_in: float) -> None:
    """1.5, 2.5, 3.5 in over the rim (from memory)."""
    datum_mm = section(name).smallest_datum_mm
    assert datum_mm == pytest.approx(datum_of_outside(section(name), outside_in * INCH_MM))


def test_4l_belts_are_kept_every_inch() -> None:
    """From 4L200 to 4L1000, 20 to 100 in outside, every inch (from memory)."""
    marks = [belt.marking for belt in stock_lengths(section("4L"))]
    assert marks == [f"4L{inches}0" for inches in range(20, 101)]
