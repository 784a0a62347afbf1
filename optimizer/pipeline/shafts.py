"""The section of shafts, keys, balance, starting."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.motor import run_ups
from optimizer.checks.shafts import KeySeat, flat_frame, key_seats, shaft_loads, shaft_names
from optimizer.checks.stated import Machine, read_machine
from optimizer.checks.turning import turnings
from optimizer.pipeline.parts import finite, has_timber
from optimizer.records.built import BuiltMachine
from optimizer.records.mechanics import FlatSheet, KeySheet, RunUpSheet, ShaftLoadSheet, ShaftsSheet, TurningSheet
from optimizer.scenario import Scenario

__all__ = ["shafts_sheet"]

TIMBER = (
    "Never key plywood alone: a metal hub or flange carries the key, screwed or bolted to the timber.",
    "True and balance wooden pulleys before they run; look for cracks before each use, and take a cracked or wobbling "
    "one off at once.",
)
CAUTIONS = (
    "Guard belts, pulleys and shaft ends; tie up hair, roll up sleeves, take off rings; nobody stands in the plane of "
    "a turning pulley.",
    "A competent person wires motor, switch and protection by the local code.",
)


def shafts_sheet(scenario: Scenario, built: BuiltMachine) -> ShaftsSheet:
    """Return what turning and pulling ask of shafts, keys and cones."""
    machine = read_machine(scenario, built)
    found, _ = shaft_loads(machine)
    return ShaftsSheet(
        loads=tuple(
            ShaftLoadSheet(**load._asdict(), diameter_mm=scenario.shaft(load.shaft).diameter_mm) for load in found
        ),
        keys=tuple(_key(seat) for seat in key_seats(machine)),
        flats=tuple(_flats(machine)),
        cones=tuple(TurningSheet(**cone._asdict()) for cone in turnings(machine)),
        run_ups=tuple(RunUpSheet(**run._asdict() | {"seconds": finite(run.seconds)}) for run in run_ups(machine)),
        cautions=(*(TIMBER if has_timber(scenario) else ()), *CAUTIONS),
    )


def _flats(machine: Machine) -> Iterator[FlatSheet]:
    for name in shaft_names(machine):
        known = flat_frame(machine, name)
        if known is not None and known.flat is not None:
            yield FlatSheet(shaft=name, frame=known.name, over_flat_mm=known.flat.over_mm, source=known.flat.source)


def _key(seat: KeySeat) -> KeySheet:
    return KeySheet(
        shaft=seat.shaft,
        diameter_mm=seat.diameter_mm,
        width_mm=seat.key.width_mm,
        height_mm=seat.key.height_mm,
        shaft_depth_mm=seat.key.shaft_depth_mm,
        hub_depth_mm=seat.key.hub_depth_mm,
        over_shaft_mm=seat.seats.shaft_mm,
        over_hub_mm=seat.seats.hub_mm,
        length_mm=seat.length_mm,
        source=seat.key.source,
    )
