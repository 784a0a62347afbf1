"""What a maker states of the work that the machine does."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Annotated, ClassVar

from pydantic import BeforeValidator, Field

from optimizer.errors import Fault
from optimizer.quantities import INERTIA, LENGTH, NUMBER, RIM_SPEED, SurfaceUnit
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.surfaces import show_surface, with_unit
from optimizer.scenario.values import LONGEST_MM, Default, Flag, Quantity, as_pair

__all__ = ["SurfaceSpeeds", "Work", "WorkSizes", "falling_faults"]

SurfaceSpeeds = Annotated[
    tuple[
        Annotated[float, Quantity(RIM_SPEED, most=300.0, above=True)],
        Annotated[float, Quantity(RIM_SPEED, most=300.0, above=True)],
    ],
    BeforeValidator(as_pair),
]
"""Least and greatest speed along the surface of work or tool [m/s]; one where both are the same."""
WorkSizes = Annotated[
    tuple[
        Annotated[float, Quantity(LENGTH, least=0.1, most=LONGEST_MM)],
        Annotated[float, Quantity(LENGTH, least=0.1, most=LONGEST_MM)],
    ],
    BeforeValidator(as_pair),
]
"""Least and greatest diameter of work, tool, or wheel [mm]; one where both are the same."""


def falling_faults(key: str, pair: tuple[float, float] | None, show: Callable[[float], str]) -> Iterator[Fault]:
    """Yield a fault where the second of two values is below the first."""
    if pair is not None and pair[0] > pair[1]:
        low, high = map(show, pair)
        yield Fault(f"{key}[1]", "the second value is below the first", high, f"{low} or more", "write it first")


class Work(Stated):
    """The work that the machine does, whatever the speed."""

    header: ClassVar[str] = "[work]"
    internal: ClassVar[frozenset[str]] = frozenset({"surface_unit"})

    duty: Annotated[
        float,
        Quantity(NUMBER, least=0.5, most=3),
        Default(
            "GOST 1284.3-96, read: 1.0 for lathes, drills, grinders in one shift; milling, wood saws 1.1; heavy "
            "woodworking 1.2"
        ),
    ] = 1.0
    """Duty factor by which the power that a belt must carry is raised."""
    inertia_kg_m2: Annotated[float, Quantity(INERTIA, most=10_000.0, above=True)] | None = Field(None, alias="inertia")
    """Moment of inertia of the heaviest work with all that turns at the spindle's speed."""
    wood_turning: Flag = False
    """Whether the machine turns wood, so that every speed is told with the diameters of work it suits."""
    surface_speed_m_s: SurfaceSpeeds | None = Field(None, alias="surface_speed")
    """Least and greatest speed wanted along the surface of work or tool, from which every speed's diameters follow."""
    largest_mm: Annotated[float, Quantity(LENGTH, most=LONGEST_MM, above=True)] | None = Field(None, alias="largest")
    """Diameter of the largest work that the machine takes."""
    surface_unit: SurfaceUnit | None = None
    """Unit that `surface_speed` is written in; nothing for a bare number."""

    @classmethod
    def shaped(cls, data: object) -> object:
        """Add the unit of the surface speed."""
        return with_unit(data, "surface_speed")

    @rule("surface_speed_m_s")
    def _surface_speeds_rise(self, _: str) -> Iterator[Fault]:
        yield from falling_faults("surface_speed", self.surface_speed_m_s, show_surface(self.surface_unit))

    @rule("wood_turning", "surface_speed_m_s")
    def _one_rule_for_work(self, _: str) -> Iterator[Fault]:
        show = show_surface(self.surface_unit)
        if self.wood_turning and self.surface_speed_m_s is not None:
            yield Fault(
                "surface_speed",
                "wood turning has its own rule for the diameters of work",
                " to ".join(map(show, self.surface_speed_m_s)),
                "one of the two",
                "state it in the bands that it is meant for, or leave wood_turning out",
            )
