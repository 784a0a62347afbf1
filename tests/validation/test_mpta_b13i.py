"""MPTA-B13i-2013, foreword: rim speed of cast-iron pulleys; read."""

import pytest

from optimizer.checks.sizes import METAL_RIM_M_S as CHECKED_M_S
from optimizer.layouts.sizes import METAL_RIM_M_S as SEARCHED_M_S


def test_cast_iron_runs_at_6500_feet_a_minute_at_most() -> None:
    """Search and checks, which share no code, both hold metal rims to 6500 ft/min, 33.02 m/s."""
    for limit in (CHECKED_M_S, SEARCHED_M_S):
        assert limit == pytest.approx(6500 * 0.3048 / 60, abs=1e-9)
