"""What must hold of shafts, keys and run-up for any machine."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.mechanics.keys import key_length_mm
from optimizer.mechanics.shafts import greatest_moment_nm, needed_diameter_mm
from optimizer.pipeline.known import tell_known
from optimizer.scenario import load_scenario
from tests.sampled import examples

AMOUNTS = st.floats(1.0, 5000.0)
PLACES = st.floats(-500.0, 800.0)
ANGLES = st.floats(0.0, 6.3)
PULLS = st.lists(st.tuples(PLACES, AMOUNTS, ANGLES), min_size=1, max_size=3)

DRILL = """
title = "Pillar drill"
units = "{units}"

[motor]
speed = "1420 rpm"
power = "{power}"

[work]
inertia = "{inertia}"

[[shaft]]
name = "motor"
at = {motor}

[[shaft]]
name = "spindle"
diameter = "{diameter}"
mount = "slide"
at = {spindle}
bearings = {bearings}

[[stage]]
from = "motor"
to = "spindle"
positions = 2
centres = ["250 mm", "400 mm"]
travel = "70 mm"
belt = {{ section = "A", lengths = ["1120 mm"], measured = "datum" }}
driver = {{ kept = ["90 mm", "125 mm"], material = "metal", pitch = "20 mm" }}
driven = {{ kept = ["160 mm", "125 mm"], material = "metal", pitch = "20 mm", along = {along} }}
"""


@given(moment=AMOUNTS, torsion=AMOUNTS, more=st.floats(1.001, 10.0))
def test_more_load_never_needs_a_thinner_shaft(moment: float, torsion: float, more: float) -> None:
    """More bending, more torsion, rougher service ask for more; less stress allowed too."""
    needed = float(needed_diameter_mm(moment, torsion, 41, 1.5, 1.0))
    assert float(needed_diameter_mm(moment * more, torsion, 41, 1.5, 1.0)) > needed
    assert float(needed_diameter_mm(moment, torsion * more, 41, 1.5, 1.0)) > needed
    assert float(needed_diameter_mm(moment, torsion, 41, 1.5 * more, 1.0)) > needed
    assert float(needed_diameter_mm(moment, torsion, 41 / more, 1.5, 1.0)) > needed
    assert float(needed_diameter_mm(moment * 8, torsion * 8, 41, 1.5, 1.0)) == pytest.approx(2 * needed)


@given(pulls=PULLS, span=st.floats(20.0, 500.0))
def test_pulls_in_one_plane_are_the_worst(pulls: list[tuple[float, float, float]], span: float) -> None:
    """No directions of pulls bend a shaft more than some way of setting them along one line."""
    places, amounts, angles = (np.array(column) for column in zip(*pulls, strict=True))
    vectors = amounts[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
    signs = np.array(np.meshgrid(*[[1.0, -1.0]] * len(amounts))).reshape(len(amounts), -1).T
    in_line = [np.column_stack([amounts * row, np.zeros(len(amounts))]) for row in signs]
    worst = max(greatest_moment_nm(places, way, (0.0, span)) for way in in_line)
    assert greatest_moment_nm(places, vectors, (0.0, span)) <= worst * (1 + 1e-9) + 1e-9


@given(pulls=PULLS, span=st.floats(20.0, 500.0), scale=st.floats(0.1, 10.0))
def test_moments_scale(pulls: list[tuple[float, float, float]], span: float, scale: float) -> None:
    """Twice the size, or twice the pull, is twice the moment."""
    places, amounts, angles = (np.array(column) for column in zip(*pulls, strict=True))
    vectors = amounts[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
    moment = greatest_moment_nm(places, vectors, (0.0, span))
    assert greatest_moment_nm(places * scale, vectors, (0.0, span * scale)) == pytest.approx(moment * scale, abs=1e-9)
    assert greatest_moment_nm(places, vectors * scale, (0.0, span)) == pytest.approx(moment * scale, abs=1e-9)


@given(torque=AMOUNTS, shaft=st.floats(6.0, 100.0), more=st.floats(1.0, 5.0))
def test_a_thicker_shaft_needs_a_shorter_key(torque: float, shaft: float, more: float) -> None:
    """The same key under the same torque bears less on a thicker shaft."""
    thin = key_length_mm(torque, shaft, 6, 6, (41, 82))
    assert key_length_mm(torque, shaft * more, 6, 6, (41, 82)) <= thin * (1 + 1e-12)


@settings(max_examples=examples(15), deadline=None)
@given(watts=st.sampled_from([20, 370, 550, 5000]), place=st.integers(-50, 150), diameter=st.sampled_from([8, 20, 100]))
def test_units_change_nothing(watts: int, place: int, diameter: int) -> None:
    """A drill stated in mm, in cm, in inches bears the same and comes up in the same time."""
    told = []
    for units, size in (("mm", 1.0), ("cm", 10.0), ("in", 25.4)):
        text = DRILL.format(
            units=units,
            power=f"{watts} W" if units == "mm" else f"{watts / 1000} kW",
            inertia="0.02 kg m2" if units != "in" else f"{0.02 / (0.45359237 * 0.3048**2)!r} lb ft2",
            motor=[0 / size, 0 / size],
            spindle=[0 / size, 362.8 / size],
            diameter=f"{diameter} mm",
            bearings=[0 / size, 100 / size],
            along=place / size,
        )
        told.append(tell_known(load_scenario(text, "drill.toml")).shafts)
    first = told[0]
    (load,) = first.loads
    assert load.directions_known
    for other in told[1:]:
        (same,) = other.loads
        assert same.needed_mm == pytest.approx(load.needed_mm)
        assert same.bearings_n == pytest.approx(load.bearings_n)
        assert [run.seconds for run in other.run_ups] == pytest.approx([run.seconds for run in first.run_ups])
        assert [cone.stress_mpa for cone in other.cones] == pytest.approx([cone.stress_mpa for cone in first.cones])
