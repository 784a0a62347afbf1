"""The outline of cones: grooves as the standards have them, gauge pins that touch what is drawn."""

from __future__ import annotations

from itertools import pairwise
from math import atan2, degrees, hypot, pi

import pytest
from scipy.optimize import brentq

from optimizer.catalogue.grooves import groove, over_pins
from optimizer.catalogue.sections import section
from optimizer.drawing.cone_profile import cone_profile, groove_profile, profile_between, step_edges, step_profile
from optimizer.drawing.sheet import Point
from tests.cones import CONES, TURNED, cone_of, grooved_step

GOST = {"Z": (9.0, 12.0), "A": (12.0, 17.0), "B": (15.0, 20.4)}
"""Pin, size over two pins less datum diameter (GOST 20889-88, read), which is printed once for all angles."""
ANGLES_LEAVE_MM = 0.15
"""What that leaves: 12/sin 20 + 12 - 11/tan 20 = 16.86 mm, the farthest from its 17.0 (by hand)."""
DATUM = {"Z": (63, 90, 125, 200), "A": (90, 125, 180, 450), "B": (125, 180, 250, 560)}
"""Datum diameters with each of the four angles, of which Z has 34, 36, 38, 40 degrees, A and B likewise."""
ANGLES = (34.0, 36.0, 38.0, 40.0)
"""GOST 20889-88, read."""
LIGHT = {63.5: 74.96, 98.425: 110.345, 134.54: 146.46, 184.15: 196.48}
"""Outside diameter of a 4L pulley, size over two pins of 15/32 in, by hand: rim - w/tan + p/sin + p, w = 0.490 in, at
angles of 30, 34, 34, 38 degrees (IP-23, from memory)."""


def _pin_over(points: tuple[Point, ...], pin_mm: float) -> float:
    """Return the size over two pins by pushing a circle down on the outline until it touches it."""
    middle = (points[0][0] + points[-1][0]) / 2

    def gap(height: float) -> float:
        return min(_off((middle, height), a, b) for a, b in pairwise(points)) - pin_mm / 2

    top = max(radius for _, radius in points)
    return 2 * float(brentq(gap, top - pin_mm / 2, top + pin_mm)) + pin_mm


def _off(point: Point, start: Point, end: Point) -> float:
    """Return the distance of a point from a stretch."""
    way = end[0] - start[0], end[1] - start[1]
    length = way[0] ** 2 + way[1] ** 2
    along = (point[0] - start[0]) * way[0] + (point[1] - start[1]) * way[1]
    share = min(max(along / length, 0.0), 1.0) if length else 0.0
    return hypot(point[0] - start[0] - share * way[0], point[1] - start[1] - share * way[1])


def _angle_deg(points: tuple[Point, ...]) -> float:
    """Return the angle between the flanks of a groove, the second and fourth stretch of an outline."""
    (_, a, b, *_), (*_, c, d, _) = points, points
    return degrees(atan2(b[0] - a[0], a[1] - b[1]) + atan2(d[0] - c[0], d[1] - c[1]))


@pytest.mark.parametrize(("name", "place"), [(name, place) for name in DATUM for place in range(4)])
def test_pins_on_the_outline_measure_what_the_standard_says(name: str, place: int) -> None:
    """Angle between the drawn flanks and size over pins that touch them are those of GOST 20889-88 at every angle."""
    datum = float(DATUM[name][place])
    cut = groove(section(name), datum)
    step = grooved_step(datum + cut.outside_less_datum_mm, cut.angle_deg, cut.top_width_mm, cut.depth_mm)
    outline = step_profile(step, name)
    pin, over = GOST[name]
    assert _angle_deg(outline) == pytest.approx(ANGLES[place], abs=1e-6)
    assert _pin_over(outline, pin) - datum == pytest.approx(over, abs=ANGLES_LEAVE_MM)


@pytest.mark.parametrize("outside", LIGHT)
def test_pins_on_a_light_duty_groove_measure_what_the_triangle_says(outside: float) -> None:
    """The size over pins that touch the drawn flanks of a 4L groove is the one worked out by hand, to 0.01 mm."""
    belt = section("4L")
    datum = outside - 2 * belt.above_mm
    cut = groove(belt, datum)
    outline = step_profile(grooved_step(outside, cut.angle_deg, cut.top_width_mm, cut.depth_mm), "4L")
    assert _pin_over(outline, 25.4 * 15 / 32) == pytest.approx(LIGHT[outside], abs=0.01)
    stated = over_pins(belt, datum)
    assert stated is not None
    assert stated[0] == pytest.approx(LIGHT[outside], abs=0.01)


def test_flanks_that_meet_leave_no_floor() -> None:
    """Where the flanks meet above the depth, the groove ends in a point: 13 mm at 40 degrees at 17.86 mm (by hand)."""
    assert groove_profile(grooved_step(100, 40, 13, 30), "A")[1] == pytest.approx((0.0, 17.86), abs=0.005)


def test_a_half_round_seat_is_half_a_circle() -> None:
    """A seat for an 8 mm belt keeps 4 mm from its middle at the rim, and its area is half that of the circle."""
    _, cone = cone_of("round")
    seat = groove_profile(cone.steps[0], cone.section)
    assert all(hypot(place, depth) == pytest.approx(4.0) for place, depth in seat)
    area = sum((b[0] - a[0]) * (a[1] + b[1]) / 2 for a, b in pairwise(seat))
    assert area == pytest.approx(pi * 4**2 / 2, rel=1e-3)


def test_ribs_stand_at_their_distance() -> None:
    """Six ribs lie 2.34 mm apart (read) about the middle of the belt, each 40 degrees (from memory)."""
    _, cone = cone_of("ribbed")
    step = cone.steps[1]
    deepest = [place for place, radius in step_profile(step, cone.section) if radius < step.outside_mm / 2 - 1]
    middles = [(a + b) / 2 for a, b in zip(deepest[::2], deepest[1::2], strict=True)] if len(deepest) > 6 else deepest
    assert [place - step.middle_mm for place in middles] == pytest.approx(
        [2.34 * k for k in (-2.5, -1.5, -0.5, 0.5, 1.5, 2.5)]
    )


def test_a_crown_is_highest_in_the_middle() -> None:
    """A crowned rim of 80.5 mm reaches it in its middle alone, its edges are 0.3 mm lower (ISO 22, from memory)."""
    _, cone = cone_of("grindstone")
    outline = step_profile(cone.steps[0], cone.section)
    assert max(outline, key=lambda point: point[1]) == pytest.approx((23.0, 40.25))
    assert [outline[0], outline[-1]] == [pytest.approx((0.0, 39.95)), pytest.approx((46.0, 39.95))]


@pytest.mark.parametrize("which", CONES)
def test_an_outline_goes_along_the_shaft_without_turning_back(which: tuple[str, int, str]) -> None:
    """Outlines run from the face next to step 1 to the other, never backwards, and every edge lies on them."""
    _, cone = cone_of(*which)
    outline = cone_profile(cone)
    assert [outline[0][0], outline[-1][0]] == pytest.approx([0.0, cone.width_mm])
    assert all(b[0] >= a[0] for a, b in pairwise(outline))
    for step in cone.steps:
        for edge in step_edges(step, cone.section):
            assert min(hypot(edge[0] - x, edge[1] - y) for x, y in outline) < 1e-9


def test_a_part_begins_and_ends_where_it_is_cut() -> None:
    """A part of an outline between places inside of a step has points there, at a wall the one on its own side."""
    outline = ((0.0, 10.0), (10.0, 10.0), (10.0, 20.0), (20.0, 20.0))
    assert profile_between(outline, 10.0, 20.0) == ((10.0, 20.0), (20.0, 20.0))
    assert profile_between(outline, 0.0, 10.0) == ((0.0, 10.0), (10.0, 10.0))


def test_a_groove_wider_than_its_step_is_cut_off_at_the_edges() -> None:
    """A groove 40 mm wide in a step of 36 mm is drawn from edge to edge."""
    outline = step_profile(grooved_step(200, 34, 40, 12), "A")
    assert (outline[0][0], outline[-1][0]) == (0.0, 36.0)
    assert outline[0][1] < 100


@pytest.mark.parametrize("which", CONES)
def test_what_is_turned_is_known(which: tuple[str, int, str]) -> None:
    """The list of cones that tests of gauges and templates go through is that of the cones with a turned step."""
    assert bool(cone_of(*which)[1].turned) == (which in TURNED)
