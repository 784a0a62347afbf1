"""The logarithmic axis."""

from __future__ import annotations

from functools import partial
from itertools import pairwise

import pytest

from optimizer.drawing.speed_axis import SpeedAxis, axis_of, ticks
from tests.charts import CHARTS


def _at_most(most: int, speeds_rpm: tuple[float, ...]) -> bool:
    return len(speeds_rpm) <= most


def test_the_geometric_mean_stands_half_way() -> None:
    """A speed at the geometric mean of the axis' ends sits half-way: 300 between 100 and 900."""
    axis = SpeedAxis(100, 900)
    assert [axis.place(n) for n in (100, 300, 900)] == pytest.approx([0, 0.5, 1], abs=1e-15)


@pytest.mark.parametrize("name", CHARTS)
def test_the_axis_holds_everything(name: str) -> None:
    """Every speed and every edge lies on the axis, with 3 % of it free at either end or more."""
    chart = CHARTS[name]
    axis = axis_of(chart)
    shown = [n for line in chart.lines for n in line.speeds_rpm]
    shown += [n for band in chart.bands for n in (band.from_rpm, band.to_rpm)]
    assert min(map(axis.place, shown)) >= 0.03 - 1e-12
    assert max(map(axis.place, shown)) <= 0.97 + 1e-12
    assert axis.high_rpm / axis.low_rpm > 2


@pytest.mark.parametrize(
    ("most", "expected"),
    [
        (11, (100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000)),
        (10, (100, 200, 500, 1000)),
        (3, (100, 1000)),
        (1, (100,)),
    ],
)
def test_ticks_are_preferred_numbers(most: int, expected: tuple[float, ...]) -> None:
    """Labels are R10 (ISO 3, table 1, from memory) where all 11 have room, else 1-2-5, else decades."""
    assert ticks(SpeedAxis(90, 1100), partial(_at_most, most)) == expected


@pytest.mark.parametrize("low", [0.037, 1.01, 2.1, 9.9, 101, 5100])
@pytest.mark.parametrize("reach", [2.1, 9, 99, 1e7])
def test_an_axis_always_has_a_label(low: float, reach: float) -> None:
    """However little room there is, one speed on the axis is labelled; labels rise, within the ends."""
    axis = SpeedAxis(low, low * reach)
    for most in (0, 2, 5, 9):
        found = ticks(axis, partial(_at_most, most))
        assert 1 <= len(found) <= max(most, 1)
        assert all(a < b for a, b in pairwise(found))
        assert axis.low_rpm <= found[0] <= found[-1] <= axis.high_rpm
