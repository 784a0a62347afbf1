"""GOST 1284.3-96, V-belts of standard cross-sections, transmitted powers (read; states conformity with ISO 5292-80)."""

from math import pi

import pytest

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.mechanics.carrying import Rating, VRating, carried_kw
from optimizer.mechanics.tension import pretension_n

ORDINARY_A_140_KW = {
    200: 0.43,
    400: 0.78,
    700: 1.26,
    800: 1.41,
    950: 1.62,
    1200: 1.96,
    1450: 2.28,
    1600: 2.45,
    2000: 2.87,
}
"""Ordinary belts, class 0 to II, section A on 140 mm, ratio 1: rpm and kW, read."""
LENGTHS = {
    "Z": {500: 0.58, 1000: 0.88, 2000: 1.18},
    "A": {630: 0.74, 1120: 0.89, 1700: 1.00},
    "B": {900: 0.80, 1250: 0.87},
}
"""Factors of length, read."""


def _named(name: str, grade: str, word: str) -> VRating:
    found: tuple[Rating, ...] = ratings_of(section(name), grade="high" if grade == "high" else "ordinary")
    rating = next(each for each in found if word in each.source)
    assert isinstance(rating, VRating)
    return rating


@pytest.mark.parametrize("rpm", ORDINARY_A_140_KW)
def test_ordinary_belts_carry_what_the_table_says(rpm: int) -> None:
    """Ordinary belts of section A on 140 mm carry the powers of the table to 0.01 kW."""
    rating = _named("A", "ordinary", "GOST 1284.3-96")
    found = float(rating.rated_kw(pi * 0.140 * rpm / 60, 140.0, 1.0))
    assert found == pytest.approx(ORDINARY_A_140_KW[rpm], abs=0.01)


@pytest.mark.parametrize("rpm", ORDINARY_A_140_KW)
def test_ordinary_belts_carry_about_0_63_of_the_better_ones(rpm: int) -> None:
    """The table's powers are 0.63 to 0.65 of those of class III/IV on the same pulley."""
    rating = _named("A", "high", "class III/IV")
    better = float(rating.rated_kw(pi * 0.140 * rpm / 60, 140.0, 1.0))
    assert 0.625 <= ORDINARY_A_140_KW[rpm] / better <= 0.65


@pytest.mark.parametrize("name", LENGTHS)
def test_length_factors(name: str) -> None:
    """Each length's factor is that of the table."""
    factors = ratings_of(section(name))[0].factors
    assert factors is not None
    for length, factor in LENGTHS[name].items():
        assert float(factors.at(180.0, float(length))) == pytest.approx(factor, abs=1e-9)


def test_pretension_by_equation_16() -> None:
    """Equation 16, worked by hand: 1 kW at 8 m/s, Ca 0.95, duty 1.1, 0.10 kg/m: 112.2 N and 6.4 N."""
    found = float(pretension_n(1.0, 8.0, 0.95, 0.10, 1.1))
    assert found == pytest.approx(500 * 1.55 * 1.1 / (0.95 * 8.0) + 6.4, abs=1e-9)
    assert found == pytest.approx(118.6, abs=0.05)


def test_the_lower_figure_counts_and_is_named() -> None:
    """Where IP-20 and the standard differ, what a belt carries is the lower of both."""
    ratings = ratings_of(section("A"))
    at = (pi * 0.140 * 1450 / 60, 140.0, 1.0, 180.0, 1700.0)
    each = [float(carried_kw([rating], *at)) for rating in ratings]
    assert float(carried_kw(ratings, *at)) == min(each)
    assert len(set(each)) == len(each)
