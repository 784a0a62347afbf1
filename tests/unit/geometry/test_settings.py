"""Centre distances by the setting of a mount, against shafts that are moved as points."""

from __future__ import annotations

from math import cos, dist, pi, sin
from random import Random

import numpy as np
import pytest

from optimizer.geometry.settings import Path, slide_past, swing_past

SEEDS = range(12)


@pytest.mark.parametrize("seed", SEEDS)
def test_slides_agree_with_a_point_that_is_moved(seed: int) -> None:
    """The centre distance is that of the shaft moved along the line; its setting comes back."""
    rng = Random(seed)
    moved, other = ((rng.uniform(-400, 400), rng.uniform(-400, 400)) for _ in range(2))
    angle = rng.uniform(0, 360)
    path = slide_past(moved, other, angle)
    way = cos(angle * pi / 180), sin(angle * pi / 180)
    setting = path.along_mm * rng.uniform(-0.8, 1.5)
    there = moved[0] + setting * way[0], moved[1] + setting * way[1]
    _agrees(path, setting, dist(there, other))


@pytest.mark.parametrize("seed", SEEDS)
def test_swings_agree_with_a_point_that_is_turned(seed: int) -> None:
    """The centre distance is that of the shaft turned about the hinge by the arc that the mount's axis runs."""
    rng = Random(seed)
    moved, other, hinge, axis = ((rng.uniform(-400, 400), rng.uniform(-400, 400)) for _ in range(4))
    path = swing_past(moved, other, hinge, axis)
    rest = pi - path.angle_rad if path.grows else pi + path.angle_rad
    turn = rng.uniform(-0.9 * (pi - rest), 0.9 * rest) * (1 if path.grows else -1)
    x, y = moved[0] - hinge[0], moved[1] - hinge[1]
    there = x * cos(turn) - y * sin(turn) + hinge[0], x * sin(turn) + y * cos(turn) + hinge[1]
    _agrees(path, turn * dist(hinge, axis), dist(there, other))


def _agrees(path: Path, setting_mm: float, centre_mm: float) -> None:
    for way, at in ((path, setting_mm), (path.reversed(), -setting_mm)):
        assert float(way.centre_mm(at)) == pytest.approx(centre_mm, abs=1e-9)
        assert float(way.setting_mm(centre_mm)) == pytest.approx(at, abs=1e-5)
        rise = float(way.centre_mm(at + 1e-4) - way.centre_mm(at - 1e-4)) / 2e-4
        assert float(way.slope(at)) == pytest.approx(rise, abs=1e-6)
        assert (rise > 0) == way.grows
        assert abs(rise) <= way.steepest + 1e-9
        low, high = way.span_mm
        assert low <= centre_mm <= high
        assert np.all(way.centre_mm(way.setting_mm(np.array([low, low - 1.0]))) == pytest.approx(low, abs=1e-6))
