"""What mechanics says of a machine, as the sheet shows it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, Self

from pydantic import Field, PositiveFloat, model_validator

from optimizer.quantities import SurfaceUnit
from optimizer.quantities.digits import meaningful
from optimizer.scenario.band import Of
from optimizer.scenario.base import Model

__all__ = [
    "AroundSheet",
    "BandSurface",
    "BeltLoadSheet",
    "CarryingSheet",
    "FlatSheet",
    "GapSheet",
    "GearSheet",
    "GearTorque",
    "HangingSheet",
    "HungSheet",
    "KeySheet",
    "MountSheet",
    "ReachSheet",
    "RunUpSheet",
    "ShaftLoadSheet",
    "ShaftsSheet",
    "SpanSheet",
    "SurfaceSheet",
    "TorqueSheet",
    "TurningSheet",
    "WorkSheet",
    "WorkSizeSheet",
]


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


class HungSheet(Model):
    """How a mount draws its belt at one position, with a new belt or a worn one, at the speed with least to spare."""

    position: int
    """From 1."""
    worn: bool
    """Whether the belt is worn out, so that the mount stands at the end of what it needs."""
    rpm: float
    """Speed of the spindle."""
    tight_lever: float | None
    """Arm of the tight strand about the hinge [mm], or the cosine of its direction along the slide; below 0 where the
    strand's pull helps the weight."""
    slack_lever: float | None
    rest_n: float | None
    """Pull of each strand at rest; nothing at a dead point, where weight does not set it."""
    tight_n: float | None
    """Pulls on the pulleys while the belt carries what it must, the centrifugal one left out."""
    slack_n: float | None
    needed_slack_n: float | None
    """Pull of the slack strand below which the belt slips."""
    most_n: float | None
    """Greatest mean pull of both strands."""
    carries_kw: float | None
    """Power at which the belt slips as the mount draws it; nothing where every load tightens it, or nobody knows."""
    must_kw: float | None


class SpanSheet(Model):
    """From the least that is enough to the most that is not too much."""

    least: float
    most: float
    some: bool
    """Whether anything is both; otherwise the least is above the most."""


class MountSheet(Model):
    """One mount with the belt it draws."""

    shaft: str
    kind: Literal["hinge", "slide"]
    key: str
    """Place of the belt's stage in the scenario."""
    locked: bool
    unstated: str
    """What is missing of weights or pull, so that pulls are not known; nothing where all is stated."""
    nearer: Literal["tight", "slack", "even"] | None
    """Strand nearer to the hinge at the first row; nothing on a slide."""
    rows: tuple[HungSheet, ...]
    does: bool | None
    """Whether it draws enough and not too much in every row; nothing where that is not known."""
    pull_n: SpanSheet | None
    """By how much more a spring must draw the shaft, square to its arm about a hinge or along a slide; the whole pull
    where none is stated."""
    mass_kg: SpanSheet | None
    """How much more must hang at the centre of mass; the whole mass where none is stated, nothing where weight there
    does not help everywhere."""
    hinge_mm: tuple[SpanSheet, ...]
    """How far from its place along its line the hinge could stand for all to do."""
    line_deg: float | None
    """Direction of that line."""
    press_n: tuple[float, float] | None
    """Force that bends the middle of a strand in by 1/64 of its length where it is drawn just enough, and as hard as
    it may be."""


class HangingSheet(Model):
    """All mounts of which it is known where they stand."""

    mounts: tuple[MountSheet, ...]
    cautions: tuple[str, ...]


WHOLE_G = 10.0
"""From here on grams are told whole."""


class ShaftLoadSheet(Model):
    """The hardest speed of one shaft."""

    shaft: str
    rpm: float
    """Speed of the spindle at which the shaft is loaded hardest."""
    moment_nm: float
    torque_nm: float
    needed_mm: float
    """Diameter that stands bending and torsion together."""
    diameter_mm: float | None
    """The diameter stated."""
    bearings_n: tuple[float, float]
    """Greatest loads of any speed, each bearing's own."""
    directions_known: bool
    """Whether the directions of the pulls follow from stated places; otherwise the worst of them counts."""
    source: str


class KeySheet(Model):
    """The usual key of a shaft with its seats."""

    shaft: str
    diameter_mm: float
    width_mm: float
    height_mm: float
    shaft_depth_mm: float | None
    """Depth of the seat in the shaft at its middle (t1)."""
    hub_depth_mm: float | None
    """The same in the hub (t2)."""
    over_shaft_mm: float
    """From the bottom of the shaft's seat to the far side of the shaft (S)."""
    over_hub_mm: float
    """From the bottom of the hub's seat to the far side of the bore (T)."""
    length_mm: float | None
    """Least length for the greatest torque of the shaft."""
    source: str


class FlatSheet(Model):
    """A motor shaft that has a flat in place of a keyway."""

    shaft: str
    frame: str
    over_flat_mm: float
    """From the flat to the far side of the shaft."""
    source: str

    def words(self, size: Callable[[float], str]) -> str:
        """Return what is said of it, with its size written by `size`."""
        return (
            f"The shaft of {self.frame} has a flat and no keyway, {size(self.over_flat_mm)} over the flat: two set "
            f"screws of the metal hub or pulley bear on it."
        )


class TurningSheet(Model):
    """One cone at the greatest speed of its shaft."""

    key: str
    shaft: str
    rpm: float
    rim_m_s: float
    """Speed of the largest rim at the greatest speed of its shaft."""
    radius_mm: float
    """Radius of the largest rim."""
    mass_kg: float | None
    """Mass of the cone, without a hub; nothing where steps exist already, as nobody states what they weigh."""
    stress_mpa: float
    """Greatest stress of the largest step by its own mass, as a flat disc with a bore."""
    ring_mpa: float
    """The same as a thin ring."""
    strength_mpa: float | None
    """Least strength in tension of what it may be made of; nothing where that is not stated."""
    strength_rpm: float | None
    """Speed at which the stress of the ring would reach that strength: a calculation, no licence."""
    strength_source: str
    material: str
    unbalance_g_m: float | None
    """Unbalance that may be left, the lesser of the pulley standard's and the grade's; nothing where none is known."""
    at_rim_g: float | None
    """The same as a mass at the largest rim; nothing where the mass is not known, as the grade may leave far less."""
    pull_n: float | None
    """What that unbalance pulls at this speed."""
    shown_g_m: float | None
    """Least unbalance that an arbor on level edges shows; nothing where the mass is not known."""
    two_planes: bool
    """Whether it is long and fast enough to be balanced in two planes."""
    balance: str
    """How it is balanced, in words."""
    source: str

    def left_words(self, size: Callable[[float], str]) -> str:
        """Return what unbalance may be left, in grams at the rim, with its radius written by `size`."""
        if self.at_rim_g is None:
            return ""
        grams = f"{self.at_rim_g:.0f}" if self.at_rim_g >= WHOLE_G else f"{self.at_rim_g:.2g}"
        return f"{grams} g at its rim, {size(self.radius_mm)} from the axis"


class RunUpSheet(Model):
    """How the machine comes up to one spindle speed with the heaviest work."""

    number: int
    rpm: float
    torque_nm: float
    """Steady torque of the spindle that is counted on."""
    seconds: float | None
    """Nothing where a belt carries nothing, so that the work does not come up to speed."""


class ShaftsSheet(Model):
    """Shafts, keys, balance, starting."""

    loads: tuple[ShaftLoadSheet, ...]
    keys: tuple[KeySheet, ...]
    flats: tuple[FlatSheet, ...] = ()
    cones: tuple[TurningSheet, ...]
    run_ups: tuple[RunUpSheet, ...]
    cautions: tuple[str, ...]


class GapSheet(Model):
    """The least gap between two things over every position and both ends of travel."""

    one: str
    other: str
    gap_mm: float
    """Below 0 where they overlap."""
    placed: bool
    """Whether it is known where both lie along the shafts; else the gap is the one across the shafts."""
    state: str
    """How the stages stand where the gap is that small."""


class ReachSheet(Model):
    """Where the axis of a shaft stands over every position and both ends of travel, in the maker's coordinates."""

    shaft: str
    x_mm: tuple[float, float]
    y_mm: tuple[float, float]


class AroundSheet(Model):
    """The room around, where places of shafts are stated."""

    least_gap_mm: float
    """Gap that is to be kept."""
    shafts: tuple[ReachSheet, ...]
    unknown: tuple[str, ...]
    """Shafts whose place is not known, so that nothing on them is looked at; what is missing stands in `skipped`."""
    gaps: tuple[GapSheet, ...]
    """Nearest first."""


class BandSurface(Model):
    """What a maker wants a band's surface to do."""

    of: Of
    """What the diameters are of: work, a tool, a wheel, or the wheel that a blade runs on."""
    diameter_mm: tuple[float, float]
    """Least and greatest diameter."""
    wanted_m_s: tuple[float, float]
    """Least and greatest speed wanted along the surface."""
    wanted: tuple[float, float]
    """The same in the unit that the maker writes."""
    unit: SurfaceUnit
    told: bool
    """Whether the band's speeds are told by that of its surface, as for a blade, and not by diameters that suit."""
    sets_edges: bool
    """Whether both edges of the band follow from it."""


class SurfaceSheet(Model):
    """How fast the surface of a stated diameter runs."""

    diameter_mm: float
    speed_m_s: float
    speed: float
    """The same in the unit in which the band's speeds are told."""
    unit: SurfaceUnit


class WorkSheet(Model):
    """Work at one spindle speed in one band."""

    number: int
    """The speed, counted from 1."""
    rpm: float
    band: str
    """Nothing for a speed that is in no band."""
    rule: Literal["wood turning", "surface speed"] | None
    """What the span of diameters follows from; nothing where no span is asked for."""
    wanted_m_s: tuple[float, float] | None
    """Least and greatest speed wanted along the surface."""
    source: str
    suited_mm: tuple[float, float] | None
    """Least and greatest diameter that suit the speed."""
    surfaces: tuple[SurfaceSheet, ...]
    """The band's own diameters of work, tool, or wheel."""
    of: Of
    """What they are of."""
    unit: SurfaceUnit
    """Unit in which speeds along the surface are told."""
    told: bool
    """Whether the speed is told by that of its surface, as for a blade, and not by the diameters that suit it."""


class WorkSizeSheet(Model):
    """Work at every speed of which the maker states something."""

    largest_mm: float | None
    """Diameter of the largest work that the machine takes, where it is stated."""
    work: tuple[WorkSheet, ...]
    cautions: tuple[str, ...]
