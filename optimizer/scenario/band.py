"""What a maker states of a working band."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field

from optimizer.errors import Fault
from optimizer.quantities import POWER, RIM_SPEED, SPEED, SurfaceUnit, as_written, show_length, show_rpm
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.surfaces import Of, edge_faults, edges_rpm, limit_faults, show_surface, with_unit
from optimizer.scenario.values import Default, Name, Quantity, Whole
from optimizer.scenario.work import SurfaceSpeeds, WorkSizes, falling_faults

__all__ = ["MOST_SPEEDS", "OURS", "Band", "ShaftSpeed"]

ShaftSpeed = Annotated[float, Quantity(SPEED, most=60_000, above=True)]
"""Speed of a shaft [rpm]."""
Carry = Literal["advice", "limit"]
MOST_SPEEDS = 24
"""Most speeds of a machine: 4 x 6 positions, or two speeds of the motor with 3 x 4."""
OURS = "this project's own measure"
"""Source of defaults that are no trade's."""


class Band(Stated):
    """A span of spindle speeds for one kind of work, stated in rpm or by the speed along a surface."""

    header: ClassVar[str] = "[[band]]"
    internal: ClassVar[frozenset[str]] = frozenset({"surface_unit"})
    stand_ins: ClassVar[Mapping[str, Any]] = {"name": "band", "from": 1, "to": 2}

    name: Name
    """What the band is for."""
    from_rpm: ShaftSpeed = Field(inf, alias="from")
    """Slowest speed of the band; where it is left out, that of the least `surface_speed` on the largest `work`."""
    to_rpm: ShaftSpeed = Field(inf, alias="to")
    """Fastest speed of the band; where it is left out, that of the greatest `surface_speed` on the smallest `work`."""
    want: Annotated[int, Whole(1, MOST_SPEEDS), Default()] = 1
    """Least number of distinct speeds in the band."""
    work_power_kw: Annotated[float, Quantity(POWER, most=1000, above=True)] | None = Field(None, alias="work_power")
    """Power that the work of this band takes at the spindle; the motor's rated power where nothing is stated."""
    carry: Annotated[Carry, Default(OURS)] = "advice"
    """Whether every belt must carry that power at the band's speeds, or it is only said where one does not."""
    work_mm: WorkSizes | None = Field(None, alias="work")
    """Diameter of the work, tool, or wheel of this band, one or least and greatest."""
    of: Of = "work"
    """What `work` is the diameter of: the work itself, a tool, a wheel, or the wheel that a blade runs on."""
    surface_speed_m_s: SurfaceSpeeds | None = Field(None, alias="surface_speed")
    """Least and greatest speed wanted along its surface, in place of the one stated for all work."""
    surface_limit_m_s: Annotated[float, Quantity(RIM_SPEED, most=300.0, above=True)] | None = Field(
        None, alias="surface_limit"
    )
    """Greatest speed marked on the wheel or tool, never passed."""
    surface_unit: SurfaceUnit | None = None
    """Unit that `surface_speed`, else `surface_limit` is written in; nothing for a bare number."""

    @classmethod
    def shaped(cls, data: object) -> object:
        """Add the unit of the surface speeds."""
        return with_unit(data, "surface_speed", "surface_limit")

    def completed(self) -> None:
        """Take the edges that are left out from the surface speeds."""
        edges = edges_rpm(self)
        if edges is not None:
            self.fill(from_rpm=edges[0], to_rpm=edges[1])

    def ending_at(self, to_rpm: float) -> Band:
        """Return a copy that ends at another speed, what is stated being as it was."""
        copy = self.model_copy()
        copy.__dict__["to_rpm"] = to_rpm
        return copy

    @property
    def by_surface(self) -> bool:
        """Whether both edges follow from surface speeds."""
        stated = self.model_fields_set & {"from_rpm", "to_rpm"}
        return not stated and self.work_mm is not None and self.surface_speed_m_s is not None

    @property
    def told_mm(self) -> float | None:
        """The one diameter whose surface speed every speed is told by; nothing where diameters are told by speed."""
        if self.work_mm is None or self.work_mm[0] != self.work_mm[1]:
            return None
        return self.work_mm[0] if self.by_surface or "of" in self.model_fields_set else None

    @rule("work_mm", "surface_speed_m_s")
    def _sizes_and_speeds_rise(self, units: str) -> Iterator[Fault]:
        yield from falling_faults("work", self.work_mm, lambda size_mm: show_length(size_mm, units))
        yield from falling_faults("surface_speed", self.surface_speed_m_s, show_surface(self.surface_unit))

    @rule("work_mm", "surface_limit_m_s")
    def _a_limit_has_its_wheel(self, _: str) -> Iterator[Fault]:
        if self.surface_limit_m_s is not None and self.work_mm is None:
            yield Fault(
                "surface_limit",
                "a surface speed needs a diameter",
                show_surface(self.surface_unit)(self.surface_limit_m_s),
                "work beside it",
                "add work, the diameter of the wheel or tool",
            )

    @rule("work_mm", "of")
    def _what_is_of_a_size_has_one(self, _: str) -> Iterator[Fault]:
        if "of" in self.model_fields_set and self.work_mm is None:
            yield Fault("of", "no diameter is stated", as_written(self.of), "work beside it", "add work, its diameter")

    @rule("from_rpm", "to_rpm", "work_mm", "surface_speed_m_s", "surface_limit_m_s")
    def _has_its_edges(self, _: str) -> Iterator[Fault]:
        yield from edge_faults(self)

    @rule("to_rpm", "work_mm", "surface_speed_m_s", "surface_limit_m_s")
    def _marks_leave_something(self, _: str) -> Iterator[Fault]:
        yield from limit_faults(self)

    @rule("from_rpm", "to_rpm")
    def _rises(self, _: str) -> Iterator[Fault]:
        stated = self.model_fields_set & {"from_rpm", "to_rpm"}
        if stated and inf > self.from_rpm >= self.to_rpm:
            both = "write the slower speed as from"
            yield Fault(
                "to",
                "the band ends at or below its start",
                f"{show_rpm(self.to_rpm)} rpm",
                f"above {show_rpm(self.from_rpm)} rpm",
                both if len(stated) == 2 else "state from and to both, or neither: one follows from surface_speed",
            )
