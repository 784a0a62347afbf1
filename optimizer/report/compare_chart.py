"""The speed chart of a comparison: one line of speeds a layout."""

from __future__ import annotations

from optimizer.records.comparison import ComparedRow, Comparison
from optimizer.records.speed_chart import ChartBand, ChartLine, SpeedChart

__all__ = ["comparison_chart"]


def comparison_chart(comparison: Comparison) -> SpeedChart:
    """Return the chart: a line for every layout shown, at its least J, marked where no other row beats it."""
    return SpeedChart(
        title=f"{comparison.scenario.title}: the speeds of its layouts",
        bands=tuple(ChartBand(name=band.name, from_rpm=band.from_rpm, to_rpm=band.to_rpm) for band in comparison.bands),
        lines=tuple(
            ChartLine(label=_label(row), speeds_rpm=row.speeds_rpm, marked=row.undominated)
            for row in comparison.rows
            if "least J" in row.made_for
        ),
        ends=comparison.ends,
    )


def _label(row: ComparedRow) -> str:
    """Return number, layout and order, short enough to stand beside the plot."""
    order = "" if row.order == "one stage" else row.order.replace(" stage first", " first")
    return f"{row.number} {row.name} {order}".rstrip()
