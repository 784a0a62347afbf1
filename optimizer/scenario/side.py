"""What a maker states of one side of a stage: where its diameters come from."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from optimizer.quantities import LENGTH
from optimizer.scenario.stated import Stated
from optimizer.scenario.values import Default, Diameter, Flag, Pair, Quantity, as_several

__all__ = ["Groove", "Material", "Measured", "Side"]

Measured = Literal["outside", "datum", "over pins"]
Groove = Literal["v", "flat", "crowned"]
Material = Literal["timber", "metal"]
Diameters = Annotated[tuple[Diameter, ...], BeforeValidator(as_several)]


class Side(Stated):
    """The diameters one side of a stage may have; `ready`, `blanks`, `free` may be mixed, `kept` stands alone."""

    ready_mm: Diameters = Field((), alias="ready")
    """Pulleys bought or in the drawer, used as they are."""
    blanks_mm: Diameters = Field((), alias="blanks")
    """Discs in set sizes, turned down."""
    free_mm: Pair | None = Field(None, alias="free")
    """Smallest and largest of any diameter."""
    kept_mm: Diameters = Field((), alias="kept")
    """A cone that exists already, steps in their order along the shaft."""
    reversible: Flag = False
    """Whether the kept cone may be turned end for end."""
    pitch_mm: Annotated[float, Quantity(LENGTH, least=1.0, most=1000.0)] | None = Field(None, alias="pitch")
    """Distance of the kept cone's steps along the shaft."""
    measured: Annotated[Measured, Default("by section")] = "datum"
    """The line on which every diameter of this side is given."""
    groove: Annotated[Groove, Default("by section")] = "v"
    """The kind of rim the belt runs on."""
    smallest_mm: Annotated[float, Quantity(LENGTH, least=3.0, most=5000.0, limit=True)] | None = Field(
        None, alias="smallest"
    )
    """Smallest diameter on the maker's line, in place of the section's."""
    grid_mm: Annotated[float, Quantity(LENGTH, least=0.1, most=100.0)] | None = Field(None, alias="grid")
    """Step of the listed sizes, in place of the one of `making`."""
    material: Annotated[Material, Default("turned sides only")] = "timber"

    @property
    def turned(self) -> bool:
        """Whether steps of this side may be turned."""
        return bool(self.blanks_mm) or self.free_mm is not None
