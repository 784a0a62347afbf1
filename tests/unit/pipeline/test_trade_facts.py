"""What shops know to be usual of machines, reached by the shipped ones; common practice, no source."""

from __future__ import annotations

from math import pi

import pytest

from tests.jobs import job


def test_a_metal_band_saw_has_its_usual_blade_speeds() -> None:
    """25 m/min for tool steel, 100 for brass, on wheels of 300 mm behind a reducer: common practice, no source."""
    design = job("metal-band-saw").design
    blade_m_min = [speed.rpm * pi * 0.3 for speed in design.machine.speeds]
    assert blade_m_min[0] == pytest.approx(25, rel=0.03)
    assert blade_m_min[-1] == pytest.approx(100, rel=0.03)
    assert not design.failed


def test_an_arbor_is_raised_from_a_two_pole_motor() -> None:
    """From 3400 rpm to 5800 and more, its belt within the 30 m/s of GOST 1284.3-96: common practice, no source."""
    design = job("buffing-arbor").design
    (stage,) = design.machine.stages
    assert design.machine.motor_rpm == 3400
    assert design.machine.speeds[-1].rpm > 5800
    belts = [pi * p.driver.pitch_mm / 1000 * 3400 / 60 for p in stage.positions]
    assert max(belts) <= 30
    assert not design.failed


def test_a_drill_with_a_middle_cone_reaches_its_usual_span() -> None:
    """From 1720 rpm to 500 and 3000 rpm within 3 %, no pulley above 160 mm: common practice, no source."""
    machine = job("middle-cone-drill").design.machine
    assert machine.motor_rpm == 1720
    assert machine.speeds[0].rpm == pytest.approx(500, rel=0.03)
    assert machine.speeds[-1].rpm == pytest.approx(3000, rel=0.03)
    steps = [step for stage in machine.stages for p in stage.positions for step in (p.driver, p.driven)]
    assert max(step.outside_mm for step in steps) <= 160
    assert not job("middle-cone-drill").design.failed
