"""Bands by surface speed, for any sizes and speeds."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.errors import ScenarioError
from optimizer.scenario import load_scenario
from tests.unit.scenario.bases import ONE

SIZES = st.tuples(st.floats(0.1, 5000), st.floats(0.1, 5000))
SPEEDS = st.tuples(st.floats(1e-6, 300), st.floats(1e-6, 300))


@given(SIZES, SPEEDS, st.none() | st.floats(1e-6, 300), st.sampled_from(("work", "tool", "wheel", "blade")))
def test_a_band_rises_or_is_refused(
    sizes: tuple[float, float], speeds: tuple[float, float], limit: float | None, of: str
) -> None:
    """What is accepted begins below its end, at the least speed on the largest size, and never runs past a mark."""
    lines = f'work = {list(sizes)}\nof = "{of}"\nsurface_speed = {list(speeds)}\n'
    lines += "" if limit is None else f"surface_limit = {limit}\n"
    try:
        scenario = load_scenario(ONE.replace("from = 700\nto = 2800\n", lines), "machine.toml")
    except ScenarioError as error:
        assert all(fault.where.startswith("band[0]") for fault in error.faults)
        return
    (band,) = scenario.bands
    assert sizes[0] <= sizes[1] and speeds[0] <= speeds[1]
    assert 0 < band.from_rpm < band.to_rpm <= 60_000
    assert pi * sizes[1] * band.from_rpm / 60_000 == pytest.approx(speeds[0])
    assert pi * sizes[0] * band.to_rpm / 60_000 <= speeds[1] * (1 + 1e-12)
    if limit is not None:
        assert pi * sizes[1] * band.to_rpm / 60_000 <= limit * (1 + 1e-12)
