"""What a maker states of a mount that weight, a spring or a screw pulls: its hinge, its masses, its pull."""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import Field

from optimizer.quantities import MASS
from optimizer.scenario.stated import Stated
from optimizer.scenario.values import Point, Quantity

__all__ = ["Hinge", "Mass"]

Mass = Annotated[float, Quantity(MASS, most=5000.0)]


class Hinge(Stated):
    """The hinge of a shaft's mount with what hangs on it, at the same place of the mount as the shaft's `at`."""

    header: ClassVar[str] = "the hinge of a [[shaft]]"
    stand_ins: ClassVar[dict[str, object]] = {"at": [0, 0]}

    at_mm: Point = Field(alias="at")
    """Place of the hinge's axis, `[x, y]`."""
    mass_kg: Mass | None = Field(None, alias="mass")
    """Mass of all that turns about the hinge with this shaft, without shafts that ride on it."""
    centre_mm: Point | None = Field(None, alias="centre")
    """Centre of that mass, `[x, y]`; the shaft's own place where nothing is stated."""
