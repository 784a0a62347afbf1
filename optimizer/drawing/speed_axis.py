"""The logarithmic axis that spindle speeds are drawn on, and what a chart of them says, wherever it is drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import ceil, floor, log, log10, sqrt

from optimizer.drawing.lettering import one_line
from optimizer.quantities import show_rpm
from optimizer.records.speed_chart import ChartBand, ChartLine, SpeedChart
from optimizer.series import preferred_numbers

__all__ = [
    "AXIS",
    "COUNT",
    "INSIDE",
    "MARKED",
    "OUTSIDE",
    "SpeedAxis",
    "axis_of",
    "band_span",
    "in_words",
    "is_outside",
    "line_span",
    "speed_label",
    "ticks",
]

MARGIN = 0.03
"""Share of the axis that stays free beyond the outermost speed or band edge."""
LEAST_REACH = 2.0
"""Least ratio of the axis' ends, so that a single speed has an axis too."""
ENOUGH = 3
"""So many labels tell the scale."""
AXIS = "spindle speed, rpm, on a logarithmic scale"
COUNT = "speeds"
INSIDE = "in a band"
OUTSIDE = "outside every band"
MARKED = "no other layout is as good in everything and better in something"


@dataclass(frozen=True, slots=True)
class SpeedAxis:
    """An axis on which equal ratios of speed are equal distances."""

    low_rpm: float
    high_rpm: float

    def place(self, speed_rpm: float) -> float:
        """Return where a speed stands, 0 at the low end of the axis, 1 at its high end.

        Examples
        --------
        >>> round(SpeedAxis(100, 1600).place(400), 12)
        0.5
        """
        return log(speed_rpm / self.low_rpm) / log(self.high_rpm / self.low_rpm)


def axis_of(chart: SpeedChart) -> SpeedAxis:
    """Return an axis that holds every speed and every band of a chart, with a margin at either end."""
    shown = [speed for line in chart.lines for speed in line.speeds_rpm]
    shown += [edge for band in chart.bands for edge in (band.from_rpm, band.to_rpm)]
    low, high = min(shown), max(shown)
    if high / low < LEAST_REACH:
        middle = sqrt(low * high)
        low, high = middle / sqrt(LEAST_REACH), middle * sqrt(LEAST_REACH)
    wide = (high / low) ** (MARGIN / (1 - 2 * MARGIN))
    return SpeedAxis(low / wide, high * wide)


def ticks(axis: SpeedAxis, fits: Callable[[tuple[float, ...]], bool]) -> tuple[float, ...]:
    """Return the speeds to label: the finest preferred numbers whose labels have room.

    Tried in turn: the series R20 and R10 of ISO 3; 1-2-5 in every decade where that gives three labels or more;
    R5; 1-2-5; every decade, every second decade, further ones.

    Parameters
    ----------
    axis
        The axis.
    fits
        Tells whether the labels of such speeds have room beside each other; one label alone always has.

    Examples
    --------
    >>> ticks(SpeedAxis(90, 1100), lambda speeds: len(speeds) <= 5)
    (100.0, 200.0, 500.0, 1000.0)
    """
    series = _series(axis.low_rpm, axis.high_rpm)
    return next((tried for tried in series if len(tried) == 1 or (tried and fits(tried))), ())


def speed_label(speed_rpm: float) -> str:
    """Return a speed as a chart says it: whole from 100 rpm on, with three figures below.

    Examples
    --------
    >>> speed_label(1238.7), speed_label(100), speed_label(56.25), speed_label(3.15), speed_label(40)
    ('1239', '100', '56.2', '3.15', '40')
    """
    return f"{speed_rpm:.0f}" if speed_rpm >= 100 else f"{speed_rpm:.3g}"


def _series(low: float, high: float) -> Iterator[tuple[float, ...]]:
    """Yield ever coarser sets of speeds to label, between two ends."""
    for name in ("R20", "R10"):
        yield preferred_numbers(name, low, high)
    first, last = floor(log10(low)), ceil(log10(high))
    decades = range(first, last + 1)
    rounder = tuple(n for d in decades for step in (1, 2, 5) if low <= (n := float(f"{step}e{d}")) <= high)
    if len(rounder) >= ENOUGH:
        yield rounder
    yield preferred_numbers("R5", low, high)
    yield rounder
    whole = tuple(n for d in decades if low <= (n := float(f"1e{d}")) <= high)
    for every in range(1, len(whole) + 1):
        yield whole[::every]
    yield preferred_numbers("R10", low, high, 1)


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
