"""What designs use up of what is in hand: sheaves, discs, belts that cannot be had again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.records import Problem, SideSizes
from optimizer.records.rules import SAME_MM
from optimizer.search.index import PairIndex
from optimizer.search.pairs import READY, TURNED, StagePairs

__all__ = ["StageStock", "Stock"]

Ints = NDArray[np.int64]
Uses = NDArray[np.int16]
"""How much pairs use of something, in as little memory as it takes."""
WHOLE = 60
"""A belt in parts: every position of its stage uses an equal one, whole parts for up to six positions."""


@dataclass(frozen=True)
class StageStock:
    """What every pair of a stage uses up."""

    uses: Ints
    """Shape (pairs, things in hand)."""
    limit: Ints
    """How much there is of every thing."""

    def reaches(self, known: Ints, asked: Ints, rows: Ints) -> NDArray[np.bool_]:
        """Tell whether there is enough for choices made before, (choices, positions), each with one more pair."""
        before = self.uses[known].sum(axis=1, dtype=np.int32)
        return np.asarray((before[asked] + self.uses[rows] <= self.limit).all(axis=1))


@dataclass(frozen=True)
class Stock:
    """What is in hand, with what the pairs of every stage use of it.

    Enough of everything is needed for a design to be possible; where pieces have several grooves more is, which the
    rules of the design itself look at.
    """

    stages: tuple[StageStock, ...]

    @classmethod
    def of(cls, problem: Problem, indexes: tuple[PairIndex, ...]) -> Stock | None:
        """Return what the pairs of the belt stages use, nothing where nothing is scarce; indexes are of all links."""
        columns: list[tuple[list[Uses], int]] = []
        indexes = indexes[len(problem.switches) :]
        columns += _sheaves(problem, indexes)
        columns += _discs(problem, indexes)
        columns += _belts(problem, indexes)
        if not columns:
            return None
        limit = np.array([most for _, most in columns], dtype=np.int64)
        stages = range(len(indexes))
        return cls(tuple(StageStock(np.column_stack([uses[s] for uses, _ in columns]), limit) for s in stages))

    def holds(self, rows: tuple[Ints, ...]) -> NDArray[np.bool_]:
        """Tell which designs there is enough for; rows as those of designs, one array (designs, positions) a link."""
        chosen = rows[len(rows) - len(self.stages) :]
        parts = [stage.uses[each].sum(axis=1, dtype=np.int32) for stage, each in zip(self.stages, chosen, strict=True)]
        return np.asarray((sum(parts[1:], parts[0]) <= self.stages[0].limit).all(axis=1))


def _sides(problem: Problem, indexes: tuple[PairIndex, ...]) -> list[list[tuple[SideSizes, _Column]]]:
    """Return for every stage both sides with their sizes and sources."""
    return [
        [
            (stage.driver, _Column.driver(index.pairs)),
            (stage.driven, _Column.driven(index.pairs)),
        ]
        for stage, index in zip(problem.stages, indexes, strict=True)
    ]


@dataclass(frozen=True)
class _Column:
    """One side of all pairs of a stage."""

    sizes_mm: NDArray[np.float64]
    """As listed."""
    most_mm: NDArray[np.float64]
    """At the largest scale."""
    source: NDArray[np.int8]

    @classmethod
    def driver(cls, pairs: StagePairs) -> _Column:
        return cls(pairs.driver_mm, pairs.driver_mm * pairs.scale_high, pairs.driver_source)

    @classmethod
    def driven(cls, pairs: StagePairs) -> _Column:
        return cls(pairs.driven_mm, pairs.driven_mm * pairs.scale_high, pairs.driven_source)


def _sheaves(problem: Problem, indexes: tuple[PairIndex, ...]) -> list[tuple[list[Uses], int]]:
    """Return the uses of every size of pulley that is scarce somewhere, with how many grooves of it there are."""
    found = []
    groups = sorted({piece.sides for piece in problem.pieces} | {(key,) for p in problem.pieces for key in p.sides})
    for size in sorted({size for piece in problem.pieces for size in piece.steps_mm}):
        for sides in groups:
            there = sum(
                piece.count * sum(abs(step - size) <= SAME_MM for step in piece.steps_mm)
                for piece in problem.pieces
                if set(piece.sides) & set(sides)
            )
            uses = []
            for stage in _sides(problem, indexes):
                total = np.zeros(stage[0][1].sizes_mm.size, dtype=np.int16)
                for side, column in stage:
                    if side.key in sides and _scarce(side, size):
                        total += (column.source == READY) & (np.abs(column.sizes_mm - size) <= SAME_MM)
                uses.append(total)
            found.append((uses, there))
    return found


def _scarce(side: SideSizes, size_mm: float) -> bool:
    return any(abs(size_mm - scarce) <= SAME_MM for scarce in side.scarce_mm)


def _discs(problem: Problem, indexes: tuple[PairIndex, ...]) -> list[tuple[list[Uses], int]]:
    """Return, for every size of disc in hand, how many steps need one as large, with how many there are.

    The discs go round just when that holds for every size, as a larger disc does for every smaller one.
    """
    found = []
    for number, disc in enumerate(problem.discs):
        before = problem.discs[number - 1].diameter_mm if number else 0.0
        there = sum(other.count for other in problem.discs if other.diameter_mm >= disc.diameter_mm)
        uses = []
        for stage in _sides(problem, indexes):
            total = np.zeros(stage[0][1].sizes_mm.size, dtype=np.int16)
            for side, column in stage:
                needed = column.most_mm + side.outside_shift_mm + side.truing_mm
                scarce = column.most_mm > side.scarce_above_mm + SAME_MM
                total += (column.source == TURNED) & scarce & (needed > before + SAME_MM)
            uses.append(total)
        found.append((uses, there))
    return found


def _belts(problem: Problem, indexes: tuple[PairIndex, ...]) -> list[tuple[list[Uses], int]]:
    """Return the uses of every belt that cannot be had again, with how many there are."""
    there = {
        (belt.section, belt.length_mm): belt.in_hand
        for stage in problem.stages
        for belt in stage.belts
        if not belt.sold
    }
    found = []
    for kind, count in sorted(there.items()):
        uses = []
        for stage, index, positions in zip(problem.stages, indexes, problem.layout.positions, strict=True):
            scarce = np.array([not b.sold and (b.section, b.length_mm) == kind for b in stage.belts], dtype=np.bool_)
            uses.append(scarce[index.pairs.belt].astype(np.int16) * (WHOLE // positions))
        found.append((uses, count * WHOLE))
    return found
