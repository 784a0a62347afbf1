"""What a maker states of one side of a stage: where its diameters come from."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, ClassVar, Literal

from pydantic import BeforeValidator, Field

from optimizer.errors import Fault
from optimizer.quantities import LENGTH, as_written, show_length
from optimizer.scenario.repeats import SAME_MM, repeated_sizes
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import Coordinate, Default, Diameter, Flag, Pair, Quantity, as_several

__all__ = ["Groove", "Material", "Measured", "Side"]

Measured = Literal["outside", "datum", "over pins"]
Groove = Literal["v", "flat", "crowned"]
Material = Literal["timber", "metal"]
Diameters = Annotated[tuple[Diameter, ...], BeforeValidator(as_several)]


class Side(Stated):
    """The diameters one side of a stage may have; `ready`, `blanks`, `free` may be mixed, `kept` stands alone."""

    header: ClassVar[str] = "the driver or driven side of a [[stage]]"

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
    material: Annotated[Material, Default("turned sides and kept cones; the lower rim speed, judgement")] = "timber"
    """What turned steps and kept cones are made of; timber rims must keep below `making.rim_speed`."""
    along_mm: Annotated[Coordinate, Default("as the facing cone's")] | None = Field(None, alias="along")
    """Place along the shaft of the middle of the slowest position's step, growing away from the motor's body."""

    @property
    def turned(self) -> bool:
        """Whether steps of this side may be turned."""
        return bool(self.blanks_mm) or self.free_mm is not None

    @property
    def _stated(self) -> bool:
        """Whether there are any diameters."""
        return self.turned or bool(self.ready_mm) or bool(self.kept_mm)

    @rule("ready_mm", "blanks_mm", "free_mm", "kept_mm")
    def _has_diameters(self, _: str) -> Iterator[Fault]:
        others = [key for key, given in (("ready", self.ready_mm), ("blanks", self.blanks_mm)) if given]
        others += ["free"] if self.free_mm else []
        if self.kept_mm and others:
            yield Fault(
                "kept",
                f"a kept cone stands alone, but {', '.join(others)} is stated beside it",
                as_written(self.kept_mm),
                "kept alone, or any of ready, blanks, free",
                "leave one of them out",
            )
        elif not self.kept_mm and not others:
            yield Fault(
                "", "no diameters are stated", allowed="ready, blanks, free, kept", advice="add free = [least, most]"
            )

    @rule("ready_mm", "blanks_mm")
    def _differ(self, units: str) -> Iterator[Fault]:
        yield from repeated_sizes("ready", self.ready_mm, units)
        yield from repeated_sizes("blanks", self.blanks_mm, units)

    @rule("kept_mm")
    def _kept_is_a_cone(self, units: str) -> Iterator[Fault]:
        rises = [upper - lower for lower, upper in pairwise(self.kept_mm)]
        first = next((rise for rise in rises if abs(rise) > SAME_MM), 0.0)
        for index, rise in enumerate(rises, 1):
            if rise * first < 0 and abs(rise) > SAME_MM:
                yield Fault(
                    f"kept[{index}]",
                    "the kept cone grows, then shrinks again"
                    if first > 0
                    else "the kept cone shrinks, then grows again",
                    show_length(self.kept_mm[index], units),
                    "steps in their order along the shaft, all one way",
                )
                return

    @rule("free_mm")
    def _free_rises(self, units: str) -> Iterator[Fault]:
        if self.free_mm and self.free_mm[0] >= self.free_mm[1]:
            yield Fault(
                "free[1]",
                "the largest diameter is not above the smallest",
                show_length(self.free_mm[1], units),
                f"above {show_length(self.free_mm[0], units)}",
                "write the smaller one first",
            )

    @rule("ready_mm", "blanks_mm", "free_mm", "kept_mm")
    def _only_kept_cones_are_described(self, _: str) -> Iterator[Fault]:
        for key, name in (("reversible", "reversible"), ("pitch", "pitch_mm")):
            if name in self.model_fields_set and self._stated and not self.kept_mm:
                yield Fault(
                    key,
                    "only a kept cone has this",
                    as_written(getattr(self, name)),
                    advice="leave it out, or add kept",
                )

    @rule("ready_mm", "blanks_mm", "free_mm", "kept_mm")
    def _only_turned_sides_are_turned(self, _: str) -> Iterator[Fault]:
        if "grid_mm" in self.model_fields_set and self._stated and not self.turned:
            yield Fault(
                "grid",
                "nothing is turned on this side",
                as_written(self.grid_mm),
                advice="leave it out, or add blanks or free",
            )

    @rule("ready_mm", "blanks_mm", "free_mm", "kept_mm")
    def _bought_pulleys_are_metal(self, _: str) -> Iterator[Fault]:
        if "material" in self.model_fields_set and self._stated and not (self.turned or self.kept_mm):
            yield Fault(
                "material",
                "ready pulleys are taken as metal",
                as_written(self.material),
                advice="leave it out, or add blanks, free or kept",
            )
