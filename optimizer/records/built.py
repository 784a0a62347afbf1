"""A machine as it would stand on the bench: belts with final outside diameters."""

from __future__ import annotations

from optimizer.scenario.base import Model

__all__ = ["BuiltMachine", "BuiltStage"]


class BuiltStage(Model):
    """One belt stage with its final sizes, positions in the order of rising speed."""

    key: str
    """Place in the scenario, such as `stage[0]`."""
    section: str
    marking: str
    datum_length_mm: float
    driver_outside_mm: tuple[float, ...]
    """Outside diameter of the driver's step at every position."""
    driven_outside_mm: tuple[float, ...]
    driver_turned: tuple[bool, ...]
    """Whether the driver's step at every position is turned, and so wears the maker's timber or metal."""
    driven_turned: tuple[bool, ...]


class BuiltMachine(Model):
    """All belt stages of a machine, motor first."""

    stages: tuple[BuiltStage, ...]
