"""Whether what is in hand goes round: sheaves, discs, belts, none of them used more often than there is of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from tests.independent.stated import Machine, Side

__all__ = ["Step", "belts_go_round", "discs_go_round", "sheaves_go_round"]

HAIR = Fraction("1e-6")


class Step(NamedTuple):
    """One step of a cone."""

    datum: Fraction
    source: str


Cones = Mapping[str, tuple[Side, str, Sequence[Step]]]
"""Sides by their place in the scenario, with the section of their belt and their steps, slowest first."""


def sheaves_go_round(machine: Machine, cones: Cones) -> bool:
    """Tell whether every step that is a sheave in hand can be a groove of a piece of its own, all grooves in order.

    All ways of putting pieces on are tried, the step first that has fewest.
    """
    pieces = [(piece, copy) for piece in machine.hand.pieces for copy in range(piece.count)]
    wanted = {
        (key, p) for key, (_, _, steps) in cones.items() for p, step in enumerate(steps) if step.source == "in hand"
    }
    ways: list[tuple[int, frozenset[tuple[str, int]]]] = []
    for number, (piece, _) in enumerate(pieces):
        for key, (side, section, steps) in cones.items():
            if side.hand and piece.section_name == section:
                ways += [(number, way) for way in _ways(key, steps, piece.steps)]

    def served(used: frozenset[int], taken: frozenset[tuple[str, int]]) -> bool:
        left = wanted - taken
        if not left:
            return True
        options = {step: [w for w in ways if step in w[1] and w[0] not in used and not w[1] & taken] for step in left}
        step = min(sorted(options), key=lambda each: len(options[each]))
        return any(served(used | {number}, taken | covered) for number, covered in options[step])

    return served(frozenset(), frozenset())


def _ways(key: str, steps: Sequence[Step], grooves: Sequence[Fraction]) -> list[frozenset[tuple[str, int]]]:
    """Return the sets of steps that one piece can be, either end first; idle grooves beyond an end are left out."""
    found = []
    for way in (tuple(grooves), tuple(grooves)[::-1]):
        for start in range(1 - len(way), len(steps)):
            places = [(start + n, groove) for n, groove in enumerate(way) if 0 <= start + n < len(steps)]
            fits = all(
                steps[p].source in ("in hand", "ready") and abs(steps[p].datum - groove) <= HAIR for p, groove in places
            )
            if fits:
                found.append(frozenset((key, p) for p, _ in places))
    return found


def discs_go_round(machine: Machine, cones: Cones) -> bool:
    """Tell whether every turned step that only a disc in hand is large enough for has one of its own."""
    truing = machine.making["truing"]
    most = machine.making["largest_blank"]
    needed = []
    for side, _, steps in cones.values():
        rim = side.section.rim_shift(side.groove)
        for step in steps:
            outside = step.datum + rim
            free = side.free is not None and step.datum + side.given_shift <= side.free[1] + HAIR
            bought = any(disc >= outside + truing - HAIR for disc in side.blanks if most is None or disc <= most)
            if step.source == "turned" and not free and not bought:
                needed.append(outside + truing)
    have = sorted(
        (size for size, count in machine.hand.discs for _ in range(count) if most is None or size <= most), reverse=True
    )
    wanted = sorted(needed, reverse=True)
    return len(wanted) <= len(have) and all(disc >= need - HAIR for disc, need in zip(have, wanted, strict=False))


def belts_go_round(machine: Machine, lengths: Mapping[str, tuple[str, Fraction, bool]]) -> bool:
    """Tell whether no belt is used that is neither sold nor in hand often enough: section, length, whether sold."""
    used = Counter((section, round(length, 4)) for section, length, sold in lengths.values() if not sold)
    there: Counter[tuple[str, Fraction]] = Counter()
    for section, length, count in machine.hand.belts:
        there[section, round(length, 4)] += count
    return all(there[belt] >= count for belt, count in used.items())
