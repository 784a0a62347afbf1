"""What is told of mounts whose one movement changes several belts."""

from __future__ import annotations

from typing import Literal

from optimizer.checks.coupled import Movement, movements_of
from optimizer.checks.stated import Machine
from optimizer.records.sheet import SharedSheet

__all__ = ["shared_sheets"]


def shared_sheets(machine: Machine) -> tuple[SharedSheet, ...]:
    """Return where every shared mount is set, as the checks work it out."""
    return tuple(map(_sheet, movements_of(machine)))


def _sheet(movement: Movement) -> SharedSheet:
    hinged = movement.shaft.hinge is not None
    on, out = movement.ends_mm
    kind: Literal["hinge", "slide"] = "hinge" if hinged else "slide"
    if hinged:
        way: Literal["along its direction", "against its direction", "anticlockwise", "clockwise"] = (
            "anticlockwise" if movement.way > 0 else "clockwise"
        )
    else:
        way = "along its direction" if movement.way > 0 else "against its direction"
    return SharedSheet(
        shaft=movement.shaft.name,
        kind=kind,
        way=way,
        stages=tuple(pair.key for pair in movement.pairs),
        belt_on_mm=on,
        running_mm=movement.running_mm,
        worn_out_mm=out,
        common_mm=min(meeting.common_mm[1] - meeting.common_mm[0] for meeting in movement.meetings),
    )
