"""The parts of the page in which the search stands beside general solvers."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from statistics import median

from optimizer.documents.blocks import Table
from optimizer.documents.markdown import table_markdown
from tests.bench.ahead import GOALS
from tests.bench.answer import SAME
from tests.bench.page_words import j_words
from tests.bench.peers import AHEAD, OTHERS
from tests.bench.peers import PART as PEERS
from tests.bench.store import Row, Store

__all__ = ["AHEAD", "PEERS", "ahead_part", "peers_part"]


def peers_part(store: Store) -> list[str]:
    """Return what every solver said of every instance, and how long each took."""
    rows = store.rows(PEERS)
    if not rows:
        return []
    others = [name for name in OTHERS if any(name in row["answers"] for row in rows.values())]
    return [
        _summary(rows, others),
        "J that each found. *same*: within 1e-7 of this search's; *b*: the bound left where it did not close.",
        table_markdown(Table(("instance", "pairs", "this search", *others), tuple(_found_cells(rows, others)))),
        "Time, and in brackets how many times that of this search; `>` where it did not close.",
        table_markdown(
            Table(
                (
                    "instance",
                    "this search, ms",
                    *(f"{name}, s" for name in others),
                    "formulating, s",
                    "variables",
                    "rows",
                ),
                tuple(_time_cells(rows, others)),
            )
        ),
    ]


def ahead_part(store: Store) -> list[str]:
    """Return how many times faster the search is, and whether that is what it should be."""
    rows = store.rows(AHEAD)
    if not rows:
        return []
    lines = []
    for name, goal in GOALS.items():
        ratios = [_ratio(row, name) for row in rows.values()]
        reached = sum(ratio >= goal for ratio in ratios)
        lines.append(
            f"- {name}: {min(ratios):,.0f} times at least, {median(ratios):,.0f} in the median; "
            f"{reached} of {len(ratios)} reach the goal of {goal:g}."
        )
    table = Table(
        ("instance", "pairs", "this search, ms", *(f"{name}{mark}" for name in GOALS for mark in (", s", ", times"))),
        tuple(_ahead_cells(rows)),
    )
    told = (
        "Medians of several calls; `1 call` where one took longer than 12 s; `>` where it did not close in the limit."
    )
    return ["\n".join(lines), told, table_markdown(table)]


def _summary(rows: dict[str, Row], others: list[str]) -> str:
    ours = [row["answers"]["search"] for row in rows.values()]
    lines = [f"- {len(rows)} instances; this search closed {sum(map(_closed, ours))}."]
    for name in others:
        asked = [row for row in rows.values() if name in row["answers"]]
        closed = [row for row in asked if _closed(row["answers"][name])]
        same = sum(_same(row["answers"][name], row["answers"]["search"]) for row in asked)
        ratios = [_ratio(row, name) for row in closed]
        told = f", {median(ratios):,.0f} times this search's time in the median where it closed" if ratios else ""
        closing = "proves nothing" if name == "evolution" else f"closed {len(closed)} of {len(asked)}{told}"
        lines.append(f"- {name} {closing}; the same J in {same}, a better one in none.")
    return "\n".join(lines)


def _found_cells(rows: dict[str, Row], others: list[str]) -> Iterator[tuple[str, ...]]:
    for name, row in rows.items():
        ours = row["answers"]["search"]
        said = [_beside(row["answers"][other], ours) if other in row["answers"] else "" for other in others]
        yield (name, f"{sum(row['pairs']):,}", j_words(ours), *said)


def _beside(answer: Row, ours: Row) -> str:
    left = "" if answer["bound"] == -inf else f", b {max(answer['bound'], 0.0):.8f}"
    if answer["status"] == "no design" == ours["status"]:
        return "same, proved"
    if answer["status"] == "value only":
        return "same" if _same(answer, ours) else j_words(answer)
    if answer["j"] == inf:
        return f"none found{left}"
    word = "same" if _same(answer, ours) else j_words(answer)
    return f"{word}, proved" if answer["status"] == "proved" else f"{word}{left}"


def _time_cells(rows: dict[str, Row], others: list[str]) -> Iterator[tuple[str, ...]]:
    for name, row in rows.items():
        said = []
        for other in others:
            if other not in row["answers"]:
                said.append("")
                continue
            answer = row["answers"][other]
            late = "> " if answer["status"] == "time" else ""
            ratio = f" ({_ratio(row, other):,.0f})" if other != "evolution" else ""
            said.append(f"{late}{answer['seconds']:.2f}{ratio}")
        sizes = (f"{row['formulating']:.2f}", f"{row['variables']:,}", f"{row['rows']:,}")
        yield (name, f"{row['answers']['search']['seconds'] * 1000:.1f}", *said, *sizes)


def _ahead_cells(rows: dict[str, Row]) -> Iterator[tuple[str, ...]]:
    for name, row in rows.items():
        cells = []
        for other in GOALS:
            answer = row["answers"][other]
            late = "> " if answer["status"] == "time" else ""
            once = " (1 call)" if answer["runs"] == 1 and not late else ""
            cells += [f"{late}{answer['seconds']:.2f}{once}", f"{late}{_ratio(row, other):,.0f}"]
        yield (name, f"{sum(row['pairs']):,}", f"{row['answers']['search']['seconds'] * 1000:.1f}", *cells)


def _ratio(row: Row, other: str) -> float:
    return float(row["answers"][other]["seconds"] / row["answers"]["search"]["seconds"])


def _closed(answer: Row) -> bool:
    return answer["status"] in ("proved", "no design")


def _same(answer: Row, ours: Row) -> bool:
    if answer["j"] == inf:
        return bool(ours["j"] == inf)
    return bool(abs(answer["j"] - ours["j"]) <= SAME)
