"""The speed chart as a sheet: bands as spans, one line of dots a layout, on a logarithmic axis."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise
from typing import Literal

from optimizer.drawing.lettering import Hand, one_line, text_width_mm, wrapped
from optimizer.drawing.placing import Room
from optimizer.drawing.sheet import Area, Circle, Entity, Layer, Line, Sheet, Text
from optimizer.drawing.speed_axis import (
    AXIS,
    COUNT,
    INSIDE,
    MARKED,
    OUTSIDE,
    SpeedAxis,
    axis_of,
    band_span,
    in_words,
    is_outside,
    line_span,
    speed_label,
    ticks,
)
from optimizer.records.speed_chart import ChartLine, SpeedChart

__all__ = ["speed_chart_sheet"]

PAGE_MM, EDGE_MM = 210.0, 12.0
TITLE_MM, TEXT_MM, SMALL_MM = 3.2, 2.2, 1.9
"""Heights of capitals."""
NAMES_MOST_MM = 56.0
"""Room for names left of the plot, longer ones are broken into lines."""
GAP_MM, MARK_MM = 3.0, 3.6
"""Room between columns, before a name for its mark."""
TITLE_LEAD_MM, LEAD_MM, ROW_MM = 6.0, 3.9, 5.6
"""Distance of the lines of the title, of the lines of one name, least height of a row."""
HEAD_MM, SCALE_MM = 6.0, 5.0
"""Height of a row of headings, of the labels along the axis."""
DOT_MM, SMALLEST_DOT_MM = 1.1, 0.8
"""Radius of a dot, and where speeds stand close together the least one."""
SAME_MM = 0.02
"""Dots nearer to each other than this are one on paper."""
SHORT_TICKS_MM = 1.5
"""Least distance of ticks without labels."""
MANY_LINES = 12
"""From so many lines on the axis is labelled at its upper end too."""
Symbol = Literal["inside", "outside", "mark"]
"""A dot of a speed in a band, one outside every band, the sign before a marked line."""
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


@dataclass(frozen=True, slots=True)
class Row:
    """A name in the left column with what stands in its right columns."""

    name: tuple[str, ...]
    """The lines of the name."""
    span: str
    top_mm: float
    """Its upper edge, from the top of the page down."""
    height_mm: float

    @property
    def middle_mm(self) -> float:
        """Its middle, from the top of the page down."""
        return self.top_mm + self.height_mm / 2


@dataclass(frozen=True, slots=True)
class Key:
    """A sign that needs an explanation, with it."""

    symbol: Symbol
    text: str
    x_mm: float
    """Left edge of the sign."""
    middle_mm: float
    """Its middle, from the top of the page down."""


class Frame:
    """The measures of one chart; all heights count from the top of the page down."""

    def __init__(self, chart: SpeedChart) -> None:
        """Lay the chart out."""
        self.chart = chart
        self.axis: SpeedAxis = axis_of(chart)
        self.title = tuple(wrapped(one_line(chart.title), PAGE_MM - 2 * EDGE_MM, TITLE_MM))
        spans = [*map(band_span, chart.bands), *map(line_span, chart.lines)]
        self.span_mm = PAGE_MM - EDGE_MM - max(text_width_mm(span, TEXT_MM) for span in spans)
        """Left edge of the spans."""
        self.count_mm = self.span_mm - GAP_MM
        """Right edge of the numbers of speeds."""
        names = [one_line(owner) for owner in (*(b.name for b in chart.bands), *(c.label for c in chart.lines))]
        width = min(max(text_width_mm(name, TEXT_MM) for name in names), NAMES_MOST_MM)
        self.left_mm = EDGE_MM + MARK_MM + width + GAP_MM
        """Left edge of the plot."""
        self.right_mm = self.count_mm - text_width_mm(COUNT, SMALL_MM) - GAP_MM
        """Right edge of the plot."""
        top = EDGE_MM + TITLE_LEAD_MM * len(self.title)
        self.bands = self._rows(top + HEAD_MM, [b.name for b in chart.bands], [*map(band_span, chart.bands)], width)
        below = self.bands[-1].top_mm + self.bands[-1].height_mm if self.bands else top - GAP_MM
        self.heads_mm = top + HEAD_MM / 2, below + GAP_MM + HEAD_MM / 2
        """Middles of the headings of bands, of lines."""
        self.scale_above = len(chart.lines) > MANY_LINES
        self.top_mm = below + GAP_MM + HEAD_MM + SCALE_MM * self.scale_above
        """Upper edge of the plot."""
        self.below_bands_mm = self.top_mm - (SCALE_MM + GAP_MM / 2) * self.scale_above
        """How far down the edges of the bands run before the plot, not through the labels above it."""
        self.lines = self._rows(self.top_mm, [c.label for c in chart.lines], [*map(line_span, chart.lines)], width)
        self.bottom_mm = self.lines[-1].top_mm + self.lines[-1].height_mm
        """Lower edge of the plot."""
        self.caption_mm = self.bottom_mm + SCALE_MM + ROW_MM / 2
        """Middle of the line below the axis' labels."""
        self.keys = self._keys()
        self.page_mm = (self.keys[-1].middle_mm if self.keys else self.caption_mm) + ROW_MM / 2 + EDGE_MM
        """Height of the page."""

    def _rows(self, top: float, names: list[str], spans: list[str], width: float) -> tuple[Row, ...]:
        broken = [tuple(wrapped(one_line(name), width * (1 + 1e-9), TEXT_MM)) for name in names]
        heights = [ROW_MM + LEAD_MM * (len(name) - 1) for name in broken]
        tops = accumulate(heights, initial=top)
        return tuple(map(Row, broken, spans, tops, heights))

    def y_mm(self, down_mm: float) -> float:
        """Return a height from the bottom of the page up, of one from its top down."""
        return self.page_mm - down_mm

    def x_mm(self, speed_rpm: float) -> float:
        """Return where a speed stands across the page."""
        return self.left_mm + self.axis.place(speed_rpm) * (self.right_mm - self.left_mm)

    @cached_property
    def dot_mm(self) -> float:
        """Radius of the dots: neighbours keep apart where the axis lets them."""
        places = [sorted(map(self.x_mm, line.speeds_rpm)) for line in self.chart.lines]
        gaps = [b - a for row in places for a, b in pairwise(row) if b - a > SAME_MM]
        return max(SMALLEST_DOT_MM, min([DOT_MM, *(0.42 * gap for gap in gaps)]))

    @cached_property
    def ticks_rpm(self) -> tuple[float, ...]:
        """The speeds that are labelled along the axis."""
        return ticks(self.axis, self._have_room)

    @cached_property
    def short_ticks_rpm(self) -> tuple[float, ...]:
        """The speeds that have a tick without a label."""
        every = ticks(
            self.axis, lambda speeds: all(b - a >= SHORT_TICKS_MM for a, b in pairwise(map(self.x_mm, speeds)))
        )
        return tuple(sorted(set(every) - set(self.ticks_rpm)))

    def _have_room(self, speeds_rpm: tuple[float, ...]) -> bool:
        ends = [(self.x_mm(n), text_width_mm(speed_label(n), SMALL_MM) / 2) for n in speeds_rpm]
        return all(b - a >= half_a + half_b + GAP_MM / 2 for (a, half_a), (b, half_b) in pairwise(ends))

    def _keys(self) -> tuple[Key, ...]:
        """Return the explanations that this chart needs, in as many rows as they take."""
        speeds = {is_outside(self.chart, speed) for line in self.chart.lines for speed in line.speeds_rpm}
        needed: dict[Symbol, str] = {}
        if True in speeds:
            needed |= {"inside": INSIDE, "outside": OUTSIDE}
        if any(line.marked for line in self.chart.lines):
            needed["mark"] = MARKED
        keys: list[Key] = []
        x, top = EDGE_MM, self.caption_mm + ROW_MM / 2
        for symbol, text in needed.items():
            width = MARK_MM + text_width_mm(text, SMALL_MM)
            if x > EDGE_MM and x + width > PAGE_MM - EDGE_MM:
                x, top = EDGE_MM, top + ROW_MM
            keys.append(Key(symbol, text, x, top + ROW_MM / 2))
            x += width + 2 * GAP_MM
        return tuple(keys)


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
    title = Hand("words", TITLE_MM, TITLE_LEAD_MM)
    edges = [frame.y_mm(down) for down in (frame.bottom_mm, frame.top_mm)]
    entities = (
        *title.down((EDGE_MM, frame.y_mm(EDGE_MM + TITLE_MM)), frame.title, along="base"),
        *_bands(frame),
        *(Line("frame", (frame.left_mm, y), (frame.right_mm, y)) for y in edges),
        *_lines(frame),
        *_scale(frame),
        *_keys(frame),
    )
    return Sheet(one_line(chart.title), PAGE_MM, frame.page_mm, LAYERS, entities, said=in_words(chart))


def _bands(frame: Frame) -> Iterator[Entity]:
    """Yield a bar for every band, with what it lays over the plot."""
    if frame.bands:
        yield from _heads(frame, frame.heads_mm[0], "band")
    low, high = frame.y_mm(frame.bottom_mm), frame.y_mm(frame.top_mm)
    for band, row in zip(frame.chart.bands, frame.bands, strict=True):
        yield from _words(frame, row)
        ends = frame.x_mm(band.from_rpm), frame.x_mm(band.to_rpm)
        middle = frame.y_mm(row.middle_mm)
        yield Area("bars", Room(ends[0], middle - BAR_MM / 2, ends[1], middle + BAR_MM / 2).corners, "grey")
        yield Area("tint", Room(ends[0], low, ends[1], high).corners, "pale")
        for x in ends:
            yield Line("edges", (x, middle), (x, frame.y_mm(frame.below_bands_mm)))
            yield Line("edges", (x, high), (x, low))


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
    yield from Hand("words", TEXT_MM, LEAD_MM).about((EDGE_MM + MARK_MM, frame.y_mm(row.middle_mm)), row.name)
    yield Text("words", (frame.span_mm, frame.y_mm(row.middle_mm)), row.span, TEXT_MM, "left", "middle")


def _sign(symbol: Symbol, at: tuple[float, float], radius: float, note: str = "") -> Entity:
    x, y = at
    if symbol == "mark":
        reach = MARK_REACH_MM
        return Area("bars", ((x - reach, y), (x, y - reach), (x + reach, y), (x, y + reach)), "ink")
    if symbol == "outside":
        return Circle("hollow dots", at, radius - HOLLOW_PEN_MM / 2, "paper", note)
    return Circle("dots", at, radius, "ink", note)
