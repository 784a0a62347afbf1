"""Grooves and sizes over pins as a cut list gives them, against GOST 20889-88, Machinery's Handbook and IP-23.

GOST 20889-88 (read), mm: Wp 8.5, 11, 14; b 2.5, 3.3, 4.2; h 7.0, 8.7, 10.8 for Z, A, B; pins 9.0, 12.0, 15.0 with
datum = K - 12.0, 17.0, 20.4; outside = datum + 2b; width at the rim Wp + 2b·tan(angle/2). Machinery's Handbook, 31st
ed., pp. 2575-2576 (ANSI/RMA IP-20:1988, read), in: A 34° to 5.4 datum, 38° above, bg .494/.504, hg .460, outside =
datum + .250; B 34° to 7.0, 38° above, .637/.650, .550, + .350. IP-23 (from memory), in: 4L, width at the rim .490, 30°
below 2.65 over the rim, 32° to 3.24, 34° to 5.65, 38° above. Pins of 15/32 in in 4L are this project's own choice;
sizes over them are computed, by a circle that touches both flanks.
"""

from math import cos, hypot, radians, sin, tan
from typing import NamedTuple

import pytest

from optimizer.catalogue.grooves import groove, over_pins
from optimizer.catalogue.lines import datum_of_outside
from optimizer.catalogue.sections import section
from optimizer.cuts import CutStep, cut_cones
from optimizer.geometry.grooves import over_pins_mm
from tests.unit.cuts.hand_made import HEAD, by_hand, stage

INCH_MM = 25.4


class Metric(NamedTuple):
    """A groove as GOST 20889-88 prints it [mm, °]."""

    name: str
    datum: float
    angle: int
    wp: float
    b: float
    h: float
    pin: float
    take_off: float


METRIC = [
    Metric("Z", 63.0, 34, 8.5, 2.5, 7.0, 9.0, 12.0),
    Metric("Z", 90.0, 36, 8.5, 2.5, 7.0, 9.0, 12.0),
    Metric("Z", 125.0, 38, 8.5, 2.5, 7.0, 9.0, 12.0),
    Metric("Z", 200.0, 40, 8.5, 2.5, 7.0, 9.0, 12.0),
    Metric("A", 90.0, 34, 11.0, 3.3, 8.7, 12.0, 17.0),
    Metric("A", 140.0, 36, 11.0, 3.3, 8.7, 12.0, 17.0),
    Metric("A", 224.0, 38, 11.0, 3.3, 8.7, 12.0, 17.0),
    Metric("A", 450.0, 40, 11.0, 3.3, 8.7, 12.0, 17.0),
    Metric("B", 125.0, 34, 14.0, 4.2, 10.8, 15.0, 20.4),
    Metric("B", 200.0, 36, 14.0, 4.2, 10.8, 15.0, 20.4),
    Metric("B", 280.0, 38, 14.0, 4.2, 10.8, 15.0, 20.4),
    Metric("B", 560.0, 40, 14.0, 4.2, 10.8, 15.0, 20.4),
]
INCH = [
    ("A", 3.0, 34, 0.494, 0.460, 0.250),
    ("A", 5.4, 34, 0.494, 0.460, 0.250),
    ("A", 5.5, 38, 0.504, 0.460, 0.250),
    ("A", 9.0, 38, 0.504, 0.460, 0.250),
    ("B", 5.4, 34, 0.637, 0.550, 0.350),
    ("B", 7.0, 34, 0.637, 0.550, 0.350),
    ("B", 7.4, 38, 0.650, 0.550, 0.350),
    ("B", 12.0, 38, 0.650, 0.550, 0.350),
]
"""Section, datum diameter, angle, width at the rim, depth, outside less datum, as printed [in, °]."""
LIGHT = [(2.5, 30), (3.0, 32), (4.5, 34), (7.0, 38)]
"""Diameter over the rim of 4L, angle; from memory [in, °]."""
LIGHT_PIN_IN = 15 / 32
SCENARIO = HEAD.format(title="One groove", units="mm", rpm=300) + (
    """[series]
end_miss = 1
unevenness = 1
[[shaft]]
name = "motor"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
centres = [700, 900]
travel = 300
belt = {{ section = "{name}", lengths = [3500] }}
driver = {{ ready = [{size}], measured = "outside" }}
driven = {{ ready = [{size}], measured = "outside" }}
"""
)


def _cut(name: str, outside_mm: float) -> CutStep:
    """Return the step of a cut list whose diameter over the rim is stated."""
    text = SCENARIO.format(name=name, size=outside_mm)
    made = by_hand(text, stage(0, (name, 3500.0), ((outside_mm,), (outside_mm,)), ("r", "r")))
    return cut_cones(made)[0].steps[0]


def _over_by_construction_mm(outside_mm: float, top_mm: float, angle_deg: float, pin_mm: float) -> float:
    """Return the size over two pins by pushing a circle down between two drawn flanks until it touches both.

    The right flank is the line through (top/2, 0), leaning inward by half the angle as it goes down. The depth of the
    circle's middle below the rim is halved until its distance from that line, worked out from two points of it, is the
    radius: no formula for a groove is used.
    """
    lean = radians(angle_deg / 2)
    one, other = (top_mm / 2, 0.0), (top_mm / 2 - 50 * sin(lean), -50 * cos(lean))
    along = other[0] - one[0], other[1] - one[1]

    def off(height: float) -> float:
        across = along[0] * (height - one[1]) - along[1] * (0.0 - one[0])
        return abs(across) / hypot(*along)

    low, high = -top_mm / 2 / tan(lean), 50.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if off(middle) < pin_mm / 2 else (low, middle)
    return outside_mm + 2 * low + pin_mm


@pytest.mark.parametrize("row", METRIC)
def test_a_metric_step_is_cut_as_gost_20889_88_has_it(row: Metric) -> None:
    """Outside, datum, size over pins, angle, width, depth of a pulley stated by its diameter over the rim (read)."""
    step = _cut(row.name, row.datum + 2 * row.b)
    assert (step.outside_mm, step.datum_mm) == pytest.approx((row.datum + 2 * row.b, row.datum))
    assert (step.over_pins_mm, step.pin_mm) == pytest.approx((row.datum + row.take_off, row.pin))
    assert (step.groove_deg, step.groove_depth_mm) == pytest.approx((row.angle, row.b + row.h))
    assert step.top_width_mm == pytest.approx(row.wp + 2 * row.b * tan(radians(row.angle / 2)))
    assert step.root_mm == pytest.approx(row.datum - 2 * row.h)


@pytest.mark.parametrize("row", METRIC)
def test_the_printed_take_off_is_that_of_a_pin_between_the_flanks(row: Metric) -> None:
    """A circle pushed down between the flanks of the step stands out by the printed size to 0.14 mm.

    The standard prints one take-off for all angles; the largest difference is that of A at 40°.
    """
    step = _cut(row.name, row.datum + 2 * row.b)
    drawn = _over_by_construction_mm(step.outside_mm, step.top_width_mm, row.angle, row.pin)
    assert drawn == pytest.approx(row.datum + row.take_off, abs=0.14)


@pytest.mark.parametrize(("name", "datum", "angle", "top", "depth", "over"), INCH)
def test_an_inch_groove_is_that_of_the_handbook(
    name: str, datum: float, angle: int, top: float, depth: float, over: float
) -> None:
    """Angle, width at the rim, depth, outside less datum as printed (read); over any pin as drawn, to a millionth."""
    found = groove(section(name), datum * INCH_MM, standard="inch")
    assert found.angle_deg == angle
    assert found.top_width_mm == pytest.approx(top * INCH_MM)
    assert (found.depth_mm, found.outside_less_datum_mm) == pytest.approx((depth * INCH_MM, over * INCH_MM))
    outside, pin = (datum + over) * INCH_MM, {"A": 12.0, "B": 15.0}[name]
    assert over_pins_mm(outside, found.top_width_mm, angle, pin) == pytest.approx(
        _over_by_construction_mm(outside, top * INCH_MM, angle, pin), abs=1e-6
    )


@pytest.mark.parametrize(("outside", "angle"), LIGHT)
def test_a_light_duty_step_is_cut_as_ip_23_has_it(outside: float, angle: int) -> None:
    """Angle by the diameter over the rim, .490 in wide (from memory); over 15/32 in pins as drawn, to a millionth."""
    step = _cut("4L", outside * INCH_MM)
    assert (step.groove_deg, step.top_width_mm) == pytest.approx((angle, 0.490 * INCH_MM))
    assert step.pin_mm == pytest.approx(LIGHT_PIN_IN * INCH_MM)
    drawn = _over_by_construction_mm(outside * INCH_MM, 0.490 * INCH_MM, angle, LIGHT_PIN_IN * INCH_MM)
    assert step.over_pins_mm == pytest.approx(drawn, abs=1e-6)
    belt = section("4L")
    assert over_pins(belt, datum_of_outside(belt, outside * INCH_MM)) == pytest.approx((drawn, step.pin_mm), abs=1e-6)


def test_pins_stand_on_the_flanks_and_above_the_rim() -> None:
    """A pin of 12 mm in A at 34°: it touches 2.5 mm below the rim, above the bottom, and can be measured over."""
    step = _cut("A", 96.6)
    assert step.over_pins_mm is not None and step.pin_mm is not None
    touch = (step.top_width_mm / 2 - step.pin_mm / 2 * cos(radians(17))) / tan(radians(17))
    assert 0 < touch < step.groove_depth_mm
    assert step.over_pins_mm > step.outside_mm
