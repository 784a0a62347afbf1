"""Speed charts of machines that are not, from the plainest to the fullest."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.records.speed_chart import ChartBand, ChartLine, SpeedChart
from optimizer.series import geometric

__all__ = ["CHARTS", "LONG_NAME", "band", "line"]

LONG_NAME = 'Ünïcödé-Lâyöut-ohne-Leerzeichen-und-ohne-Ende 木工旋盤の荒削り用の低速帯、とても長い名前 & <so> "on"'
ORDERS = ("coarse first", "fine first")


def band(name: str, from_rpm: float, to_rpm: float) -> ChartBand:
    """Return a band."""
    return ChartBand(name=name, from_rpm=from_rpm, to_rpm=to_rpm)


def line(label: str, speeds_rpm: Sequence[float], *, marked: bool = False) -> ChartLine:
    """Return a line."""
    return ChartLine(label=label, speeds_rpm=tuple(speeds_rpm), marked=marked)


def _even(low_rpm: float, high_rpm: float, count: int) -> list[float]:
    return [float(speed) for speed in geometric(low_rpm, high_rpm, count)]


def _bands(count: int, reach: float) -> tuple[ChartBand, ...]:
    """Return bands that meet where the reach is 1.3, leave gaps below, overlap above."""
    return tuple(band(f"kind of work {k + 1}", 60 * 1.3**k, 60 * 1.3**k * reach) for k in range(count))


def _lines(count: int) -> tuple[ChartLine, ...]:
    return tuple(
        line(f"{k % 3 + 1}x{k % 6 + 1} {ORDERS[k % 2]}", _even(55 + k, 1500 + 40 * k, k % 18 + 1), marked=k % 4 == 0)
        for k in range(count)
    )


CHARTS = {
    "one speed": SpeedChart(title="One speed", lines=(line("1x1", [310]),)),
    "one band": SpeedChart(title="One band", bands=(band("all", 300, 320),), lines=(line("1x1", [310], marked=True),)),
    "slow": SpeedChart(title="Slow", bands=(band("stirring", 0.4, 3.15),), lines=(line("1x4", _even(0.4, 3, 4)),)),
    "fast": SpeedChart(title="Fast", bands=(band("grinding", 9000, 60000),), lines=(line("1x4", _even(1, 59000, 4)),)),
    "widest": SpeedChart(title="Widest", lines=(line("2x2", [0.00123456, 5, 60, 6e7]),)),
    "narrow bands": SpeedChart(
        title="Narrow bands",
        bands=(band("slow", 100, 101), band("next", 101, 102), band("wide", 90, 900), band("fast", 899, 905)),
        lines=(line("2x4", [99, 100, 100.5, 101, 101.5, 103, 899.5, 905]), line("same", [100] * 18, marked=True)),
    ),
    "long names": SpeedChart(
        title=f"{LONG_NAME} {LONG_NAME}",
        bands=(band(LONG_NAME, 100.123456, 20000.98765), band("", 200, 400)),
        lines=(line(LONG_NAME, [20, 5000], marked=True), line("x" * 200, _even(100, 30000, 18))),
    ),
    "odd names": SpeedChart(
        title="\x1b[31m\n\x00", bands=(band("a\tb\u202e", 1, 9),), lines=(line("\ud800", [2, 20]),)
    ),
    **{
        f"{bands} bands, {lines} lines, reach {reach}": SpeedChart(
            title="Sweep", bands=_bands(bands, reach), lines=_lines(lines), ends=0.03
        )
        for bands, lines, reach in ((0, 30, 2.0), (1, 1, 1.01), (2, 13, 1.3), (3, 7, 1.1), (12, 12, 1.6), (12, 30, 1.3))
    },
}
"""By what is special about them."""
