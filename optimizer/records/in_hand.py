"""Whether what is in hand goes round: no sheave, disc or belt used more often than there is of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from optimizer.records.problem import DiscStock, Piece, Problem, SideSizes
from optimizer.records.speeds import HasBelt

__all__ = ["SAME_MM", "Slots", "in_hand_faults", "pieces_reach"]

SAME_MM = 1e-6
"""Two sizes closer than this are one [mm]."""


class Slots(NamedTuple):
    """The steps of one cone that are pulleys, slowest first: their sizes, nothing for other steps."""

    side: SideSizes
    sizes_mm: tuple[float | None, ...]

    @property
    def scarce(self) -> list[int]:
        """The steps that only a piece in hand can be."""
        return [i for i, size in enumerate(self.sizes_mm) if size is not None and _among(size, self.side.scarce_mm)]


def in_hand_faults(problem: Problem, stages: Sequence[HasBelt]) -> Iterator[str]:
    """Yield a sentence for everything of which more is used than there is."""
    if problem.pieces and not pieces_reach(problem.pieces, _slots(problem, stages)):
        yield "more sheaves are used than are in hand"
    if problem.discs and not _discs_reach(problem.discs, _from_discs(problem, stages)):
        yield "more discs are used than are in hand"
    used = Counter((s.belt.section, s.belt.length_mm) for s in stages if not s.belt.sold)
    for s in stages:
        if not s.belt.sold and used[s.belt.section, s.belt.length_mm] > s.belt.in_hand:
            yield f"the belt {s.belt.marking} is used more often than it is in hand"
            return


def pieces_reach(pieces: Sequence[Piece], cones: Sequence[Slots]) -> bool:
    """Tell whether the pieces can be put on the cones so that every step that only they can be is one of them.

    A piece of several grooves takes as many neighbouring steps, either end first, all of its own size; grooves beyond
    an end of the cone stand idle, as far as there is room.
    """
    return _placed(pieces, cones, {piece.key: piece.count for piece in pieces}, frozenset())


def _placed(
    pieces: Sequence[Piece], cones: Sequence[Slots], left: Mapping[str, int], taken: frozenset[tuple[int, int]]
) -> bool:
    """Tell whether the first step not yet served can be served, and all others with it."""
    first = next(((c, step) for c, cone in enumerate(cones) for step in cone.scarce if (c, step) not in taken), None)
    if first is None:
        return True
    number, step = first
    cone = cones[number]
    for piece in pieces:
        if left[piece.key] == 0 or cone.side.key not in piece.sides:
            continue
        for way in dict.fromkeys((piece.steps_mm, piece.steps_mm[::-1])):
            for groove in range(len(way)):
                covered = _covered(cone, way, step - groove)
                if covered is None or any((number, at) in taken for at in covered):
                    continue
                fewer = {**left, piece.key: left[piece.key] - 1}
                if _placed(pieces, cones, fewer, taken | {(number, at) for at in covered}):
                    return True
    return False


def _covered(cone: Slots, grooves_mm: tuple[float, ...], start: int) -> list[int] | None:
    """Return the steps that a piece takes from a start on; nothing where it does not go there."""
    count = len(cone.sizes_mm)
    idle = max(0, -start) + max(0, start + len(grooves_mm) - count)
    if idle > cone.side.overhang:
        return None
    covered = []
    for offset, groove in enumerate(grooves_mm):
        if 0 <= start + offset < count:
            size = cone.sizes_mm[start + offset]
            if size is None or abs(size - groove) > SAME_MM:
                return None
            covered.append(start + offset)
    return covered


def _slots(problem: Problem, stages: Sequence[HasBelt]) -> list[Slots]:
    return [
        Slots(side, tuple(size if source == "ready" else None for size, source in steps))
        for side, steps in _cones(problem, stages)
    ]


def _from_discs(problem: Problem, stages: Sequence[HasBelt]) -> list[float]:
    """Return the diameters [mm] that discs in hand must have at least, one for every step that needs one."""
    return [
        size + side.outside_shift_mm + side.truing_mm
        for side, steps in _cones(problem, stages)
        for size, source in steps
        if source == "turned" and size > side.scarce_above_mm + SAME_MM
    ]


def _cones(problem: Problem, stages: Sequence[HasBelt]) -> Iterator[tuple[SideSizes, list[tuple[float, str]]]]:
    """Yield every cone with the sizes of its steps and where they come from, slowest first."""
    for rules, sizes in zip(problem.stages, stages, strict=True):
        yield rules.driver, [(p.driver_mm, p.driver_source) for p in sizes.positions]
        yield rules.driven, [(p.driven_mm, p.driven_source) for p in sizes.positions]


def _discs_reach(discs: Sequence[DiscStock], needed_mm: Sequence[float]) -> bool:
    """Tell whether there is a disc for every step: the largest step takes the largest disc, and so on."""
    have = sorted((disc.diameter_mm for disc in discs for _ in range(disc.count)), reverse=True)
    wanted = sorted(needed_mm, reverse=True)
    if len(wanted) > len(have):
        return False
    return all(disc >= need - SAME_MM for disc, need in zip(have, wanted, strict=False))


def _among(size_mm: float, sizes_mm: Sequence[float]) -> bool:
    return any(abs(size_mm - other) <= SAME_MM for other in sizes_mm)
