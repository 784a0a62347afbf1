"""What a speed chart says in words, the same wherever it is drawn."""

from __future__ import annotations

from optimizer.drawing.speed_axis import speed_label
from optimizer.quantities import show_rpm
from optimizer.records.speed_chart import ChartBand, ChartLine, SpeedChart

__all__ = [
    "AXIS",
    "COUNT",
    "INSIDE",
    "MARKED",
    "OUTSIDE",
    "band_span",
    "in_words",
    "is_outside",
    "line_span",
    "one_line",
]

AXIS = "spindle speed, rpm, on a logarithmic scale"
COUNT = "speeds"
INSIDE = "in a band"
OUTSIDE = "outside every band"
MARKED = "no other layout is as good in everything and better in something"


def one_line(text: str) -> str:
    """Return a maker's text on one line, what cannot be printed as a question mark.

    Examples
    --------
    >>> one_line("  bench\\tmill\\n\\x1b[31m ")
    'bench mill ?[31m'
    """
    return "".join(sign if sign.isprintable() else "?" for sign in " ".join(text.split()))


def is_outside(chart: SpeedChart, speed_rpm: float) -> bool:
    """Tell whether a speed is to be shown as one that no band counts; false where there are no bands."""
    return bool(chart.bands) and not chart.in_band(speed_rpm)


def band_span(band: ChartBand) -> str:
    """Return the bounds of a band as they were stated, or to a tenth where they follow from surface speeds.

    Examples
    --------
    >>> band_span(ChartBand(name="fast", from_rpm=900, to_rpm=2000))
    '900 to 2000'
    """
    return f"{show_rpm(band.from_rpm)} to {show_rpm(band.to_rpm)}"


def line_span(line: ChartLine) -> str:
    """Return the slowest speed of a line with its fastest.

    Examples
    --------
    >>> line_span(ChartLine(label="2x2", speeds_rpm=(182.4, 260, 371, 540.2)))
    '182 to 540'
    """
    ends = dict.fromkeys(speed_label(end) for end in (min(line.speeds_rpm), max(line.speeds_rpm)))
    return " to ".join(ends)


def in_words(chart: SpeedChart) -> str:
    """Return everything the chart shows as sentences, for those who cannot see it."""
    said = [f"Band {one_line(band.name)}: {band_span(band)} rpm." for band in chart.bands]
    for line in chart.lines:
        speeds = ", ".join(
            speed_label(speed) + (f" ({OUTSIDE})" if is_outside(chart, speed) else "")
            for speed in sorted(line.speeds_rpm)
        )
        said.append(f"{one_line(line.label)}{f' ({MARKED})' if line.marked else ''}: {speeds} rpm.")
    return " ".join(said)
