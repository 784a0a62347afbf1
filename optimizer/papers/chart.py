"""The design's speeds on a logarithmic scale, over its bands."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.drawing import speed_chart_sheet
from optimizer.papers.figure import drawn
from optimizer.papers.markup import Markup
from optimizer.papers.page import part
from optimizer.pipeline.job import Job
from optimizer.records.sheet import MachineSheet
from optimizer.records.speed_chart import ChartLine, SpeedChart
from optimizer.report.gears import gear_name
from optimizer.report.tables import plate_lines

__all__ = ["chart_part", "speed_chart_of"]


def speed_chart_of(job: Job) -> SpeedChart:
    """Return the chart: every band, the design's speeds, those not on the plate on a line of their own."""
    design = job.design
    title = f"{job.scenario.title}: speeds"
    lines = tuple(_lines(design.layout.name, design.machine))
    return SpeedChart(title=title, bands=design.bands, lines=lines, ends=job.scenario.series.ends)


def _lines(name: str, machine: MachineSheet) -> Iterator[ChartLine]:
    """Yield the speeds; where some are not on the plate, those that are and those that are not."""
    shown, left = ([s.rpm for s in machine.speeds if s.on_plate is there] for there in (True, False))
    if not left:
        yield ChartLine(label=name, speeds_rpm=tuple(shown))
        return
    for rpm, words in ((shown, "on the plate"), (left, "not on the plate")):
        if rpm:
            yield ChartLine(label=f"{name}, {words}", speeds_rpm=tuple(rpm))


def chart_part(job: Job) -> Markup:
    """Return the section of the speed chart."""
    said = "Equal distances are equal ratios of speed; the same figures stand in the table below."
    joined = [f"{gear.driver_shaft} to {gear.driven_shaft} {gear_name(gear)}" for gear in job.design.gears]
    said += "".join(f" {line}" for line in plate_lines(job.design.machine))
    said += f" Fixed in the chain: {', '.join(joined)}." if joined else ""
    figure = drawn(speed_chart_sheet(speed_chart_of(job)), "drawing-chart-", "Speed chart", said)
    return part("chart", "Speed chart", [figure])
