"""Constant shifts between outside, datum and pitch diameter."""

import pytest

from optimizer.catalogue.entry import CatalogueError
from optimizer.catalogue.lines import (
    GrooveKind,
    Measured,
    datum_of,
    datum_of_outside,
    outside_of_datum,
    pitch_length_mm,
    pitch_of_datum,
    shifts,
)
from optimizer.catalogue.sections import section, section_names
from optimizer.geometry.belts import belt_length_mm


@pytest.mark.parametrize("name", section_names())
@pytest.mark.parametrize("kind", ["v", "flat", "crowned"])
def test_outside_and_datum_invert_each_other(name: str, kind: GrooveKind) -> None:
    """Going to the outside diameter and back changes nothing."""
    belt = section(name)
    assert datum_of_outside(belt, outside_of_datum(belt, 150.0, kind), kind) == pytest.approx(150.0, abs=1e-12)
    assert datum_of(belt, outside_of_datum(belt, 150.0, kind), "outside", kind) == pytest.approx(150.0)


def test_a_v_belt_on_a_flat_rim_runs_outside_it() -> None:
    """A belt A (8 high, datum line 3.3 below its top) has its datum line 4.7 mm outside a flat rim."""
    assert datum_of_outside(section("A"), 300.0, "flat") == pytest.approx(309.4)
    assert datum_of_outside(section("A"), 300.0, "crowned") == pytest.approx(309.4)


def test_a_flat_belt_sets_the_speed_at_the_middle_of_its_thickness() -> None:
    """A 3 mm flat belt on a 100 mm rim runs on a pitch diameter of 103 mm, whatever the rim is called."""
    belt = section("flat 3x40")
    for kind in ("v", "flat", "crowned"):
        assert pitch_of_datum(belt, datum_of_outside(belt, 100.0, kind)) == pytest.approx(103.0)


def test_a_round_belt_runs_at_the_rim_of_its_seat_or_half_its_thickness_outside_a_flat_rim() -> None:
    """An 8 mm round belt: middle at the rim of a half-round seat, 4 mm outside a flat rim."""
    belt = section("round 8")
    assert datum_of_outside(belt, 100.0) == pytest.approx(100.0)
    assert datum_of_outside(belt, 100.0, "flat") == pytest.approx(108.0)


@pytest.mark.parametrize(("name", "kind"), [("SPZ", "v"), ("A", "flat"), ("round 8", "v")])
def test_measuring_over_pins_needs_known_pins(name: str, kind: GrooveKind) -> None:
    """Where no gauge pins are known, a size over pins is refused with what else can be measured."""
    measured: Measured = "over pins"
    with pytest.raises(CatalogueError, match=r"no gauge pins are known here.*outside diameter"):
        datum_of(section(name), 100.0, measured, kind)


def test_pitch_length_fits_pitch_diameters_where_the_datum_length_fits_datum_diameters() -> None:
    """An open belt that fits two datum diameters fits their pitch diameters with its pitch length."""
    belt = section("PJ 6")
    on_datum = belt_length_mm(60.0, 110.0, 250.0)
    on_pitch = belt_length_mm(pitch_of_datum(belt, 60.0), pitch_of_datum(belt, 110.0), 250.0)
    assert pitch_length_mm(belt, on_datum) == pytest.approx(on_pitch, abs=1e-9)


def test_shifts_name_every_line() -> None:
    """The pitch line of section A is its datum line; the rim lies 6.6, the pins 17.0 mm over it."""
    lines = shifts(section("A"))
    assert [lines.of("datum"), lines.of("pitch"), lines.of("outside"), lines.of("over pins")] == [0, 0, 6.6, 17.0]
