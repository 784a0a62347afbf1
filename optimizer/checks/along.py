"""Checks of what lies along the shafts: step pitch, belts in line, room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, isinf

from optimizer.catalogue.grooves import alignment_mm, rim_width_mm
from optimizer.checks.in_hand import idle_grooves
from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.scenario import Making

__all__ = ["cone_width_mm", "needed_pitch_mm", "pitch_checks", "room_checks", "step_pitch_mm"]

STATED = "stated by the maker"
GROOVE_AND_WALLS = "groove at the rim with a wall on either side, common practice, no source"


def needed_pitch_mm(pair: Pair, making: Making) -> float:
    """Return the least distance of neighbouring steps on all cones that face each other [mm].

    A turned cone needs its widest groove with a wall on either side, pulleys used as they are need their
    rims, a kept cone is as wide as it is.
    """
    return max(_needed_mm(cone, making) for cone in pair.faced)


def step_pitch_mm(pair: Pair, making: Making) -> float:
    """Return the distance of neighbouring steps: the kept cone's, or the one stated, else the least one [mm].

    Whole layers are counted up.
    """
    kept = [cone.side.pitch_mm for cone in pair.faced if cone.side.pitch_mm is not None]
    if kept:
        return max(kept)
    if not isinstance(making.step_pitch, str):
        return making.step_pitch
    needed = needed_pitch_mm(pair, making)
    if making.step_pitch == "layers" and making.layer_mm is not None:
        return ceil(needed / making.layer_mm - 1e-9) * making.layer_mm
    return needed


def pitch_checks(pair: Pair, making: Making) -> Iterator[Check | Skipped]:
    """Yield the checks that steps are wide enough, that every belt runs in line."""
    rule = Rule("step pitch", "limit", needed_pitch_mm(pair, making), "mm", GROOVE_AND_WALLS)
    yield at_least(rule, pair.key, step_pitch_mm(pair, making))
    if pair.driver.positions > 1:
        yield _in_line(pair, making)


def room_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the check of every shaft's room."""
    making = machine.scenario.making
    for name, _ in machine.fastest_rpm:
        shaft = machine.scenario.shaft(name)
        if isinf(shaft.room_mm):
            yield Skipped(name="room along the shaft", where=name, why="no room is stated")
            continue
        widths = [
            cone_width_mm(cone, step_pitch_mm(pair, making), idle_grooves(machine, cone))
            for pair in machine.pairs
            for cone in pair.cones
            if cone.shaft.name == name
        ]
        note = _sum_note(widths, shaft.beside_mm)
        rule = Rule("room along the shaft", "limit", shaft.room_mm, "mm", STATED)
        yield at_most(rule, name, sum(widths) + shaft.beside_mm, note)


def _needed_mm(cone: Cone, making: Making) -> float:
    if any(cone.turned):
        return cone.top_width_mm + 2 * making.wall_mm
    return cone.section.top_mm if cone.side.kept_mm else rim_width_mm(cone.section)


def _in_line(pair: Pair, making: Making) -> Check | Skipped:
    """Return the check of the outer belts, the cones being set so that the middle of both is in line."""
    for cone in (pair.driver, pair.driven):
        if cone.side.kept_mm and cone.side.pitch_mm is None:
            return Skipped(name="belts in line", where=pair.key, why=f"the step pitch of {cone.key} is not stated")
    own = [cone.side.pitch_mm or step_pitch_mm(pair, making) for cone in (pair.driver, pair.driven)]
    off = abs(own[0] - own[1]) * (pair.driver.positions - 1) / 2
    nearest = min((centre for centre in pair.centres_mm if centre > 0), default=pair.stage.centres_mm[0])
    limit = alignment_mm(nearest)
    rule = Rule("belts in line", "limit", limit, "mm", "GOST 20889-88, read: 2 mm per metre of centre distance")
    return at_most(rule, pair.key, off, f"step pitch {own[0]:.2f} and {own[1]:.2f} mm")


def cone_width_mm(cone: Cone, step_pitch: float, idle: int) -> float:
    """Return the length a cone takes; a kept cone, or a piece of several grooves, is there with all its steps."""
    return (max(cone.positions, len(cone.side.kept_mm)) + idle) * (cone.side.pitch_mm or step_pitch)


def _sum_note(widths: Sequence[float], beside_mm: float) -> str:
    return " + ".join(f"{width:.1f}" for width in [*widths, *([beside_mm] if beside_mm else [])]) + " mm"
