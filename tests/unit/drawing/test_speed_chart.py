"""The speed chart on its sheet."""

from __future__ import annotations

from itertools import combinations
from math import log

import pytest

from optimizer.drawing import Sheet, speed_chart_sheet
from optimizer.drawing.lettering import box_of
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Line, Point, Polyline, Text
from optimizer.records.speed_chart import SpeedChart
from tests.charts import CHARTS, band, line

Box = tuple[float, float, float, float]
THREE = (band("rough", 200, 400), band("fine", 600, 1200))


def _corners(entity: Entity) -> tuple[Point, ...]:
    match entity:
        case Text():
            return box_of(entity)
        case Line():
            return entity.start, entity.end
        case Circle() | Arc():
            (x, y), r = entity.centre, entity.radius_mm
            return (x - r, y - r), (x + r, y + r)
        case Area() | Polyline():
            return entity.points


def _box(entity: Entity) -> Box:
    xs, ys = zip(*_corners(entity), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _dots(sheet: Sheet, layer: str) -> list[Circle]:
    return [dot for dot in sheet.on(layer) if isinstance(dot, Circle)]


@pytest.mark.parametrize("name", CHARTS)
def test_nothing_is_outside_the_page(name: str) -> None:
    """Everything lies on the page, 5 mm off its edges."""
    sheet = speed_chart_sheet(CHARTS[name])
    for entity in sheet.entities:
        left, low, right, high = _box(entity)
        assert 5 <= left <= right <= sheet.width_mm - 5, entity
        assert 5 <= low <= high <= sheet.height_mm - 5, entity


@pytest.mark.parametrize("name", CHARTS)
def test_no_lettering_lies_on_anything(name: str) -> None:
    """The room of a text, estimated for a wide face, is free of other texts, of lines, of dots, of fills."""
    sheet = speed_chart_sheet(CHARTS[name])
    texts = [(text, _box(text)) for text in sheet.entities if isinstance(text, Text)]
    for (a, room), (b, other_room) in combinations(texts, 2):
        assert not _meet(room, other_room), (a, b)
    for other in (entity for entity in sheet.entities if not isinstance(entity, Text)):
        taken = _box(other)
        assert not [text for text, room in texts if _meet(room, taken)], other


def test_dots_stand_where_the_scale_says() -> None:
    """Dots of one line lie as far apart as the logarithms of their speeds, band edges on the same scale."""
    sheet = speed_chart_sheet(SpeedChart(title="t", bands=THREE, lines=(line("1x3", [200, 310, 1100]),)))
    x = {dot.note: dot.centre[0] for dot in _dots(sheet, "dots")}
    bars = [_box(area) for area in sheet.on("bars")]
    low, high = bars[0][0], bars[1][2]
    for speed in (200, 310, 1100):
        expected = low + (high - low) * log(speed / 200) / log(1200 / 200)
        assert x[f"1x3: {speed} rpm"] == pytest.approx(expected, abs=1e-9)


def test_a_speed_at_the_geometric_mean_sits_half_way() -> None:
    """A dot at the geometric mean of the axis' ends lies in the middle of the plot."""
    sheet = speed_chart_sheet(SpeedChart(title="t", lines=(line("1x3", [200, 400, 800]),)))
    (_, dot, _), (rule, *_) = _dots(sheet, "dots"), sheet.on("frame")
    assert isinstance(rule, Line)
    assert dot.centre[0] == pytest.approx((rule.start[0] + rule.end[0]) / 2, abs=1e-9)


def test_speeds_outside_every_band_are_hollow() -> None:
    """Dots of 150, 500 and 1300 rpm are hollow, those in or on a band are full, its outermost ends included."""
    chart = SpeedChart(title="t", bands=THREE, lines=(line("x", [150, 195, 300, 500, 600, 1230, 1300]),), ends=0.03)
    sheet = speed_chart_sheet(chart)
    assert [dot.note for dot in _dots(sheet, "hollow dots") if dot.note] == ["x: 150 rpm", "x: 500 rpm", "x: 1300 rpm"]
    assert {dot.shade for dot in _dots(sheet, "hollow dots")} == {"paper"}
    assert len([dot for dot in _dots(sheet, "dots") if dot.note]) == 4


def test_without_bands_no_speed_is_outside() -> None:
    """Where there are no bands, every dot is full, with nothing said of bands."""
    sheet = speed_chart_sheet(CHARTS["one speed"])
    assert not sheet.on("hollow dots")
    assert not [text for text in sheet.entities if isinstance(text, Text) and "band" in text.text]


def test_a_marked_line_differs_in_shape() -> None:
    """A marked line alone has a lozenge before its name and a full line through its dots, and the sign is explained."""
    lines = [line("1x2", [100, 200], marked=flag) for flag in (False, True)]
    plain, marked = (speed_chart_sheet(SpeedChart(title="t", lines=(one,))) for one in lines)
    assert (len(plain.on("series")), len(marked.on("series"))) == (0, 1)
    assert (len(plain.on("bars")), len(marked.on("bars"))) == (0, 2)


def test_close_dots_are_smaller() -> None:
    """Dots of speeds that stand close together are drawn smaller, to a least size, and keep apart where they can."""
    wide, near, nearest = (
        _dots(speed_chart_sheet(SpeedChart(title="t", lines=(line("x", speeds),))), "dots")
        for speeds in ([100, 200, 400], [100, 102, 400], [100, 100.2, 400])
    )
    assert wide[0].radius_mm == 1.1
    assert 0.8 < near[0].radius_mm < 1.1
    assert 2 * near[0].radius_mm < near[1].centre[0] - near[0].centre[0]
    assert nearest[0].radius_mm == 0.8


def test_the_words_tell_all() -> None:
    """The words for those who cannot see the chart name bands, lines, and every speed."""
    chart = SpeedChart(title="t", bands=THREE, lines=(line("1x2", [500, 250], marked=True),))
    assert speed_chart_sheet(chart).said == (
        "Band rough: 200 to 400 rpm. Band fine: 600 to 1200 rpm. "
        "1x2 (no other layout is as good in everything and better in something): 250, 500 (outside every band) rpm."
    )
