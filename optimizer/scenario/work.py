"""What a maker states of the work that the machine does."""

from __future__ import annotations

from typing import Annotated, ClassVar

from optimizer.quantities import NUMBER
from optimizer.scenario.stated import Stated
from optimizer.scenario.values import Default, Quantity

__all__ = ["Work"]


class Work(Stated):
    """The work that the machine does, whatever the speed."""

    header: ClassVar[str] = "[work]"

    duty: Annotated[
        float,
        Quantity(NUMBER, least=0.5, most=3),
        Default(
            "GOST 1284.3-96, read: 1.0 for lathes, drills, grinders in one shift; milling, wood saws 1.1; heavy "
            "woodworking 1.2"
        ),
    ] = 1.0
    """Duty factor by which the power that a belt must carry is raised."""
