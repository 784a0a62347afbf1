"""Bands of speeds, as they are stated and by surface speeds; the work that is turned."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from math import inf, pi
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from optimizer.errors import Fault
from optimizer.quantities import (
    INERTIA,
    LENGTH,
    NUMBER,
    POWER,
    RIM_SPEED,
    SPEED,
    SurfaceUnit,
    as_written,
    show_length,
    show_rpm,
    surface_figure,
    written_unit,
)
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import LONGEST_MM, Default, Flag, Name, Quantity, Whole, as_pair

__all__ = [
    "MOST_SPEEDS",
    "OURS",
    "Band",
    "Of",
    "ShaftSpeed",
    "SurfaceSpeeds",
    "Work",
    "WorkSizes",
    "edge_faults",
    "edges_rpm",
    "falling_faults",
    "limit_faults",
    "marked_rpm",
    "show_surface",
    "shown_unit",
    "span_words",
    "with_unit",
]


Of = Literal["work", "tool", "wheel", "blade"]
"""What runs as fast as the surface: round work, a tool, a wheel, or the blade that runs on a wheel."""
MOST_RPM = 60_000.0
"""No shaft of a shop machine is stated to run faster."""
EXAMPLE = 'surface_speed = ["10 m/s", "20 m/s"]'


def with_unit(data: object, *keys: str) -> object:
    """Return a table with the unit of the first of its speeds that has one, as `surface_unit`.

    Examples
    --------
    >>> with_unit({"surface_speed": [25, "100 m/min"]}, "surface_speed")
    {'surface_speed': [25, '100 m/min'], 'surface_unit': 'm/min'}
    """
    if not isinstance(data, dict):
        return data
    written = [value for key in keys for value in _each(data.get(key))]
    unit = next((unit for unit in (written_unit(value, RIM_SPEED) for value in written) if unit), None)
    return {**data, "surface_unit": unit} if unit else data


def _each(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list | tuple) else [value]


def shown_unit(units: str, *stated: SurfaceUnit | None) -> SurfaceUnit:
    """Return the first unit that was stated, else the one that goes with the lengths.

    Examples
    --------
    >>> shown_unit("mm", None, "m/min"), shown_unit("in", None), shown_unit("cm")
    ('m/min', 'ft/min', 'm/s')
    """
    return next((unit for unit in stated if unit is not None), "ft/min" if units == "in" else "m/s")


def show_surface(unit: SurfaceUnit | None) -> Callable[[float], str]:
    """Return what writes a stated speed along a surface [m/s] in a unit, m/s where none was stated."""
    known: SurfaceUnit = unit or "m/s"
    return lambda speed_m_s: f"{surface_figure(speed_m_s, known, 6)} {known}"


def edges_rpm(band: Band) -> tuple[float, float] | None:
    """Return the slowest and fastest speed that a band's surface speeds want [rpm]; nothing where they are not stated.

    `optimizer.mechanics.surface_speed.wanted_rpm`, the fastest no faster than what is marked allows on the largest.
    """
    if band.work_mm is None or band.surface_speed_m_s is None:
        return None
    from optimizer.mechanics.surface_speed import wanted_rpm  # needs numpy, which most files can be read without

    slowest, fastest = wanted_rpm(band.work_mm, band.surface_speed_m_s)
    return slowest, min(fastest, marked_rpm(band))


def marked_rpm(band: Band) -> float:
    """Return the speed at which a band's largest wheel or tool runs at what is marked on it; infinity without one."""
    if band.surface_limit_m_s is None or band.work_mm is None:
        return inf
    return band.surface_limit_m_s * 60_000 / (pi * max(band.work_mm))


def edge_faults(band: Band) -> Iterator[Fault]:
    """Yield a fault where edges are neither stated nor follow, or where those that follow are no span."""
    missing = [key for key, edge in (("from", band.from_rpm), ("to", band.to_rpm)) if edge == inf]
    if missing:
        yield from _missing_faults(band, missing)
        return
    size, speed = band.work_mm, band.surface_speed_m_s
    if not band.by_surface or size is None or speed is None or any(limit_faults(band)):
        return
    if size[0] > size[1] or speed[0] > speed[1]:
        return
    show = show_surface(band.surface_unit)
    if band.to_rpm > MOST_RPM:
        yield Fault(
            "surface_speed",
            f"so fast on so small a diameter is {show_rpm(band.to_rpm)} rpm",
            show(speed[1]),
            f"at most {MOST_RPM:g} rpm",
            "check the units of work and surface_speed",
        )
    elif band.from_rpm == band.to_rpm:
        yield Fault(
            "surface_speed",
            "one surface speed on one diameter is a single speed, and no band",
            show(speed[0]),
            "[least, greatest]",
            f"write two, such as {EXAMPLE}, or two diameters as work",
        )


def _missing_faults(band: Band, missing: list[str]) -> Iterator[Fault]:
    if band.work_mm is not None:
        other = f"{EXAMPLE} beside work"
    elif band.surface_speed_m_s is not None:
        other = "work beside surface_speed, the diameter that is to run so fast"
    else:
        other = f"work = 150 and {EXAMPLE}, from which they follow"
    if len(missing) == 2:
        allowed = "from and to, or work and surface_speed"
        advice = f"add from and to in rpm, or {other}"
        yield Fault("", "no span of speeds is stated", allowed=allowed, advice=advice)
    else:
        yield Fault(missing[0], "this is missing", advice=f"add {missing[0]} in rpm, or {other}")


def limit_faults(band: Band) -> Iterator[Fault]:
    """Yield a fault where the speed marked on a wheel or tool rules out all that is wanted of it."""
    limit, wanted = band.surface_limit_m_s, band.surface_speed_m_s
    if limit is None or wanted is None or band.work_mm is None:
        return
    follows = "to_rpm" not in band.model_fields_set
    if limit < wanted[0] or (follows and limit == wanted[0]):
        show = show_surface(band.surface_unit)
        yield Fault(
            "surface_limit",
            "what is marked is below the least speed that is wanted",
            show(limit),
            f"above {show(wanted[0])}" if follows else f"{show(wanted[0])} or more",
            "want less, or take one that is marked for more",
        )


def span_words(
    of: Of, sizes_mm: tuple[float, float], speeds_m_s: tuple[float, float], unit: SurfaceUnit, units: str
) -> str:
    """Return surface speeds wanted on diameters, as a maker says it.

    Examples
    --------
    >>> span_words("blade", (200.0, 200.0), (25 / 60, 100 / 60), "m/min", "mm")
    'blade 25 to 100 m/min on a 200 mm wheel'
    >>> span_words("work", (25.4, 101.6), (0.508, 0.508), "ft/min", "in")
    'work of 1 to 4 in at 100 ft/min'
    """
    low, high = (surface_figure(speed, unit, 6) for speed in speeds_m_s)
    speeds = f"{low if low == high else f'{low} to {high}'} {unit}"
    least, most = (show_length(size, units) for size in sizes_mm)
    sizes = least if least == most else f"{least.partition(' ')[0]} to {most}"
    if of != "blade":
        return f"{of} of {sizes} at {speeds}"
    return f"blade {speeds} on {f'wheels of {sizes}' if least != most else f'{_a(sizes)} {sizes} wheel'}"


def _a(size: str) -> str:
    """Return the article that goes with a figure."""
    whole = size.partition(" ")[0].partition(".")[0]
    return "an" if whole in ("11", "18") or whole.startswith("8") else "a"


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
