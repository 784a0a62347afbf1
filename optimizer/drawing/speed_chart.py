"""The speed chart as a sheet: bands as spans, one line of dots a layout, on a logarithmic axis."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from optimizer.drawing.sheet import Area, Circle, Entity, Layer, Line, Sheet, Text
from optimizer.drawing.speed_axis import speed_label
from optimizer.drawing.speed_frame import (
    EDGE_MM,
    LEAD_MM,
    MARK_MM,
    PAGE_MM,
    SCALE_MM,
    SMALL_MM,
    TEXT_MM,
    TITLE_LEAD_MM,
    TITLE_MM,
    Frame,
    Row,
    Symbol,
)
from optimizer.drawing.speed_words import AXIS, COUNT, in_words, is_outside, one_line
from optimizer.records.speed_chart import ChartLine, SpeedChart

__all__ = ["speed_chart_sheet"]

HOLLOW_PEN_MM = 0.3
LAYERS = (
    Layer("tint", 0.0),
    Layer("edges", 0.15, ink="grey"),
    Layer("guides", 0.2, ink="grey", dashes_mm=(0.3, 1.2)),
    Layer("bars", 0.2),
    Layer("frame", 0.25),
    Layer("series", 0.35),
    Layer("dots", 0.15, ink="paper"),
    Layer("hollow dots", HOLLOW_PEN_MM),
    Layer("words", 0.0),
    Layer("quiet words", 0.0, ink="grey"),
)
BAR_MM, MARK_REACH_MM = 2.4, 1.3
"""Height of a band's bar, half the height of the sign before a marked line."""
TICK_MM, SHORT_TICK_MM = 1.4, 0.7
"""Lengths of a tick that is labelled, of one that is not."""
Side = Literal["left", "middle", "right"]


def speed_chart_sheet(chart: SpeedChart) -> Sheet:
    """Return the chart on a page 210 mm wide, as high as its rows need.

    Every band and every line has a row of its own with its name on the left and its span on the right, so that
    no label stands in the plot. A dot whose speed no band counts is hollow; a line that is marked has a lozenge before
    its name and a full line through its dots.

    Examples
    --------
    >>> sheet = speed_chart_sheet(SpeedChart(title="Mixer", lines=(ChartLine(label="1x2", speeds_rpm=(200, 400)),)))
    >>> left, right = (dot.centre for dot in sheet.on("dots") if isinstance(dot, Circle))
    >>> left[0] < right[0], left[1] == right[1]
    (True, True)
    """
    frame = Frame(chart)
    entities = (*_title(frame), *_bands(frame), *_plot(frame), *_lines(frame), *_scale(frame), *_keys(frame))
    return Sheet(one_line(chart.title), PAGE_MM, frame.page_mm, LAYERS, entities, said=in_words(chart))


def _title(frame: Frame) -> Iterator[Entity]:
    for number, line in enumerate(frame.title):
        y = frame.y_mm(EDGE_MM + TITLE_MM + TITLE_LEAD_MM * number)
        yield Text("words", (EDGE_MM, y), line, TITLE_MM)


def _bands(frame: Frame) -> Iterator[Entity]:
    """Yield a bar for every band, with what it lays over the plot."""
    if frame.bands:
        yield from _heads(frame, frame.heads_mm[0], "band")
    for band, row in zip(frame.chart.bands, frame.bands, strict=True):
        yield from _words(frame, row)
        ends = frame.x_mm(band.from_rpm), frame.x_mm(band.to_rpm)
        middle = frame.y_mm(row.middle_mm)
        yield _box("bars", ends, (middle - BAR_MM / 2, middle + BAR_MM / 2), "grey")
        yield _box("tint", ends, (frame.y_mm(frame.bottom_mm), frame.y_mm(frame.top_mm)), "pale")
        for x in ends:
            yield Line("edges", (x, middle), (x, frame.y_mm(frame.below_bands_mm)))
            yield Line("edges", (x, frame.y_mm(frame.top_mm)), (x, frame.y_mm(frame.bottom_mm)))


def _plot(frame: Frame) -> Iterator[Entity]:
    low, high = frame.y_mm(frame.bottom_mm), frame.y_mm(frame.top_mm)
    for y in (low, high):
        yield Line("frame", (frame.left_mm, y), (frame.right_mm, y))


def _lines(frame: Frame) -> Iterator[Entity]:
    """Yield the row of every line."""
    yield from _heads(frame, frame.heads_mm[1], "layout")
    middle = frame.y_mm(frame.heads_mm[1])
    yield Text("quiet words", (frame.count_mm, middle), COUNT, SMALL_MM, "right", "middle")
    for line, row in zip(frame.chart.lines, frame.lines, strict=True):
        yield from _words(frame, row)
        y = frame.y_mm(row.middle_mm)
        yield Text("words", (frame.count_mm, y), str(len(line.speeds_rpm)), TEXT_MM, "right", "middle")
        yield Line("guides", (frame.left_mm, y), (frame.right_mm, y))
        yield from _dots(frame, line, y)


def _dots(frame: Frame, line: ChartLine, y: float) -> Iterator[Entity]:
    if line.marked:
        yield _sign("mark", (EDGE_MM + MARK_MM / 3, y), frame.dot_mm)
        ends = frame.x_mm(min(line.speeds_rpm)), frame.x_mm(max(line.speeds_rpm))
        yield Line("series", (ends[0], y), (ends[1], y))
    for speed in sorted(line.speeds_rpm):
        symbol: Symbol = "outside" if is_outside(frame.chart, speed) else "inside"
        yield _sign(symbol, (frame.x_mm(speed), y), frame.dot_mm, f"{one_line(line.label)}: {speed_label(speed)} rpm")


def _scale(frame: Frame) -> Iterator[Entity]:
    """Yield ticks at both edges of the plot, with their labels."""
    rows = [(frame.bottom_mm, 1)] + [(frame.top_mm, -1)] * frame.scale_above
    for down, way in rows:
        y = frame.y_mm(down)
        for speed in frame.short_ticks_rpm:
            x = frame.x_mm(speed)
            yield Line("frame", (x, y), (x, y - way * SHORT_TICK_MM))
        for speed in frame.ticks_rpm:
            x = frame.x_mm(speed)
            yield Line("frame", (x, y), (x, y - way * TICK_MM))
            label = y - way * (SCALE_MM / 2 + TICK_MM / 2)
            yield Text("words", (x, label), speed_label(speed), SMALL_MM, "middle", "middle")
    x = (frame.left_mm + frame.right_mm) / 2
    yield Text("quiet words", (x, frame.y_mm(frame.caption_mm)), AXIS, SMALL_MM, "middle", "middle")


def _keys(frame: Frame) -> Iterator[Entity]:
    for key in frame.keys:
        y = frame.y_mm(key.middle_mm)
        yield _sign(key.symbol, (key.x_mm + MARK_MM / 3, y), 1.0)
        yield Text("quiet words", (key.x_mm + MARK_MM, y), key.text, SMALL_MM, "left", "middle")


def _heads(frame: Frame, down: float, what: str) -> Iterator[Entity]:
    y = frame.y_mm(down)
    yield Text("quiet words", (EDGE_MM + MARK_MM, y), what, SMALL_MM, "left", "middle")
    yield Text("quiet words", (frame.span_mm, y), "rpm", SMALL_MM, "left", "middle")


def _words(frame: Frame, row: Row) -> Iterator[Entity]:
    """Yield the name of a row and its span."""
    first = row.middle_mm - LEAD_MM * (len(row.name) - 1) / 2
    for number, line in enumerate(row.name):
        y = frame.y_mm(first + LEAD_MM * number)
        yield Text("words", (EDGE_MM + MARK_MM, y), line, TEXT_MM, "left", "middle")
    yield Text("words", (frame.span_mm, frame.y_mm(row.middle_mm)), row.span, TEXT_MM, "left", "middle")


def _sign(symbol: Symbol, at: tuple[float, float], radius: float, note: str = "") -> Entity:
    x, y = at
    if symbol == "mark":
        reach = MARK_REACH_MM
        return Area("bars", ((x - reach, y), (x, y - reach), (x + reach, y), (x, y + reach)), "ink")
    if symbol == "outside":
        return Circle("hollow dots", at, radius - HOLLOW_PEN_MM / 2, "paper", note)
    return Circle("dots", at, radius, "ink", note)


def _box(layer: str, x: tuple[float, float], y: tuple[float, float], shade: Literal["pale", "grey"]) -> Area:
    """Return a filled rectangle."""
    return Area(layer, ((x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])), shade)
