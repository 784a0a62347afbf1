"""What limits of grip cost a search: one that does not bind, one that does, the greatest grip."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from statistics import median
from time import perf_counter
from typing import NamedTuple

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.documents.blocks import Table
from optimizer.documents.markdown import table_markdown
from optimizer.records.grip import grip_of
from optimizer.records.problem import Problem
from optimizer.search import look
from tests.bench.machines import CHAIN_BANDS, R40_MM, SINGLE_BANDS, Band, StageSketch, layout_of, machine
from tests.bench.page_words import goal_words
from tests.bench.store import Store

__all__ = ["GRIPS", "PART", "GripCase", "gripping_part", "run_gripping"]

PART = "grip"
MOST_SHARE, MOST_S, BINDING_S = 1.5, 0.1, 3.0
"""A limit that does not bind may take this many times, and this much more; one that binds may take so long."""
POWER_KW = 0.75
ROUNDS = 5


class GripCase(NamedTuple):
    """A machine whose belts of section A carry the motor's power at every speed."""

    name: str
    positions: tuple[int, ...]
    order: str
    bands: tuple[Band, ...]
    grid_mm: float

    def make(self, grip: float = 0.0) -> Problem:
        """Return the machine with a grip as a limit."""
        sketch = StageSketch(self.grid_mm, R40_MM, 5.0, rays=True)
        bare = machine(layout_of(self.positions, self.order), [sketch] * len(self.positions), self.bands)
        bands = tuple(band.model_copy(update={"power_kw": POWER_KW}) for band in bare.targets.bands)
        targets = bare.targets.model_copy(update={"bands": bands, "power_kw": POWER_KW, "least_grip": grip})
        stages = tuple(stage.model_copy(update={"ratings": ratings_of(section("A"))}) for stage in bare.stages)
        return bare.model_copy(update={"targets": targets, "stages": stages})


def _case(positions: tuple[int, ...], order: str, grid_mm: float) -> GripCase:
    bands = CHAIN_BANDS if len(positions) > 1 else SINGLE_BANDS
    title = "x".join(map(str, positions)) + (f" {order} first" if len(positions) > 1 else "")
    return GripCase(f"{title}, {grid_mm:g} mm, 15 belts a stage", positions, order, bands, grid_mm)


GRIPS = (
    _case((5,), "coarse", 5.0),
    _case((4,), "coarse", 5.0),
    _case((4,), "coarse", 1.0),
    _case((2, 3), "coarse", 5.0),
    _case((2, 3), "fine", 5.0),
    _case((2, 4), "coarse", 5.0),
    _case((2, 4), "fine", 5.0),
    _case((2, 4), "fine", 2.0),
)


def run_gripping(cases: Sequence[GripCase], store: Store, say: Callable[[str], None]) -> None:
    """Time each machine without a limit, with half of its best design's grip, with a tenth more than that has."""
    for case in cases:
        free = look(case.make())
        assert free.found.candidate is not None
        grip = grip_of(free.found.candidate.problem, free.found.candidate.stages)
        times = [_median(case.make(limit)) for limit in (0.0, 0.5 * grip, 1.1 * grip)]
        held = look(case.make(1.1 * grip)).found.proof
        start = perf_counter()
        greatest = free.greatest_grip()
        sweep = perf_counter() - start
        assert greatest is not None
        say(f"{case.name}: grip {grip:.2f}, {times}, greatest {greatest.grip:.2f} in {sweep:.2f} s")
        row = {
            "grip": grip,
            "times": times,
            "j": free.found.proof.listed,
            "held": [held.status, held.listed if held.listed < 1e9 else None],
            "greatest": greatest.grip,
            "greatest_proved": greatest.proved,
            "sweep": sweep,
        }
        store.keep(PART, case.name, row)


def _median(problem: Problem) -> float:
    times = []
    for _ in range(ROUNDS + 1):
        start = perf_counter()
        look(problem)
        times.append(perf_counter() - start)
    return median(times[1:])


def gripping_part(store: Store) -> list[str]:
    """Return the page's part."""
    rows = store.rows(PART)
    if not rows:
        return []
    heads = (
        "machine",
        "grip of the best J",
        "without, s",
        "half of it, s",
        f"at most {MOST_SHARE:g} times and {MOST_S:g} s",
        "1.1 times it, s",
        f"below {BINDING_S:g} s",
        "then J",
        "greatest grip",
        "found in, s",
    )
    lines = []
    for name, row in rows.items():
        free, loose, binding = row["times"]
        status, j = row["held"]
        lines.append(
            (
                name,
                f"{row['grip']:.2f}",
                f"{free:.3f}",
                f"{loose:.3f}",
                goal_words(loose <= MOST_SHARE * free + MOST_S),
                f"{binding:.3f}",
                goal_words(binding < BINDING_S),
                f"{j:.6f}, {status}" if j is not None else status,
                f"{row['greatest']:.2f}{'' if row['greatest_proved'] else ', not proved'}",
                f"{row['sweep']:.2f}",
            )
        )
    return [
        "Belts of section A that must carry 0.75 kW at every speed. A limit of half the grip of the design of least J "
        "does not bind; one of 1.1 times that grip does. The greatest grip is that of J up to 0.02 more, in ticks of "
        "0.05, with proof.",
        table_markdown(Table(heads, tuple(lines))),
    ]
