"""What errors do to the diameter that a belt runs on, by the trigonometry of a belt and of pins in a groove.

A groove is two straight flanks. A belt rests where the flanks are as far apart as it is wide, a pin where it touches
both: computed, from points and lines. Angles, widths and pins of section A: GOST 20889-88, read.
"""

from __future__ import annotations

from math import cos, hypot, radians, sin, sqrt, tan

import pytest

from optimizer.catalogue.grooves import groove, over_pins
from optimizer.catalogue.sections import section
from optimizer.checks.stated import read_machine
from optimizer.geometry.grooves import over_pins_mm, running_shift_mm
from optimizer.pipeline.tolerance import tolerance_sheet
from tests.oracle.turned import random_machine

DATUM_WIDTH_MM, PIN_MM, ANGLES_DEG = 11.0, 12.0, (34.0, 36.0, 38.0)
"""Of section A: GOST 20889-88, read."""
ANGLES_FROM = ((450.0, 40.0), (180.0, 38.0), (125.0, 36.0), (0.0, 34.0))
"""Least datum diameter for each angle of section A: GOST 20889-88, read."""


def runs_at_mm(outside: float, top: float, angle: float, belt: float = DATUM_WIDTH_MM) -> float:
    """Return the diameter at which a groove is as wide as the belt: by similar triangles down to where flanks meet."""
    apex = outside / 2 - top / 2 / tan(radians(angle / 2))
    return 2 * (apex + belt / 2 / tan(radians(angle / 2)))


def pins_measure_mm(outside: float, top: float, angle: float, pin: float = PIN_MM) -> float:
    """Return the size over pins, the pin moved down until its middle is a radius from a flank: halving an interval."""
    half = radians(angle / 2)
    low, high = outside / 2 - top / 2 / tan(half), outside / 2 + 50.0
    apex = low
    for _ in range(200):
        middle = (low + high) / 2
        # flank through the apex along (cos half, sin half) in (radius, across); distance of (middle, 0) from it
        along = (middle - apex) * cos(half)
        foot = apex + along * cos(half), along * sin(half)
        if hypot(middle - foot[0], foot[1]) < pin / 2:
            low = middle
        else:
            high = middle
    return 2 * ((low + high) / 2 + pin / 2)


def test_a_groove_too_wide_lets_the_belt_sink() -> None:
    """0.2 mm too wide at 34°: the running diameter falls by 0.65 mm (printed to two decimals)."""
    drop = runs_at_mm(106.6, 13.02, 34) - runs_at_mm(106.6, 13.22, 34)
    assert drop == pytest.approx(0.65, abs=0.005)
    assert running_shift_mm(0.2, 34) == pytest.approx(drop)


@pytest.mark.parametrize("angle", ANGLES_DEG)
def test_the_size_over_pins_follows_the_running_diameter(angle: float) -> None:
    """One for one, whether it is the rim or the width that is off, as long as the angle is right."""
    rim, top = 106.6, 13.0
    for more_rim, more_width in ((0.3, 0.0), (0.0, 0.2), (-0.2, -0.1), (0.5, 0.4)):
        runs = runs_at_mm(rim + more_rim, top + more_width, angle) - runs_at_mm(rim, top, angle)
        pins = pins_measure_mm(rim + more_rim, top + more_width, angle) - pins_measure_mm(rim, top, angle)
        ours = over_pins_mm(rim + more_rim, top + more_width, angle, 12) - over_pins_mm(rim, top, angle, 12)
        assert pins == pytest.approx(runs, abs=1e-9)
        assert ours == pytest.approx(runs, abs=1e-9)


def test_pins_of_the_standard_hardly_feel_the_angle() -> None:
    """An angle 0.5° off: the diameter is off by less than 0.06 mm by pins, by more than twice that by rim and width."""
    for angle in (34.0, 38.0):
        rim, top = 106.6, 13.02
        off = pins_measure_mm(rim, top, angle + 0.5) - pins_measure_mm(rim, top, angle)
        by_pins = runs_at_mm(rim, top, angle + 0.5) - off - runs_at_mm(rim, top, angle)
        by_width = runs_at_mm(rim, top, angle + 0.5) - runs_at_mm(rim, top, angle)
        assert abs(by_pins) < 0.06
        assert abs(by_width) > 2 * abs(by_pins)


def test_the_catalogue_measures_what_is_shifted() -> None:
    """Section A on 100 mm: 117.0 over 12 mm pins (GOST 20889-88, read), its belt runs at 100 mm."""
    cut = groove(section("A"), 100.0)
    assert over_pins(section("A"), 100.0) == (117.0, 12.0)
    assert runs_at_mm(106.6, cut.top_width_mm, cut.angle_deg) == pytest.approx(100.0, abs=1e-9)


def test_widths_allowed_are_diameters_allowed() -> None:
    """A groove may be wider by what its size may be smaller, times the tangent; by rim and width both errors count."""
    machine = random_machine(3)
    found = tolerance_sheet(read_machine(machine.scenario, machine.built))
    assert found is not None
    making = machine.scenario.making
    for size in found.sizes:
        datum = size.outside_mm - 6.6
        half = tan(radians(next(angle for least, angle in ANGLES_FROM if datum >= least) / 2))
        assert size.measured == "over pins"
        assert size.alone.smaller_mm is not None and size.alone.larger_mm is not None
        assert size.groove_wider_mm == pytest.approx(size.alone.smaller_mm * half)
        assert size.groove_narrower_mm == pytest.approx(size.alone.larger_mm * half)
        rough = sqrt(making.rim_within_mm**2 + (making.groove_within_mm / half) ** 2)
        assert size.width_accuracy_mm == pytest.approx(rough)
