"""What is told of power, torque and pulls at every spindle speed."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from optimizer.scenario.base import Model

__all__ = ["BeltLoadSheet", "CarryingSheet", "TorqueSheet"]


class BeltLoadSheet(Model):
    """One belt at one spindle speed."""

    key: str
    """Place of the stage in the scenario."""
    position: int
    """The belt's position, from 1."""
    number: int
    """The spindle speed, from 1."""
    entering_rpm: float
    """Speed of the driver's shaft."""
    speed_m_s: float
    """Speed of the belt."""
    wrap_deg: float
    """Arc of contact on the smaller pulley."""
    bends_per_s: float
    carries_kw: float
    source: str
    """Who says so: the source of the lowest figure."""
    must_kw: float | None
    """Power that it must carry, duty included; nothing where nobody says."""
    grip: float | None
    """Power that it carries over power that it must."""
    pretension_n: float | None
    """Pull of each strand at rest, for what it must carry, or can where that is less."""
    tight_n: float | None
    slack_n: float | None
    shaft_n: float | None
    """Pull of both strands on the smaller pulley's shaft while it carries."""


class TorqueSheet(Model):
    """What one spindle speed is good for."""

    number: int
    """The speed, from 1."""
    rpm: float
    torque_nm: float | None
    """Usable torque of the spindle: the least of motor and belts, less what fixed stages lose."""
    limited_by: str
    """`motor`, or the place of the stage whose belt slips first."""
    grip: float | None
    """Least of all belts at this speed."""
    slips_first: str
    """Place of the stage whose belt carries least at this speed; empty where no belt's power is known."""
    slips_position: int | None
    """The position of that belt, from 1."""


class CarryingSheet(Model):
    """Power, torque and pulls of a machine."""

    grip: float | None
    """Least over all belts and speeds of power carried over power that must be carried."""
    duty: float
    speeds: tuple[TorqueSheet, ...]
    belts: tuple[BeltLoadSheet, ...]
    cautions: tuple[str, ...]

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        """Refuse belts at speeds that have no row, and a grip that no speed has."""
        if not {load.number for load in self.belts} <= {row.number for row in self.speeds}:
            raise ValueError("belts are told of at a speed that has no row")
        if self.grip is not None and all(row.grip is None for row in self.speeds):
            raise ValueError("there is a grip, but none at any speed")
        return self
