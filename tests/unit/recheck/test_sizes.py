"""Pitch diameters from readings worked out by hand, which reading counts, and steps without one."""

from __future__ import annotations

from math import cos, pi, radians, sin, tan

import pytest

from optimizer.catalogue.grooves import groove, over_pins
from optimizer.catalogue.sections import section
from optimizer.recheck.loading import load_measured
from optimizer.recheck.sizes import BenchReading, Size, StepKnown, StepRim, combined, newest, rim_of, sizes_of
from optimizer.records.sheet import StepSheet
from tests.unit.recheck.forms import grinder


def step(name: str, datum_mm: float, kind: str = "v") -> StepSheet:
    """Return a step as it is designed."""
    belt = section(name)
    cut = groove(belt, datum_mm, "v" if kind == "v" else "flat")
    pins = over_pins(belt, datum_mm, "v" if kind == "v" else "flat") or (None, None)
    return StepSheet(
        outside_mm=datum_mm + cut.outside_less_datum_mm,
        datum_mm=datum_mm,
        pitch_mm=datum_mm + belt.pitch_shift_mm,
        over_pins_mm=pins[0],
        pin_mm=pins[1],
        source="turned",
        rim=cut.kind,
        groove_deg=cut.angle_deg or None,
        top_width_mm=cut.top_width_mm,
        groove_depth_mm=cut.depth_mm,
        rim_speed_m_s=1.0,
    )


def rim(name: str, datum_mm: float, kind: str = "v") -> StepRim:
    """Return what a reading needs of such a step."""
    return rim_of(name, step(name, datum_mm, kind))


def only(found: list[Size]) -> Size:
    """Return the one size there is."""
    (size,) = found
    return size


@pytest.mark.parametrize(("name", "datum", "take_off"), [("Z", 80, 12.0), ("A", 112, 17.0), ("B", 160, 20.4)])
def test_over_the_pins_of_the_standard(name: str, datum: float, take_off: float) -> None:
    """GOST 20889-88 (read): datum diameter = size over its pins less 12.0, 17.0, 20.4 mm for Z, A, B."""
    assert only(
        sizes_of(rim(name, datum), BenchReading(over_pins_mm=datum + take_off - 0.7))
    ).pitch_mm == pytest.approx(datum - 0.7)


def test_over_other_pins_by_geometry() -> None:
    """Pins of 11.5 mm lie deeper: the size over them falls by their own diameter and 1/sin 17° of it, 34° groove."""
    half = radians(17)
    fall = 0.5 + 0.5 / sin(half)
    found = only(sizes_of(rim("A", 100), BenchReading(over_pins_mm=117.0 - fall, pin_mm=11.5)))
    assert found.pitch_mm == pytest.approx(100.0)


def test_the_belt_lies_where_its_top_says() -> None:
    """A groove 0.2 mm too wide at 34° lowers the running diameter by 0.2/tan 17° = 0.654 mm, its top by half of it."""
    sunk = 0.2 / tan(radians(17))
    assert sunk == pytest.approx(0.654, abs=5e-4)
    found = only(sizes_of(rim("A", 100), BenchReading(outside_mm=106.6, belt_top_mm=-sunk / 2)))
    assert found.pitch_mm == pytest.approx(100 - 0.654, abs=1e-3)


def test_a_rim_skimmed_with_its_groove_left_does_not_move_the_belt() -> None:
    """Outside 1 mm smaller, belt top 0.5 mm higher over it: the belt runs where it ran."""
    found = only(sizes_of(rim("A", 100), BenchReading(outside_mm=105.6, belt_top_mm=0.5)))
    assert found.pitch_mm == pytest.approx(100.0)


def test_the_outside_of_a_groove_alone_tells_nothing() -> None:
    """No size comes of the outside diameter, nor of a tape round it, where the belt lies in a groove."""
    for reading in (BenchReading(outside_mm=106.6), BenchReading(diameter_mm=106.6), BenchReading(tape_mm=106.6 * pi)):
        assert sizes_of(rim("A", 100), reading) == []


def test_a_tape_round_a_plain_rim() -> None:
    """A tape 0.2 mm thick goes round its own middle: 100 mm rim, 100.2·π = 314.788 mm; the belt's line is as it was."""
    plain = rim("A", 109.4, "flat")
    by_tape = only(sizes_of(plain, BenchReading(tape_mm=314.788, tape_thickness_mm=0.2)))
    by_caliper = only(sizes_of(plain, BenchReading(diameter_mm=100.0)))
    assert by_tape.pitch_mm == pytest.approx(by_caliper.pitch_mm, abs=1e-3)
    assert by_caliper.pitch_mm == pytest.approx(109.4), "4.7 mm outside a flat rim: section A, 8 high, datum 3.3 down"


def test_how_sure_a_size_is() -> None:
    """A resolution is two standard uncertainties; a belt top counts twice; an unknown angle moves pins by what it may.

    Section A, 34° ± 1°, 12 mm pins: (11 − 12·cos 17°)/(2·sin² 17°) = −2.78 mm a radian, 0.0486 mm a degree, over √3
    0.028 mm.
    """
    per_degree = abs((11 - 12 * cos(radians(17))) / (2 * sin(radians(17)) ** 2)) * pi / 180
    assert per_degree == pytest.approx(0.0486, abs=2e-4)
    pins = only(sizes_of(rim("A", 100), BenchReading(over_pins_mm=117.0, resolution_mm=0.02)))
    assert pins.standard_mm == pytest.approx((0.01**2 + per_degree**2 / 3) ** 0.5, rel=1e-3)
    top = only(sizes_of(rim("A", 100), BenchReading(outside_mm=106.6, belt_top_mm=0.0, resolution_mm=0.1)))
    assert top.standard_mm == pytest.approx((0.05**2 + 0.1**2) ** 0.5)


@pytest.mark.parametrize(("pin", "seats"), [(12.0, True), (11.0, True), (14.5, False), (5.0, False)])
def test_which_pins_lie_on_the_flanks(pin: float, seats: bool) -> None:
    """In a groove A of 34°, 13.0 wide, 12 deep, pins of 11 and 12 lie on the flanks; 14.5 on the edges, 5 on the floor.

    A pin touches both edges where p·cos 17° = 13.02, p = 13.6; one of 5 mm would touch 12 mm deep only below the floor.
    """
    assert rim("A", 100).seats(pin) is seats


def test_two_ways_that_agree_and_two_that_do_not() -> None:
    """The mean lies nearer the surer one; apart are counted standard uncertainties of the difference."""
    mean, apart = combined([Size(100.0, 0.03, "over pins"), Size(101.0, 0.04, "belt top")])
    assert mean.pitch_mm == pytest.approx((100 / 9 + 101 / 16) / (1 / 9 + 1 / 16))
    assert apart == pytest.approx(1.0 / 0.05)


HEAD = 'units = "mm"\n'


def first_step(*checks: str) -> StepKnown:
    """Return what is known of the grinder's first driver step after checks with such readings of it."""
    text = HEAD
    for check in checks:
        day, reading = check.split(": ")
        text += f'[[check]]\ndate = {day}\nstep = [{{ stage = 1, side = "driver", position = 1, {reading} }}]\n'
    measured = load_measured(text, "measured.toml", grinder().design.machine)
    return newest(measured, grinder().design.machine)[0]


def test_the_newest_day_counts_whatever_its_place() -> None:
    """Of three checks out of order the last day's reading counts, all are kept."""
    step = first_step("2026-05-01: over_pins = 93.8", "2026-11-26: over_pins = 93.5", "2026-02-01: over_pins = 94")
    assert step.size is not None
    assert round(step.size.pitch_mm, 6) == 76.5
    assert [str(then.date) for then in step.history] == ["2026-02-01", "2026-05-01", "2026-11-26"]


def test_of_one_day_the_later_in_the_file_counts() -> None:
    """A step skimmed and measured again on one day is what it was last."""
    step = first_step("2026-05-01: over_pins = 93.8", "2026-05-01: over_pins = 93.5")
    assert step.size is not None
    assert round(step.size.pitch_mm, 6) == 76.5


def test_an_older_size_does_not_stand_in_for_a_reading_that_tells_nothing() -> None:
    """After pins, only the outside: it may have been skimmed since, so it cannot be told; the old size is kept."""
    step = first_step("2026-05-01: over_pins = 93.8", "2026-11-26: outside = 83.6")
    assert (step.state, step.size) == ("cannot tell", None)
    assert [then.size is None for then in step.history] == [False, True]


def test_a_step_to_be_made_anew_is_open_again() -> None:
    """`turned = false` forgets what was measured before; a later reading is one of the new step."""
    step = first_step("2026-05-01: over_pins = 93.8", "2026-11-26: turned = false")
    assert (step.state, step.history) == ("not turned", ())
    step = first_step("2026-05-01: over_pins = 93.8", "2026-06-01: turned = false", "2026-07-01: over_pins = 94")
    assert (step.state, len(step.history)) == ("measured", 1)


def test_readings_that_contradict_each_other_are_told_apart() -> None:
    """Over pins 94 (pitch 77), by the belt's top 79: eight standard uncertainties and more apart."""
    step = first_step("2026-05-01: over_pins = 94, outside = 83.6, belt_top = 1")
    assert step.history[0].apart > 8
