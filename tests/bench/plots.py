"""Growth of time and of memory as drawings: black on white, lines told apart by their marks."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import isfinite
from pathlib import Path
from typing import Any

from tests.bench.growing import BELTS, LAYOUTS, MACHINES, Measured
from tests.bench.growth import PART
from tests.bench.store import Row, Store

__all__ = ["PLOTS", "draw"]

PLOTS = {
    "benchmarks-time.svg": "Seconds of a search against pairs, speeds, belts, both axes logarithmic",
    "benchmarks-memory.svg": "Peak memory of a search against pairs, speeds, belts, both axes logarithmic",
}
FIGURES = {"benchmarks-time.svg": ("seconds", "seconds"), "benchmarks-memory.svg": ("peak_mb", "peak memory, MB")}
MARKS = "osD^v<>phX"
STYLE = {"svg.hashsalt": "conewright", "svg.fonttype": "none", "font.size": 9, "axes.edgecolor": "black"}
BELTS_A_STAGE = (1, 2, 4, 8, 15, 30, 60)
SPEEDS = (3, 4, 6, 8, 12, 18)
MEGABYTES = (50, 100, 200, 400)


def draw(store: Store, folder: Path) -> list[Path]:
    """Draw both plots where growth was measured and the drawing library is there; return what was written."""
    rows = {name: row for name, row in store.rows(PART).items() if isfinite(row["seconds"]) and row["pairs"]}
    if not rows:
        return []
    try:
        import matplotlib  # an extra of the benchmarks alone, heavy to import
    except ModuleNotFoundError:
        return []
    matplotlib.use("svg")
    with matplotlib.rc_context(STYLE):
        return [_draw(rows, folder / name) for name in PLOTS]


def _draw(rows: dict[str, Row], path: Path) -> Path:
    from matplotlib.figure import Figure  # as above

    key, label = FIGURES[path.name]
    figure = Figure(figsize=(10.5, 4.6), layout="constrained")
    pairs, speeds, belts = figure.subplots(1, 3, sharey=True, width_ratios=(5, 3, 3))
    for mark, (name, measured) in zip(MARKS, MACHINES.items(), strict=True):
        _line(pairs, [(float(row["pairs"]), float(row[key])) for row in _known(rows, measured)], mark, name)
    _layouts(
        speeds, {one.name.split()[1].rstrip(","): float(row[key]) for one in LAYOUTS if (row := rows.get(one.name))}
    )
    counted = zip(BELTS_A_STAGE, BELTS, strict=True)
    _line(belts, [(float(number), float(row[key])) for number, one in counted if (row := rows.get(one.name))], "s", "")
    _scale(pairs, "pairs that fit a belt, all stages", ())
    _scale(speeds, "speeds of the layout", SPEEDS)
    _scale(belts, "belts a stage, 2x4", BELTS_A_STAGE)
    pairs.set_ylabel(label)
    if key == "peak_mb":
        pairs.set_ylim(50, 600)
        _ticks(pairs.yaxis, MEGABYTES)
    pairs.legend(frameon=False, fontsize=7, ncols=2, loc="upper left")
    figure.savefig(path, format="svg", metadata={"Date": None})
    return path


def _layouts(axes: Any, points: dict[str, float]) -> None:
    """Mark each layout by its name, above or below in turn; of one number of speeds the highest value above."""
    marked = sorted(
        (first * second, value, name) for name, value in points.items() for first, second in [_counts(name)]
    )
    above = False
    for speeds, points_of in groupby(marked, key=lambda point: point[0]):
        group = list(points_of)
        for number, (_, value, name) in enumerate(group):
            above = number > 0 if len(group) > 1 else not above
            axes.plot([speeds], [value], "ko", markersize=4.5, fillstyle="none")
            offset = (0, 6) if above else (0, -12)
            axes.annotate(name, (speeds, value), offset, textcoords="offset points", fontsize=7, ha="center")


def _counts(name: str) -> tuple[int, int]:
    first, second = map(int, name.split("x"))
    return first, second


def _scale(axes: Any, head: str, ticks: Sequence[int]) -> None:
    axes.set(xscale="log", yscale="log", xlabel=head)
    axes.grid(visible=True, which="major", color="0.8", linewidth=0.5)
    if ticks:
        axes.set_xlim(ticks[0] / 1.3, ticks[-1] * 1.3)
        _ticks(axes.xaxis, ticks)


def _ticks(axis: Any, ticks: Sequence[int]) -> None:
    axis.set_ticks(ticks, labels=[str(tick) for tick in ticks])
    axis.set_ticks([], minor=True)


def _known(rows: dict[str, Row], measured: Sequence[Measured]) -> list[Row]:
    return [rows[one.name] for one in measured if one.name in rows]


def _line(axes: Any, points: list[tuple[float, float]], mark: str, label: str) -> None:
    if points:
        axes.plot(*zip(*points, strict=True), f"k{mark}-", linewidth=0.6, markersize=4.5, fillstyle="none", label=label)
