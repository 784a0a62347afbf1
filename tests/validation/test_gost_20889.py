"""GOST 20889-88, pulleys for V-belts of normal sections; read.

Sections Z, A, B, millimetres. Sizes over the rim and over pins follow from the printed 2b and take-offs, widths at the
rim from the printed datum width, b and angle; both are marked computed where they stand.
"""

from math import cos, radians, tan

import pytest

from optimizer.catalogue.grooves import alignment_mm, flank_runout_mm, groove, preferred_datum_mm, rim_width_mm
from optimizer.catalogue.lines import datum_of, outside_of_datum
from optimizer.catalogue.parts import unbalance_g_m
from optimizer.catalogue.sections import section

GROOVES = {"Z": (8.5, 2.5, 7.0, 12.0, 8.0), "A": (11.0, 3.3, 8.7, 15.0, 10.0), "B": (14.0, 4.2, 10.8, 19.0, 12.5)}
"""Datum width, b above and h below the datum line, distance e of grooves, edge f."""
PULLEYS = [
    ("Z", 50, 34, 55.0, 62.0),
    ("Z", 63, 34, 68.0, 75.0),
    ("Z", 71, 34, 76.0, 83.0),
    ("Z", 80, 36, 85.0, 92.0),
    ("Z", 100, 36, 105.0, 112.0),
    ("Z", 112, 38, 117.0, 124.0),
    ("Z", 160, 38, 165.0, 172.0),
    ("Z", 180, 40, 185.0, 192.0),
    ("Z", 224, 40, 229.0, 236.0),
    ("A", 75, 34, 81.6, 92.0),
    ("A", 90, 34, 96.6, 107.0),
    ("A", 112, 34, 118.6, 129.0),
    ("A", 125, 36, 131.6, 142.0),
    ("A", 160, 36, 166.6, 177.0),
    ("A", 180, 38, 186.6, 197.0),
    ("A", 250, 38, 256.6, 267.0),
    ("A", 400, 38, 406.6, 417.0),
    ("A", 450, 40, 456.6, 467.0),
    ("B", 125, 34, 133.4, 145.4),
    ("B", 160, 34, 168.4, 180.4),
    ("B", 180, 36, 188.4, 200.4),
    ("B", 224, 36, 232.4, 244.4),
    ("B", 250, 38, 258.4, 270.4),
    ("B", 500, 38, 508.4, 520.4),
    ("B", 560, 40, 568.4, 580.4),
]
"""Section, datum diameter, angle [°] as printed; outside = datum + 2b, over pins = datum + 12.0, 17.0, 20.4."""
PREFERRED = "50 53 56 60 63 67 71 75 80 85 90 95 100 106 112 118 125 132 140 150 160 170 180 190 200 212 224 236 250"


@pytest.mark.parametrize("name", GROOVES)
def test_the_groove_has_the_printed_sizes(name: str) -> None:
    """Datum width, b, h, e, f are as printed; the depth below the rim is b + h, the angle holds to 1°."""
    belt = section(name)
    _, b, h, *_ = GROOVES[name]
    assert (belt.datum_width_mm, belt.above_mm, belt.below_mm, belt.e_mm, belt.f_mm) == GROOVES[name]
    assert groove(belt, 200.0).depth_mm == pytest.approx(b + h)
    assert groove(belt, 200.0).angle_tolerance_deg == 1.0


@pytest.mark.parametrize(("name", "one", "three"), [("Z", 16, 40), ("A", 20, 50), ("B", 25, 63)])
def test_the_rim_is_as_wide_as_its_belts_ask_for(name: str, one: float, three: float) -> None:
    """One belt takes 2f, three take 2e + 2f (computed from the printed e and f)."""
    assert rim_width_mm(section(name)) == one
    assert rim_width_mm(section(name), 3) == three


@pytest.mark.parametrize(("name", "datum_mm", "angle_deg", "outside_mm", "over_pins_mm"), PULLEYS)
def test_a_pulley_has_the_angle_the_rim_and_the_size_over_pins(
    name: str, datum_mm: float, angle_deg: float, outside_mm: float, over_pins_mm: float
) -> None:
    """Angle as printed for the datum diameter, outside diameter 2b over it, datum diameter from the size over pins."""
    belt = section(name)
    assert groove(belt, datum_mm).angle_deg == angle_deg
    assert groove(belt, datum_mm).outside_less_datum_mm == pytest.approx(outside_mm - datum_mm)
    assert outside_of_datum(belt, datum_mm) == pytest.approx(outside_mm)
    assert datum_of(belt, over_pins_mm, "over pins") == pytest.approx(datum_mm)


@pytest.mark.parametrize(("datum_mm", "top_mm"), [(90.0, 13.02), (200.0, 13.27)])
def test_the_width_at_the_rim_follows_from_width_and_angle(datum_mm: float, top_mm: float) -> None:
    """Datum width + 2b·tan(α/2) is 13.02 mm at 34° and 13.27 mm at 38° for section A (computed)."""
    assert groove(section("A"), datum_mm).top_width_mm == pytest.approx(top_mm, abs=0.005)


@pytest.mark.parametrize(
    ("name", "pin_mm", "take_off_mm", "computed_mm"),
    [
        ("Z", 9.0, 12.0, (11.980, 11.964, 11.958, 11.961)),
        ("A", 12.0, 17.0, (17.064, 16.978, 16.912, 16.863)),
        ("B", 15.0, 20.4, (20.513, 20.453, 20.414, 20.392)),
    ],
)
def test_the_pins_lie_in_the_groove_as_geometry_has_it(
    name: str, pin_mm: float, take_off_mm: float, computed_mm: tuple[float, ...]
) -> None:
    """A pin touching both flanks of a groove of the printed width sticks out by nearly the printed take-off.

    The pin's middle lies ``(ρ/cos(α/2) − Wp/2)/tan(α/2)`` outside the datum line (computed). The standard prints one
    take-off for all angles; computed for 34°, 36°, 38°, 40° it differs by up to 0.04 (Z), 0.14 (A), 0.11 mm (B), which
    is what a datum diameter measured over pins may be wrong by.
    """
    pins, width = section(name).pins, GROOVES[name][0]
    assert pins is not None and (pins.pin_mm, pins.take_off_mm) == (pin_mm, take_off_mm)
    lean = [radians(angle / 2) for angle in (34, 36, 38, 40)]
    reckoned = [2 * ((pin_mm / 2 / cos(a) - width / 2) / tan(a) + pin_mm / 2) for a in lean]
    assert reckoned == pytest.approx(computed_mm, abs=0.0005)
    assert max(abs(value - take_off_mm) for value in reckoned) < 0.14


@pytest.mark.parametrize(("name", "smallest_mm", "advised_mm"), [("Z", 50, 63), ("A", 75, 90)])
def test_the_smallest_diameters_are_the_printed_ones(name: str, smallest_mm: float, advised_mm: float) -> None:
    """Z 63 mm (50 where technically justified), A 90 (75); B 125."""
    assert (section(name).smallest_datum_mm, section(name).preferred_datum_mm) == (smallest_mm, advised_mm)
    assert section("B").smallest_datum_mm == 125


def test_the_flanks_run_true_to_the_printed_limits() -> None:
    """0.20 mm per 100 mm of diameter to 8 turns a second, 0.15 to 16, 0.10 above."""
    assert [flank_runout_mm(100.0, 60 * per_s) for per_s in (8, 8.1, 16, 16.1)] == [0.20, 0.15, 0.15, 0.10]


def test_facing_grooves_are_in_line_to_the_printed_limit() -> None:
    """2 mm per metre of centre distance."""
    assert [alignment_mm(centre) for centre in (250.0, 1000.0)] == [0.5, 2.0]


def test_balance_is_that_of_table_3() -> None:
    """Static balance above 5 m/s: 6 g·m may be left to 10 m/s, 3 to 15, 2 to 20, 1 to 30."""
    speeds = (5, 5.1, 10, 10.1, 15, 15.1, 20, 20.1, 30, 30.1)
    assert [unbalance_g_m(speed)[0] for speed in speeds] == [None, 6, 6, 3, 3, 2, 2, 1, 1, None]


def test_the_preferred_diameters_are_the_printed_ones() -> None:
    """29 sizes from 50 to 250 mm, every second one of second choice."""
    assert preferred_datum_mm() == tuple(map(float, PREFERRED.split()))
    assert preferred_datum_mm(second=False) == preferred_datum_mm()[::2]
