"""The whole of what a maker states of one machine."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Field, Tag

from optimizer.scenario.chain import in_order
from optimizer.scenario.listing import ChangedLimit, DefaultUsed, changed_limits, defaults_used
from optimizer.scenario.remarks import remarks_on
from optimizer.scenario.shop import Band, Making, Motor, Series, Shaft
from optimizer.scenario.stage import BeltStage, FixedStage
from optimizer.scenario.stated import Stated
from optimizer.scenario.values import Name, Note

__all__ = ["Scenario", "Units"]

Units = Literal["mm", "cm", "in"]


def _kind_of_stage(data: object) -> str:
    fixed = "ratio" in data if isinstance(data, dict) else isinstance(data, FixedStage)
    return "fixed" if fixed else "belt"


AnyStage = Annotated[
    Annotated[BeltStage, Tag("belt")] | Annotated[FixedStage, Tag("fixed")], Discriminator(_kind_of_stage)
]


class Scenario(Stated):
    """A machine as its maker states it, every figure in mm, rpm, kW."""

    stand_ins: ClassVar[Mapping[str, Any]] = {
        "title": "machine",
        "units": "mm",
        "motor": {"speed": 1000},
        "stage": (),
    }
    internal: ClassVar[frozenset[str]] = frozenset({"name", "sha256", "reasons"})

    title: Name
    units: Units
    """Units of bare lengths in the file, used in texts; every length here is in mm."""
    note: Note = ""
    motor: Motor
    bands: tuple[Band, ...] = Field((), alias="band")
    series: Series = Field(default_factory=Series)
    making: Making = Field(default_factory=Making)
    shafts: tuple[Shaft, ...] = Field((), alias="shaft")
    """Shafts that were stated; see `shaft` for the others."""
    stages: tuple[AnyStage, ...] = Field(alias="stage")
    """Stages in the order of the file; see `chain` for the order from motor to spindle."""
    name: str = ""
    """Name of the file."""
    sha256: str = ""
    """Digest of the file's text."""
    reasons: tuple[tuple[str, str], ...] = ()
    """Place of every limit changed with a reason, with the reason."""

    @property
    def chain(self) -> tuple[BeltStage | FixedStage, ...]:
        """The stages from motor to spindle."""
        return tuple(self.stages[index] for index in in_order([(s.from_shaft, s.to_shaft) for s in self.stages]))

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
        """Return a shaft of the chain, one with nothing stated where the file says nothing of it."""
        return next((shaft for shaft in self.shafts if shaft.name == name), Shaft(name=name))

    def place_of(self, stage: BeltStage | FixedStage) -> str:
        """Return the place of a stage in the file, such as `stage[0]`."""
        return f"stage[{next(i for i, other in enumerate(self.stages) if other is stage)}]"
