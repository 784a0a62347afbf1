"""Rays reach as far as they may: where one ends, the grid's half or a limit is met."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.geometry.belts import small_wrap_deg
from optimizer.records import StageProblem
from optimizer.search.pairs import lay_belts
from tests.unit.search.machines import stage_of

STAGES = {
    "as it is": stage_of(0, (75.0, 230.0, 5.0), (900.0, 1250.0), 5.0),
    "narrow": stage_of(0, (75.0, 230.0, 5.0), (900.0, 1250.0), 5.0).model_copy(
        update={"centre_mm": (300.0, 340.0), "least_wrap_deg": 166.0, "clearance_mm": 120.0}
    ),
    "crossed": stage_of(0, (75.0, 230.0, 5.0), (1250.0,), 5.0).model_copy(
        update={"centre_mm": (300.0, 340.0), "crossed": True}
    ),
}


@pytest.mark.parametrize("name", STAGES)
def test_every_ray_ends_at_a_limit(name: str) -> None:
    """The larger end at the grid's half, the largest size, the nearest centre, the rims or the wrap; so the smaller."""
    stage: StageProblem = STAGES[name]
    pairs = lay_belts(stage, positions=3)
    a, b = pairs.driver_mm, pairs.driven_mm
    reach = 2.5 / np.maximum(a, b)
    large = pairs.scale_high
    centre = pairs.centre_low
    wrap = np.asarray(small_wrap_deg(a * large, b * large, centre, crossed=stage.crossed))
    met = (
        np.isclose(large, 1 + reach, rtol=0, atol=1e-9)
        | np.isclose(np.maximum(a, b) * large, 230.0, rtol=0, atol=1e-6)
        | np.isclose(centre, stage.centre_mm[0], rtol=0, atol=1e-6)
        | np.isclose(centre - (a + b) / 2 * large, stage.clearance_mm, rtol=0, atol=1e-6)
        | np.isclose(wrap, stage.least_wrap_deg, rtol=0, atol=1e-6)
    )
    assert met.all()
    small = pairs.scale_low
    met = (
        np.isclose(small, 1 - reach, rtol=0, atol=1e-9)
        | np.isclose(np.minimum(a, b) * small, 75.0, rtol=0, atol=1e-6)
        | np.isclose(pairs.centre_high, stage.centre_mm[1], rtol=0, atol=1e-6)
    )
    assert met.all()
    assert len(pairs) > 50


def test_each_limit_ends_some_ray() -> None:
    """In the narrow stage, nearest and farthest centre, rims, and wrap all end rays."""
    stage = STAGES["narrow"]
    pairs = lay_belts(stage, positions=3)
    a, b, large = pairs.driver_mm, pairs.driven_mm, pairs.scale_high
    wrap = np.asarray(small_wrap_deg(a * large, b * large, pairs.centre_low))
    assert np.isclose(pairs.centre_low, 300.0, atol=1e-6).any()
    assert np.isclose(pairs.centre_high, 340.0, atol=1e-6).any()
    assert np.isclose(wrap, 166.0, atol=1e-6).any()
    assert np.isclose(pairs.centre_low - (a + b) / 2 * large, 120.0, atol=1e-6).any()
