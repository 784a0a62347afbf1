"""Measures, then writes docs/benchmarks.md with its plots: ``python -m tests.bench --help``."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol, TypeVar

from tests.bench.ahead import run_ahead
from tests.bench.cases import AHEAD, PEERS, TINY
from tests.bench.commands import calls, run_commands
from tests.bench.gripping import GRIPS, run_gripping
from tests.bench.growing import every_measured
from tests.bench.growth import run_growth
from tests.bench.hard import HARD, run_hard
from tests.bench.middle import CHAINS, DRILLS, run_middle
from tests.bench.page import write_page
from tests.bench.peers import OTHERS, Asked, run_peers
from tests.bench.published import published_problem
from tests.bench.rounding import rounding_table
from tests.bench.store import FOLDER, ROOT, Store
from tests.bench.taxing import CASES, MACHINES, run_random, run_taxing

__all__ = ["main"]

PARTS = ("published", "rounding", "commands", "hard", "grip", "middle", "ahead", "growth", "taxing", "random", "peers")


class HasName(Protocol):
    """A row to be measured."""

    @property
    def name(self) -> str:
        """What it is called, on the page and in the store."""


Named = TypeVar("Named", bound=HasName)


def main(arguments: Sequence[str]) -> int:
    """Measure the parts asked for, all of them unless told, and write the page from all that is known."""
    asked = _arguments().parse_args(arguments)
    store = Store(asked.store)
    cases = [TINY] if asked.tiny else _some(PEERS, asked, store.fresh("peers"))
    runs: dict[str, Callable[[], None]] = {
        "published": lambda: store.keep("published", "text", {"text": published_problem()}),
        "rounding": lambda: store.keep("rounding", "text", {"text": rounding_table()}),
        "commands": lambda: run_commands(calls(), store, asked.rounds, _say),
        "hard": lambda: run_hard(_some(HARD, asked, store.fresh("hard")), store, asked.limit, _say),
        "grip": lambda: run_gripping(_some(GRIPS, asked, store.fresh("grip")), store, _say),
        "middle": lambda: run_middle(_some([*DRILLS, *CHAINS], asked, store.fresh("middle")), store, _say),
        "ahead": lambda: run_ahead(_some(AHEAD, asked, store.fresh("ahead")), store, _asked(asked), _say),
        "growth": lambda: run_growth(_some(list(every_measured().values()), asked, store.fresh("growth")), store, _say),
        "taxing": lambda: run_taxing(_some(CASES, asked, store.fresh("taxing")), store, _say),
        "random": lambda: run_random(store, _say, asked.machines),
        "peers": lambda: run_peers(cases, store, _asked(asked), _say),
    }
    parts = [] if asked.page else [part for part in PARTS if part in (asked.parts or PARTS)]
    for part in parts:
        _say(f"== {part}")
        runs[part]()
    for path in write_page(store, asked.docs):
        _say(f"written: {path}")
    return 0


def _arguments() -> ArgumentParser:
    parser = ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("parts", nargs="*", help=f"some of: {', '.join(PARTS)} (all)")
    parser.add_argument("--limit", type=float, default=60.0, help="seconds that a general solver may take (60)")
    parser.add_argument("--rounds", type=int, default=5, help="calls of which the median is taken (5)")
    parser.add_argument("--only", type=int, nargs="*", default=[], help="numbers of the rows to measure, from 1 (all)")
    parser.add_argument("--solvers", nargs="*", default=list(OTHERS), help="whom to ask (all)")
    parser.add_argument("--machines", type=int, default=MACHINES, help=f"how many random machines ({MACHINES})")
    parser.add_argument("--missing", action="store_true", help="leave out rows measured on the code as it is")
    parser.add_argument("--tiny", action="store_true", help="one tiny instance for the peers, to see that all works")
    parser.add_argument("--store", type=Path, default=FOLDER, help="folder for what is measured")
    parser.add_argument("--docs", type=Path, default=ROOT / "docs", help="folder for the page")
    parser.add_argument("--page", action="store_true", help="measure nothing, write the page from what is known")
    return parser


def _some(rows: Sequence[Named], asked: Namespace, known: set[str]) -> list[Named]:
    chosen = [row for number, row in enumerate(rows, 1) if not asked.only or number in asked.only]
    return [row for row in chosen if not (asked.missing and row.name in known)]


def _asked(asked: Namespace) -> Asked:
    return Asked(asked.limit, asked.rounds, tuple(asked.solvers))


def _say(text: str) -> None:
    print(text, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
