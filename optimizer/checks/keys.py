"""Which key a shaft takes, how deep its seats are, whether the cone is long enough for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from optimizer.catalogue.parts import Frame, Key, frame, key_for
from optimizer.checks.along import step_pitch_mm
from optimizer.checks.shafts import cones_on, shaft_names, torques_nm
from optimizer.checks.stated import Machine
from optimizer.checks.verdict import Check, Rule, Skipped, at_most
from optimizer.mechanics.keys import Depths, key_length_mm, seat_depths_mm
from optimizer.scenario.chain import MOTOR

__all__ = ["KeySeat", "flat_frame", "key_checks", "key_seats"]

KEY_MPA = (41.0, 82.0)
"""Shear and crushing stress of a mild steel key [MPa]; from memory."""
KEY_SOURCE = "mild steel, 41 MPa in shear, 82 MPa in crushing, from memory"


class KeySeat(NamedTuple):
    """The usual key of a shaft with its seats."""

    shaft: str
    diameter_mm: float
    key: Key
    seats: Depths
    """Sizes over the finished seats."""
    length_mm: float | None
    """Least length for the greatest torque of the shaft; nothing where that is not known."""


def key_seats(machine: Machine) -> tuple[KeySeat, ...]:
    """Return the usual key of every keyed shaft that carries a cone and has a diameter that the tables know."""
    inch = machine.scenario.units == "in"
    torques = torques_nm(machine)
    found = []
    for name in shaft_names(machine):
        shaft = machine.scenario.shaft(name)
        size = shaft.diameter_mm
        if flat_frame(machine, name) is not None:
            continue
        key = None if size is None or not shaft.keyed else key_for(size, inch=inch)
        if size is None or key is None:
            continue
        torque = torques.get(name, 0.0)
        length = key_length_mm(torque, size, key.width_mm, key.height_mm, KEY_MPA) if torque > 0 else None
        found.append(KeySeat(name, size, key, _seats(size, key), length))
    return tuple(found)


def flat_frame(machine: Machine, name: str) -> Frame | None:
    """Return the motor's frame where its shaft has a flat in place of a keyway, and nobody states a keyway."""
    motor = machine.scenario.motor.frame
    if name != MOTOR or motor is None or "keyed" in machine.scenario.shaft(name).model_fields_set:
        return None
    known = frame(motor)
    return None if known.flat is None else known


def key_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the check that every keyed cone is as long as the key of its shaft must be."""
    seats = {seat.shaft: seat for seat in key_seats(machine)}
    for name in shaft_names(machine):
        shaft, seat = machine.scenario.shaft(name), seats.get(name)
        if not shaft.keyed:
            continue
        flat = flat_frame(machine, name)
        if flat is not None:
            yield Skipped(name="key", where=name, why=f"the shaft of {flat.name} has a flat and no keyway")
            continue
        if seat is None or seat.length_mm is None:
            yield Skipped(name="key", where=name, why=_missing(shaft.diameter_mm, seat, machine.scenario.units))
            continue
        making = machine.scenario.making
        widths = [
            max(cone.positions, len(cone.side.kept_mm)) * (cone.side.pitch_mm or step_pitch_mm(pair, making))
            for _, pair, cone in cones_on(machine, name)
        ]
        note = "the cone's width; never key plywood alone: a metal hub or flange carries the key"
        yield at_most(Rule("key", "advice", min(widths), "mm", KEY_SOURCE), name, seat.length_mm, note)


def _seats(shaft_mm: float, key: Key) -> Depths:
    """Return the sizes over the seats: by geometry for square inch keys, from the table's depths for metric ones."""
    if key.shaft_depth_mm is None or key.hub_depth_mm is None:
        return seat_depths_mm(shaft_mm, key.width_mm)
    return Depths(shaft_mm - key.shaft_depth_mm, shaft_mm + key.hub_depth_mm)


def _missing(diameter_mm: float | None, seat: KeySeat | None, units: str) -> str:
    if diameter_mm is None:
        return "its diameter is not stated"
    if seat is None:
        return f"the table of {'inch' if units == 'in' else 'metric'} keys has none for its diameter"
    return "its torque is not known"
