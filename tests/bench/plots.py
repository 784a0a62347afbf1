"""Growth of time and of memory as drawings: black on white, lines told apart by their marks."""

from __future__ import annotations

from collections.abc import Sequence
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
    figure = Figure(figsize=(10.5, 4.4), layout="constrained")
    pairs, speeds, belts = figure.subplots(1, 3, sharey=True, width_ratios=(2, 1, 1))
    for mark, (name, measured) in zip(MARKS, MACHINES.items(), strict=True):
        points = [(float(row["pairs"]), float(row[key])) for row in _known(rows, measured)]
        _line(pairs, points, mark, name)
    steps = [(_speeds(one), float(rows[one.name][key])) for one in LAYOUTS if one.name in rows]
    speeds.plot(*zip(*steps, strict=True), "ko", fillstyle="none") if steps else None
    for one in LAYOUTS:
        if one.name in rows:
            speeds.annotate(f" {one.name.split()[1].rstrip(',')}", (_speeds(one), rows[one.name][key]), fontsize=7)
    _line(
        belts,
        [
            (float(number), float(rows[one.name][key]))
            for number, one in zip(BELTS_A_STAGE, BELTS, strict=True)
            if one.name in rows
        ],
        "s",
        "",
    )
    heads = ("pairs that fit a belt, all stages", "speeds of the layout", "belts a stage, 2x4")
    for axes, head in zip((pairs, speeds, belts), heads, strict=True):
        axes.set(xscale="log", yscale="log", xlabel=head)
        axes.grid(visible=True, which="major", color="0.8", linewidth=0.5)
    pairs.set_ylabel(label)
    pairs.legend(frameon=False, fontsize=7, ncols=2)
    figure.savefig(path, format="svg", metadata={"Date": None})
    return path


def _known(rows: dict[str, Row], measured: Sequence[Measured]) -> list[Row]:
    return [rows[one.name] for one in measured if one.name in rows]


def _line(axes: Any, points: list[tuple[float, float]], mark: str, label: str) -> None:
    if points:
        axes.plot(*zip(*points, strict=True), f"k{mark}-", linewidth=0.6, markersize=4.5, fillstyle="none", label=label)


def _speeds(one: Measured) -> float:
    first, second = one.name.split()[1].rstrip(",").split("x")
    return float(int(first) * int(second))
