"""Machines with a middle shaft whose speeds are free, and chains of three stages beside those of two."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import inf, log
from statistics import median
from time import perf_counter
from typing import NamedTuple

from optimizer.clock import Clock
from optimizer.records.middle import MiddleFound, MiddleProblem
from optimizer.search.middle import search_middle
from tests.bench.answer import ContradictionError
from tests.bench.machines import CHAIN_BANDS, R40_MM, StageSketch, layout_of, machine
from tests.bench.ours import ask_search
from tests.bench.store import Store
from tests.oracle.plain import end_miss
from tests.search.middle_drill import STOCK_MM, drill

__all__ = ["CHAINS", "DRILLS", "MIDDLE", "MOST_GAP", "MOST_TIMES", "PROVED_S", "ChainCase", "DrillCase", "run_middle"]

MIDDLE = "middle"
PROVED_S, STOPPED_S, MOST_GAP, MOST_TIMES = 5.0, 30.0, 0.15, 10.0
"""A proof may take so long; without one a search is stopped then, with this gap left; three stages to two."""
LONG_S = 12.0
"""A search that takes longer is made once."""
ROUNDS = 3


class DrillCase(NamedTuple):
    """A bench drill with 5 mm between listed sizes of 50 to 150 mm, all cones turned."""

    name: str
    belts_mm: Sequence[float]
    travel_mm: float
    shared: bool = True
    to_prove: bool = False
    """Whether it is to be proved; the others may be left with a gap."""

    def make(self) -> MiddleProblem:
        """Return the machine."""
        return drill(5.0, self.belts_mm, self.travel_mm, shared=self.shared)


class ChainCase(NamedTuple):
    """Eight speeds of three stages and of two, with the same sizes and belts on every stage."""

    grid_mm: float
    belts_mm: Sequence[float]
    order: str

    @property
    def name(self) -> str:
        """What it is called."""
        return f"{self.order} stage first, {self.grid_mm:g} mm, belts a stage {len(self.belts_mm)}"


ONE, FOUR = (1250.0,), (1120.0, 1180.0, 1250.0, 1320.0)
DRILLS = (
    DrillCase("shared cone, one belt a stage, 3 mm", (800.0,), 3.0, to_prove=True),
    DrillCase("two cones, one belt a stage, 3 mm", (800.0,), 3.0, shared=False, to_prove=True),
    DrillCase("shared cone, one belt a stage, 12 mm", (800.0,), 12.0),
    DrillCase("shared cone, all stock belts, 3 mm", STOCK_MM, 3.0),
    DrillCase("shared cone, all stock belts, 12 mm", STOCK_MM, 12.0),
)
CHAINS = tuple(
    ChainCase(grid, belts, order)
    for belts in (ONE, FOUR, R40_MM)
    for grid in (10.0, 5.0)
    for order in ("coarse", "fine")
)


def run_middle(cases: Sequence[DrillCase | ChainCase], store: Store, say: Callable[[str], None]) -> None:
    """Time each case, and work the values of its designs out again."""
    for case in cases:
        row = _drilled(case) if isinstance(case, DrillCase) else _chained(case)
        say(f"{case.name}: {row}")
        store.keep(MIDDLE, case.name, row)


def _drilled(case: DrillCase) -> dict[str, object]:
    """Search a drill, the first of several calls unmeasured where they are short."""
    problem = case.make()
    times: list[float] = []
    while len(times) <= ROUNDS and (not times or times[0] < LONG_S):
        start = perf_counter()
        found = search_middle(problem, Clock(STOPPED_S, most=inf))
        times.append(perf_counter() - start)
    proof = found.proof
    if abs(exact_f(problem, found) - proof.listed) > 1e-9:
        raise ContradictionError(f"{case.name}: the search says F = {proof.listed}, its design has another")
    return {
        "kind": "drill",
        "pairs": sum(proof.pairs),
        "status": proof.status,
        "f": proof.listed,
        "gap": 1 - proof.bound / proof.listed,
        "end_miss": found.end_miss,
        "distinct": found.distinct,
        "examined": proof.examined,
        "seconds": median(times[1:] or times),
        "to_prove": case.to_prove,
    }


def _chained(case: ChainCase) -> dict[str, object]:
    """Search both machines, each once unmeasured."""
    row: dict[str, object] = {"kind": "chain"}
    for positions in ((2, 4), (2, 2, 2)):
        sketch = StageSketch(case.grid_mm, case.belts_mm, 5.0, rays=True)
        problem = machine(layout_of(positions, case.order), [sketch] * len(positions), CHAIN_BANDS)
        answer, pairs = ask_search(problem, ROUNDS)
        row["x".join(map(str, positions))] = {**answer._asdict(), "pairs": sum(pairs)}
    return row


def exact_f(problem: MiddleProblem, found: MiddleFound) -> float:
    """Return F of a design, from its sizes and plain arithmetic.

    Raises
    ------
    ContradictionError
        If there is no design; that it keeps every rule is what its record holds.
    """
    if found.candidate is None:
        raise ContradictionError(f"no design: {found.proof.reason}")
    targets = problem.targets
    ratios = [
        [log(rules.gain * (1 - rules.slip) * p.driver_mm / p.driven_mm) for p in sizes.positions]
        for rules, sizes in zip(problem.stages, found.candidate.stages, strict=True)
    ]
    ahead = log(problem.motor_rpm * problem.gain_out)
    logs = sorted(ahead + ratios[0][i] + ratios[1][j] for i, j in problem.positions)
    miss, gap = end_miss(logs, targets.lo_rpm, targets.hi_rpm), max(b - a for a, b in pairwise(logs))
    return targets.end_weight * miss + targets.unevenness_weight * gap
