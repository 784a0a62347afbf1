"""The maker's shafts and motor, with what hangs on them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import dist, inf
from typing import Annotated, Any, ClassVar, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from optimizer.catalogue.parts import breakdown_torque, frame
from optimizer.errors import Fault
from optimizer.mechanics.motors import idle_speed_rpm
from optimizer.quantities import (
    ANGLE,
    FORCE,
    LENGTH,
    MASS,
    NUMBER,
    POWER,
    SHARE,
    SPEED,
    STRESS,
    QuantityError,
    as_written,
    show_length,
)
from optimizer.scenario.band import OURS, ShaftSpeed
from optimizer.scenario.chain import slower_faults
from optimizer.scenario.stated import Stated, rule
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

__all__ = [
    "Force",
    "Hinge",
    "Mass",
    "Motor",
    "Pulls",
    "Series",
    "Shaft",
    "Spring",
    "arm_faults",
    "as_pulls",
    "pull_faults",
]


SHORTEST_ARM_MM = 1.0
"""No hinge stands nearer to its shaft: places are measured to a millimetre or so."""

Mass = Annotated[float, Quantity(MASS, most=5000.0)]
Force = Annotated[float, Quantity(FORCE, most=100_000.0)]


def as_pulls(value: object) -> object:
    """Turn one pull into the same at both ends of travel."""
    if isinstance(value, list | tuple):
        if len(value) != 2:
            raise QuantityError(
                "this takes one value, or two: with the shafts nearest, with them farthest apart",
                as_written(value),
                "[nearest, farthest]",
            )
        return value
    return (value, value)


Pulls = Annotated[tuple[Force, Force], BeforeValidator(as_pulls)]
"""Pull with the shafts nearest and farthest apart [N]; one where both are the same."""


class Spring(Stated):
    """A spring that draws a hinged mount."""

    header: ClassVar[str] = "the spring of a hinge"
    stand_ins: ClassVar[Mapping[str, Any]] = {"pull": 0, "at": (0.0, 0.0), "to": (1.0, 0.0)}

    pull_n: Force = Field(alias="pull")
    """Its pull where it hangs, as a spring balance reads it."""
    at_mm: Point = Field(alias="at")
    """Where it takes hold of the mount, `[x, y]`, while the shafts stand as their `at` says."""
    to_mm: Point = Field(alias="to")
    """What it is fastened to at its other end, on what carries the hinge, `[x, y]`."""

    @rule("at_mm", "to_mm")
    def _has_a_length(self, _: str) -> Iterator[Fault]:
        if self.at_mm == self.to_mm:
            yield Fault("to", "both ends of the spring are one point", as_written(self.to_mm), "its other end")


class Hinge(Stated):
    """The hinge of a shaft's mount with what hangs on it, at the same place of the mount as the shaft's `at`."""

    header: ClassVar[str] = "the hinge of a [[shaft]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"at": (0.0, 0.0)}

    at_mm: Point = Field(alias="at")
    """Place of the hinge's axis, `[x, y]`."""
    mass_kg: Mass | None = Field(None, alias="mass")
    """Mass of all that turns about the hinge with this shaft but a motor with `motor.mass` and riders with hinges."""
    centre_mm: Point | None = Field(None, alias="centre")
    """Where that mass balances over an edge, `[x, y]`; the shaft's own place where nothing is stated."""
    spring: Spring | None = None
    """A spring that draws the mount as well."""
    line_deg: Annotated[float, Quantity(ANGLE, most=360.0), Default("level; judgement")] = Field(0.0, alias="line")
    """Line through `at` along which the hinge could be put elsewhere, turned from x toward y."""


def pull_faults(shaft: Shaft) -> Iterator[Fault]:
    """Yield a fault for everything that pulls a mount of another kind."""
    if shaft.locked and shaft.mount == "fixed":
        yield Fault("locked", "only a mount that moves is locked", "true", 'mount = "slide" or "hinge"')
    if shaft.hinge is not None and shaft.mount != "hinge":
        yield Fault("hinge", "only a hinged mount has a hinge", as_written(shaft.mount), 'mount = "hinge"')
    if shaft.pull_n is not None and shaft.mount != "slide":
        yield Fault("pull", "only a slide is drawn by a pull", as_written(shaft.mount), 'mount = "slide"')


def arm_faults(shaft: Shaft, units: str) -> Iterator[Fault]:
    """Yield a fault where a hinge stands on the axis of its shaft, which it then does not move."""
    if shaft.hinge is not None and shaft.at_mm is not None and dist(shaft.hinge.at_mm, shaft.at_mm) < SHORTEST_ARM_MM:
        yield Fault(
            "hinge.at",
            "the hinge stands on the shaft's own axis",
            as_written(shaft.hinge.at_mm),
            f"{show_length(SHORTEST_ARM_MM, units)} from it or more",
        )


MotorPower = Annotated[float, Quantity(POWER, most=1000, above=True)]
Size = Annotated[float, Quantity(LENGTH, most=LONGEST_MM, above=True)]
Turns = Literal["clockwise", "anticlockwise"]
Mount = Literal["fixed", "slide", "hinge"]
TorqueClass = Literal["N", "H", "B", "C", "D", "capacitor start", "split phase", "permanent capacitor"]
Shock = Literal["steady", "minor shock"]
FRAME = "by its shaft and power, IEC 60072 or NEMA MG 1, mostly from memory; look at the nameplate"


def _known_frame(name: str) -> str:
    return frame(name).name


class Motor(Stated):
    """The motor that drives the first shaft."""

    header: ClassVar[str] = "[motor]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"speed": 1000}

    speed_rpm: ShaftSpeed = Field(alias="speed")
    """Full-load speed on the nameplate, the fastest where it has several."""
    idle_rpm: (
        Annotated[float, Quantity(SPEED, least=1.0, most=60_000), Default("speed of the field, 120 · Hz / poles")]
        | None
    ) = Field(None, alias="idle")
    """Its speed without load, at the fastest where it has several; what bursts by speed is held to it."""
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
    frame: Annotated[Name, AfterValidator(_known_frame), Default(FRAME)] | None = None
    """Frame on the nameplate, which tells shaft diameter, shaft length, height above the feet."""
    plate: Annotated[Flag, Default("a motor stands on its feet; the worse side, judgement")] | None = None
    """Whether its stand reaches under its pulleys and limits them; `false` on blocks or with its shaft over an edge."""
    torque_class: TorqueClass | None = None
    """Kind of motor by the torque it starts with: a letter on the nameplate, or how a single-phase one starts."""
    breakdown_stated: Annotated[float, Quantity(NUMBER, least=1.0, most=10.0)] | None = Field(None, alias="breakdown")
    """Its greatest torque as a multiple of the full-load torque; by its torque class where nothing is stated."""
    mass_kg: Mass | None = Field(None, alias="mass")
    """Mass of the motor with its pulley, used where it hangs on a hinge or rides on what does."""

    def completed(self) -> None:
        """Take the speed without load from the one under full load."""
        self.fill(idle_rpm=idle_speed_rpm(self.speed_rpm))

    @property
    def idle_speeds_rpm(self) -> tuple[float, ...]:
        """Its speed without load at every setting, as `settings` has them; that under full load where not known.

        A slower setting of no known field, as of an inverter, loses as many rpm to its load as the fastest does (common
        practice, no source).

        Examples
        --------
        >>> Motor(speed_rpm=2840, idle_rpm=3000, slower_rpm=(1420, 700, 400)).idle_speeds_rpm
        (560.0, 750.0, 1500.0, 3000.0)
        """
        own = self.idle_rpm or self.speed_rpm
        return *(idle_speed_rpm(rpm) or rpm + own - self.speed_rpm for rpm in sorted(self.slower_rpm)), own

    @property
    def idle_gain(self) -> float:
        """Its greatest speed without load over its greatest under full load, which every shaft behind has too."""
        return max(self.idle_speeds_rpm) / self.speed_rpm

    @property
    def idle_gains(self) -> tuple[float, ...]:
        """How many times as fast as under full load it turns without, at every setting, as `settings` has them."""
        loaded_rpm = *sorted(self.slower_rpm), self.speed_rpm
        return tuple(idle / rpm for idle, rpm in zip(self.idle_speeds_rpm, loaded_rpm, strict=True))

    @property
    def breakdown(self) -> tuple[float, str]:
        """Greatest torque as a multiple of the full-load torque, with where the figure comes from."""
        if self.breakdown_stated is not None:
            return self.breakdown_stated, "stated by the maker"
        return breakdown_torque(self.torque_class)

    @rule("speed_rpm", "idle_rpm")
    def _no_load_is_no_slower(self, _: str) -> Iterator[Fault]:
        if self.idle_rpm is not None and self.idle_rpm < self.speed_rpm:
            yield Fault(
                "idle",
                "a motor turns faster without load than with it",
                f"{self.idle_rpm:g} rpm",
                f"{self.speed_rpm:g} rpm or more",
                "write the speed of the field, 120 · Hz / poles, or leave it out",
            )

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
    """No spindle speed is above this, without load either."""
    shared: Annotated[int, Whole(0, 5), Default()] = 0
    """Most speeds that neighbouring ranges may have in common; each is counted once, and fewer are tried as well."""
    free: Flag = False
    """Whether the speeds of two belts may fall where they will: the largest gap is judged in place of evenness."""
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
    """The shaft never runs faster, without load either."""
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
