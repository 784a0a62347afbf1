"""Grooves by section with their angles by diameter."""

import pytest

from optimizer.catalogue.entry import CatalogueError
from optimizer.catalogue.grooves import groove, rim_width_mm
from optimizer.catalogue.sections import section


@pytest.mark.parametrize(
    ("name", "datum_mm", "angle_deg"),
    [
        ("A", 60, 34),
        ("A", 124.9, 34),
        ("A", 125, 36),
        ("A", 179.9, 36),
        ("A", 180, 38),
        ("A", 450, 40),
        ("Z", 79, 34),
        ("B", 180, 36),
        ("SPZ", 80, 34),
        ("SPZ", 80.1, 38),
        ("4L", 2.64 * 25.4 - 6.6, 30),
        ("4L", 2.65 * 25.4 - 6.6, 32),
        ("4L", 3.24 * 25.4 - 6.6 - 1e-6, 32),
        ("4L", 5.66 * 25.4 - 6.6, 38),
        ("PJ", 100, 40),
    ],
)
def test_the_angle_changes_where_the_source_says(name: str, datum_mm: float, angle_deg: float) -> None:
    """Between listed sizes the smaller one's angle holds, to the last bit before the next."""
    assert groove(section(name), datum_mm).angle_deg == angle_deg


def test_a_section_with_grooves_by_two_standards_gives_the_one_named() -> None:
    """Section A is metric unless inch is asked for: depth 12.0 mm, or 0.460 in."""
    assert groove(section("A"), 100).depth_mm == pytest.approx(12.0)
    assert groove(section("A"), 100, standard="inch").depth_mm == pytest.approx(11.684)


def test_a_standard_that_a_section_has_not_is_refused() -> None:
    """Section Z has no inch grooves; the error says which there are."""
    with pytest.raises(CatalogueError, match="section Z has no such grooves; got inch; allowed: metric"):
        groove(section("Z"), 80, standard="inch")


def test_a_plain_rim_has_neither_angle_nor_depth() -> None:
    """On a flat rim only the belt's width counts, and a flat belt has no other rim."""
    rim = groove(section("A"), 300, "flat")
    assert (rim.kind, rim.angle_deg, rim.depth_mm, rim.top_width_mm) == ("flat", 0, 0, 13)
    assert groove(section("flat 3x40"), 300).kind == "flat"
    assert groove(section("flat 3x40"), 300, "crowned").top_width_mm == 40


def test_a_round_belt_lies_in_a_half_round_seat() -> None:
    """The seat is as wide as the belt, half as deep."""
    seat = groove(section("round 8"), 100)
    assert (seat.top_width_mm, seat.depth_mm) == (8, 4)


def test_a_ribbed_rim_is_as_wide_as_its_ribs() -> None:
    """Six ribs: five pitches of 2.34 mm with an edge of 1.8 mm on either side (from memory)."""
    assert rim_width_mm(section("PJ 6")) == pytest.approx(5 * 2.34 + 3.6)
