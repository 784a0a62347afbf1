"""Machinery's Handbook, 31st ed., pp. 2575-2576 and 2581, classical belts to ANSI/RMA IP-20:1988, and p. 1245; read.

Inches. Sizes over the rim of pulleys are computed from the printed difference of outside and datum diameter.
"""

import pytest

from optimizer.catalogue.grooves import groove
from optimizer.catalogue.lengths import number_datum_length_mm, stock_lengths
from optimizer.catalogue.sections import section
from optimizer.scenario import load_scenario
from tests.band_saw import BAND_SAW

INCH_MM = 25.4
NUMBERS = {
    "A": "26 31 35 38 42 46 51 55 60 68 75 80 85 90 96 105 112 120 128",
    "B": "35 38 42 46 51 55 60 68 75 81 85 90 97 105 112 120 128",
}
GROOVES = [
    ("A", 3.0, 34, 0.494, 0.460, 3.250),
    ("A", 5.4, 34, 0.494, 0.460, 5.650),
    ("A", 5.6, 38, 0.504, 0.460, 5.850),
    ("A", 12.0, 38, 0.504, 0.460, 12.250),
    ("B", 5.4, 34, 0.637, 0.550, 5.750),
    ("B", 7.0, 34, 0.637, 0.550, 7.350),
    ("B", 7.4, 38, 0.650, 0.550, 7.750),
    ("B", 12.4, 38, 0.650, 0.550, 12.750),
]
"""Section, datum diameter, angle [°], width at the rim bg, depth hg, outside diameter."""


@pytest.mark.parametrize(("name", "adds_in"), [("A", 1.3), ("B", 1.8)])
def test_the_stock_belts_are_the_printed_numbers(name: str, adds_in: float) -> None:
    """All numbers printed are kept, and no others; the datum length is the number + 1.3 in (A), + 1.8 in (B)."""
    numbers = [int(number) for number in NUMBERS[name].split()]
    belts = stock_lengths(section(name), "inch")
    assert [belt.marking for belt in belts] == [f"{name}{number}" for number in numbers]
    assert [belt.datum_length_mm / INCH_MM for belt in belts] == pytest.approx([n + adds_in for n in numbers])


@pytest.mark.parametrize(("name", "number", "datum_in"), [("A", 26, 27.3), ("A", 128, 129.3), ("B", 35, 36.8)])
def test_a_number_has_its_printed_datum_length(name: str, number: float, datum_in: float) -> None:
    """A26 is 27.3 in along its datum line, A128 129.3 in, B35 36.8 in."""
    assert number_datum_length_mm(section(name), number, "inch") / INCH_MM == pytest.approx(datum_in)


@pytest.mark.parametrize(("marking", "inches"), [("A26", 0.6), ("A46", 0.6), ("A51", 0.7), ("A80", 0.7), ("A85", 0.8)])
def test_a_length_holds_to_the_printed_tolerance(marking: str, inches: float) -> None:
    """0.6 in either way to about 46, 0.7 to 80, 0.8 in above."""
    belts = {belt.marking: belt for belt in stock_lengths(section("A"), "inch")}
    assert belts[marking].tolerance_mm == pytest.approx(inches * INCH_MM)


@pytest.mark.parametrize(("name", "datum_in", "angle_deg", "top_in", "depth_in", "outside_in"), GROOVES)
def test_an_inch_groove_has_the_printed_sizes(
    name: str, datum_in: float, angle_deg: float, top_in: float, depth_in: float, outside_in: float
) -> None:
    """34° to 5.4 in (A) and 7.0 in (B), 38° above; the rim lies .250 and .350 in over the datum diameter."""
    found = groove(section(name), datum_in * INCH_MM, standard="inch")
    assert found.angle_deg == angle_deg
    assert found.top_width_mm / INCH_MM == pytest.approx(top_in)
    assert found.depth_mm / INCH_MM == pytest.approx(depth_in)
    assert datum_in + found.outside_less_datum_mm / INCH_MM == pytest.approx(outside_in)


@pytest.mark.parametrize(("name", "pitch_in", "edge_in"), [("A", 0.625, 0.375), ("B", 0.750, 0.500)])
def test_inch_grooves_lie_at_the_printed_distances(name: str, pitch_in: float, edge_in: float) -> None:
    """Sg from groove to groove, Se from the outer one to the edge."""
    found = groove(section(name), 200.0, standard="inch")
    assert [found.e_mm / INCH_MM, found.f_mm / INCH_MM] == pytest.approx([pitch_in, edge_in])


@pytest.mark.parametrize(("name", "smallest_in"), [("AX", 2.2), ("BX", 4.0)])
def test_cogged_belts_bend_around_the_printed_diameters(name: str, smallest_in: float) -> None:
    """AX 2.2 in, BX 4.0 in of datum diameter."""
    assert section(name).smallest_datum_mm / INCH_MM == pytest.approx(smallest_in)


def test_the_two_standards_agree_on_a_and_differ_on_b() -> None:
    """A: 3.0 in printed, the catalogue's 75 mm is 1.2 mm less; B: 5.4 in printed, 12 mm over the 125 mm of the metric.

    The metric standard (GOST 20889-88, read) is the limit for both, so that the inch figure of B is only advised.
    """
    assert 3.0 * INCH_MM - section("A").smallest_datum_mm == pytest.approx(1.2)
    assert 5.4 * INCH_MM - section("B").smallest_datum_mm == pytest.approx(12.16)
    assert section("B").preferred_datum_mm == pytest.approx(5.4 * INCH_MM)


def test_the_inch_rim_differs_from_the_metric_one() -> None:
    """Outside less datum: A .250 in is 6.35 mm against 6.6 metric, B .350 in is 8.89 mm against 8.4 metric."""
    differences = [
        groove(section(name), 200.0, standard="inch").outside_less_datum_mm
        - groove(section(name), 200.0).outside_less_datum_mm
        for name in ("A", "B")
    ]
    assert differences == pytest.approx([6.35 - 6.6, 8.89 - 8.4])


def test_blade_speeds_of_a_metal_band_saw_are_told_as_printed() -> None:
    """P. 1245, read: bimetal blades in mild steel run at about 270 to 320 ft/min; a girth of 3 ft turns 90 to 106.67.

    The wheel of 36/pi = 11.459 in, which is 291.06 mm, is our own.
    """
    text = BAND_SAW.replace("work = 300", 'work = "11.45916 in"').replace(
        '["25 m/min", "50 m/min"]', '["270 ft/min", "320 ft/min"]'
    )
    band = load_scenario(text, "saw.toml").bands[0]
    assert (band.from_rpm, band.to_rpm) == pytest.approx((90.0, 320 / 3), rel=1e-6)
    assert band.surface_unit == "ft/min"
    assert band.surface_speed_m_s == pytest.approx((270 * 0.3048 / 60, 320 * 0.3048 / 60))
