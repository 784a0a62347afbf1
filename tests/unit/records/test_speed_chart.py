"""What a speed chart may hold."""

from __future__ import annotations

from math import inf, nan

import pytest
from pydantic import ValidationError

from optimizer.records.speed_chart import ChartLine, SpeedChart
from tests.charts import band, line


@pytest.mark.parametrize("ends", [(400, 180), (300, 300)])
def test_a_band_rises(ends: tuple[float, float]) -> None:
    """A band that ends at or below its start is refused."""
    with pytest.raises(ValidationError, match="a band must end above its start"):
        band("rough", *ends)


@pytest.mark.parametrize("speed", [0.0, -100.0, inf, nan])
def test_speeds_are_real(speed: float) -> None:
    """A speed that has no place on a logarithmic axis is refused, in lines and in bands."""
    with pytest.raises(ValidationError):
        line("1x2", [100, speed])
    with pytest.raises(ValidationError):
        band("rough", speed, 100_000)


def test_nothing_to_show_is_no_chart() -> None:
    """A line needs a speed, a chart needs a line."""
    with pytest.raises(ValidationError):
        ChartLine(label="1x2", speeds_rpm=())
    with pytest.raises(ValidationError):
        SpeedChart(title="t", lines=())


def test_edges_count_as_in_a_design() -> None:
    """Bands that meet leave no gap; of upper edges only the top one counts; only the outer edges are widened."""
    bands = (band("slow", 100, 200), band("middle", 200, 300), band("fast", 400, 800))
    chart = SpeedChart(title="t", bands=bands, lines=(line("1x1", [100]),), ends=0.03)
    # 100/1.03 = 97.09, 800 · 1.03 = 824
    inside = (97.1, 100, 199.9, 200, 299.9, 400, 800, 823.9)
    outside = (97, 300, 305, 399, 824.1)
    assert [chart.in_band(speed) for speed in (*inside, *outside)] == [True] * 8 + [False] * 5
