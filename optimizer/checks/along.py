"""What stands along a shaft: widths, offsets, seats of the cones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import ceil, isinf
from typing import NamedTuple

from optimizer.catalogue.grooves import alignment_mm, rim_width_mm
from optimizer.checks.in_hand import idle_grooves
from optimizer.checks.stated import Cone, Machine, Pair
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.scenario import Making

__all__ = [
    "Seat",
    "cone_span_mm",
    "cone_width_mm",
    "needed_pitch_mm",
    "pitch_checks",
    "room_checks",
    "seat_checks",
    "seats_of",
    "step_pitch_mm",
]

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


SAME_MM = 1e-3
"""Diameters of a kept cone that differ by less are one step."""


class Seat(NamedTuple):
    """One step of a cone on its shaft."""

    position: int | None
    """Position from 0 at which the belt is on it; nothing where no position uses the step of a longer kept cone."""
    outside_mm: float
    place_mm: float | None
    """Place along the shaft of its middle; nothing where the maker states none."""
    width_mm: float


def seats_of(cone: Cone, pair: Pair, making: Making) -> tuple[Seat, ...]:
    """Return every step that is there, those of the positions first, slowest first.

    The slowest position's step stands at the stated place; the others follow at the step pitch, outward (to greater
    places, away from the motor's body) or inward. A driver that is the cone of the stage before stands where that does,
    its slowest position at the other end. Steps of a kept cone that no position uses stand before or behind.
    """
    if pair.before is not None and cone is pair.driver:
        return _seen_from_behind(seats_of(pair.before.driven, pair.before, making), cone.positions)
    width = cone.side.pitch_mm or step_pitch_mm(pair, making)
    onward = 1.0 if pair.stage.onward == "outward" else -1.0
    first = cone.side.along_mm
    steps: list[tuple[int | None, int, float]] = [(p, p, size) for p, size in enumerate(cone.outside_mm)]
    steps += [(None, place, size) for place, size in _unused(cone)]
    return tuple(
        Seat(position, size, None if first is None else first + onward * place * width, width)
        for position, place, size in steps
    )


def _seen_from_behind(seats: tuple[Seat, ...], count: int) -> tuple[Seat, ...]:
    """Return the steps of a shared cone as its second belt has them: the slowest position first."""
    own = [seat._replace(position=count - 1 - place) for place, seat in enumerate(seats[:count])]
    return (*own[::-1], *seats[count:])


def cone_span_mm(seats: tuple[Seat, ...]) -> tuple[float, float] | None:
    """Return from where to where a cone reaches along its shaft, nothing where no place is stated [mm]."""
    places = [(seat.place_mm, seat.width_mm) for seat in seats if seat.place_mm is not None]
    if not places:
        return None
    return min(place - width / 2 for place, width in places), max(place + width / 2 for place, width in places)


def seat_checks(machine: Machine) -> Iterator[Check]:
    """Yield the checks that belts run in line as their cones are placed, that cones on a shaft stand side by side."""
    making = machine.scenario.making
    for pair in machine.pairs:
        stated = [cone for cone in (pair.driver, pair.driven) if "along_mm" in cone.side.model_fields_set]
        seats = [seats_of(cone, pair, making)[: cone.positions] for cone in stated]
        # a cone that two belts share counts as stated, and has a place only where it is driven
        if len(seats) == 2 and all(seat.place_mm is not None for seat in (*seats[0], *seats[1])):
            yield _placed_in_line(pair, seats)
    spans = [
        (cone, span)
        for pair in machine.pairs
        for cone in pair.cones
        if (span := cone_span_mm(seats_of(cone, pair, making))) is not None
    ]
    for (one, a), (other, b) in combinations(spans, 2):
        if one.shaft.name == other.shaft.name:
            rule = Rule("cones side by side", "impossible", 0.0, "mm", "geometry")
            note = f"from {a[0]:.1f} to {a[1]:.1f} mm along {one.shaft.name}, {other.key} from {b[0]:.1f} to {b[1]:.1f}"
            yield at_least(rule, one.key, max(a[0] - b[1], b[0] - a[1]), note)


def _placed_in_line(pair: Pair, seats: list[tuple[Seat, ...]]) -> Check:
    """Return the check of the belt that is farthest out of line."""
    off = [abs((a.place_mm or 0.0) - (b.place_mm or 0.0)) for a, b in zip(*seats, strict=True)]
    nearest = min((centre for centre in pair.centres_mm if centre > 0), default=pair.stage.centres_mm[0])
    rule = Rule(
        "belts in line as placed",
        "limit",
        alignment_mm(nearest),
        "mm",
        "GOST 20889-88, read: 2 mm per metre of centre distance",
    )
    return at_most(rule, pair.place(off.index(max(off))), max(off), "difference of the two places along the shafts")


def _unused(cone: Cone) -> Iterator[tuple[int, float]]:
    """Yield the steps of a kept cone that no position uses: places in steps from the slowest position's, diameters."""
    kept = [size and size - cone.given_less_outside_mm for size in cone.side.kept_mm]
    count = cone.positions
    if len(kept) <= count:
        return
    for order in (kept, kept[::-1]):
        for start in range(len(order) - count + 1):
            run = order[start : start + count]
            if all(a is None or abs(a - b) < SAME_MM for a, b in zip(run, cone.outside_mm, strict=True)):
                unused = (place for place in range(len(order)) if not start <= place < start + count)
                yield from ((place - start, size) for place in unused if (size := order[place]) is not None)
                return
