"""docs/benchmarks.md, put together from what has been measured."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from optimizer.documents.blocks import Table
from optimizer.documents.markdown import table_markdown
from tests.bench import page_growth, page_peers
from tests.bench.commands import PART as COMMANDS
from tests.bench.gripping import PART as GRIP
from tests.bench.gripping import gripping_part
from tests.bench.hard import GOAL_S
from tests.bench.hard import PART as HARD
from tests.bench.middle import MIDDLE
from tests.bench.page_middle import middle_part
from tests.bench.page_words import goal_words, j_words
from tests.bench.plots import draw
from tests.bench.store import ROOT, Row, Store

__all__ = ["HEADINGS", "page_text", "write_page"]

PUBLISHED = "published"
ROUNDING = "rounding"
HEADINGS = (
    "# Benchmarks",
    "## How it was measured",
    "## General solvers on the same instances",
    "## Far ahead",
    "## Growth",
    "## Hard cases",
    "## Grip as a limit",
    "## Middle cones and three stages",
    "## Commands",
    "## The published problem",
    "## Rounding",
)
NOT_MEASURED = "Not measured."


def write_page(store: Store, folder: Path = ROOT / "docs") -> list[Path]:
    """Write the page, and its plots where there is something to draw; return what was written."""
    folder.mkdir(parents=True, exist_ok=True)
    page = folder / "benchmarks.md"
    page.write_text(page_text(store), encoding="utf-8", newline="\n")
    return [page, *draw(store, folder)]


def page_text(store: Store) -> str:
    """Return the page."""
    bodies = (
        _opening(store),
        _how(store),
        page_peers.peers_part(store),
        page_peers.ahead_part(store),
        page_growth.growth_part(store),
        _hard(store),
        gripping_part(store),
        middle_part(store),
        _commands(store),
        [row["text"] for row in store.rows(PUBLISHED).values()],
        [row["text"] for row in store.rows(ROUNDING).values()],
    )
    blocks: list[str] = []
    for heading, body in zip(HEADINGS, bodies, strict=True):
        blocks += [heading, *(body or [NOT_MEASURED])]
    return "\n\n".join(block.strip() for block in blocks) + "\n"


def _opening(store: Store) -> list[str]:
    return [
        "Written by `python -m tests.bench` (`pip install -e '.[dev,bench]'` first); not by hand. All machines in it "
        "are invented. Ratios within one run are the claim; seconds only say where they come from."
    ]


def _how(store: Store) -> list[str]:
    rows = [row for part in _measured() for row in store.rows(part).values()]
    found = {name: versions for row in rows for name, versions in row["versions"].items()}
    told = ", ".join(f"{name} {number}" for name, number in sorted(found.items(), key=lambda item: item[0].lower()))
    limits = sorted({row["limit_s"] for part in _parts() for row in store.rows(part).values() if "limit_s" in row})
    mixed = [] if store.one_series(_measured()) else [MIXED]
    return [
        f"{os.cpu_count()} cores, {told}.",
        *[f"A general solver may take {' or '.join(f'{s:g} s' for s in limits)} a call." for _ in limits[:1]],
        *mixed,
        METHOD.strip(),
    ]


def _measured() -> tuple[str, ...]:
    return (*_parts(), GRIP, MIDDLE, COMMANDS, PUBLISHED, ROUNDING)


def _parts() -> tuple[str, ...]:
    return (page_peers.PEERS, page_peers.AHEAD, page_growth.GROWTH, HARD)


def _hard(store: Store) -> list[str]:
    rows = store.rows(HARD)
    if not rows:
        return []
    table = Table(
        ("case", "pairs", "answer", "s", f"below {GOAL_S:g} s", "its twin", "HiGHS on the twin", "HiGHS, s"),
        tuple(_hard_cells(rows)),
    )
    return [
        "Each has a twin on a coarser grid with fewer belts, on which a general solver gives the same answer.",
        table_markdown(table),
    ]


def _hard_cells(rows: dict[str, Row]) -> Iterator[tuple[str, ...]]:
    for name, row in rows.items():
        answer, twin, theirs = row["answer"], row["twin"], row["highs"]
        yield (
            name,
            f"{sum(row['pairs']):,}",
            j_words(answer),
            f"{answer['seconds']:.3f}",
            goal_words(answer["seconds"] < GOAL_S),
            j_words(twin),
            j_words(theirs),
            f"{theirs['seconds']:.1f}",
        )


def _commands(store: Store) -> list[str]:
    rows = store.rows(COMMANDS)
    if not rows:
        return []
    table = Table(
        ("process", "s", "times", "as long as", "goal", "calls"),
        tuple(
            (
                name,
                f"{row['seconds']:.2f}",
                f"{row['ratio']:.2f}",
                row["beside"],
                f"{row['most']:g}: {goal_words(row['ratio'] < row['most'])}" if row["most"] else "",
                str(row["rounds"]),
            )
            for name, row in rows.items()
        ),
    )
    return ["Whole processes, start included, in turn, after one round unmeasured; medians.", table_markdown(table)]


MIXED = "**The rows below were measured on more than one state of the code.**"
METHOD = """
- *This search* builds its pairs within the time given. It is called once unmeasured, then several times: the median.
- *The others* are given the problem as strong as a modeller would write it (`tests/bench/formulation.py`): a binary
  variable for each pair in each position, pairs left out beforehand that no place of the series can use; cells of
  centre distance beside the exact rows where the window is narrow; cumulative rows, one a size, for cones; unevenness
  as half the sum of the stages' spreads. Their pairs come from plain code of the tests, not from the package. Writing
  the problem down is not in their time; it is shown as *formulating*.
- *HiGHS* through `scipy.optimize.milp`, gap 0, logarithms in thousandths so that its tolerances are fine enough.
- *CP-SAT* of OR-tools, two workers. Logarithms are whole numbers of 1e-8, centre distances of 1e-5 mm, each rounded.
- *SCIP* through pyscipopt, gap 0, one thread, logarithms in thousandths.
- *evolution* is `scipy.optimize.differential_evolution`: for each stage a belt, the least centre distance of its
  window, a ratio to aim at for each position; the repair takes the nearest pair in the window. It proves nothing.
- Whatever a solver chooses is worked out again from the sizes, without rounding, and must keep every rule. Where two
  answers cannot both be true (optima more than 1e-7 apart, a design better than a proved one, a design below a bound)
  the script stops with an error. This page exists because it did not.
- An instance is named by its positions, the grid of its sizes, its belts a stage, the window in mm within which the own
  centre distances of a stage's positions must lie; sizes are points, cones run one way. Where an instance is in both
  tables below, HiGHS and CP-SAT were asked once.
- Memory is the most that a process of its own ever held.
"""
