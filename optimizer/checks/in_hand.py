"""Checks that what is in hand goes round, worked out with a general solver."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from optimizer.catalogue.lines import shifts
from optimizer.checks.given import pulley_places
from optimizer.checks.stated import Cone, Machine
from optimizer.checks.verdict import Check, Rule, at_most
from optimizer.scenario import Sheave
from optimizer.scenario.in_hand import takes

__all__ = ["belts_in_hand", "idle_grooves", "in_hand_checks", "steps_in_hand"]

SAME_MM = 1e-6
HALF = 0.5
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
        missing_discs = _discs_missing(machine, needs)
        yield at_most(Rule("discs in hand go round", "impossible", 0.0, "", STATED), "in_hand", missing_discs, note)


def steps_in_hand(machine: Machine) -> frozenset[Step]:
    """Return the steps that are sheaves in hand: those that can be nothing else before all others.

    A linear program over every way to put a piece on a cone, each in or out: no step under two pieces, no more pieces
    of a kind than there are, as many steps served as can be, a scarce one worth more than all others together.
    """
    return frozenset(step for placing in _used(machine) for step in placing.steps)


def idle_grooves(machine: Machine, cone: Cone) -> int:
    """Return how many grooves of pieces in hand stand idle beyond the ends of a cone."""
    return sum(placing.idle for placing in _used(machine) if placing.steps[0][0] == cone.key)


def belts_in_hand(machine: Machine) -> tuple[bool, ...]:
    """Return for every stage whether its belt is there already, motor first; one belt serves one stage."""
    left = Counter[int]()
    for number, belt in enumerate(machine.scenario.in_hand.belts):
        left[number] = belt.count
    found = []
    for pair in machine.pairs:
        own = next(
            (
                number
                for number, belt in enumerate(machine.scenario.in_hand.belts)
                if left[number]
                and belt.section == pair.built.section
                and abs(belt.datum_length_mm - pair.built.datum_length_mm) < SAME_LENGTH_MM
            ),
            None,
        )
        found.append(own is not None)
        if own is not None:
            left[own] -= 1
    return tuple(found)


class _Placing(NamedTuple):
    """One piece put on a cone."""

    kind: int
    """Which of the sheaves stated."""
    steps: tuple[Step, ...]
    """The steps it is."""
    idle: int
    """Grooves of it beyond the ends of the cone."""


def _used(machine: Machine) -> tuple[_Placing, ...]:
    """Return the pieces used; of equal ways the one with fewest idle grooves."""
    known = machine.known.get("pieces in hand")
    if isinstance(known, tuple):
        return known
    found = _served(_placings(machine), machine)
    machine.known["pieces in hand"] = found
    return found


def _served(placings: Sequence[_Placing], machine: Machine) -> tuple[_Placing, ...]:
    if not placings:
        return ()
    scarce = _scarce_pulleys(machine)
    steps = sorted({step for placing in placings for step in placing.steps})
    worth = np.array([sum(100.0 if step in scarce else 1.0 for step in p.steps) - 0.01 * p.idle for p in placings])
    once = np.array([[step in placing.steps for placing in placings] for step in steps], dtype=float)
    sheaves = machine.scenario.in_hand.sheaves
    kinds = np.array([[placing.kind == kind for placing in placings] for kind in range(len(sheaves))], dtype=float)
    counts = np.array([sheave.count for sheave in sheaves], dtype=float)
    answer = milp(
        -worth,
        integrality=np.ones(len(placings), dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(once, ub=1.0), LinearConstraint(kinds, ub=counts)],
    )
    return () if answer.x is None else tuple(p for p, x in zip(placings, answer.x, strict=True) if x > HALF)


def _placings(machine: Machine) -> list[_Placing]:
    """Return every way to put a piece in hand on a cone; its grooves beyond an end of the cone stand idle."""
    found = []
    for pair in machine.pairs:
        for cone in (pair.driver, pair.driven):
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
                            found.append(_Placing(kind, steps, len(way) - len(steps)))
    return found


def _outside_mm(cone: Cone, sheave: Sheave) -> tuple[float, ...]:
    lines = shifts(cone.section, cone.side.groove)
    return tuple(size + lines.outside_less_datum - lines.of(sheave.measured) for size in sheave.steps_mm)


def _scarce_pulleys(machine: Machine) -> frozenset[Step]:
    """Return the steps that are pulleys of which no more can be had than are in hand."""
    return frozenset(
        (cone.key, place)
        for pair in machine.pairs
        for cone in (pair.driver, pair.driven)
        if cone.side.sheaves_in_hand
        for place in pulley_places(cone)
        if all(abs(cone.outside_mm[place] + cone.given_less_outside_mm - r) > SAME_MM for r in cone.side.ready_mm)
    )


def _disc_needs(machine: Machine) -> list[float]:
    """Return the discs [mm] that steps need which can come only from discs in hand."""
    making = machine.scenario.making
    needs = []
    for pair in machine.pairs:
        for cone in (pair.driver, pair.driven):
            if not cone.side.discs_in_hand or cone.side.free_mm:
                continue
            sold = max((d for d in cone.side.blanks_mm if d <= making.largest_blank_mm), default=0.0)
            own = [size + making.truing_mm for size, turned in zip(cone.outside_mm, cone.turned, strict=True) if turned]
            needs += [need for need in own if need > sold + SAME_MM]
    return needs


def _discs_missing(machine: Machine, needs: Sequence[float]) -> int:
    """Return for how many steps no disc is left, the largest steps being cut first, each from the least disc."""
    discs = sorted(disc.diameter_mm for disc in machine.scenario.in_hand.discs for _ in range(disc.count))
    missing = 0
    for need in sorted(needs, reverse=True):
        least = next((number for number, disc in enumerate(discs) if disc >= need - SAME_MM), None)
        if least is None:
            missing += 1
        else:
            del discs[least]
    return missing
