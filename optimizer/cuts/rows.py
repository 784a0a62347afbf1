"""The rows of the cut table: every step of every cone."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.candidate import Source
from optimizer.records.sheet import MachineSheet, PositionSheet, StageSheet
from optimizer.scenario.base import Model

__all__ = ["CutRow", "cut_rows"]


class CutRow(Model):
    """One step as it goes to the lathe, or into the buying list."""

    cone: str
    """The shaft the step sits on, with what it does there."""
    step: int
    """Counted from 1, the slowest position first."""
    facing: str
    """The step on the other cone that it runs with."""
    outside_mm: float
    datum_mm: float
    pitch_mm: float
    over_pins_mm: float | None
    """Size over two gauge pins in the groove: what sets where the belt runs; nothing where no pins are known."""
    pin_mm: float | None
    """Diameter of those pins."""
    groove_deg: float | None
    """Angle of the groove; nothing on a flat rim."""
    top_width_mm: float
    """Width of the groove at the rim."""
    groove_depth_mm: float
    step_pitch_mm: float | None
    """Distance of neighbouring steps along the shaft; nothing where the stage has one position."""
    blank_mm: float | None
    """Disc to cut it from; nothing where it is used as it is."""
    source: Source


def cut_rows(machine: MachineSheet) -> tuple[CutRow, ...]:
    """Return a row for every step, cone by cone from motor to spindle, slowest position first."""
    return tuple(row for stage in machine.stages for side in ("driver", "driven") for row in _cone(stage, side))


def _cone(stage: StageSheet, side: str) -> Iterator[CutRow]:
    names = {
        "driver": f"{stage.driver_shaft}, driving {stage.driven_shaft}",
        "driven": f"{stage.driven_shaft}, driven by {stage.driver_shaft}",
    }
    other = {"driver": stage.driven_shaft, "driven": stage.driver_shaft}[side]
    for position in stage.positions:
        yield _row(stage, position, side, (names[side], other))


def _row(stage: StageSheet, position: PositionSheet, side: str, names: tuple[str, str]) -> CutRow:
    step = position.driver if side == "driver" else position.driven
    return CutRow(
        cone=names[0],
        step=position.number,
        facing=f"step {position.number} on {names[1]}",
        outside_mm=step.outside_mm,
        datum_mm=step.datum_mm,
        pitch_mm=step.pitch_mm,
        over_pins_mm=step.over_pins_mm,
        pin_mm=step.pin_mm,
        groove_deg=step.groove_deg,
        top_width_mm=step.top_width_mm,
        groove_depth_mm=step.groove_depth_mm,
        step_pitch_mm=stage.step_pitch_mm,
        blank_mm=step.blank_mm,
        source=step.source,
    )
