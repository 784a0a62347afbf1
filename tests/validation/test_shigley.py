"""R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, 10th ed., ch. 17 (from memory).

Table 17-12, sections A and B, horsepower at 1000 to 5000 ft/min; example 17-4: 10 hp at 1750 rpm, sheaves 7.4 and 11
in, belts B112, service factor 1.2, design factor 1.1. Statement, table and answers are from memory, the answers
recomputed.
"""

from math import ceil, pi

import pytest

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.geometry.belts import centre_for_length_mm, wrap_deg
from optimizer.mechanics.carrying import TableRating, carried_kw, governing
from optimizer.mechanics.flat_belts import centrifugal_pull_n

INCH_MM, FT_MIN, HP_KW, LBF_N = 25.4, 0.3048 / 60, 0.7456998715822702, 4.4482216152605
CELLS = {
    2.6: (0.47, 0.62, 0.53, 0.15),
    3.0: (0.66, 1.01, 1.12, 0.93, 0.38),
    3.4: (0.81, 1.31, 1.57, 1.53, 1.12),
    3.8: (0.93, 1.55, 1.92, 2.00, 1.71),
    4.2: (1.03, 1.74, 2.20, 2.38, 2.19),
    4.6: (1.11, 1.89, 2.44, 2.69, 2.58),
    5.0: (1.17, 2.03, 2.64, 2.96, 2.89),
    6.5: (1.17, 2.03, 2.64, 2.96, 2.89),
}
"""Sheave pitch diameter [in]: hp at 1000, 2000 and so on; from 5 in up the table gives one row."""


def _printed(name: str) -> TableRating:
    """Return the book's table among what rates a section."""
    (found,) = (each for each in ratings_of(section(name)) if isinstance(each, TableRating))
    return found


@pytest.mark.parametrize("size_in", CELLS)
def test_light_duty_belts_carry_what_the_table_says(size_in: float) -> None:
    """Table 17-12, section A, from memory: every cell to its two decimals, which 4L belts are rated by."""
    rating = _printed("4L")
    for number, printed in enumerate(CELLS[size_in], 1):
        found = float(rating.rated_kw(1000 * number * FT_MIN, size_in * INCH_MM)) / HP_KW
        assert found == pytest.approx(printed, abs=0.005)


def test_the_geometry_of_example_17_4() -> None:
    """Example 17-4, from memory: 3390 ft/min, 42.4 in between the shafts, 3.057 rad on the smaller sheave."""
    assert pi * 7.4 * 1750 / 12 == pytest.approx(3390, abs=0.5)
    centre = centre_for_length_mm(7.4, 11.0, 112 + 1.8)
    assert centre == pytest.approx(42.4, abs=0.05)
    assert wrap_deg(7.4, 11.0, centre)[0] * pi / 180 == pytest.approx(3.057, abs=0.0005)


def test_the_power_and_the_belts_of_example_17_4() -> None:
    """Example 17-4, from memory: 4.693 hp by table 17-12, 4.878 hp by factors 0.99 and 1.05, three belts."""
    table_hp = float(_printed("5L").rated_kw(3390 * FT_MIN, 7.4 * INCH_MM)) / HP_KW
    assert table_hp == pytest.approx(4.693, abs=0.0005)
    allowed_hp = table_hp * 0.99 * 1.05
    assert allowed_hp == pytest.approx(4.878, abs=0.0005)
    assert ceil(10 * 1.2 * 1.1 / allowed_hp) == 3


def test_the_arc_factor_of_example_17_4() -> None:
    """Example 17-4, from memory: 0.99 for 3.057 rad of V on V; ours differs by no more than its last digit."""
    factors = _printed("5L").factors
    longest_mm, longest = factors.length[-1]
    assert float(factors.at(3.057 * 180 / pi, longest_mm)) / longest == pytest.approx(0.99, abs=0.005)


def test_the_centrifugal_pull_of_example_17_4() -> None:
    """Example 17-4, from memory: 11.1 lbf by Kc = 0.965."""
    mass_kg_m = 0.965 * LBF_N / (1000 * FT_MIN) ** 2
    assert float(centrifugal_pull_n(mass_kg_m, 3390 * FT_MIN)) / LBF_N == pytest.approx(11.1, abs=0.05)


@pytest.mark.parametrize("name", ["4L", "5L"])
def test_light_duty_belts_carry_the_lower_of_the_table_and_half_of_ip_20(name: str) -> None:
    """Neither the table nor half of IP-20 is ever exceeded, and either is the lower one somewhere."""
    ratings = ratings_of(section(name))
    which = set()
    for size_in in (3.0, 4.0, 5.0, 7.0):
        for speed in (1000, 2500, 4000):
            at = (speed * FT_MIN, size_in * INCH_MM, 1.0, 180.0, 1600.0)
            each = [float(carried_kw([rating], *at)) for rating in ratings]
            assert float(carried_kw(ratings, *at)) == min(each)
            which.add(int(governing(ratings, *at)))
    assert which == {0, 1}
