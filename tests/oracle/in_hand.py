"""Whether what is in hand goes round, by trying every way to put every single piece somewhere, or nowhere."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

from optimizer.records.candidate import StageSizes
from optimizer.records.problem import Problem, SideSizes

__all__ = ["goes_round"]

SAME_MM = 1e-6


def goes_round(problem: Problem, stages: Sequence[StageSizes]) -> bool:
    """Tell whether nothing in hand is used more often than there is of it."""
    return _sheaves(problem, stages) and _discs(problem, stages) and _belts(problem, stages)


def _cones(problem: Problem, stages: Sequence[StageSizes]) -> list[tuple[SideSizes, list[tuple[float, str]]]]:
    cones = []
    for rules, sizes in zip(problem.stages, stages, strict=True):
        cones.append((rules.driver, [(p.driver_mm, str(p.driver_source)) for p in sizes.positions]))
        cones.append((rules.driven, [(p.driven_mm, str(p.driven_source)) for p in sizes.positions]))
    return cones


def _sheaves(problem: Problem, stages: Sequence[StageSizes]) -> bool:
    cones = _cones(problem, stages)
    needed = {
        (cone, step)
        for cone, (side, steps) in enumerate(cones)
        for step, (size, source) in enumerate(steps)
        if source == "ready" and any(abs(size - scarce) < SAME_MM for scarce in side.scarce_mm)
    }
    single = [piece for piece in problem.pieces for _ in range(piece.count)]

    def fill(number: int, free: frozenset[tuple[int, int]], missing: frozenset[tuple[int, int]]) -> bool:
        if not missing:
            return True
        if number == len(single):
            return False
        if fill(number + 1, free, missing):
            return True
        piece = single[number]
        for cone, (side, steps) in enumerate(cones):
            if side.key not in piece.sides:
                continue
            for grooves in (piece.steps_mm, piece.steps_mm[::-1]):
                for start in range(1 - len(grooves), len(steps)):
                    inside = [i for i in range(len(grooves)) if 0 <= start + i < len(steps)]
                    spots = {(cone, start + i) for i in inside}
                    if (
                        len(grooves) - len(inside) <= side.overhang
                        and spots <= free
                        and all(steps[start + i][1] == "ready" for i in inside)
                        and all(abs(steps[start + i][0] - grooves[i]) < SAME_MM for i in inside)
                        and fill(number + 1, free - spots, missing - spots)
                    ):
                        return True
        return False

    every = frozenset((cone, step) for cone, (_, steps) in enumerate(cones) for step in range(len(steps)))
    return fill(0, every, frozenset(needed))


def _discs(problem: Problem, stages: Sequence[StageSizes]) -> bool:
    """Tell whether some order of the discs serves the steps that need one."""
    needs = [
        size + side.outside_shift_mm + side.truing_mm
        for side, steps in _cones(problem, stages)
        for size, source in steps
        if source == "turned" and size > side.scarce_above_mm + SAME_MM
    ]
    discs = [disc.diameter_mm for disc in problem.discs for _ in range(disc.count)]
    if len(needs) > len(discs):
        return False
    return any(
        all(disc >= need - SAME_MM for disc, need in zip(order, needs, strict=True))
        for order in permutations(discs, len(needs))
    )


def _belts(problem: Problem, stages: Sequence[StageSizes]) -> bool:
    used = [(stage.belt.section, stage.belt.length_mm) for stage in stages if not stage.belt.sold]
    there = {(b.section, b.length_mm): b.in_hand for rules in problem.stages for b in rules.belts if not b.sold}
    return all(used.count(kind) <= there[kind] for kind in used)
