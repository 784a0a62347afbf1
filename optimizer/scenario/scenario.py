"""The whole of what a maker states of one machine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, ValidationInfo

from optimizer.catalogue.parts import frame, frame_of_shaft
from optimizer.errors import Fault
from optimizer.scenario.around import LEAST_GAP_MM, Around, Obstacle, place_faults
from optimizer.scenario.band import Band, Work, marked_rpm
from optimizer.scenario.chain import MOTOR, Link, Switch, chain_faults, in_order
from optimizer.scenario.crossing import blank_faults, grip_faults, speed_count_faults, speed_limit_faults
from optimizer.scenario.free import free_faults, shared_cone_faults, with_shared_cone
from optimizer.scenario.in_hand import InHand, in_hand_faults, with_in_hand
from optimizer.scenario.listing import ChangedLimit, DefaultUsed, changed_limits, defaults_used
from optimizer.scenario.making import Making, SheetStock
from optimizer.scenario.mounts import coupled_faults, mount_faults
from optimizer.scenario.remarks import remarks_on
from optimizer.scenario.shop import Motor, Series, Shaft
from optimizer.scenario.side import Side
from optimizer.scenario.stage import BeltStage, FixedStage, unslipped
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import Name, Note, repeated_names

__all__ = ["Scenario", "Units"]

Units = Literal["mm", "cm", "in"]


def _as_stage(data: object, info: ValidationInfo) -> BeltStage | FixedStage:
    """Read a stage as the kind its keys say, so that no fault is told of the other kind."""
    if isinstance(data, BeltStage | FixedStage):
        return data
    fixed = isinstance(data, dict) and "ratio" in data and not data.keys() & {"belt", "driver", "driven"}
    kind: type[BeltStage] | type[FixedStage] = FixedStage if fixed else BeltStage
    return kind.model_validate(data, context=info.context)


AnyStage = Annotated[BeltStage | FixedStage, BeforeValidator(_as_stage)]


class Scenario(Stated):
    """A machine as its maker states it, every figure in mm, rpm, kW."""

    header: ClassVar[str] = "the top of the file"
    stand_ins: ClassVar[Mapping[str, Any]] = {
        "title": "machine",
        "units": "mm",
        "motor": {"speed": 1000},
        "stage": (),
    }
    internal: ClassVar[frozenset[str]] = frozenset({"name", "text", "sha256", "reasons"})

    title: Name
    """What the machine is called, on every paper."""
    units: Units
    """Units of bare lengths in the file, and of lengths on screens and papers."""
    note: Note = ""
    """Text of any length that is repeated on the design sheet."""
    motor: Motor
    """The motor."""
    bands: tuple[Band, ...] = Field((), alias="band")
    """Working bands, one table each; a design needs at least one."""
    series: Series = Field(default_factory=Series)
    """What the series of speeds must keep."""
    making: Making = Field(default_factory=Making)
    """What the shop can make."""
    sheets: tuple[SheetStock, ...] = Field((), alias="sheet")
    """Sheets that blanks are sawn from; without any, as many as it takes of 1525 x 1525 mm, a usual size (read)."""
    in_hand: InHand = Field(default_factory=InHand)
    """What is there already: nothing of it is used more often than there is of it."""
    work: Work = Field(default_factory=Work)
    """The work that the machine does."""
    shafts: tuple[Shaft, ...] = Field((), alias="shaft")
    """Shafts that were stated; see `shaft` for the others."""
    around: Around = Field(default_factory=Around)
    """The room around belts and pulleys."""
    obstacles: tuple[Obstacle, ...] = Field((), alias="obstacle")
    """What pulleys and belts must keep clear of, in the places of the shafts."""
    stages: tuple[AnyStage, ...] = Field(alias="stage")
    """Stages in the order of the file; see `chain` for the order from motor to spindle."""
    name: str = ""
    """Name of the file."""
    text: str = ""
    """The file's text."""
    sha256: str = ""
    """Digest of the file's text."""
    reasons: tuple[tuple[str, str], ...] = ()
    """Place of every limit changed with a reason, with the reason."""

    def completed(self) -> None:
        """Keep the usual gap where places are stated; tell sides what is in hand, and which cone is shared.

        The motor's frame is taken from its shaft and power, and the motor to stand on its feet.
        """
        self.__dict__["stages"] = with_shared_cone(
            [with_in_hand(stage, self.in_hand) if isinstance(stage, BeltStage) else stage for stage in self.stages]
        )
        self.__dict__["bands"] = tuple(
            band.ending_at(marked) if band.from_rpm < (marked := self.marked_rpm(band)) < band.to_rpm else band
            for band in self.bands
        )
        if any(shaft.at_mm for shaft in self.shafts):
            self.__dict__["around"] = self.around.filled(least_gap_mm=LEAST_GAP_MM)
        shaft = next((shaft for shaft in self.shafts if shaft.name == MOTOR), None)
        if self.motor.frame is None and shaft is not None and shaft.diameter_mm is not None:
            known = frame_of_shaft(shaft.diameter_mm, self.motor.power_kw)
            self.__dict__["motor"] = self.motor.filled(frame=known and known.name)
        if self.motor.frame is not None:
            self.__dict__["motor"] = self.motor.filled(plate=True)

    @property
    def chain(self) -> tuple[BeltStage | FixedStage, ...]:
        """The stages from motor to spindle."""
        return tuple(self.stages[index] for index in in_order([(s.from_shaft, s.to_shaft) for s in self.stages]))

    @property
    def switches(self) -> tuple[Switch, ...]:
        """What has several settings, motor first."""
        found = [("motor", 0, (*self.motor.slower_rpm, self.motor.speed_rpm))]
        found += [
            (self.place_of(stage), number, (*stage.slower, stage.ratio))
            for number, stage in enumerate(self.chain)
            if isinstance(stage, FixedStage)
        ]
        found = [entry for entry in found if len(entry[2]) > 1]
        gears = [key for key, _, _ in found if key != MOTOR]
        names = {key: f"gear {number}" if len(gears) > 1 else "gear" for number, key in enumerate(gears, 1)}
        return tuple(Switch(key, at, tuple(sorted(values)), names.get(key, MOTOR)) for key, at, values in found)

    @property
    def shared_cone(self) -> bool:
        """Whether two belts run on one cone."""
        return any(isinstance(stage, BeltStage) and stage.driver.shared for stage in self.stages)

    @property
    def free(self) -> bool:
        """Whether the speeds make no series: two belts share a cone, or the maker leaves their speeds free."""
        return self.series.free or self.shared_cone

    @property
    def free_key(self) -> str:
        """The place that says that speeds are free."""
        if self.series.free:
            return "series.free"
        belts = [isinstance(stage, BeltStage) and stage.driver.shared for stage in self.stages]
        return f"stage[{belts.index(True)}].driver.shared"

    @property
    def defaults(self) -> tuple[DefaultUsed, ...]:
        """Every default that was used, with where it comes from."""
        return defaults_used(self, self.units)

    @property
    def changed_limits(self) -> tuple[ChangedLimit, ...]:
        """Every limit that differs from its default, with the maker's reason."""
        return changed_limits(self, self.units, dict(self.reasons))

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is legal but costly."""
        return remarks_on(self)

    def shaft(self, name: str) -> Shaft:
        """Return a shaft of the chain, one with nothing stated where the file says nothing of it.

        The motor's has the diameter of its frame where none is stated.
        """
        found = next((shaft for shaft in self.shafts if shaft.name == name), Shaft(name=name))
        if name == MOTOR and self.motor.frame is not None and found.diameter_mm is None:
            size = frame(self.motor.frame).shaft_mm
            return found.filled(diameter_mm=size, hub_mm=size)
        return found

    def motor_swing_mm(self, side: Side) -> float:
        """Return the largest pulley on the motor's shaft that keeps clear of what the motor stands on.

        Infinite where nothing reaches under it, and for a cone that is kept where nobody says that something does.
        """
        stated = "plate" in self.motor.model_fields_set
        if not self.motor.plate or self.motor.frame is None or (side.kept_whole and not stated):
            return inf
        gap = LEAST_GAP_MM if self.around.least_gap_mm is None else self.around.least_gap_mm
        return 2 * (frame(self.motor.frame).height_mm - gap)

    def idle_gain(self, place: int | None = None) -> float:
        """Return the greatest speed of a shaft without load over its greatest at full load, the spindle's unless told.

        The motor then turns as fast as its field, and no belt slips. `place` is the number of stages before the shaft.
        """
        return self.motor.idle_gain * unslipped(self.stages if place is None else self.chain[:place])

    def marked_rpm(self, band: Band) -> float:
        """Return the full-load speed at which what is marked on a band's wheel is kept when the load goes.

        Of a motor with several speeds the one counts that gains most; infinite where nothing is marked.
        """
        return marked_rpm(band) / (max(self.motor.idle_gains) * unslipped(self.stages))

    def place_of(self, stage: BeltStage | FixedStage) -> str:
        """Return the place of a stage in the file, such as `stage[0]`."""
        return f"stage[{next(i for i, other in enumerate(self.stages) if other is stage)}]"

    @rule("motor.frame", "motor.plate", "shafts.name", "shafts.diameter_mm")
    def _a_plate_has_a_height_above_it(self, _: str) -> Iterator[Fault]:
        if self.motor.plate and self.motor.frame is None:
            what = "how high the shaft lies above the plate is not stated"
            yield Fault("motor.plate", what, "true", "frame beside it, or the diameter of a usual motor's shaft")

    @rule("in_hand.sheaves", "in_hand.discs", "stages.driver", "stages.driven", "stages.belt.section")
    def _sides_find_what_is_in_hand(self, _: str) -> Iterator[Fault]:
        yield from in_hand_faults(self.stages, self.in_hand)

    @rule("bands.name")
    def _bands_have_names_of_their_own(self, _: str) -> Iterator[Fault]:
        yield from repeated_names("band", [band.name for band in self.bands])

    @rule("shafts.name")
    def _shafts_have_names_of_their_own(self, _: str) -> Iterator[Fault]:
        yield from repeated_names("shaft", [shaft.name for shaft in self.shafts])

    @rule("stages.from_shaft", "stages.to_shaft", "shafts.name")
    def _stages_are_one_chain(self, _: str) -> Iterator[Fault]:
        links = [Link(number, stage.from_shaft, stage.to_shaft) for number, stage in enumerate(self.stages)]
        yield from chain_faults(links, [shaft.name for shaft in self.shafts])

    @rule("stages.from_shaft", "stages.to_shaft", "stages.travel_mm", "shafts.name", "shafts.mount", "shafts.on")
    def _every_belt_has_its_mount(self, units: str) -> Iterator[Fault]:
        yield from mount_faults(self.shafts, self.stages, units)

    @rule(
        *(f"stages.{name}" for name in ("from_shaft", "to_shaft", "travel_mm", "centres_mm", "fit_mm", "slackened")),
        *("stages.belt", "stages.budget"),
        *(f"shafts.{name}" for name in ("name", "mount", "on", "at_mm", "direction_deg", "hinge")),
    )
    def _one_setting_fits_all_belts_of_a_mount(self, units: str) -> Iterator[Fault]:
        yield from coupled_faults(self.shafts, self.stages, units)

    @rule(
        *(f"stages.{name}" for name in ("from_shaft", "to_shaft", "positions", "onward", "belt.section")),
        *(f"stages.{side}.{key}" for side in ("driver", "driven") for key in ("shared", "kept_mm", "pitch_mm")),
    )
    def _shared_cones_are_driven(self, units: str) -> Iterator[Fault]:
        yield from shared_cone_faults(self.stages, units)

    @rule("series", "bands", "in_hand", "motor.slower_rpm", "stages.positions", "stages.slower", "stages.driver.shared")
    def _free_speeds_are_those_of_two_belts(self, _: str) -> Iterator[Fault]:
        yield from free_faults(self)

    @rule("motor.slower_rpm", "stages.positions", "stages.slower", "stages.driver.kept_mm", "stages.driven.kept_mm")
    def _speeds_are_not_too_many(self, _: str) -> Iterator[Fault]:
        yield from speed_count_faults(self.motor, self.stages)

    @rule(
        *("bands", "series.never_above_rpm", "motor.speed_rpm", "motor.slower_rpm", "motor.idle_rpm", "stages.slip"),
        *("shafts.name", "shafts.never_above_rpm"),
    )
    def _speed_limits_leave_something(self, _: str) -> Iterator[Fault]:
        yield from speed_limit_faults(self)

    @rule("making.largest_blank_mm", "making.truing_mm", "stages.driver", "stages.driven")
    def _blanks_can_be_made(self, units: str) -> Iterator[Fault]:
        yield from blank_faults(self, units)

    @rule("obstacles.name")
    def _obstacles_have_names_of_their_own(self, _: str) -> Iterator[Fault]:
        yield from repeated_names("obstacle", [obstacle.name for obstacle in self.obstacles])

    @rule("shafts.name", "shafts.at_mm", "stages.from_shaft", "stages.to_shaft", "stages.centres_mm", "obstacles.on")
    def _shafts_can_stand_so(self, units: str) -> Iterator[Fault]:
        yield from place_faults(self, units)

    @rule("series.least_grip", "motor.power_kw", "bands")
    def _powers_are_known_where_grip_is_a_limit(self, _: str) -> Iterator[Fault]:
        yield from grip_faults(self)
