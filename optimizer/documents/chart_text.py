"""The speed chart as plain text: bands as spans, one line of signs a layout, on a logarithmic axis."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise, zip_longest

from optimizer.documents.terminal import WIDTH, broken, columns, padded
from optimizer.drawing.lettering import one_line
from optimizer.drawing.speed_axis import (
    AXIS,
    COUNT,
    INSIDE,
    MARKED,
    OUTSIDE,
    axis_of,
    band_span,
    is_outside,
    line_span,
    speed_label,
    ticks,
)
from optimizer.records.speed_chart import ChartBand, ChartLine, SpeedChart

__all__ = ["chart_text"]


LEAST_WIDTH = 40
"""Columns that a chart needs."""
LEAST_PLOT = 28
"""Columns of plot below which names stand above their lines instead of beside them."""
NAMES_MOST = 24
"""Columns for names beside the plot; longer ones are broken."""
INDENT, GAP = 2, 2
"""Columns before a name, where its mark stands; columns between parts."""
IN, OUT, MARK = "*", "o", ">"
"""Sign of a speed in a band, of one outside every band, before a marked line."""
BAR, BAR_END, THIN_BAR, EDGE = "=", "|", "I", ":"
"""A band's span, its ends, a band within one column, a band's edge in the lines below."""
HAIR = 1e-9
"""Columns by which a place may miss the middle between two, so that no rounding of logarithms shows."""
EDGES_MOST = 1 / 5
"""Share of the columns that edges may take; more of them would hide the speeds, and none is drawn."""
MANY_LINES = 12
"""From so many lines on the axis stands above them too."""


def chart_text(chart: SpeedChart, width: int = WIDTH) -> str:
    """Return the chart as lines of at most `width` columns, in signs that any terminal has.

    Every band and every line has its name on the left and its span on the right, as on paper; on a narrow terminal
    both stand above it. Speeds that fall on one column stand below each other, those that read the same as one. Only
    names and the title may hold other signs than ASCII ones.

    Raises
    ------
    ValueError
        The width is below 40 columns.

    Examples
    --------
    >>> band = ChartBand(name="slow", from_rpm=100, to_rpm=250)
    >>> line = ChartLine(label="1x3", speeds_rpm=(100, 200, 400))
    >>> print(chart_text(SpeedChart(title="Mixer", bands=(band,), lines=(line,)), 62), end="")
    Mixer
    <BLANKLINE>
      band                                           rpm
      slow   |=======================|                  100 to 250
    <BLANKLINE>
      layout                                         speeds: rpm
      1x3    *                 *     :           o   3: 100 to 400
            -+-----+-----+-----+-----+-----+-----+-
            100   125   160   200   250   315   400
    <BLANKLINE>
      spindle speed, rpm, on a logarithmic scale
    * in a band
    o outside every band
    """
    if width < LEAST_WIDTH:
        raise ValueError(f"a chart needs at least {LEAST_WIDTH} columns, not {width}")
    page = Page(chart, width)
    axis = [*page.axis_rows()]
    rows = [*broken(one_line(chart.title), width), ""]
    if chart.bands:
        rows += page.heads("band", "rpm")
    for band in chart.bands:
        rows += page.rows(one_line(band.name), page.bar(band), " " * page.count_width + band_span(band))
    rows += ["" for _ in chart.bands[:1]] + page.heads("layout", f"{COUNT}: rpm")
    rows += reversed(axis) if len(chart.lines) > MANY_LINES else []
    for line in chart.lines:
        rows += page.rows(one_line(line.label), page.dots(line), page.said(line), MARK if line.marked else "")
    return "\n".join(row.rstrip() for row in (*rows, *axis, *page.keys())) + "\n"


class Page:
    """The columns of one chart."""

    def __init__(self, chart: SpeedChart, width: int) -> None:
        """Share the columns out between names, plot and spans."""
        self.chart, self.width, self.axis = chart, width, axis_of(chart)
        self.count_width = max(len(str(len(line.speeds_rpm))) for line in chart.lines) + 2
        """Columns for the number of speeds, with what parts it from the span."""
        names = [one_line(name) for name in (*(b.name for b in chart.bands), *(c.label for c in chart.lines))]
        said = [band_span(band) for band in chart.bands] + [line_span(line) for line in chart.lines]
        self.said_width = max(self.count_width + max(map(len, said)), len(f"{COUNT}: rpm"))
        self.name_width = min(max(map(columns, names)), NAMES_MOST)
        self.left = INDENT + self.name_width + GAP
        """Columns before the plot."""
        self.plot = width - self.left - GAP - self.said_width
        """Columns of the plot."""
        self.beside = self.plot >= LEAST_PLOT
        """Whether names stand beside the plot."""
        if not self.beside:
            self.name_width = width - INDENT - GAP - self.said_width
            self.left, self.plot = INDENT, width - INDENT

    def column(self, speed_rpm: float) -> int:
        """Return the column of the plot that a speed falls on, the right one of two where it stands between them."""
        return int(self.axis.place(speed_rpm) * (self.plot - 1) + 0.5 + HAIR)

    def heads(self, what: str, said: str) -> list[str]:
        """Return the headings above the names and the spans."""
        return [" " * INDENT + padded(what, self.width - self.said_width - INDENT) + said]

    def rows(self, name: str, plot: list[str], said: str, mark: str = "") -> list[str]:
        """Return the rows of one name."""
        names = [
            f"{padded(m, INDENT)}{line}" for m, line in zip_longest([mark], broken(name, self.name_width), fillvalue="")
        ]
        before = self.width - self.said_width
        if not self.beside:
            names[0] = padded(names[0], before) + said
            return [*names, *(" " * self.left + row for row in plot)]
        rows = [padded(a, self.left) + padded(b, self.plot) for a, b in zip_longest(names, plot, fillvalue="")]
        rows[0] = padded(rows[0], before) + said
        return rows

    def said(self, line: ChartLine) -> str:
        """Return how many speeds a line has, from where to where."""
        return f"{len(line.speeds_rpm)}: ".rjust(self.count_width) + line_span(line)

    def bar(self, band: ChartBand) -> list[str]:
        """Return a band as a bar."""
        first, last = self.column(band.from_rpm), self.column(band.to_rpm)
        bar = THIN_BAR if first == last else BAR_END + BAR * (last - first - 1) + BAR_END
        return [" " * first + bar]

    def dots(self, line: ChartLine) -> list[str]:
        """Return the speeds of a line as signs, one row below the other where a column holds several."""
        signs = {
            (speed_label(n), OUT if is_outside(self.chart, n) else IN): self.column(n) for n in sorted(line.speeds_rpm)
        }
        rows = [self._ground(line)]
        depth = Counter[int]()
        for (_, sign), column in signs.items():
            if depth[column] == len(rows):
                rows.append(self._ground())
            rows[depth[column]][column] = sign
            depth[column] += 1
        return ["".join(row) for row in rows]

    def _ground(self, line: ChartLine | None = None) -> list[str]:
        """Return a row of the plot without speeds: the bands' edges, a stroke through a marked line."""
        row = [" "] * self.plot
        if line is not None and line.marked:
            first, last = self.column(min(line.speeds_rpm)), self.column(max(line.speeds_rpm))
            row[first : last + 1] = "-" * (last + 1 - first)
        edges = {self.column(edge) for band in self.chart.bands for edge in (band.from_rpm, band.to_rpm)}
        if len(edges) <= EDGES_MOST * self.plot:
            for edge in edges:
                row[edge] = EDGE
        return row

    def axis_rows(self) -> Iterator[str]:
        """Yield the axis with its ticks, then their labels."""
        labelled = ticks(self.axis, self._have_room)
        scale, labels = ["-"] * self.plot, [" "] * self.width
        for speed, start in zip(labelled, self._starts(labelled), strict=True):
            scale[self.column(speed)] = "+"
            label = speed_label(speed)
            labels[start : start + len(label)] = label
        yield " " * self.left + "".join(scale)
        yield "".join(labels)

    def _starts(self, speeds_rpm: Sequence[float]) -> list[int]:
        """Return the first columns of labels that stand in the middle below their ticks."""
        sizes = [(self.left + self.column(n), len(speed_label(n))) for n in speeds_rpm]
        return [min(max(middle - size // 2, 0), self.width - size) for middle, size in sizes]

    def _have_room(self, speeds_rpm: tuple[float, ...]) -> bool:
        ends = [(a, a + len(speed_label(n))) for a, n in zip(self._starts(speeds_rpm), speeds_rpm, strict=True)]
        return all(a[1] + GAP <= b[0] for a, b in pairwise(ends))

    def keys(self) -> Iterator[str]:
        """Yield what the axis is, with the signs that need an explanation."""
        speeds = {is_outside(self.chart, speed) for line in self.chart.lines for speed in line.speeds_rpm}
        signs = {IN: INSIDE, OUT: OUTSIDE} if True in speeds else {}
        signs |= {MARK: MARKED} if any(line.marked for line in self.chart.lines) else {}
        yield ""
        for sign, text in {"": AXIS, **signs}.items():
            for mark, part in zip_longest([sign], broken(text, self.width - INDENT), fillvalue=""):
                yield padded(mark, INDENT) + part
