"""Geometric series of speeds, and how far speeds are from one."""

from math import inf, log

import numpy as np
import pytest

from optimizer.series import end_miss, geometric, preferred_numbers, series_ratio, unevenness


def test_an_exact_geometric_series_is_even() -> None:
    """The unevenness of a geometric series is 0, and its first term and ratio are found."""
    fit = unevenness([log(n) for n in geometric(180, 2400, 8)])
    assert fit.delta < 1e-14
    assert fit.start == pytest.approx(log(180))
    assert fit.log_ratio == pytest.approx(log(2400 / 180) / 7)


@pytest.mark.parametrize("speeds", [[500.0], [180.0, 2400.0]])
def test_one_or_two_speeds_are_even(speeds: list[float]) -> None:
    """Any one or two speeds lie on some geometric series exactly."""
    assert unevenness(np.log(speeds)).delta == 0.0


def test_the_fit_touches_its_extremes() -> None:
    """For 0, 1.2, 2.0 the line 0.1 + k misses by 0.1 everywhere: down, up, down; worked by hand."""
    assert unevenness([0.0, 1.2, 2.0]) == pytest.approx((0.1, 0.1, 1.0))


def test_a_least_ratio_that_binds_is_taken() -> None:
    """Two speeds 0.1 apart against a ratio of at least e^0.3: the line misses both by 0.1."""
    fit = unevenness([0.0, 0.1], ratio_least=float(np.exp(0.3)))
    assert fit.delta == pytest.approx(0.1)
    assert fit.log_ratio == pytest.approx(0.3)


def test_no_speed_is_no_series() -> None:
    """Neither measure is defined without a speed."""
    with pytest.raises(ValueError, match="at least one speed"):
        unevenness([])
    with pytest.raises(ValueError, match="at least one speed"):
        end_miss([], 100, 200)


def test_end_miss_is_the_worse_end() -> None:
    """The slow end 2 % high and the fast end 5 % low miss by ln(1/0.95)."""
    assert end_miss([log(102), log(200), log(380)], 100, 400) == pytest.approx(log(1 / 0.95))


def test_a_single_speed_belongs_in_the_middle() -> None:
    """One speed misses by its distance from the geometric middle of the ends."""
    assert end_miss([log(220)], 100, 400) == pytest.approx(log(1.1))


def test_a_geometric_series_has_both_its_ends() -> None:
    """First and last term are exact; a single term lies at the middle."""
    assert geometric(63, 900, 6)[[0, -1]].tolist() == [63, 900]
    assert geometric(100, 400, 1) == pytest.approx([200])
    with pytest.raises(ValueError, match="at least one term"):
        geometric(1, 2, 0)


def test_a_ratio_needs_two_terms() -> None:
    """A single speed has no ratio."""
    assert series_ratio(100, 800, 4) == pytest.approx(2)
    with pytest.raises(ValueError, match="at least two terms"):
        series_ratio(100, 800, 1)


@pytest.mark.parametrize(
    ("series", "low", "count", "expected"),
    [
        ("R5", 1, 6, (1.0, 1.6, 2.5, 4.0, 6.3, 10.0)),
        ("R10", 0.5, 3, (0.5, 0.63, 0.8)),
        ("R20/3", 10, 4, (10.0, 14.0, 20.0, 28.0)),
        ("R40", 945, 2, (950.0, 1000.0)),
    ],
)
def test_preferred_numbers_run_through_the_decades(
    series: str, low: float, count: int, expected: tuple[float, ...]
) -> None:
    """ISO 3 (from memory): the series repeats in every decade, a derived one takes every p-th term."""
    assert preferred_numbers(series, low, count=count) == pytest.approx(expected)


@pytest.mark.parametrize(("series", "high"), [("R30", 10.0), ("R20/0", 10.0), ("R20/x", 10.0), ("R20", inf)])
def test_a_series_without_name_or_end_is_refused(series: str, high: float) -> None:
    """Only R5, R10, R20, R40 exist, and something must end the list."""
    with pytest.raises(ValueError, match=r"R20|last number"):
        preferred_numbers(series, 1.0, high)
