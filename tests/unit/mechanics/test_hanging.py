"""Mounts that hang: moments, balance, what is enough."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.mechanics.hanging import (
    balanced_strands,
    force_moment_nm,
    least_effort,
    rest_pull_n,
    slip_difference_n,
    v_pull_ratio,
    weight_moment_nm,
)
from optimizer.mechanics.tension import pretension_n

arms = st.floats(0.02, 0.6)
differences = st.floats(0.0, 500.0)
ratios = st.floats(1.5, 8.0)


def test_a_motor_hung_beside_its_hinge() -> None:
    """20 kg hang 300 mm right: 58.84 N·m; both strands run straight up 250 and 350 mm right: 58.84/0.6 = 98.07 N."""
    weight = weight_moment_nm(20.0, np.array([300.0, 0.0]), np.zeros(2))
    assert float(weight) == pytest.approx(-58.8399, abs=1e-4)
    near, far = [float(force_moment_nm(np.array([0.0, 1.0]), np.array([x, 0.0]), np.zeros(2))) for x in (250.0, 350.0)]
    assert [near, far] == pytest.approx([0.25, 0.35])
    assert [float(pull) for pull in balanced_strands(float(weight), near, far)] == pytest.approx([98.0665] * 2)
    # 90 N of difference: (58.84 - 90·0.25)/0.6 = 60.57 with the tight strand near, (58.84 - 90·0.35)/0.6 = 45.57 far.
    assert float(balanced_strands(float(weight), near, far, 90.0).slack_n) == pytest.approx(60.567, abs=1e-3)
    assert float(balanced_strands(float(weight), far, near, 90.0).slack_n) == pytest.approx(45.567, abs=1e-3)


def test_a_slide_shares_its_pull_between_both_strands() -> None:
    """200 N to the right against two strands to the left: 100 N each; askew by 60 degrees they pull 200 N each."""
    assert float(balanced_strands(200.0, -1.0, -1.0).tight_n) == 100.0
    assert float(balanced_strands(200.0, -0.5, -0.5).tight_n) == 200.0


def test_a_weight_on_the_wrong_side_pulls_nothing() -> None:
    """A belt cannot push."""
    assert [float(pull) for pull in balanced_strands(29.42, 0.15, 0.25)] == [0.0, 0.0]


def test_a_dead_point_is_no_number_that_is_not_one() -> None:
    """Strands that make up for each other hold nothing: infinite under a weight, 0 without."""
    assert [float(pull) for pull in balanced_strands(-10.0, 0.2, -0.2)] == [inf, inf]
    assert [float(pull) for pull in balanced_strands(0.0, 0.2, -0.2)] == [0.0, 0.0]


def test_the_pull_ratio_is_that_of_the_standard() -> None:
    """The pull at rest that the ratio asks for is the one of GOST 1284.3-96, equation 16, for any arc."""
    for arc in (0.56, 0.69, 0.82, 0.94, 1.0):
        ratio = float(v_pull_ratio(arc))
        assert float(rest_pull_n(1000 * 0.75 / 8.0, ratio)) == pytest.approx(float(pretension_n(0.75, 8.0, arc, 0.0)))


@given(arms, arms, differences, ratios)
def test_the_least_effort_is_where_the_belt_slips(tight: float, slack: float, difference: float, ratio: float) -> None:
    """At that effort the strands pull in just that ratio, and the belt slips at just that difference."""
    effort = -float(least_effort(difference, tight, slack, ratio))
    pulls = balanced_strands(effort, tight, slack, difference)
    assert float(pulls.tight_n) == pytest.approx(ratio * float(pulls.slack_n), abs=1e-6)
    assert float(slip_difference_n(effort, tight, slack, ratio)) == pytest.approx(difference, abs=1e-9)


@given(st.floats(0, 200), st.floats(0, 50), st.floats(0.01, 1), arms, arms, differences)
def test_more_mass_never_pulls_less(
    mass: float, more: float, arm: float, tight: float, slack: float, difference: float
) -> None:
    """Whatever the load, both strands pull at least as hard with more mass on the same arm."""
    centre, pivot = np.array([1000 * arm, 0.0]), np.zeros(2)
    light, heavy = (weight_moment_nm(kg, centre, pivot) for kg in (mass, mass + more))
    before = balanced_strands(light, tight, slack, difference)
    after = balanced_strands(heavy, tight, slack, difference)
    assert np.all(np.subtract(after, before) >= -1e-9)


@given(st.floats(-300, 300), st.floats(-0.6, 0.6), st.floats(-0.6, 0.6), differences, ratios)
def test_a_mirror_changes_nothing(effort: float, one: float, other: float, difference: float, ratio: float) -> None:
    """Every moment and every lever turned round: the same pulls, the same slip; and no figure fails to be one."""
    figures = (
        (balanced_strands(effort, one, other, difference), balanced_strands(-effort, -one, -other, difference)),
        (least_effort(difference, one, other, ratio), least_effort(difference, -one, -other, ratio)),
        (slip_difference_n(effort, one, other, ratio), slip_difference_n(-effort, -one, -other, ratio)),
    )
    for here, there in figures:
        assert np.array_equal(np.array(here), np.array(there))
        assert not np.any(np.isnan(here))
