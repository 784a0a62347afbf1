"""How the solvers get to their answers: third-order steps, few of them, and others where those are not enough."""

from __future__ import annotations

import mpmath as mp  # type: ignore[import-untyped]
import numpy as np
import pytest

from optimizer.geometry import belts, cones
from optimizer.geometry.belts import belt_length_mm, centre_for_length_mm
from optimizer.geometry.cones import identical_cones_mm, mate_for_difference_mm, mate_for_ratio_mm, mate_for_step_mm
from optimizer.geometry.grooves import floor_width_mm

ORDINARY = [(100.0, 300.0, 450.0), (60.0, 250.0, 300.0), (200.0, 210.0, 250.0), (80.0, 80.0, 600.0)]
"""Diameters and centre distances [mm] of belts that leave the larger pulley well."""


def left_side(centre: mp.mpf, offset: float) -> mp.mpf:
    """Return sqrt(C² − s²) + s·asin(s/C) with thirty digits."""
    return mp.sqrt(centre**2 - offset**2) + offset * mp.asin(offset / centre)


@pytest.mark.parametrize(("centre", "offset", "away"), [(450, 100, 0.3), (300, 95, -2), (120, 100, 5), (200, 0, 1)])
def test_a_step_is_of_third_order(centre: float, offset: float, away: float) -> None:
    """Halley's step f·f'/(f'² − f·f''/2) of the left side less m, derivatives by mpmath with thirty digits."""
    with mp.workdps(30):
        here = mp.mpf(centre) + away
        straight = left_side(mp.mpf(centre), offset)
        miss = left_side(here, offset) - straight
        slope = mp.diff(lambda c: left_side(c, offset), here)
        bend = mp.diff(lambda c: left_side(c, offset), here, 2)
        expected = float(miss * slope / (slope**2 - miss * bend / 2))
    found = belts._halley_step(np.array([float(here)]), np.array([float(offset)]), np.array([float(straight)]))
    assert found[0] == pytest.approx(expected, rel=1e-9)


def test_ordinary_belts_need_no_other_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the belt leaves the larger pulley well, the two steps that all take give the exact answer."""
    monkeypatch.setattr(belts, "_newton_mm", None)
    for driver, driven, centre in ORDINARY:
        assert centre_for_length_mm(driver, driven, belt_length_mm(driver, driven, centre)) == pytest.approx(
            centre, rel=1e-13
        )
    assert np.isnan(centre_for_length_mm(100.0, 300.0, 600.0))


def test_one_belt_that_hardly_leaves_is_solved_among_others() -> None:
    """Of ordinary belts and one at C = s·(1 + 1e-6), each comes out of an array as exact as by itself."""
    driver, driven, centre = (np.array(row) for row in zip(*ORDINARY, (100.0, 300.0, 100.0 * (1 + 1e-6)), strict=True))
    found = centre_for_length_mm(driver, driven, belt_length_mm(driver, driven, centre))
    assert found == pytest.approx(centre, rel=1e-9)


@pytest.mark.parametrize("crossed", [False, True])
def test_mates_are_found_in_few_steps(crossed: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Four of Newton's steps from the start named are enough for ordinary belts, open or crossed."""
    monkeypatch.setattr(cones, "STEPS", 4)
    for driver, driven, centre in ORDINARY:
        length = belt_length_mm(driver, driven, centre, crossed=crossed)
        pair = mate_for_ratio_mm(driver / driven, length, centre, crossed)
        assert [float(size) for size in pair] == pytest.approx([driver, driven], rel=1e-10)
        assert float(mate_for_step_mm(driver, length, centre, crossed)) == pytest.approx(driven, rel=1e-10)


@pytest.mark.parametrize("crossed", [False, True])
def test_a_belt_too_short_for_a_point_has_no_mate(crossed: bool) -> None:
    """Round a step of 100 and a point 300 away a belt of 2·sqrt(300² − 50²) + 50π + 100·asin(1/6) = 765.4 runs."""
    assert 2 * (300**2 - 50**2) ** 0.5 + 50 * np.pi + 100 * np.arcsin(1 / 6) == pytest.approx(765.4, abs=0.05)
    assert np.isnan(mate_for_step_mm(100.0, 760.0, 300.0, crossed))
    assert not np.isnan(mate_for_step_mm(100.0, 770.0, 300.0, crossed))
    assert np.isnan(mate_for_ratio_mm(2.0, 590.0, 300.0, crossed)).all()


def test_a_mate_may_be_smaller_than_a_millimetre() -> None:
    """Sizes are in any unit: for 0.5 at 3, with the belt of an equal pair, the mate is 0.5."""
    assert float(mate_for_step_mm(0.5, 6 + 0.5 * np.pi, 3.0)) == pytest.approx(0.5)
    assert [float(d) for d in mate_for_ratio_mm(1.0, 6 + 0.5 * np.pi, 3.0)] == pytest.approx([0.5, 0.5])


def test_both_sizes_of_a_difference_are_told() -> None:
    """The belt of 120 and 80 at 300 belongs to a difference of 40 and to no other; turned round it is one of -40."""
    length = belt_length_mm(120, 80, 300)
    assert [float(size) for size in mate_for_difference_mm(40.0, length, 300)] == pytest.approx([120, 80])
    assert [float(size) for size in mate_for_difference_mm(-40.0, length, 300)] == pytest.approx([80, 120])


def test_two_steps_are_the_outer_ones() -> None:
    """A cone of two steps has just the sizes stated; one of one step has none."""
    assert identical_cones_mm(150, 90, 2, 400) == pytest.approx([150, 90])
    with pytest.raises(ValueError, match="at least two steps"):
        identical_cones_mm(150, 90, 1, 400)


def test_a_groove_that_runs_to_a_point_has_no_floor() -> None:
    """Flanks 10 apart at 34° meet 10/(2·tan 17°) = 16.4 below; at 16 there are 0.217 left, at 20 nothing."""
    assert floor_width_mm(10, 34, 16) == pytest.approx(0.217, abs=5e-4)
    assert floor_width_mm(10, 34, 20) == 0.0
