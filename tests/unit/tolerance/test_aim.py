"""Where to aim, how much to leave on, and what that does to the chance: by trying all, by the normal distribution."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from scipy.stats import norm

from optimizer.tolerance.chance import Cut, aims_mm, chance_by_cuts, drawn, kept, left_on_mm, windows_mm
from optimizer.tolerance.turning import rows_of
from tests.unit.tolerance.machines import equal_stage, held


def test_nothing_is_aimed_off_where_there_is_room() -> None:
    """Three standard deviations everywhere: aims stay on the drawing."""
    assert not np.any(aims_mm(rows_of(held(equal_stage(1, 500.0), limits_mm=(0.31, 0.31))), np.full(2, 0.1)))


def test_what_stands_at_its_limit_is_aimed_inward() -> None:
    """No room below, any above: three standard deviations larger."""
    found = aims_mm(rows_of(held(equal_stage(1, 500.0), limits_mm=(0.0, inf))), np.full(2, 0.1))
    assert found == pytest.approx([0.3, 0.3])


def test_a_narrow_room_is_halved() -> None:
    """No room below, 0.2 mm above: in the middle."""
    found = aims_mm(rows_of(held(equal_stage(1, 500.0), limits_mm=(0.0, 0.2))), np.full(2, 0.1))
    assert found == pytest.approx([0.1, 0.1])


def test_no_aims_tried_leave_more_room() -> None:
    """Of many aims drawn at random none leaves the row with least room more standard deviations."""
    sd = np.full(6, 0.1)
    rows = rows_of(held(equal_stage(3, 0.3, (299.95, 301)), speed_within=0.004, limits_mm=(0.02, 0.4)))
    length = np.sqrt(np.sum((rows.slope * sd) ** 2, axis=1))
    aim = aims_mm(rows, sd)
    best = np.min((rows.left - rows.slope @ aim) / length)
    tries = aim + np.random.default_rng(3).normal(0, 0.1, (20_000, 6))
    assert best >= np.max(np.min((rows.left - tries @ rows.slope.T) / length, axis=1)) - 1e-6


@pytest.mark.parametrize(("down", "up"), [(1.0, 1.0), (2.0, 2.0), (0.5, 1.5), (2.0, 0.3)])
def test_what_is_left_on_makes_the_chance_greatest(down: float, up: float) -> None:
    """Of all first aims on a fine grid, none makes P(in) + P(above)·P(second cut in) greater."""
    aims = np.arange(0, 4, 0.001)
    second = 2 * norm.cdf((up + down) / 2) - 1
    chances = norm.cdf(up - aims) - norm.cdf(-down - aims) + norm.sf(up - aims) * second
    assert left_on_mm(down, up, 1.0) == pytest.approx(aims[np.argmax(chances)], abs=0.002)


def test_no_more_is_left_on_than_helps() -> None:
    """With 3.1 standard deviations below there is one chance in a thousand to be too small: nothing is left on."""
    assert left_on_mm(3.1, 9.0, 1.0) == 0.0
    assert left_on_mm(inf, inf, 1.0) == 0.0
    assert left_on_mm(3.0, 9.0, 1.0) == pytest.approx(0.1)


def test_windows_are_what_is_left_after_aiming() -> None:
    """0.1 mm below and 0.5 above, aimed 0.2 mm larger: 0.3 mm either way."""
    rows = rows_of(held(equal_stage(1, 500.0), limits_mm=(0.1, 0.5)))
    down, up = windows_mm(rows, np.full(2, 0.1), np.full(2, 0.2))
    assert [*down, *up] == pytest.approx([0.3] * 4)


def test_the_chance_of_cutting_once() -> None:
    """Two sizes, each held to two standard deviations: 0.9545²; seeds differ by chance only, one seed never."""
    machine = held(equal_stage(1, 500.0), limits_mm=(0.2, 0.2))
    rows, sd = rows_of(machine), np.full(2, 0.1)
    found = drawn(machine, rows, sd, samples=40_000)
    assert found.all_well == pytest.approx(0.9545**2, abs=0.005)
    assert found.parts[:3] == (1.0, 1.0, 1.0)
    assert found.parts[3] == found.all_well
    assert drawn(machine, rows, sd, samples=40_000).all_well == found.all_well
    assert drawn(machine, rows, sd, samples=40_000, seed=1).all_well != found.all_well


def test_the_chance_of_cutting_twice() -> None:
    """One size held to one standard deviation, left 0.6 of one large: by the normal distribution."""
    stage = equal_stage(1, 500.0)
    machine = held(stage, limits_mm=(0.1, 0.1))
    rows, sd = rows_of(machine), np.array([0.1, 1e-9])
    cut = Cut(np.array([0.06, 0.0]), np.array([0.1, 0.1]), np.zeros(2))
    once = norm.cdf(0.4) - norm.cdf(-1.6)
    expected = once + norm.sf(0.4) * (norm.cdf(1) - norm.cdf(-1))
    assert chance_by_cuts(machine, rows, sd, cut, samples=40_000) == pytest.approx(expected, abs=0.008)


def test_a_second_cut_puts_nothing_back() -> None:
    """A size found too small stays so, however it is aimed at then."""
    machine = held(equal_stage(1, 500.0), limits_mm=(0.1, 9.0))
    cut = Cut(np.full(2, -5.0), np.full(2, -6.0), np.zeros(2))
    assert chance_by_cuts(machine, rows_of(machine), np.full(2, 0.1), cut) == 0.0


def test_uneven_speeds_are_found() -> None:
    """Three speeds in line: the middle one may be off by twice the unevenness allowed and no more."""
    machine = held(equal_stage(3, 500.0), unevenness_most=0.002)
    errors = np.zeros((2, 6))
    errors[:, 1] = 100 * np.expm1([0.0039, 0.0041])
    assert kept(machine, rows_of(machine), errors).tolist() == [True, False]
