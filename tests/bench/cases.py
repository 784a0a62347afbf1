"""The instances on which the search is held against general solvers."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import NamedTuple

from optimizer.records.problem import Problem
from tests.bench.machines import (
    CHAIN_BANDS,
    SINGLE_BANDS,
    StageSketch,
    even_chain,
    even_single,
    layout_of,
    machine,
)

__all__ = ["AHEAD", "PEERS", "TINY", "Case"]


class Case(NamedTuple):
    """A named instance."""

    name: str
    make: Callable[[], Problem]
    known: float | None = None
    """Its optimum, where it is known from elsewhere."""


class _Sketch(NamedTuple):
    """An instance in J: points, a cone on either side of every stage."""

    positions: tuple[int, ...]
    grid_mm: float
    belts: tuple[tuple[float, ...], ...]
    window_mm: float
    order: str = "coarse"


def _in_j(sketch: _Sketch) -> Problem:
    bands = SINGLE_BANDS if len(sketch.positions) == 1 else CHAIN_BANDS
    if sketch.positions == (3,):
        bands = (SINGLE_BANDS[0], (*SINGLE_BANDS[1][:2], 1))
    stages = [StageSketch(sketch.grid_mm, belts, sketch.window_mm) for belts in sketch.belts]
    return machine(layout_of(sketch.positions, sketch.order), stages, bands)


def _case(
    positions: tuple[int, ...],
    grid_mm: float,
    belts: tuple[tuple[float, ...], ...],
    window_mm: float,
    order: str = "coarse",
) -> Case:
    made = _Sketch(positions, grid_mm, belts, window_mm, order)
    numbers = " and ".join(str(len(row)) for row in belts)
    order_in_words = f" {order} first" if len(positions) > 1 else ""
    name = f"{'x'.join(map(str, positions))}{order_in_words}, {grid_mm:g} mm, belts {numbers}, window {window_mm:g}"
    return Case(name, partial(_in_j, made))


B, C, D = (1250.0,), (1250.0, 1320.0), (1120.0, 1180.0, 1250.0, 1320.0)

# least unevenness alone, one belt a stage; optima found by other exact methods before
_EVEN = (
    Case("4, 5 mm, unevenness alone, window 0.5", partial(even_single, 5, 4, 0.5), 0.18050667),
    Case("4, 5 mm, unevenness alone, window 6", partial(even_single, 5, 4, 6.0), 0.00034704),
    Case("5, 5 mm, unevenness alone, window 6", partial(even_single, 5, 5, 6.0), 0.00193311),
)
PEERS = (
    *_EVEN,
    Case("2x4 coarse first, 15 mm, unevenness alone", partial(even_chain, 15), 0.00165589497),
    Case("2x4 coarse first, 10 mm, unevenness alone", partial(even_chain, 10), 0.00050882219),
    _case((3,), 10, (B,), 4.0),
    _case((3,), 10, (D,), 4.0),
    _case((3,), 5, (B,), 0.5),
    _case((3,), 2, (B,), 0.5),
    _case((4,), 10, (B,), 4.0),
    _case((4,), 10, (C,), 5.0),
    _case((4,), 10, (D,), 5.0),
    _case((4,), 5, (B,), 4.0),
    _case((4,), 5, (C,), 5.0),
    _case((5,), 10, (B,), 4.0),
    _case((5,), 10, (C,), 5.0),
    _case((5,), 10, (D,), 5.0),
    _case((5,), 5, (B,), 4.0),
    _case((6,), 10, (B,), 5.0),
    _case((6,), 10, (C,), 5.0),
    _case((2, 3), 15, (C, C), 5.0),
    _case((2, 3), 15, (D, D), 5.0, "fine"),
    _case((2, 3), 10, (B, B), 5.0),
    _case((2, 3), 10, (C, C), 5.0, "fine"),
    _case((2, 3), 5, (B, B), 5.0),
    _case((2, 4), 15, (C, C), 5.0, "fine"),
    _case((2, 4), 10, (B, B), 5.0),
)
"""What every solver is asked."""

AHEAD = (
    *_EVEN,
    _case((3,), 2, (B,), 0.5),
    _case((4,), 5, (C,), 5.0),
    _case((4,), 5, (D,), 5.0),
    _case((4,), 2, (B,), 4.0),
    _case((5,), 5, (C,), 5.0),
    _case((5,), 5, (D,), 5.0),
    _case((6,), 5, (C,), 5.0),
    _case((2, 3), 5, (B, B), 5.0),
    _case((2, 3), 5, (C, C), 5.0, "fine"),
    _case((2, 4), 5, (B, B), 5.0),
)
"""What the goals of speed are measured on: sizes that a shop would state."""

TINY = _case((3,), 10, (B,), 4.0)
"""One instance that any solver closes at once."""
