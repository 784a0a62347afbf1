"""What a speed chart shows: bands as spans, one line of speeds a layout."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from optimizer.scenario.base import Model

__all__ = ["ChartBand", "ChartLine", "SpeedChart"]

SpeedRpm = Annotated[float, Field(gt=0, le=1e9, allow_inf_nan=False)]
TOLERANCE = 1e-9
"""Share by which a speed may miss an edge and still stand on it."""


class ChartBand(Model):
    """A span of spindle speeds for one kind of work."""

    name: str
    from_rpm: SpeedRpm
    to_rpm: SpeedRpm

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if self.from_rpm >= self.to_rpm:
            raise ValueError(f"a band must end above its start: {self.from_rpm:g} to {self.to_rpm:g} rpm")
        return self


class ChartLine(Model):
    """The spindle speeds of one layout."""

    label: str
    speeds_rpm: tuple[SpeedRpm, ...] = Field(min_length=1)
    marked: bool = False
    """Whether no other line's layout is as good in everything and better in something."""


class SpeedChart(Model):
    """Lines of speeds over the bands they are meant for."""

    title: str
    bands: tuple[ChartBand, ...] = ()
    lines: tuple[ChartLine, ...] = Field(min_length=1)
    ends: float = Field(0.0, ge=0, allow_inf_nan=False)
    """Share by which the outermost band edges are widened when speeds are counted."""

    def in_band(self, speed_rpm: float) -> bool:
        """Tell whether a speed counts in any band.

        A band counts its lower edge; its upper edge too where no band reaches higher.

        Examples
        --------
        >>> bands = (ChartBand(name="slow", from_rpm=100, to_rpm=200), ChartBand(name="fast", from_rpm=300, to_rpm=600))
        >>> lines = (ChartLine(label="1x2", speeds_rpm=(100, 600)),)
        >>> chart = SpeedChart(title="Mixer", bands=bands, lines=lines, ends=0.03)
        >>> [speed for speed in (96, 98, 200, 250, 300, 600, 615, 630) if chart.in_band(speed)]
        [98, 300, 600, 615]
        """
        if not self.bands:
            return False
        low, high = min(band.from_rpm for band in self.bands), max(band.to_rpm for band in self.bands)
        wide = 1 + self.ends
        return any(
            (band.from_rpm / wide if band.from_rpm == low else band.from_rpm) <= speed_rpm * (1 + TOLERANCE)
            and (
                speed_rpm <= high * wide * (1 + TOLERANCE)
                if band.to_rpm == high
                else speed_rpm < band.to_rpm * (1 - TOLERANCE)
            )
            for band in self.bands
        )
