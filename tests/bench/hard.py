"""Cases that are hard for a search, each with a small twin that a general solver closes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import inf
from typing import NamedTuple

from optimizer.records.problem import Problem
from tests.bench.answer import ContradictionError, hold_against
from tests.bench.highs import ask_highs
from tests.bench.machines import CHAIN_BANDS, R40_MM, Band, StageSketch, layout_of, machine
from tests.bench.ours import ask_search
from tests.bench.store import Store
from tests.oracle.milp import formulate, tables_of

__all__ = ["GOAL_S", "HARD", "PART", "HardCase", "run_hard"]

PART = "hard"
GOAL_S = 2.0
TILTED: tuple[Band, ...] = ((200, 450, 3), (450, 1000, 1), (1000, 2200, 2))
"""An even series of six from 200 to 2200 rpm has only two speeds below 450."""
TILTED_EIGHT: tuple[Band, ...] = ((180, 480, 4), (480, 1000, 2), (1000, 2200, 2))
"""An even series of eight from 180 to 2200 rpm has only three speeds below 480."""
WIDE: tuple[Band, ...] = ((60, 300, 2), (300, 1500, 2), (1500, 7000, 2))
"""117 to 1, from two stages that reach about 88 to 1 before any limit of belt or wrap."""
CROWDED: tuple[Band, ...] = ((180, 443, 4), (443, 1000, 2), (1000, 2200, 2))
"""The same with the edge so low that real diameters could just do it, but no listed ones."""


class HardCase(NamedTuple):
    """A case with what must come out."""

    name: str
    make: Callable[[], Problem]
    twin: Callable[[], Problem]
    """The same on a coarse grid of points, small enough for a general solver."""
    has_design: bool


def _chain(
    positions: tuple[int, ...], bands: Sequence[Band], sketch: StageSketch, cap: float = 0.1
) -> Callable[[], Problem]:
    return partial(machine, layout_of(positions), [sketch] * len(positions), bands, cap=cap)


def _pair(
    name: str, positions: tuple[int, ...], bands: Sequence[Band], cap: float = 0.1, *, has_design: bool
) -> HardCase:
    return HardCase(
        name,
        _chain(positions, bands, StageSketch(5.0, R40_MM, 5.0, rays=True), cap),
        _chain(positions, bands, StageSketch(10.0, (1250.0, 1320.0), 5.0), cap),
        has_design,
    )


SIXTY = tuple(round(900 + 1100 * k / 59, 1) for k in range(60))
LOCKED = StageSketch(5.0, R40_MM, 1e-4)
HARD = (
    _pair("wants that no geometric series meets", (2, 3), TILTED, has_design=True),
    _pair("the same of eight speeds", (2, 4), TILTED_EIGHT, has_design=True),
    _pair("a reach wider than the machine can cover", (2, 3), WIDE, 1.0, has_design=True),
    _pair("the same within the usual 10 % of end miss", (2, 3), WIDE, has_design=False),
    HardCase(
        "nothing fits: shafts that do not move at all, bought sizes",
        _chain((2, 4), CHAIN_BANDS, LOCKED),
        _chain((2, 4), CHAIN_BANDS, LOCKED._replace(grid_mm=10.0, belts_mm=(1250.0, 1320.0))),
        has_design=False,
    ),
    _pair("one speed too many wanted", (2, 4), CROWDED, has_design=False),
    HardCase(
        "60 stock lengths a stage",
        _chain((2, 4), CHAIN_BANDS, StageSketch(5.0, SIXTY, 5.0, rays=True)),
        _chain((2, 4), CHAIN_BANDS, StageSketch(10.0, SIXTY[15:19], 5.0)),
        has_design=True,
    ),
)


def run_hard(cases: Sequence[HardCase], store: Store, limit_s: float, say: Callable[[str], None]) -> None:
    """Time each case, and hold its twin against a general solver.

    Raises
    ------
    ContradictionError
        If the case or its twin comes out as it must not.
    """
    for case in cases:
        answer, pairs = ask_search(case.make(), 3)
        say(f"{case.name}: {answer.status}, J {answer.j}, {answer.seconds:.3f} s")
        if answer.status == "time" or (answer.j < inf) != case.has_design:
            raise ContradictionError(f"{case.name}: {answer.status}")
        problem = case.twin()
        ours, _ = ask_search(problem, 1)
        theirs = ask_highs(formulate(problem, tables_of(problem)), limit_s)
        say(f"  twin: {ours.status} {ours.j} in {ours.seconds:.3f} s, HiGHS {theirs.status} in {theirs.seconds:.2f} s")
        hold_against(ours, theirs)
        row = {"pairs": pairs, "answer": answer._asdict(), "twin": ours._asdict(), "highs": theirs._asdict()}
        store.keep(PART, case.name, row)
