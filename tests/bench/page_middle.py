"""The page's part on middle cones and three stages."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.documents.blocks import Table
from optimizer.documents.markdown import table_markdown
from tests.bench.middle import MIDDLE, MOST_GAP, MOST_TIMES, PROVED_S, STOPPED_S
from tests.bench.page_words import goal_words, j_words
from tests.bench.store import Row, Store

__all__ = ["middle_part"]


def middle_part(store: Store) -> list[str]:
    """Return the page's part."""
    rows = store.rows(MIDDLE)
    if not rows:
        return []
    drills = {name: row for name, row in rows.items() if row["kind"] == "drill"}
    chains = {name: row for name, row in rows.items() if row["kind"] == "chain"}
    return [
        "Measured by `python -m tests.bench middle`.",
        *(_drills(drills) if drills else []),
        *(_chains(chains) if chains else []),
    ]


def _drills(rows: dict[str, Row]) -> list[str]:
    heads: Sequence[str] = ("machine", "pairs", "F", "gap", "end miss", "distinct speeds", "looked at", "s", "goal")
    lines = tuple(
        (
            name,
            f"{row['pairs']:,}",
            f"{row['f']:.6f}{', proved' if row['status'] == 'proved' else ''}",
            f"{100 * row['gap']:.1f} %",
            f"{100 * row['end_miss']:.2f} %",
            str(row["distinct"]),
            f"{row['examined']:,}",
            f"{row['seconds']:.2f}",
            _goal(row),
        )
        for name, row in rows.items()
    )
    return [
        f"A bench drill of a motor at 1720 rpm, 500 to 3000 rpm, four steps on every cone, sizes of 50 to 150 mm in "
        f"steps of 5 mm, its travel in mm as named. F is end miss and the largest gap of all speeds, as logarithms. "
        f"A search is stopped after {STOPPED_S:g} s; the gap is what is then left between F and its bound.",
        table_markdown(Table(tuple(heads), lines)),
    ]


def _goal(row: Row) -> str:
    if row["to_prove"]:
        return f"proved within {PROVED_S:g} s: {goal_words(row['status'] == 'proved' and row['seconds'] <= PROVED_S)}"
    return f"gap at most {100 * MOST_GAP:g} % within {STOPPED_S:g} s: {goal_words(row['gap'] <= MOST_GAP)}"


def _chains(rows: dict[str, Row]) -> list[str]:
    heads = ("machine", "pairs of 2x4", "J", "s", "pairs of 2x2x2", "J", "s", "times", f"at most {MOST_TIMES:g}")
    lines = []
    for name, row in rows.items():
        two, three = row["2x4"], row["2x2x2"]
        cells = [cell for one in (two, three) for cell in (f"{one['pairs']:,}", j_words(one), f"{one['seconds']:.3f}")]
        times = three["seconds"] / two["seconds"]
        lines.append((name, *cells, f"{times:.1f}", goal_words(times <= MOST_TIMES)))
    return [
        "Eight speeds of three stages, 2x2x2, beside those of two, 2x4: the same sizes, of 75 to 230 mm, the same "
        "belts on every stage, all cones turned.",
        table_markdown(Table(heads, tuple(lines))),
    ]
