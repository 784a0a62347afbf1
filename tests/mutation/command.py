"""The command: which mutants, how many at once, what is kept of it."""

from __future__ import annotations

import random
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

# loaded here so that no copy has to
import hypothesis
import numpy
import pydantic
import pytest
import scipy.optimize

from tests.mutation.judging import Verdict, judge
from tests.mutation.mutants import Mutant, mutants_of
from tests.mutation.page import write_page
from tests.mutation.results import Results
from tests.mutation.rooms import ROOMS, ROOT, Room

__all__ = ["main"]

LOADED = (hypothesis, numpy, pydantic, pytest, scipy.optimize)


def main(arguments: Sequence[str]) -> int:
    """Judge mutants and keep the results; return 1 where fewer are noticed than must be."""
    asked = _arguments().parse_args(arguments)
    results = Results()
    for room in [ROOMS[name] for name in asked.rooms or ROOMS]:
        if asked.page:
            continue
        mutants = _asked_for(room, asked, results)
        if not mutants:
            continue
        print(f"== {room.name}: {len(mutants)} mutants", flush=True)
        verdicts = judge(room, mutants, asked.workers, _say)
        results.keep(room, verdicts, seed=asked.seed, renewed=asked.survivors)
    print(results.table())
    print(f"written: {write_page()}")
    return 0 if all(results.enough(name) for name in ROOMS) else 1


def _arguments() -> ArgumentParser:
    parser = ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("rooms", nargs="*", metavar="room", help=f"some of: {', '.join(ROOMS)} (all)")
    parser.add_argument("--workers", type=int, default=1, help="mutants judged at once (1)")
    parser.add_argument("--modules", nargs="*", default=[], help="files of the room, without their ending (all)")
    parser.add_argument("--sample", type=int, help="how many of each module, drawn at random (all)")
    parser.add_argument("--seed", type=int, default=0, help="seed of the draw (0)")
    parser.add_argument("--survivors", action="store_true", help="only those that nothing noticed the last time")
    parser.add_argument("--page", action="store_true", help="judge nothing, print and write what is known")
    return parser


def _asked_for(room: Room, asked: Namespace, results: Results) -> list[Mutant]:
    found: list[Mutant] = []
    for path in room.files():
        if asked.modules and path.stem not in asked.modules:
            continue
        mutants = mutants_of(path, ROOT)
        if asked.survivors:
            mutants = [mutant for mutant in mutants if mutant.key in results.survivors]
        elif asked.sample is not None and asked.sample < len(mutants):
            drawn = set(random.Random(f"{asked.seed} {path.name}").sample(range(len(mutants)), asked.sample))
            mutants = [mutant for mutant in mutants if mutant.number in drawn]
        found += mutants
    return found


def _say(verdict: Verdict) -> None:
    """Tell of what was not noticed, and with a dot of what was."""
    if verdict.killed:
        print(".", end="", file=sys.stderr, flush=True)
    else:
        print(f"{verdict.how}: {verdict.mutant.line}: {verdict.mutant.key}", file=sys.stderr, flush=True)
