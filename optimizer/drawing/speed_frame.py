"""Where the rows, columns and dots of a speed chart stand on its page."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise
from typing import Literal

from optimizer.drawing.lettering import text_width_mm, wrapped
from optimizer.drawing.speed_axis import SpeedAxis, axis_of, speed_label, ticks
from optimizer.drawing.speed_words import COUNT, INSIDE, MARKED, OUTSIDE, band_span, is_outside, line_span, one_line
from optimizer.records.speed_chart import SpeedChart

__all__ = [
    "EDGE_MM",
    "GAP_MM",
    "LEAD_MM",
    "MARK_MM",
    "PAGE_MM",
    "SMALL_MM",
    "TEXT_MM",
    "TITLE_MM",
    "Frame",
    "Row",
    "Symbol",
]

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
