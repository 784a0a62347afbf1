"""Pairs of facing sizes laid on belts."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from optimizer.geometry.belts import belt_length_mm, small_wrap_deg
from optimizer.records import BeltChoice, SideSizes, StageProblem
from optimizer.search.pairs import ANY_PLACE, lay_belts, size_pairs, tick_sizes_mm
from tests.unit.search.machines import stage_of


def _ready(step: float, **extra: object) -> StageProblem:
    sizes = tuple(map(float, np.arange(60, 230 + 1e-9, step)))
    side = SideSizes(key="stage[0].driver", ready_mm=sizes)
    belt = BeltChoice(section="A", marking="A", length_mm=1300, window_mm=0.5)
    return StageProblem(
        key="stage[0]", driver=side, driven=side, belts=(belt,), centre_mm=(300, 500), clearance_mm=10
    ).model_copy(update=extra)


@pytest.mark.parametrize(("step", "count"), [(5, 1103), (2, 6702)])
def test_number_of_pairs(step: float, count: int) -> None:
    """As many pairs fit as three general solvers were given: computed, exact formulas, agreed by two means."""
    assert len(lay_belts(_ready(step), positions=4)) == count


def test_points_stand_at_their_own_centre_distance() -> None:
    """The belt is just taut at the centre distance of every point, and the rims are clear."""
    pairs = lay_belts(_ready(5), positions=4)
    length = belt_length_mm(pairs.driver_mm, pairs.driven_mm, pairs.centre_low)
    assert np.abs(np.asarray(length) - 1300).max() < 1e-9
    assert np.array_equal(pairs.centre_low, pairs.centre_high)
    assert ((pairs.driver_mm + pairs.driven_mm) / 2 + 10 <= pairs.centre_low + 1e-9).all()


def test_rays_are_clipped_to_what_fits() -> None:
    """Both ends of every ray keep centre, rim and wrap limits, and stay within half a grid of the listed size."""
    stage = stage_of(0, (75.0, 230.0, 5.0), (900.0, 1250.0), 5.0)
    pairs = lay_belts(stage, positions=3)
    lengths = np.array([belt.length_mm for belt in stage.belts])[pairs.belt]
    for scale, centre in ((pairs.scale_high, pairs.centre_low), (pairs.scale_low, pairs.centre_high)):
        a, b = pairs.driver_mm * scale, pairs.driven_mm * scale
        assert np.abs(np.asarray(belt_length_mm(a, b, centre)) - lengths).max() < 1e-8
        assert (centre >= 220 - 1e-7).all()
        assert (centre <= 500 + 1e-7).all()
        assert (np.asarray(small_wrap_deg(a, b, centre)) >= 90 - 1e-7).all()
        assert ((a + b) / 2 + 10 <= centre + 1e-7).all()
        assert (np.abs(scale - 1) * np.maximum(pairs.driver_mm, pairs.driven_mm) <= 2.5 + 1e-9).all()
        assert a.min() >= 75 - 1e-9
        assert b.max() <= 230 + 1e-9
    assert (pairs.scale_high > pairs.scale_low).any()


def test_one_turned_side_is_listed_by_ticks() -> None:
    """A turned side that faces a ready pulley takes every tick within its limits, as a point."""
    turned = SideSizes(key="stage[0].driven", turned_mm=(99.0, 103.2), listed_mm=(100.0,), grid_mm=5, tick_mm=0.5)
    ready = SideSizes(key="stage[0].driver", ready_mm=(80.0,))
    stage = _ready(5, driver=ready, driven=turned)
    (pairs,) = size_pairs(stage, positions=2, ticks=False)
    assert pairs.driven_mm.tolist() == [99.0, 99.5, 100.0, 100.5, 101.0, 101.5, 102.0, 102.5, 103.0]
    assert not pairs.reach.any()


def test_ticks_count_on_the_makers_line() -> None:
    """Ticks are whole on the line the maker measures, not on the pitch line."""
    side = SideSizes(key="stage[0].driver", turned_mm=(70.0, 71.0), tick_mm=0.5, given_shift_mm=-6.6)
    assert tick_sizes_mm(side) == pytest.approx([70.4, 70.9])
    assert tick_sizes_mm(SideSizes(key="stage[0].driver")).size == 0


def test_kept_cones_face_step_by_step() -> None:
    """Two kept cones pair in one direction; end for end only where one of them may be turned round."""
    driver = SideSizes(key="stage[0].driver", standing_mm=((60.0,), (80.0,), (100.0,)))
    driven = SideSizes(key="stage[0].driven", standing_mm=((120.0,), (100.0,), (80.0,)))
    (fixed,) = size_pairs(_ready(5, driver=driver, driven=driven), positions=3, ticks=False)
    turned = driven.model_copy(update={"reversible": True})
    (free,) = size_pairs(_ready(5, driver=driver, driven=turned), positions=3, ticks=False)
    first = fixed.variant == 0
    assert list(zip(fixed.driver_mm[first], fixed.driven_mm[first], strict=True)) == [(60, 120), (80, 100), (100, 80)]
    assert set(fixed.variant) == {0, 1}
    assert set(free.variant) == {0, 1, 2, 3}
    assert ANY_PLACE not in fixed.place


def test_kept_cone_shorter_than_the_positions_gives_nothing() -> None:
    """A kept cone with too few steps leaves no pair."""
    driver = SideSizes(key="stage[0].driver", standing_mm=((60.0,), (80.0,)))
    assert not list(size_pairs(_ready(5, driver=driver), positions=3, ticks=False))


def test_speed_limits_become_a_greatest_driver_speed() -> None:
    """Belt speed limits the driver at v/(π·d); the driven shaft's limit is taken back through the ratio."""
    pairs = lay_belts(_ready(85, belt_speed_m_s=10.0, driven_rpm=1000.0), positions=2)
    row = int(np.flatnonzero((pairs.driver_mm == 145) & (pairs.driven_mm == 145))[0])
    assert pairs.entering[row] == pytest.approx(min(log(10 * 60_000 / np.pi / 145), log(1000.0)))


def test_no_belt_gives_no_pair() -> None:
    """A stage without belts has no pairs, and says so by an empty array."""
    assert len(lay_belts(_ready(5, belts=()), positions=2)) == 0
