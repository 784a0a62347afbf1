"""The design's speeds on a logarithmic scale, over its bands."""

from __future__ import annotations

from optimizer.drawing import speed_chart_sheet
from optimizer.papers.figure import drawn
from optimizer.papers.markup import Markup
from optimizer.papers.page import part
from optimizer.pipeline.job import Job
from optimizer.records.speed_chart import ChartBand, ChartLine, SpeedChart
from optimizer.report.gears import gear_name

__all__ = ["chart_part", "speed_chart_of"]


def speed_chart_of(job: Job) -> SpeedChart:
    """Return the chart: every band, one line of the design's speeds."""
    design = job.design
    bands = (ChartBand(name=band.name, from_rpm=band.from_rpm, to_rpm=band.to_rpm) for band in design.bands)
    line = ChartLine(label=design.layout.name, speeds_rpm=tuple(speed.rpm for speed in design.machine.speeds))
    title = f"{design.scenario.title}: speeds"
    return SpeedChart(title=title, bands=tuple(bands), lines=(line,), ends=job.scenario.series.ends)


def chart_part(job: Job) -> Markup:
    """Return the section of the speed chart."""
    said = "Equal distances are equal ratios of speed; the same figures stand in the table below."
    joined = [f"{gear.driver_shaft} to {gear.driven_shaft} {gear_name(gear)}" for gear in job.design.gears]
    said += f" Fixed in the chain: {', '.join(joined)}." if joined else ""
    figure = drawn(speed_chart_sheet(speed_chart_of(job)), "drawing-chart-", "Speed chart", said)
    return part("chart", "Speed chart", [figure])
