"""What a maker states of the motor, the bands, the series, the shafts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf
from typing import Annotated, Any, ClassVar, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from optimizer.catalogue.parts import frame
from optimizer.errors import Fault
from optimizer.quantities import (
    ANGLE,
    LENGTH,
    NUMBER,
    POWER,
    RIM_SPEED,
    SHARE,
    SPEED,
    STRESS,
    SurfaceUnit,
    as_written,
    show_length,
    show_rpm,
)
from optimizer.scenario.hanging import Hinge, Mass, Pulls, arm_faults, pull_faults
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.surfaces import Of, edge_faults, edges_rpm, limit_faults, show_surface, with_unit
from optimizer.scenario.switches import slower_faults
from optimizer.scenario.values import (
    LONGEST_MM,
    Coordinate,
    Default,
    Flag,
    Name,
    Point,
    Quantity,
    Whole,
    as_places,
    as_several,
)
from optimizer.scenario.work import SurfaceSpeeds, WorkSizes, falling_faults

__all__ = ["MOST_SPEEDS", "Band", "Motor", "Series", "Shaft"]

MotorPower = Annotated[float, Quantity(POWER, most=1000, above=True)]
ShaftSpeed = Annotated[float, Quantity(SPEED, most=60_000, above=True)]
Size = Annotated[float, Quantity(LENGTH, most=LONGEST_MM, above=True)]
Turns = Literal["clockwise", "anticlockwise"]
Mount = Literal["fixed", "slide", "hinge"]
Carry = Literal["advice", "limit"]
TorqueClass = Literal["N", "H", "B", "C", "D", "capacitor start", "split phase", "permanent capacitor"]
Shock = Literal["steady", "minor shock"]
MOST_SPEEDS = 24
"""Most speeds of a machine: 4 x 6 positions, or two speeds of the motor with 3 x 4."""
OURS = "this project's own measure"


def _known_frame(name: str) -> str:
    return frame(name).name


class Motor(Stated):
    """The motor that drives the first shaft."""

    header: ClassVar[str] = "[motor]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"speed": 1000}

    speed_rpm: ShaftSpeed = Field(alias="speed")
    """Full-load speed on the nameplate, the fastest where it has several."""
    slower_rpm: Annotated[tuple[ShaftSpeed, ...], BeforeValidator(as_several)] = Field((), alias="slower")
    """Full-load speeds that it can be switched to, by poles or by the frequency of the mains."""
    power_kw: MotorPower | None = Field(None, alias="power")
    """Rated power on the nameplate, at the fastest speed where it has several."""
    slower_power_kw: Annotated[tuple[MotorPower, ...], BeforeValidator(as_several)] = Field((), alias="slower_power")
    """Rated powers at the speeds in `slower`, in their order; that of the fastest where nothing is stated."""
    turns: Annotated[
        Turns, Default("IEC 60034-8 looks at the shaft end; the direction is common practice, no source")
    ] = "anticlockwise"
    """Direction of turning, seen from the pulley end."""
    frame: Annotated[Name, AfterValidator(_known_frame)] | None = None
    """Frame on the nameplate, which tells shaft diameter, shaft length, height above the feet."""
    plate: Flag = False
    """Whether it stands on a plate that reaches under its pulleys, so that no pulley may be larger than that leaves."""
    torque_class: TorqueClass | None = None
    """Kind of motor by the torque it starts with: a letter on the nameplate, or how a single-phase one starts."""
    mass_kg: Mass | None = Field(None, alias="mass")
    """Mass of the motor with its pulley, used where it hangs on a hinge or rides on what does."""

    @rule("speed_rpm", "slower_rpm")
    def _slower_speeds_are_smaller(self, _: str) -> Iterator[Fault]:
        yield from slower_faults(self.slower_rpm, self.speed_rpm, lambda rpm: f"{rpm:g} rpm")

    @rule("slower_rpm", "power_kw", "slower_power_kw")
    def _slower_speeds_have_their_powers(self, _: str) -> Iterator[Fault]:
        got, wanted = len(self.slower_power_kw), len(self.slower_rpm)
        if got and self.power_kw is None:
            yield Fault("slower_power", "the power at the fastest speed is not stated", allowed="power beside it")
        elif got and got != wanted:
            yield Fault(
                "slower_power",
                "there must be one power for every slower speed",
                f"{got} powers",
                f"{wanted}, as in slower",
            )

    @property
    def settings(self) -> tuple[tuple[float, float | None], ...]:
        """Every speed [rpm] with its rated power [kW], the slowest first.

        Examples
        --------
        >>> Motor(speed_rpm=2840, power_kw=0.55, slower_rpm=(1420,), slower_power_kw=(0.37,)).settings
        ((1420.0, 0.37), (2840.0, 0.55))
        """
        powers = self.slower_power_kw or (self.power_kw,) * len(self.slower_rpm)
        slower = zip(self.slower_rpm, powers, strict=True)
        return tuple(sorted([*slower, (self.speed_rpm, self.power_kw)], key=lambda setting: setting[0]))

    @property
    def most_power_kw(self) -> float | None:
        """The greatest of its rated powers; nothing where none is stated."""
        return None if self.power_kw is None else max(self.power_kw, *self.slower_power_kw, 0.0)

    @rule("frame", "plate")
    def _a_plate_has_a_height_above_it(self, _: str) -> Iterator[Fault]:
        if self.plate and self.frame is None:
            yield Fault("plate", "how high the shaft lies above the plate is not stated", "true", "frame beside it")


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


class Series(Stated):
    """What the whole series of spindle speeds must keep, with what counts as better."""

    header: ClassVar[str] = "[series]"

    ends: Annotated[float, Quantity(SHARE, most=0.5, limit=True), Default()] = 0.03
    """Share by which the outermost band edges are widened."""
    distinct: Annotated[float, Quantity(SHARE, most=0.5, limit=True), Default()] = 0.04
    """Share by which two speeds must differ to count as two."""
    never_above_rpm: Annotated[float, Quantity(SPEED, most=60_000, above=True, limit=True)] = Field(
        inf, alias="never_above"
    )
    """No spindle speed is above this."""
    shared: Annotated[int, Whole(0, 5), Default()] = 0
    """Most speeds that neighbouring ranges may have in common; each is counted once, and fewer are tried as well."""
    one_range: Annotated[Flag, Default()] = False
    """Whether the speeds that a band wants must lie in one range, so that its work needs no change of range."""
    end_miss: Annotated[float, Quantity(SHARE, most=1.0, above=True, limit=True), Default(OURS)] = 0.10
    """Limit of the end miss, as a natural logarithm."""
    unevenness: Annotated[float, Quantity(SHARE, most=1.0, above=True, limit=True), Default(OURS)] = 0.10
    """Limit of the unevenness, as a natural logarithm."""
    end_weight: Annotated[float, Quantity(NUMBER, most=1000), Default(OURS)] = 1.0
    """Weight of the end miss in what is minimised."""
    unevenness_weight: Annotated[float, Quantity(NUMBER, most=1000), Default(OURS)] = 1.0
    """Weight of the unevenness in what is minimised."""
    slack: Annotated[float, Quantity(SHARE, most=0.5), Default(OURS)] = 0.005
    """How far from the best the designs may lie among which the extremes are sought."""
    least_grip: Annotated[float, Quantity(NUMBER, most=10, limit=True)] = 0.0
    """No speed has a grip below this; grip is the power a belt can carry over the power it must carry."""
    grip_slack: Annotated[float, Quantity(SHARE, most=0.5), Default(OURS)] = 0.02
    """How much of the best is given up at the most where the greatest grip is preferred."""
    hand_slack: Annotated[float, Quantity(SHARE, most=0.5), Default(OURS)] = 0.02
    """How far J may rise for belts in hand in place of bought ones."""

    @rule("end_weight", "unevenness_weight")
    def _something_counts(self, _: str) -> Iterator[Fault]:
        if self.end_weight == self.unevenness_weight == 0:
            yield Fault("end_weight", "both weights are 0, so no design is better than another", "0", "one above 0")


class Shaft(Stated):
    """A shaft with what sits on it; the motor and the spindle exist without being stated."""

    header: ClassVar[str] = "[[shaft]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"name": "shaft"}

    name: Name
    """Its name, by which stages and mounts refer to it; `motor` is the first shaft, `spindle` the last."""
    diameter_mm: Annotated[float, Quantity(LENGTH, least=1.0, most=500.0)] | None = Field(None, alias="diameter")
    """Diameter of the shaft; without it, and without a hub, no step is checked for the timber left over the hub."""
    hub_mm: Annotated[float, Quantity(LENGTH, least=1.0, most=1000.0), Default("the shaft's diameter")] | None = Field(
        None, alias="hub"
    )
    """Outside diameter of what carries the cone; the shaft's own where nothing is stated."""
    room_mm: Size = Field(inf, alias="room")
    """Length of shaft for all that sits on it."""
    beside_mm: Annotated[float, Quantity(LENGTH, most=LONGEST_MM)] = Field(0.0, alias="beside")
    """Length of the room that other things take."""
    mount: Annotated[Mount, Default("a shaft stays where it is unless it is said to move")] = "fixed"
    """Whether the shaft can be moved to tension its belt, and how: not at all, along a slide, about a hinge."""
    on: Name | None = None
    """The shaft whose moving part carries this one's mount; nothing where the frame does."""
    never_above_rpm: Annotated[float, Quantity(SPEED, most=60_000, above=True, limit=True)] = Field(
        inf, alias="never_above"
    )
    """The shaft never runs faster."""
    at_mm: Point | None = Field(None, alias="at")
    """Place of the axis, `[x, y]`, seen from the motor's pulley end: x to the right, y up."""
    hinge: Hinge | None = None
    """Where the mount turns, and what hangs there, for mount = "hinge"."""
    pull_n: Pulls | None = Field(None, alias="pull")
    """Pull of a spring, screw or weight that draws a slide away from the shaft its belt goes to, measured along it."""
    locked: Flag = False
    """Whether a screw holds the mount where weight or spring have drawn it, so that it does not follow the belt."""
    bearings_mm: Annotated[tuple[Coordinate, Coordinate], BeforeValidator(as_places)] | None = Field(
        None, alias="bearings"
    )
    """Places of the two bearings along the shaft, as `along` counts."""
    keyed: Annotated[Flag, Default("the weaker shaft; judgement")] = True
    """Whether the shaft has a keyway."""
    shock: Annotated[Shock, Default("the harder service; judgement")] = "minor shock"
    """How roughly the shaft is loaded."""
    stress_mpa: Annotated[float, Quantity(STRESS, most=1000.0, above=True)] | None = Field(None, alias="stress")
    """Shear stress that its steel stands without a keyway, `min(0.30 yield, 0.18 strength)`; plain steel's else."""
    direction_deg: Annotated[float, Quantity(ANGLE, most=360.0)] | None = Field(None, alias="direction")
    """Line along which a slide moves, turned from x toward y; its belt's line of centres where nothing is stated."""

    @property
    def slides(self) -> bool:
        """Whether the shaft's own mount moves."""
        return self.mount != "fixed"

    def completed(self) -> None:
        """Take the hub for the bare shaft, and the frame for no carrier."""
        self.fill(hub_mm=self.diameter_mm)
        if self.on == "frame":
            self.__dict__["on"] = None

    @rule("diameter_mm", "hub_mm")
    def _hub_is_over_the_shaft(self, units: str) -> Iterator[Fault]:
        if self.hub_mm is not None and self.diameter_mm is not None and self.hub_mm < self.diameter_mm:
            yield Fault(
                "hub",
                "the hub is smaller than the shaft it sits on",
                show_length(self.hub_mm, units),
                f"{show_length(self.diameter_mm, units)} or more",
                "hub is the outside diameter of what carries the cone",
            )

    @rule("room_mm", "beside_mm")
    def _room_is_left(self, units: str) -> Iterator[Fault]:
        if self.beside_mm >= self.room_mm:
            yield Fault(
                "beside",
                "other things take all of the room",
                show_length(self.beside_mm, units),
                f"below {show_length(self.room_mm, units)}",
            )

    @rule("mount", "direction_deg")
    def _only_slides_have_a_direction(self, _: str) -> Iterator[Fault]:
        if self.direction_deg is not None and self.mount != "slide":
            yield Fault(
                "direction",
                "only a slide moves along a line",
                f"{self.direction_deg:g} degrees",
                'mount = "slide" beside it',
                "leave it out",
            )

    @rule("mount", "hinge", "pull_n", "locked")
    def _mounts_have_what_pulls_them(self, _: str) -> Iterator[Fault]:
        yield from pull_faults(self)

    @rule("hinge", "at_mm")
    def _hinge_stands_off_the_shaft(self, units: str) -> Iterator[Fault]:
        yield from arm_faults(self, units)

    @rule("bearings_mm")
    def _bearings_stand_apart(self, units: str) -> Iterator[Fault]:
        if self.bearings_mm is not None and abs(self.bearings_mm[0] - self.bearings_mm[1]) < 1.0:
            yield Fault(
                "bearings[1]",
                "both bearings stand at one place",
                show_length(self.bearings_mm[1], units),
                f"{show_length(1.0, units)} apart or more",
            )

    @rule("name", "on")
    def _rides_on_another(self, _: str) -> Iterator[Fault]:
        if self.name == "frame":
            yield Fault("name", "the frame is no shaft", '"frame"', "another name")
        if self.on == self.name:
            yield Fault("on", "a shaft cannot ride on itself", f'"{self.on}"', 'another shaft, or "frame"')
