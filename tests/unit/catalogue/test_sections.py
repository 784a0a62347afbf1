"""Belt sections by name."""

import pytest

from optimizer.catalogue.entry import CatalogueError, table
from optimizer.catalogue.sections import section, section_names

GROUPS = {"belt", "datum", "groove", "smallest", "pitch", "speed", "mass"}


@pytest.mark.parametrize("name", section_names())
def test_every_section_names_the_source_of_every_group_of_figures(name: str) -> None:
    """No figure of a section stands without its source."""
    belt = section(name)
    assert set(belt.sources) >= GROUPS
    assert all(belt.sources.values())
    assert (belt.pins is None) or belt.sources["pins"]


def test_all_sections_that_the_job_needs_are_there() -> None:
    """Z, A, B, SPZ, cogged, light-duty, ribbed, round and flat belts are known."""
    kinds = {name: section(name).kind for name in section_names()}
    assert set(kinds) == {"Z", "A", "B", "AX", "BX", "SPZ", "3L", "4L", "5L", "PJ 4", "round 8", "flat 3x40"}
    assert {kinds["PJ 4"], kinds["round 8"], kinds["flat 3x40"], kinds["4L"]} == {"ribbed", "round", "flat", "v"}


@pytest.mark.parametrize(
    ("written", "name"),
    [
        (" a ", "A"),
        ("spz", "SPZ"),
        ("pj", "PJ 4"),
        ("PJ6", "PJ 6"),
        ("Round 8", "round 8"),
        ("round 8 mm", "round 8"),
        ("round 1/4 in", "round 6.35"),
        ("flat 3 x 40 mm", "flat 3x40"),
        ("flat 3×40", "flat 3x40"),
        ("flat 1/8x1 1/2 in", "flat 3.175x38.1"),
        ('flat 1/8 x 2"', "flat 3.175x50.8"),
    ],
)
def test_a_section_is_found_however_it_is_written(written: str, name: str) -> None:
    """Case, blanks and the unit of a size do not matter."""
    assert section(written).name == name


@pytest.mark.parametrize(
    ("written", "what"),
    [
        ("Q", "there is no such belt section"),
        ("", "there is no such belt section"),
        ("PJ x", "the number of ribs cannot be read"),
        ("PJ 0", "the number of ribs cannot be read"),
        ("round", "the size of the belt section cannot be read"),
        ("round -8", "the size of the belt section cannot be read"),
        ("round 1/0", "the size of the belt section cannot be read"),
        ("round 8x8", "the size of the belt section cannot be read"),
        ("flat 3", "the size of the belt section cannot be read"),
        ("flat 0x40", "the size of the belt section cannot be read"),
    ],
)
def test_an_unknown_section_says_what_there_is(written: str, what: str) -> None:
    """The error carries what was got, what is allowed, what to try."""
    with pytest.raises(CatalogueError) as caught:
        section(written)
    assert caught.value.what == what
    assert caught.value.allowed and caught.value.advice
    assert str(caught.value).startswith(f"{what}; got ")


def test_smallest_diameters_given_over_the_rim_are_kept_on_the_datum_line() -> None:
    """The smallest 4L pulley of 2.5 in over the rim has its datum line 3.3 mm inside (from memory)."""
    assert section("4L").smallest_datum_mm == pytest.approx(63.5 - 6.6)


def test_the_smallest_round_belt_pulley_between_two_rows_is_that_of_the_thicker_belt() -> None:
    """A 7 mm belt takes the 8 mm row's 55 mm; past the table 8 times the thickness holds."""
    assert section("round 7").smallest_datum_mm == 55
    assert section("round 20").smallest_datum_mm == 160


def test_the_advised_smallest_diameter_is_never_below_the_limit() -> None:
    """What is advised lies at or above what is allowed, for every section."""
    for name in section_names():
        assert section(name).preferred_datum_mm >= section(name).smallest_datum_mm


def test_every_row_of_the_data_files_has_a_source() -> None:
    """Groove rows, stock series and tolerances each carry their source."""
    rows = [*table("grooves")["groove"], *table("lengths")["series"], *table("lengths")["tolerance"].values()]
    assert all(row["source"] for row in rows)
    assert table("grooves")["runout"]["source"] and table("grooves")["preferred"]["source"]
