"""What a maker states of the room around the belts: obstacles, the gap that is kept; where shafts cannot stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import hypot
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import BeforeValidator, Field

from optimizer.errors import Fault
from optimizer.quantities import LENGTH, QuantityError, as_written, show_length
from optimizer.scenario.chain import MOTOR, SPINDLE
from optimizer.scenario.stage import BeltStage
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import LONGEST_MM, Coordinate, Default, Name, Point, Quantity

if TYPE_CHECKING:
    from optimizer.scenario.scenario import Scenario

__all__ = ["LEAST_GAP_MM", "PLACED_TO_MM", "Around", "Box", "Obstacle", "Round", "Span", "as_span", "place_faults"]

LEAST_GAP_MM = 5.0
"""Least gap between what moves and what it must not touch, where nothing is stated."""
PLACED_TO_MM = 1.0
"""How far the distance of two stated places may miss a centre distance: places are measured to a millimetre or so."""


def as_span(value: object) -> object:
    """Refuse all but a list of two places along the shafts."""
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise QuantityError("this takes two values: from, to", as_written(value), "[from, to]")
    return value


Span = Annotated[tuple[Coordinate, Coordinate], BeforeValidator(as_span)]
"""From one place along the shafts to another [mm]."""


class Around(Stated):
    """The room around belts and pulleys; it is looked at where the places of shafts are stated."""

    header: ClassVar[str] = "[around]"

    least_gap_mm: (
        Annotated[
            float,
            Quantity(LENGTH, most=1000.0, limit=True),
            Default("5 mm where places of shafts are stated; judgement"),
        ]
        | None
    ) = Field(None, alias="clearance")
    """Least gap between pulleys, belts, shafts, obstacles that do not belong together."""


class Round(Stated):
    """A round obstacle, such as the body of a motor."""

    header: ClassVar[str] = "the round of an [[obstacle]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"at": (0.0, 0.0), "diameter": 1}

    at_mm: Point = Field(alias="at")
    """Its middle, `[x, y]`, as the places of the shafts are stated."""
    diameter_mm: Annotated[float, Quantity(LENGTH, most=LONGEST_MM, above=True)] = Field(alias="diameter")
    """Its diameter."""


class Box(Stated):
    """An obstacle with four straight sides, such as a bed or a frame member."""

    header: ClassVar[str] = "the box of an [[obstacle]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"from": (0.0, 0.0), "to": (1.0, 1.0)}

    from_mm: Point = Field(alias="from")
    """One corner, `[x, y]`."""
    to_mm: Point = Field(alias="to")
    """The corner across from it."""

    @rule("from_mm", "to_mm")
    def _corners_differ(self, _: str) -> Iterator[Fault]:
        if self.from_mm == self.to_mm:
            yield Fault("to", "both corners are one point", as_written(self.to_mm), "the corner across from the other")


class Obstacle(Stated):
    """Something that pulleys and belts must keep clear of: a bed, a frame member, a motor's body."""

    header: ClassVar[str] = "[[obstacle]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"name": "obstacle"}

    name: Name
    """What it is."""
    disc: Round | None = Field(None, alias="round")
    """Its outline across the shafts, where it is round."""
    box: Box | None = None
    """Its outline across the shafts, where it has four sides, level and upright."""
    along_mm: Span | None = Field(None, alias="along")
    """From where to where it reaches along the shafts; past all of them where nothing is stated."""
    on: Name | None = None
    """The shaft whose mount carries it, as a motor carries its body; nothing where the frame does."""

    def completed(self) -> None:
        """Take the frame for no carrier."""
        if self.on == "frame":
            self.__dict__["on"] = None

    @rule("disc", "box")
    def _has_one_outline(self, _: str) -> Iterator[Fault]:
        if (self.disc is None) == (self.box is None):
            what = "an obstacle has one outline" if self.box else "no outline is stated"
            advice = "leave one of them out" if self.box else "add box = { from = [x, y], to = [x, y] }"
            yield Fault("", what, allowed="round or box", advice=advice)

    @rule("along_mm")
    def _along_rises(self, units: str) -> Iterator[Fault]:
        if self.along_mm is not None and self.along_mm[0] >= self.along_mm[1]:
            low, high = (show_length(place, units) for place in self.along_mm)
            yield Fault("along[1]", "it ends at or below its start", high, f"above {low}", "write it first")


def place_faults(scenario: Scenario, units: str) -> Iterator[Fault]:
    """Yield a fault for places of shafts that no design can have, and for obstacles on shafts that are not there."""
    places = {shaft.name: (index, shaft.at_mm) for index, shaft in enumerate(scenario.shafts) if shaft.at_mm}
    for number, stage in enumerate(scenario.stages):
        if not isinstance(stage, BeltStage) or not {stage.from_shaft, stage.to_shaft} <= places.keys():
            continue
        index, here = places[stage.to_shaft]
        _, there = places[stage.from_shaft]
        apart = hypot(here[0] - there[0], here[1] - there[1])
        slack = stage.travel_mm if stage.moves else PLACED_TO_MM
        low, high = stage.centres_mm[0] - slack, stage.centres_mm[1] + slack
        if not low <= apart <= high:
            reach = " and the travel" if stage.moves else ""
            yield Fault(
                f"shaft[{index}].at",
                f"it stands {show_length(round(apart, 3), units)} from {stage.from_shaft}, "
                f"which the centres{reach} of stage[{number}] rule out",
                as_written(here),
                f"{show_length(max(round(low, 3), 0.0), units)} to {show_length(round(high, 3), units)} apart",
                f"correct it, the place of {stage.from_shaft}, or centres",
            )
    known = {MOTOR, SPINDLE, *(shaft.name for shaft in scenario.shafts)}
    known |= {name for stage in scenario.stages for name in (stage.from_shaft, stage.to_shaft)}
    for index, obstacle in enumerate(scenario.obstacles):
        if obstacle.on is not None and obstacle.on not in known:
            allowed = ", ".join(as_written(name) for name in sorted(known))
            yield Fault(
                f"obstacle[{index}].on", "there is no such shaft", as_written(obstacle.on), f'{allowed}, "frame"'
            )
