"""What a maker states of a stage: two shafts joined by a belt, or by a fixed ratio."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from optimizer.quantities import ANGLE, LENGTH, NUMBER, RIM_SPEED, SHARE
from optimizer.scenario.belt import Belt
from optimizer.scenario.side import Side
from optimizer.scenario.stated import Stated
from optimizer.scenario.values import LONGEST_MM, PRACTICE, Default, Flag, Name, Note, Quantity, Whole, as_counts, as_pair

__all__ = ["BeltStage", "Budget", "FixedStage", "Stage"]

MOST_POSITIONS = 6
G3 = "GOST 1284.3-96"
Centre = Annotated[float, Quantity(LENGTH, least=10.0, most=LONGEST_MM)]
Line = Annotated[float, Quantity(LENGTH, most=1000.0, limit=True)] | None
Run = Literal["open", "crossed"]


class Budget(Stated):
    """Lines of the travel budget that the maker sets otherwise, each a length along the line of centres."""

    tolerance_mm: Line = Field(None, alias="tolerance")
    """For the tolerance of the belt's length."""
    stretch_mm: Line = Field(None, alias="stretch")
    """For the stretch of the belt over its life."""
    climb_mm: Line = Field(None, alias="climb")
    """For fitting the belt, or climbing it one step."""


class BeltStage(Stated):
    """Two shafts joined by one belt on facing step cones."""

    stand_ins: ClassVar[Mapping[str, Any]] = {
        "from": "motor",
        "to": "spindle",
        "centres": (10.0, LONGEST_MM),
        "belt": "A",
        "driver": {"free": [50.0, 100.0]},
        "driven": {"free": [50.0, 100.0]},
    }

    from_shaft: Name = Field(alias="from")
    """The driving shaft."""
    to_shaft: Name = Field(alias="to")
    """The driven shaft."""
    positions: Annotated[tuple[Whole, ...], BeforeValidator(as_counts), Default("1, or the steps of a kept cone")] = (1,)
    """Numbers of positions that may be tried."""
    centres_mm: Annotated[tuple[Centre, Centre], BeforeValidator(as_pair)] = Field(alias="centres")
    """Smallest and largest centre distance of any position."""
    travel_mm: Annotated[float, Quantity(LENGTH, most=LONGEST_MM), Default("a locked pair unless travel is stated")] = (
        Field(0.0, alias="travel")
    )
    """How far the mount lets the centre distance change; 0 is a locked pair."""
    fit_mm: Annotated[float, Quantity(LENGTH, most=5.0, limit=True), Default()] = Field(0.2, alias="fit")
    """Difference in centre distance that the belt itself forgives."""
    slip: Annotated[float, Quantity(SHARE, most=0.2), Default("belts creep about 1 %; " + PRACTICE)] = 0.01
    """Share of the speed that the belt loses."""
    wrap_deg: Annotated[float, Quantity(ANGLE, most=180.0, limit=True), Default(G3 + ", least arc of contact")] = Field(
        90.0, alias="wrap"
    )
    """Least arc of contact on either pulley."""
    clearance_mm: Annotated[float, Quantity(LENGTH, most=1000.0, limit=True), Default()] = Field(
        10.0, alias="clearance"
    )
    """Least gap between facing rims."""
    run: Annotated[Run, Default()] = "open"
    slackened: Note = ""
    """How the belt of a locked pair is slackened."""
    belt: Belt
    driver: Side
    driven: Side
    budget: Budget = Field(default_factory=Budget)
    belt_speed_m_s: Annotated[float, Quantity(RIM_SPEED, most=100.0, above=True, limit=True), Default(G3)] = Field(
        30.0, alias="belt_speed"
    )
    """Greatest speed of the belt."""

    @property
    def moves(self) -> bool:
        """Whether some mount changes the centre distance."""
        return self.travel_mm > 0

    @property
    def crossed(self) -> bool:
        """Whether the belt runs crossed."""
        return self.run == "crossed"


class FixedStage(Stated):
    """Two shafts joined by a ratio that never changes, such as gears."""

    stand_ins: ClassVar[Mapping[str, Any]] = {"from": "motor", "to": "spindle", "ratio": 1}

    from_shaft: Name = Field(alias="from")
    to_shaft: Name = Field(alias="to")
    ratio: Annotated[float, Quantity(NUMBER, least=0.001, most=1000.0)]
    """Speed of the driven shaft over that of the driving one."""
    reverses: Annotated[Flag, Default()] = False
    """Whether the driven shaft turns the other way."""


Stage = BeltStage | FixedStage
