"""What belts carry, by formula, table and friction."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.mechanics.carrying import FrictionRating, carried_kw, governing
from optimizer.mechanics.tension import needed_pull_n, pretension_n, shaft_pull_n, slip_pull_n, strands_n

V_SECTIONS = ("Z", "A", "B", "AX", "BX", "3L", "4L", "5L")
ALL = (*V_SECTIONS, "round 8", "flat 3x40")
NAMES, SPEEDS, SIZES = st.sampled_from(ALL), st.floats(0.5, 30.0), st.floats(50.0, 400.0)


def kw(name: str, speed: float, size: float, wrap: float = 180.0, length: float = 1250.0, ratio: float = 1.0) -> float:
    """Return what an ordinary belt of a section carries."""
    return float(carried_kw(ratings_of(section(name)), speed, size, ratio, wrap, length))


@given(NAMES, SPEEDS, SIZES, st.floats(60.0, 179.0))
def test_capacity_falls_with_smaller_wrap(name: str, speed: float, size: float, wrap: float) -> None:
    """No belt carries more on less wrap."""
    assert kw(name, speed, size, wrap) <= kw(name, speed, size, wrap + 1.0) + 1e-12


@given(st.sampled_from(V_SECTIONS), SPEEDS, SIZES)
def test_capacity_falls_with_smaller_pulley(name: str, speed: float, size: float) -> None:
    """No V-belt carries more round a smaller pulley at the same belt speed."""
    assert kw(name, speed, size) <= kw(name, speed, size * 1.05) + 1e-12


@given(NAMES, SIZES, st.floats(0.5, 28.0))
def test_capacity_is_concave_in_belt_speed(name: str, size: float, speed: float) -> None:
    """The power at a middle speed is at least the mean of those at speeds either side, so enough is one span."""
    ratings = ratings_of(section(name))
    parts = [float(carried_kw([r], speed + d, size, 1.0, 180.0, 1250.0)) for r in ratings for d in (-0.4, 0.0, 0.4)]
    if min(parts) > 0:
        low, middle, high = (kw(name, speed + d, size) for d in (-0.4, 0.0, 0.4))
        assert middle >= (low + high) / 2 - 1e-9


@pytest.mark.parametrize("name", V_SECTIONS)
def test_every_rating_is_concave_over_its_whole_span(name: str) -> None:
    """On a fine grid of pulleys and speeds no rating bends upward."""
    speeds, sizes = np.arange(0.5, 30.0, 0.25), np.arange(40.0, 300.0, 4.0)[:, None]
    for rating in ratings_of(section(name)):
        assert not isinstance(rating, FrictionRating)
        powers = rating.rated_kw(speeds, sizes, 1.0)
        bend = powers[:, :-2] - 2 * powers[:, 1:-1] + powers[:, 2:]
        assert bend.max() <= 1e-9


@given(NAMES, SPEEDS, SIZES, st.floats(90.0, 180.0), st.floats(400.0, 2500.0), st.floats(1.0, 6.0))
def test_capacity_is_a_number_and_never_negative(
    name: str, speed: float, size: float, wrap: float, length: float, ratio: float
) -> None:
    """Odd figures give an answer."""
    assert 0 <= kw(name, speed, size, wrap, length, ratio) < 1000


@pytest.mark.parametrize("name", ALL)
def test_a_belt_that_stands_carries_nothing(name: str) -> None:
    """At no speed there is no power, and far beyond any useful speed there is none."""
    assert kw(name, 0.0, 140.0) == 0.0
    assert kw(name, 400.0, 140.0) == 0.0


def test_arrays_give_what_single_figures_give() -> None:
    """Each entry of an array is worked out as by itself, and so is who says the least."""
    rng = np.random.default_rng(3)
    speed, size, wrap = rng.uniform(1, 25, 40), rng.uniform(60, 250, 40), rng.uniform(80, 180, 40)
    for name in ALL:
        ratings = ratings_of(section(name))
        whole = carried_kw(ratings, speed, size, 1.5, wrap, 1250.0)
        which = governing(ratings, speed, size, 1.5, wrap, 1250.0)
        for i in range(40):
            assert whole[i] == pytest.approx(kw(name, speed[i], size[i], wrap[i], ratio=1.5), abs=1e-12)
            alone = [float(carried_kw([r], speed[i], size[i], 1.5, wrap[i], 1250.0)) for r in ratings]
            assert alone[which[i]] == min(alone)


def test_no_rating_is_refused() -> None:
    """Without a rating nothing can be said."""
    with pytest.raises(ValueError, match="no rating says what this belt carries"):
        carried_kw((), 10.0, 100.0, 1.0, 180.0, 1000.0)


def test_a_better_grade_carries_more_and_a_flat_rim_less() -> None:
    """High-grade belts carry more than ordinary ones; on a flat rim half a turn counts for three quarters."""
    a = section("A")
    at = (pi * 0.1 * 1420 / 60, 100.0, 1.0, 180.0, 1250.0)
    ordinary, high, flat = (
        float(carried_kw(ratings, *at))
        for ratings in (ratings_of(a), ratings_of(a, grade="high"), ratings_of(a, flat_rim=True))
    )
    assert high > ordinary
    assert flat == pytest.approx(0.75 * ordinary)


@given(st.floats(0.01, 5.0), st.floats(0.5, 30.0), st.floats(0.3, 1.0), st.floats(1.0, 1.5))
def test_tight_minus_slack_times_speed_returns_the_power(power: float, speed: float, arc: float, duty: float) -> None:
    """However the belt is pretensioned, the difference of its strands carries the power."""
    rest = float(pretension_n(power, speed, arc, 0.1, duty))
    tight, slack = strands_n(rest, power, speed)
    assert float(tight - slack) * speed / 1000 == pytest.approx(power)
    assert float(tight + slack) == pytest.approx(2 * rest)


@given(st.floats(0.01, 5.0), st.floats(0.5, 30.0), st.floats(0.2, 1.2), st.floats(90.0, 200.0))
def test_the_least_pulls_carry_the_power_by_friction(power: float, speed: float, friction: float, wrap: float) -> None:
    """Pulls less their centrifugal part stand in the ratio of Euler's law, and carry the power."""
    tight, slack = slip_pull_n(power, speed, friction, wrap, 0.1)
    own = 0.1 * speed**2
    assert float(tight - slack) * speed / 1000 == pytest.approx(power)
    assert float((tight - own) / (slack - own)) == pytest.approx(np.exp(friction * np.radians(wrap)))


@given(st.floats(1.0, 500.0), st.floats(1.0, 500.0), st.floats(60.0, 180.0))
def test_the_pull_on_the_shaft_lies_between_difference_and_sum(tight: float, slack: float, wrap: float) -> None:
    """Two strands never pull more than together, nor less than against each other."""
    assert abs(tight - slack) - 1e-9 <= float(shaft_pull_n(tight, slack, wrap)) <= tight + slack + 1e-9


@given(st.floats(0.01, 5.0), st.floats(0.5, 30.0), st.floats(0.3, 1.0))
def test_a_hung_motor_pulls_enough_for_the_difference_of_the_strands(power: float, speed: float, arc: float) -> None:
    """What both strands must have together is more than their difference, so that the slack one still pulls."""
    assert float(needed_pull_n(power, speed, arc)) >= 1.5 * 1000 * power / speed * (1 - 1e-12)
