"""What a fully known machine gives: all that is printed, or read by a later tool."""

from __future__ import annotations

from typing import Literal

from optimizer.records.design import CheckSheet, ScenarioSheet, SkippedSheet, Version
from optimizer.records.figures import Document
from optimizer.records.mechanics import AroundSheet, CarryingSheet, GearSheet, HangingSheet, ShaftsSheet, WorkSizeSheet
from optimizer.records.sheet import MachineSheet

__all__ = ["KnownMachine"]


class KnownMachine(Document):
    """A machine whose every diameter and belt is stated, with its speeds and checks."""

    format: Literal["conewright speeds 1"] = "conewright speeds 1"
    scenario: ScenarioSheet
    machine: MachineSheet
    work_size: WorkSizeSheet | None = None
    """Diameters of work by speed; nothing where the maker states nothing of it."""
    carrying: CarryingSheet | None = None
    """Power, torque and pulls; nothing where no belt's power is known."""
    gears: tuple[GearSheet, ...] = ()
    """Fixed stages, motor first."""
    hanging: HangingSheet | None = None
    """What draws the belts taut; nothing where no mount's weight or pull, and no belt's power, is known."""
    shafts: ShaftsSheet
    """Shafts, keys, balance, starting."""
    around: AroundSheet | None = None
    """The room around; nothing where no places of shafts are stated."""
    checks: tuple[CheckSheet, ...]
    skipped: tuple[SkippedSheet, ...]
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    versions: tuple[Version, ...]

    @property
    def failed(self) -> tuple[CheckSheet, ...]:
        """Checks of what is impossible, and of limits, that the machine fails."""
        return tuple(check for check in self.checks if not check.passed and check.kind != "advice")
