"""Cones in half section: sizes as they are designed, measured on the drawing."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import atan2, degrees, hypot

import pytest

from optimizer.cuts.cones import CutCone
from optimizer.drawing.cone_profile import profile_between
from optimizer.drawing.cone_section import cone_section_sheet
from optimizer.drawing.sheet import Line, Point, Polyline, Sheet, Text
from tests.clear_sheets import outside
from tests.cones import CONES, axis_of, cone_of, loops, placed, rings, texts_of

SHIPPED_V = [which for which in CONES if which[0] in ("bench-shaper", "drum-sander", "pattern-mill")]


@cache
def _drawn(which: tuple[str, int, str]) -> tuple[CutCone, Sheet]:
    job, cone = cone_of(*which)
    return cone, cone_section_sheet(job, cone)


def _bodies(sheet: Sheet) -> list[list[Point]]:
    """Return the cut bodies, hubs among them, about the axis."""
    layers = ("outline", "bought")
    return [placed(loop.points, axis_of(sheet)) for layer in layers for loop in loops(sheet, layer)]


@pytest.mark.parametrize("which", CONES)
def test_the_sheet_is_no_larger_than_its_drawing(which: tuple[str, int, str]) -> None:
    """The edges of the sheet are no farther than what is drawn needs."""
    _, sheet = _drawn(which)
    assert outside(sheet, 5.0 + 1e-6)


@pytest.mark.parametrize("which", CONES)
def test_rims_stand_at_their_diameters(which: tuple[str, int, str]) -> None:
    """Measured beside the groove, or in the middle of a plain rim, both halves reach half the diameter off the axis."""
    cone, sheet = _drawn(which)
    drawn = [e.points for layer in ("outline", "bought") for e in sheet.on(layer) if isinstance(e, Polyline)]
    stretches = [pair for points in drawn for pair in pairwise(placed(points, axis_of(sheet)))]
    for step in cone.steps:
        if step.top_width_mm + 0.5 < step.to_mm - step.from_mm:
            place = step.middle_mm if step.rim in ("flat", "crowned") else step.from_mm + 0.1
            heights = [
                a[1] + (b[1] - a[1]) * (place - a[0]) / (b[0] - a[0]) for a, b in stretches if _over(a, b, place)
            ]
            reach = min(heights), max(heights)
            assert reach == pytest.approx((-step.outside_mm / 2, step.outside_mm / 2), abs=1e-5)


def _height(start: Point, end: Point, place: float) -> float:
    return start[1] + (end[1] - start[1]) * (place - start[0]) / (end[0] - start[0])


def _over(start: Point, end: Point, place: float) -> bool:
    return min(start[0], end[0]) <= place <= max(start[0], end[0]) and start[0] != end[0]


@pytest.mark.parametrize("which", SHIPPED_V)
def test_grooves_are_cut_as_designed(which: tuple[str, int, str]) -> None:
    """Angle by the slopes of the flanks, width at the rim, depth, place of the belt are those of the cut list."""
    cone, sheet = _drawn(which)
    points = [point for body in _bodies(sheet) for point in body]
    for step in cone.steps:
        inside = sorted(
            {p for p in points if step.from_mm + 0.01 < p[0] < step.to_mm - 0.01 and p[1] > step.root_mm / 2 - 1e-3}
        )
        a, b, c, d = inside
        angle = degrees(atan2(b[0] - a[0], a[1] - b[1]) + atan2(d[0] - c[0], d[1] - c[1]))
        assert angle == pytest.approx(step.groove_deg, abs=1e-4)
        assert d[0] - a[0] == pytest.approx(step.top_width_mm, abs=1e-5)
        assert a[1] - b[1] == pytest.approx(step.groove_depth_mm, abs=1e-5)
        assert (a[0] + d[0]) / 2 == pytest.approx(step.middle_mm, abs=1e-5)


@pytest.mark.parametrize("which", SHIPPED_V)
def test_pins_lie_in_the_grooves(which: tuple[str, int, str]) -> None:
    """The far sides of the drawn pins are the size over pins apart; each touches the flanks within 0.03 mm.

    GOST 20889-88 (read) has one size for all angles, 0.1 mm off the exact one at most: 0.05 mm of the radius, of which
    the sine of half an angle is left.
    """
    cone, sheet = _drawn(which)
    x0, y0 = axis_of(sheet)
    points = [point for body in _bodies(sheet) for point in body]
    pins = rings(sheet, "pins")
    for step in cone.steps:
        both = [pin for pin in pins if abs(pin.centre[0] - x0 - step.middle_mm) < 1e-6]
        tops = [pin.centre[1] - y0 + (pin.radius_mm if pin.centre[1] > y0 else -pin.radius_mm) for pin in both]
        assert max(tops) - min(tops) == pytest.approx(step.over_pins_mm, abs=1e-6)
        centre = step.middle_mm, both[0].centre[1] - y0
        part = [p for p in points if step.from_mm + 0.01 < p[0] < step.to_mm - 0.01 and p[1] > step.root_mm / 2 - 1e-3]
        gaps = [_off(centre, a, b) for a, b in pairwise(sorted(part))]
        assert min(gaps) == pytest.approx(both[0].radius_mm, abs=0.03)


def _off(point: Point, start: Point, end: Point) -> float:
    """Return the distance of a point from a line."""
    way = end[0] - start[0], end[1] - start[1]
    return abs(way[0] * (point[1] - start[1]) - way[1] * (point[0] - start[0])) / hypot(*way)


@pytest.mark.parametrize("which", CONES)
def test_every_size_is_said(which: tuple[str, int, str]) -> None:
    """Dimension lines span every diameter over rims and pins; middles of belts and ends of steps have their marks."""
    cone, sheet = _drawn(which)
    x0, y0 = axis_of(sheet)
    lines = [line for line in sheet.on("dimensions") if isinstance(line, Line)]
    spans = [
        line.end[1] - line.start[1]
        for line in lines
        if line.start[0] == line.end[0] and abs(line.start[1] + line.end[1] - 2 * y0) < 1e-6
    ]
    places = [line.start[0] - x0 for line in lines]
    for step in cone.steps:
        assert _nearest(step.outside_mm, spans) < 1e-6
        assert step.over_pins_mm is None or _nearest(step.over_pins_mm, spans) < 1e-6
        assert max(_nearest(step.middle_mm, places), _nearest(step.to_mm, places)) < 1e-6


def _nearest(size: float, sizes: list[float]) -> float:
    """Return how far a size is from the nearest of several."""
    return min(abs(size - other) for other in sizes)


def test_layers_are_hatched_one_way_and_the_other() -> None:
    """Six layers of 17.7 mm are numbered, parted by five glue lines, the hatching of neighbours crosses."""
    _, sheet = _drawn(("pattern-mill", 2, "driver"))
    x0, y0 = axis_of(sheet)
    glue = [e for e in sheet.on("thin") if isinstance(e, Line) and e.start[1] == pytest.approx(y0 + 17.5)]
    assert [line.start[0] - x0 for line in glue] == pytest.approx([17.7, 35.4, 53.1, 70.8, 88.5])
    assert {"1", "2", "3", "4", "5", "6"} <= {text.text for text in sheet.on("words") if isinstance(text, Text)}
    for layer in range(6):
        span = x0 + 17.7 * layer + 0.01, x0 + 17.7 * (layer + 1) - 0.01
        slopes = {
            round((e.end[1] - e.start[1]) / (e.end[0] - e.start[0]))
            for e in sheet.on("hatch")
            if isinstance(e, Line) and span[0] < (e.start[0] + e.end[0]) / 2 < span[1] and e.start[1] > y0 + 18
        }
        assert slopes == {-1 if layer % 2 else 1}


def test_a_hub_has_its_key_seat() -> None:
    """For a shaft of 20 mm the seat's bottom is 22.8 mm from the far side of the bore (DIN 6885, from memory)."""
    _, sheet = _drawn(("pattern-mill", 2, "driver"))
    _, y0 = axis_of(sheet)
    seats = [e.start[1] - y0 for e in sheet.on("outline") if isinstance(e, Line)]
    assert seats == [pytest.approx(22.8 - 10.0)]
    hub = next(body for body in _bodies(sheet) if len(body) == 4)
    assert sorted({y for _, y in hub}) == [10.0, 17.5]
    assert any("Metal hub, ⌀35.00 outside: key 6.00 wide" in said for said in _said(sheet))


def test_timber_without_a_hub_is_not_to_carry_the_key() -> None:
    """Where no hub is stated, the sheet says that metal must carry the key, and draws no seat."""
    _, sheet = _drawn(("pattern-mill", 2, "driven"))
    assert any("a metal hub or flange must carry the key" in said for said in _said(sheet))
    assert not [e for e in sheet.on("outline") if isinstance(e, Line)]


def test_bought_steps_are_dashed_and_not_hatched() -> None:
    """Of a cone with one turned step the other two are outlines on the dashed layer, with no hatching in them."""
    cone, sheet = _drawn(("polishing-head", 1, "driven"))
    x0, _ = axis_of(sheet)
    assert [step.source for step in cone.steps] == ["turned", "ready", "ready"]
    assert len(loops(sheet, "outline")) == 1
    assert len(loops(sheet, "bought")) == 2
    end = x0 + cone.steps[0].to_mm
    column = min(e.at[0] for e in sheet.on("words") if isinstance(e, Text) and e.text.startswith("Polishing"))
    assert not [e for e in sheet.on("hatch") if isinstance(e, Line) and end < e.start[0] < column - 1]
    assert any("Dashed: steps 2, 3, bought, not turned;" in said for said in _said(sheet))


def test_the_sheet_says_what_it_is_of_and_what_to_heed() -> None:
    """Machine, cone, speed, mass, scale, units, ends, and the caution about guards stand on the sheet."""
    _, sheet = _drawn(("pattern-mill", 2, "driver"))
    said = " ".join(_said(sheet))
    for words in (
        "Pattern mill of a school foundry",
        "Cone: stage 2, driver on countershaft",
        "1:1, sizes in mm",
        "Belt A to spindle",
        "Small end: step 1. Large end: step 3.",
        "Greatest speed of the shaft 789 rpm",
        "Timber: 1.21 kg",
        "fixed guards, by the rules that hold where the machine stands",
    ):
        assert words in said
    assert sheet.scale == 1


def _said(sheet: Sheet) -> list[str]:
    """Return the lettering with broken lines joined."""
    return [" ".join(texts_of(sheet))]


def test_hatching_leaves_the_groove_free() -> None:
    """No hatching line of the section lies above the outline of the cone."""
    cone, sheet = _drawn(("bench-shaper", 2, "driven"))
    x0, y0 = axis_of(sheet)
    (body,) = _bodies(sheet)
    outline = tuple(body[1:-1])
    for line in sheet.on("hatch"):
        if isinstance(line, Line) and x0 < line.start[0] < x0 + cone.width_mm:
            x, y = (line.start[0] + line.end[0]) / 2 - x0, (line.start[1] + line.end[1]) / 2 - y0
            assert y <= profile_between(outline, x, cone.width_mm)[0][1] + 1e-6
