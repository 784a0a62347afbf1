"""What is told of fixed stages: gears, reducers, couplings."""

from __future__ import annotations

from pydantic import Field, PositiveFloat

from optimizer.quantities.digits import meaningful
from optimizer.scenario.base import Model

__all__ = ["GearSheet", "GearTorque"]


class GearTorque(Model):
    """The torque that can leave a fixed stage at one spindle speed."""

    number: int
    """The spindle speed, from 1."""
    driven_rpm: float
    """Speed of the driven shaft."""
    torque_nm: float
    """What the motor's rated power brings to the driven shaft."""
    breakdown_nm: float
    """What its breakdown torque brings there for a moment."""


class GearSheet(Model):
    """One fixed stage with what goes into it and comes out of it."""

    key: str
    """Place in the scenario, such as `stage[1]`."""
    driver_shaft: str
    driven_shaft: str
    ratios: tuple[PositiveFloat, ...] = Field(min_length=1)
    """Speed of the driven shaft over that of the driver: all that can be engaged, the greatest last."""
    reverses: bool
    efficiency: float
    """Share of the power that it passes on."""
    input_rpm: float
    """Greatest speed of its driving shaft."""
    input_limit_rpm: float | None
    """Speed that shaft may have; nothing where none is stated."""
    torque_limit_nm: float | None
    """Torque that the driven shaft may give; nothing where none is stated."""
    peak_limit_nm: float | None
    """Torque that the driven shaft stands for a moment; nothing where no permitted torque is stated."""
    torques: tuple[GearTorque, ...]
    """By spindle speed; nothing where no power is known."""

    @property
    def direct(self) -> bool:
        """Whether it is a coupling: both shafts turn as one."""
        return self.ratios == (1.0,) and not self.reverses

    @property
    def hardest(self) -> GearTorque | None:
        """The greatest torque of all speeds."""
        return max(self.torques, key=lambda torque: meaningful(torque.torque_nm), default=None)
