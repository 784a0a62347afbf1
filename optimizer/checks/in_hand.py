"""Checks that what is in hand goes round, worked out with a general solver."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf
from typing import NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from optimizer.catalogue.lines import shifts
from optimizer.checks.sizes import pulley_places
from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.travel import off_sold_mm
from optimizer.checks.verdict import Check, Rule, at_most
from optimizer.scenario import Sheave
from optimizer.scenario.in_hand import takes

__all__ = ["belts_in_hand", "discs_in_hand", "idle_grooves", "in_hand_checks", "pieces_in_hand", "steps_in_hand"]

SAME_MM = 1e-6
HALF = 0.5
OPTIMAL = 0
"""Status of scipy's solver where it has the best answer."""
FIRST = 1e-5
"""What a way counts less than the one before it, so that of equal ones the first is taken whatever the solver does."""
SAME_LENGTH_MM = 0.5
"""Belts whose lengths are closer than this are one."""
STATED = "stated by the maker"
Step = tuple[str, int]
"""Place of a cone in the scenario, position from 0."""


def in_hand_checks(machine: Machine) -> Iterator[Check]:
    """Yield the checks that no more sheaves, discs, belts in hand are used than there are."""
    there = machine.scenario.in_hand
    if there.sheaves:
        scarce = _scarce_pulleys(machine)
        missing = scarce - steps_in_hand(machine)
        note = f"{len(scarce)} steps can only be sheaves in hand"
        yield at_most(Rule("sheaves in hand go round", "impossible", 0.0, "", STATED), "in_hand", len(missing), note)
    needs = _disc_needs(machine)
    if needs:
        note = f"{len(needs)} steps come from discs in hand"
        missing_discs = len(needs.keys() - discs_in_hand(machine).keys())
        yield at_most(Rule("discs in hand go round", "impossible", 0.0, "", STATED), "in_hand", missing_discs, note)
    scarce_belts = [number for number, pair in enumerate(machine.pairs) if _only_in_hand(machine, pair)]
    if scarce_belts:
        note = f"{len(scarce_belts)} stages run on belts that cannot be bought"
        found = belts_in_hand(machine)
        missing_belts = sum(not found[number] for number in scarce_belts)
        yield at_most(Rule("belts in hand go round", "impossible", 0.0, "", STATED), "in_hand", missing_belts, note)


def steps_in_hand(machine: Machine) -> frozenset[Step]:
    """Return the steps that are sheaves in hand: those that can be nothing else before all others.

    A linear program over every way to put a piece on a cone, each in or out: no step under two pieces, no more pieces
    of a kind than there are, as many steps served as can be, a scarce one worth more than all others together.
    """
    return frozenset(step for placing in pieces_in_hand(machine) for step in placing.steps)


def idle_grooves(machine: Machine, cone: Cone) -> int:
    """Return how many grooves of pieces in hand stand idle beyond the ends of a cone."""
    return sum(len(placing.idle_mm) for placing in pieces_in_hand(machine) if placing.steps[0][0] == cone.key)


def belts_in_hand(machine: Machine) -> tuple[bool, ...]:
    """Return for every stage whether its belt is there already, motor first.

    One belt serves one stage, those first whose belt cannot be bought.
    """
    left = [belt.count for belt in machine.scenario.in_hand.belts]
    found = set()
    for number, pair in sorted(
        enumerate(machine.pairs), key=lambda item: (not _only_in_hand(machine, item[1]), item[0])
    ):
        own = next((kind for kind in _kinds_of_belt(machine, pair) if left[kind]), None)
        if own is not None:
            left[own] -= 1
            found.add(number)
    return tuple(number in found for number in range(len(machine.pairs)))


def _kinds_of_belt(machine: Machine, pair: Pair) -> list[int]:
    """Return which of the belts in hand are such as a stage runs on, the nearest in length first."""
    kinds = [
        (abs(belt.datum_length_mm - pair.built.datum_length_mm), number)
        for number, belt in enumerate(machine.scenario.in_hand.belts)
        if belt.section == pair.built.section
    ]
    return [number for off, number in sorted(kinds) if off < SAME_LENGTH_MM]


def _only_in_hand(machine: Machine, pair: Pair) -> bool:
    """Tell whether a stage runs on a belt that is in hand and cannot be bought."""
    return bool(_kinds_of_belt(machine, pair)) and off_sold_mm(pair)[0] >= SAME_LENGTH_MM


class Placing(NamedTuple):
    """One piece put on a cone."""

    kind: int
    """Which of the sheaves stated."""
    steps: tuple[Step, ...]
    """The steps it is."""
    idle_mm: tuple[float, ...]
    """Diameters over the rim of its grooves beyond the ends of the cone."""


def pieces_in_hand(machine: Machine) -> tuple[Placing, ...]:
    """Return the pieces used; of equal ways the one with fewest idle grooves, of these that of the pieces first stated.

    None where the solver ends without an answer: all is then to be bought.
    """
    return machine.once("pieces in hand", lambda: _served(_placings(machine), machine))


def _served(placings: Sequence[Placing], machine: Machine) -> tuple[Placing, ...]:
    if not placings:
        return ()
    scarce = _scarce_pulleys(machine)
    steps = sorted({step for placing in placings for step in placing.steps})
    worth = np.array(
        [
            sum(100.0 if step in scarce else 1.0 for step in p.steps) - 0.01 * len(p.idle_mm) - FIRST * number
            for number, p in enumerate(placings)
        ]
    )
    once = np.array([[step in placing.steps for placing in placings] for step in steps], dtype=float)
    sheaves = machine.scenario.in_hand.sheaves
    kinds = np.array([[placing.kind == kind for placing in placings] for kind in range(len(sheaves))], dtype=float)
    counts = np.array([sheave.count for sheave in sheaves], dtype=float)
    answer = milp(
        -worth,
        integrality=np.ones(len(placings), dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(once, ub=1.0), LinearConstraint(kinds, ub=counts)],
        options={"mip_rel_gap": 0.0},
    )
    if answer.status != OPTIMAL or answer.x is None:
        return ()
    return tuple(p for p, x in zip(placings, answer.x, strict=True) if x > HALF)


def _placings(machine: Machine) -> list[Placing]:
    """Return every way to put a piece in hand on a cone; its grooves beyond an end of the cone stand idle."""
    found = []
    for pair in machine.pairs:
        for cone in pair.cones:
            pulleys = frozenset(pulley_places(cone))
            for kind, sheave in enumerate(machine.scenario.in_hand.sheaves):
                if not takes(pair.stage, cone.side, sheave):
                    continue
                sizes = _outside_mm(cone, sheave)
                for way in dict.fromkeys((sizes, sizes[::-1])):
                    for start in range(1 - len(way), cone.positions):
                        places = range(max(start, 0), min(start + len(way), cone.positions))
                        if all(p in pulleys and abs(cone.outside_mm[p] - way[p - start]) < SAME_MM for p in places):
                            steps = tuple((cone.key, p) for p in places)
                            idle = tuple(way[n] for n in range(len(way)) if start + n not in places)
                            found.append(Placing(kind, steps, idle))
    return found


def _outside_mm(cone: Cone, sheave: Sheave) -> tuple[float, ...]:
    lines = shifts(cone.section, cone.side.groove)
    return tuple(size + lines.outside_less_datum - lines.of(sheave.measured) for size in sheave.steps_mm)


def _scarce_pulleys(machine: Machine) -> frozenset[Step]:
    """Return the steps that are pulleys of which no more can be had than are in hand."""
    return frozenset(
        (cone.key, place)
        for pair in machine.pairs
        for cone in pair.cones
        if cone.side.sheaves_in_hand
        for place in pulley_places(cone)
        if all(abs(cone.outside_mm[place] + cone.given_less_outside_mm - r) > SAME_MM for r in cone.side.ready_mm)
    )


def _turned_needs(machine: Machine) -> Iterator[tuple[Cone, Step, float]]:
    """Yield the turned steps that may come from discs in hand, with the disc [mm] each needs at least."""
    for pair in machine.pairs:
        for cone in pair.cones:
            if cone.side.discs_in_hand:
                for place, (size, turned) in enumerate(zip(cone.outside_mm, cone.turned, strict=True)):
                    if turned:
                        yield cone, (cone.key, place), size + machine.scenario.making.truing_mm


def _disc_needs(machine: Machine) -> dict[Step, float]:
    """Return the steps that can come only from discs in hand, with the disc [mm] each needs at least."""
    largest = machine.scenario.making.largest_blank_mm

    def sold(cone: Cone) -> float:
        return max((disc for disc in cone.side.blanks_mm if disc <= largest + SAME_MM), default=0.0)

    return {
        step: need
        for cone, step, need in _turned_needs(machine)
        if not cone.side.free_mm and need > sold(cone) + SAME_MM
    }


def discs_in_hand(machine: Machine) -> dict[Step, float]:
    """Return the discs in hand [mm] that steps are cut from.

    Steps that can come from nothing else are served first, the largest first, each from the least disc that does: every
    disc that does for a larger step does for a smaller one, so that no other way serves more. Others take what is left
    where no smaller disc can be had.
    """
    making = machine.scenario.making
    discs = sorted(
        disc.diameter_mm
        for disc in machine.scenario.in_hand.discs
        for _ in range(disc.count)
        if disc.diameter_mm <= making.largest_blank_mm + SAME_MM
    )
    scarce = _disc_needs(machine)
    turned = sorted(_turned_needs(machine), key=lambda item: (item[1] not in scarce, -item[2], item[1]))
    found: dict[Step, float] = {}
    for cone, step, need in turned:
        least = next((number for number, disc in enumerate(discs) if disc >= need - SAME_MM), None)
        bought = min((disc for disc in cone.side.blanks_mm if disc >= need - SAME_MM), default=inf)
        if least is not None and (step in scarce or discs[least] <= bought):
            found[step] = discs.pop(least)
    return found
