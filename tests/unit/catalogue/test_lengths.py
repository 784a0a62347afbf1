"""Stock belts with their lengths along the datum line."""

from itertools import pairwise
from math import pi

import pytest

from optimizer.catalogue.entry import CatalogueError
from optimizer.catalogue.lengths import datum_length_mm, number_datum_length_mm, series_of, stock_lengths
from optimizer.catalogue.sections import section, section_names


@pytest.mark.parametrize("name", section_names())
def test_stock_lengths_rise_and_carry_a_tolerance(name: str) -> None:
    """Every series of every section is in order, with a tolerance and both sources."""
    for series in series_of(section(name)):
        belts = stock_lengths(section(name), series)
        assert all(a.datum_length_mm < b.datum_length_mm for a, b in pairwise(belts))
        assert all(b.tolerance_mm > 0 and b.source and b.tolerance_source for b in belts)
        assert len({b.marking for b in belts}) == len(belts)


@pytest.mark.parametrize(
    ("name", "series", "first"),
    [
        ("Z", "metric", "Z 400"),
        ("A", "metric", "A 560"),
        ("B", "metric", "B 900"),
        ("AX", None, "AX26"),
        ("4L", None, "4L200"),
    ],
)
def test_a_series_begins_where_its_source_says(name: str, series: None, first: str) -> None:
    """GOST 1284.3-96, table 19 (read): Z from 400, A from 560, B from 900 mm; 4L from 20 in (from memory)."""
    assert stock_lengths(section(name), series)[0].marking == first


def test_a_ribbed_belt_is_marked_with_its_ribs() -> None:
    """Effective length in tenths of an inch, J, number of ribs (ANSI/RMA IP-26, from memory)."""
    assert "400J6" in [belt.marking for belt in stock_lengths(section("PJ 6"))]


@pytest.mark.parametrize("name", ["round 8", "flat 3x40"])
def test_belts_joined_from_any_length_have_no_stock_lengths(name: str) -> None:
    """Round and flat belts are refused with what to state instead."""
    with pytest.raises(CatalogueError, match="not kept in stock lengths; got stock; allowed: any length, or a list"):
        stock_lengths(section(name))


def test_a_series_that_does_not_exist_is_refused() -> None:
    """Section Z is not kept in inch numbers; the error names the series there is."""
    with pytest.raises(CatalogueError, match="of the inch series; got inch; allowed: metric"):
        stock_lengths(section("Z"), "inch")


@pytest.mark.parametrize("name", section_names())
def test_inside_datum_and_outside_length_differ_by_whole_turns(name: str) -> None:
    """A line that lies t outside another is 2πt longer, so inside to outside is 2π times the height."""
    belt = section(name)
    inside, outside = 1000.0, 1000.0 + 2 * pi * belt.height_mm
    assert datum_length_mm(belt, inside, "inside") == pytest.approx(datum_length_mm(belt, outside, "outside"), abs=1e-9)
    assert datum_length_mm(belt, 1000.0, "datum") == 1000.0


def test_a_number_need_not_be_in_stock() -> None:
    """A belt A45, which the list does not hold, still has its datum length of 46.3 in."""
    assert number_datum_length_mm(section("A"), 45, "inch") == pytest.approx(46.3 * 25.4)
