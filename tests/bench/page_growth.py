"""The part of the page that tells how time and memory grow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite
from statistics import median

from optimizer.documents.blocks import Table
from optimizer.documents.markdown import table_markdown
from tests.bench.growing import BELTS, GOALS, LAYOUTS, MACHINES, Goal, Measured
from tests.bench.growth import PART as GROWTH
from tests.bench.growth import exponent
from tests.bench.page_words import goal_words
from tests.bench.plots import PLOTS
from tests.bench.store import Row, Store

__all__ = ["GROWTH", "growth_part"]

EXPONENT_MOST = 1.1


def growth_part(store: Store) -> list[str]:
    """Return the growth with pairs, steps, belts, the plots, and the goals."""
    rows = store.rows(GROWTH)
    if not rows:
        return []
    powers = {name: power for name, row in MACHINES.items() if (power := _power(row, rows)) is not None}
    middle = median(powers.values()) if powers else None
    told = (
        f"Time grows with the number of pairs to the power {middle:.2f} in the median of {len(powers)} machines "
        f"(from {min(powers.values()):.2f} to {max(powers.values()):.2f}); at most {EXPONENT_MOST:g} is the goal: "
        f"{goal_words(middle <= EXPONENT_MOST)}."
        if middle is not None
        else "Too little was measured to tell a power."
    )
    return [
        told,
        *(f"![{caption}]({file})" for file, caption in PLOTS.items()),
        table_markdown(
            Table(("machine", "pairs", "s", "MB", "power", "power of the last two"), tuple(_machines(rows, powers)))
        ),
        "What is to be reached:",
        table_markdown(
            Table(
                ("search", "pairs of one layout", "s", "goal", "MB", "goal", "MB before it began"), tuple(_goals(rows))
            )
        ),
        "With steps and with belts:",
        table_markdown(Table(("search", "pairs", "s", "MB", "answer"), tuple(_plain([*LAYOUTS, *BELTS], rows)))),
    ]


def _power(row: Sequence[Measured], rows: dict[str, Row]) -> float | None:
    known = [rows[one.name] for one in row if one.name in rows and isfinite(rows[one.name]["seconds"])]
    known = [point for point in known if point["pairs"]]
    if len(known) < 3:
        return None
    return exponent([point["pairs"] for point in known], [point["seconds"] for point in known])


def _last(known: Sequence[Row]) -> float:
    """Return the power between the two finest grids, where what every search costs weighs least."""
    return exponent([row["pairs"] for row in known[-2:]], [row["seconds"] for row in known[-2:]])


def _machines(rows: dict[str, Row], powers: dict[str, float]) -> Iterator[tuple[str, ...]]:
    for name, row in MACHINES.items():
        known = [rows[one.name] for one in row if one.name in rows]
        if known:
            yield (
                name,
                ", ".join(f"{point['pairs']:,}" for point in known).replace(", ", " · "),
                " · ".join(f"{point['seconds']:.3f}" for point in known),
                " · ".join(f"{point['peak_mb']:.0f}" for point in known),
                f"{powers[name]:.2f}" if name in powers else "",
                f"{_last(known):.2f}" if name in powers else "",
            )


def _goals(rows: dict[str, Row]) -> Iterator[tuple[str, ...]]:
    for goal in GOALS:
        if goal.measured.name in rows:
            yield _goal(goal, rows[goal.measured.name])


def _goal(goal: Goal, row: Row) -> tuple[str, ...]:
    in_time = "" if goal.seconds is None else f"{goal.seconds:g}: {goal_words(row['seconds'] < goal.seconds)}"
    in_room = "" if goal.memory_mb is None else f"{goal.memory_mb:g}: {goal_words(row['peak_mb'] < goal.memory_mb)}"
    figures = (f"{row['seconds']:.3f}", in_time, f"{row['peak_mb']:.0f}", in_room, f"{row['before_mb']:.0f}")
    return (goal.measured.name, f"{row['pairs']:,}", *figures)


def _plain(measured: Sequence[Measured], rows: dict[str, Row]) -> Iterator[tuple[str, ...]]:
    for one in measured:
        if one.name in rows:
            row = rows[one.name]
            answer = f"J {row['j']:.6f}" if isfinite(row["j"]) else ", ".join(row["status"])
            yield (one.name, f"{row['pairs']:,}", f"{row['seconds']:.3f}", f"{row['peak_mb']:.0f}", answer)
