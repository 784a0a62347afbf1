"""A machine whose every diameter and belt is stated."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

from optimizer.catalogue.lines import shifts
from optimizer.errors import Fault, ScenarioError
from optimizer.layouts.budget import Reach, StatedBelt, stated_belts
from optimizer.quantities.digits import meaningful
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.scenario import BeltStage, Scenario, Side

__all__ = ["known_machine"]


def known_machine(scenario: Scenario) -> BuiltMachine:
    """Return the machine that the scenario states in full.

    Every side is a kept cone, or has as many ready pulleys as positions, in the order of the positions; every
    stage has one number of positions, one belt length. Positions come back slowest first; on a shared cone those of the
    second belt in the opposite order of the first one's.

    Raises
    ------
    ScenarioError
        Something is left open: with every place where a choice remains.
    """
    stages = [stage for stage in scenario.chain if isinstance(stage, BeltStage)]
    faults = list(chain.from_iterable(_open_questions(scenario.place_of(stage), stage) for stage in stages))
    if faults:
        raise ScenarioError(faults)
    built: list[BuiltStage] = []
    for stage in stages:
        order = _order(stages[0])[::-1] if stage.driver.shared else _order(stage)
        built.append(_built(scenario.place_of(stage), stage, order))
    return BuiltMachine(stages=tuple(built))


def _open_questions(key: str, stage: BeltStage) -> list[Fault]:
    faults = []
    if len(stage.positions) != 1:
        got = ", ".join(map(str, stage.positions))
        faults.append(Fault(f"{key}.positions", "a known machine has one number of positions", got, "one number"))
    for name, side in (("driver", stage.driver), ("driven", stage.driven)):
        faults += _open_side(f"{key}.{name}", side, stage.positions[0])
    belts = _belts(stage)
    if len(belts) != 1:
        got = f"{len(belts)} lengths" if belts else "none"
        faults.append(
            Fault(
                f"{key}.belt.lengths",
                "a known machine has one belt on every stage",
                got,
                "one length",
                "write the one that is on the machine: lengths = [1250]",
            )
        )
    return faults


def _open_side(key: str, side: Side, positions: int) -> list[Fault]:
    sizes = _sizes_mm(side)
    advice = "give the steps with kept = [...], or run design"
    if side.kept_open:
        place = f"{key}.kept[{side.kept_mm.index(None)}]"
        return [Fault(place, "a known machine has no open steps", '"open"', "a diameter", advice)]
    if side.turned:
        return [
            Fault(key, "the diameters of this side are still to be turned", allowed="kept, or ready", advice=advice)
        ]
    if side.sheaves_in_hand:
        what = "which sheaves in hand are on this side is still to be chosen"
        return [Fault(f"{key}.sheaves_in_hand", what, "true", "kept, or ready", advice)]
    if len(sizes) != positions:
        return [
            Fault(key, "a known machine has one diameter for every position", str(len(sizes)), str(positions), advice)
        ]
    return []


def _sizes_mm(side: Side) -> tuple[float, ...]:
    return side.kept_fixed_mm or side.ready_mm


def _belts(stage: BeltStage) -> tuple[StatedBelt, ...]:
    return () if stage.belt.lengths == "any" else stated_belts(stage.belt, Reach(0.0, 0.0))


def _outside_mm(stage: BeltStage) -> tuple[list[float], list[float]]:
    """Return the outside diameters of driver and driven as they are stated."""
    driver, driven = (
        [size + lines.outside_less_datum - lines.of(side.measured) for size in _sizes_mm(side)]
        for side, lines in ((s, shifts(stage.belt.data, s.groove)) for s in (stage.driver, stage.driven))
    )
    return driver, driven


def _order(stage: BeltStage) -> list[int]:
    """Return the places of the stated steps, the slowest first."""
    driver, driven = _outside_mm(stage)
    return sorted(range(len(driver)), key=lambda k: (meaningful(driver[k] / driven[k]), driver[k], driven[k]))


def _built(key: str, stage: BeltStage, order: Sequence[int]) -> BuiltStage:
    (belt,) = _belts(stage)
    section = stage.belt.data
    driver, driven = _outside_mm(stage)
    return BuiltStage(
        key=key,
        section=section.name,
        marking=belt.marking,
        datum_length_mm=belt.datum_length_mm,
        driver_outside_mm=tuple(driver[k] for k in order),
        driven_outside_mm=tuple(driven[k] for k in order),
        driver_turned=(False,) * len(order),
        driven_turned=(False,) * len(order),
    )
