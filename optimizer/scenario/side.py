"""What a maker states of one side of a stage: where its diameters come from."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, ClassVar, Literal

from pydantic import BeforeValidator, Field

from optimizer.errors import Fault
from optimizer.quantities import LENGTH, as_written, show_length
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import (
    LONGEST_MM,
    SAME_MM,
    Coordinate,
    Default,
    Diameter,
    Flag,
    Pair,
    Quantity,
    as_several,
    as_step,
    repeated_sizes,
)

__all__ = ["Groove", "Material", "Measured", "Side"]

Measured = Literal["outside", "datum", "over pins"]
Groove = Literal["v", "flat", "crowned"]
Material = Literal["timber", "metal", "cast iron", "steel", "aluminium"]
MADE_OF = "turned steps timber, the lower rim speed, judgement; pulleys bought alone metal; a kept cone unknown"
Diameters = Annotated[tuple[Diameter, ...], BeforeValidator(as_several)]
Step = Annotated[float | None, Quantity(LENGTH, least=5.0, most=LONGEST_MM), BeforeValidator(as_step)]
"""Diameter of a step that exists [mm], or nothing for one that is still to be made."""
WAYS = "ready, blanks, free, sheaves_in_hand, discs_in_hand"
"""All keys that say what steps may be made of."""
NOT_TOLD = frozenset({"shared", "hand_mm", "hand_discs_mm"})
"""Fields of a shared cone that are not told in the stage before."""


class Side(Stated):
    """The diameters one side of a stage may have; all ways may be mixed, but a `kept` cone without open steps."""

    header: ClassVar[str] = "the driver or driven side of a [[stage]]"
    internal: ClassVar[frozenset[str]] = frozenset({"hand_mm", "hand_discs_mm"})

    ready_mm: Diameters = Field((), alias="ready")
    """Pulleys used as they are, as many of each size as it takes."""
    blanks_mm: Diameters = Field((), alias="blanks")
    """Discs in set sizes, turned down."""
    free_mm: Pair | None = Field(None, alias="free")
    """Smallest and largest of any diameter."""
    shared: Flag = False
    """Whether this driver is the driven cone of the stage before, each step of which carries one belt at most."""
    kept_mm: Annotated[tuple[Step, ...], BeforeValidator(as_several)] = Field((), alias="kept")
    """A cone that exists already, steps in their order along the shaft; `"open"` for one that is still to be made."""
    sheaves_in_hand: Flag = False
    """Whether sheaves in hand of the belt's section may be used, each as often as there is of it."""
    discs_in_hand: Flag = False
    """Whether steps may be turned from the discs in hand, each used once."""
    hand_mm: Diameters = ()
    """Diameters of those sheaves on this side's line."""
    hand_discs_mm: Diameters = ()
    """Diameters of those discs."""
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
    material: Annotated[Material, Default(MADE_OF)] | None = None
    """What turned steps, a kept cone, or bought pulleys alone are made of; `making.rim_speed` limits timber rims."""
    along_mm: Annotated[Coordinate, Default("as the facing cone's")] | None = Field(None, alias="along")
    """Place along the shaft of the middle of the slowest position's step, growing away from the motor's body."""

    def completed(self) -> None:
        """Take turned steps as timber, bought pulleys alone as metal; a kept cone may be of anything."""
        if not self.kept_whole:
            self.fill(material="timber" if self.turned or not (self.ready_mm or self.sheaves_in_hand) else "metal")

    def made_of(self, *, turned: bool) -> Material | None:
        """Return what a step is made of, turned or not; nothing where it exists and nobody says."""
        if turned:
            return self.material
        if self.kept_mm:
            return self.material if "material" in self.model_fields_set else None
        return "metal" if self.turned else self.material

    @property
    def materials(self) -> frozenset[Material | None]:
        """All that its steps may be made of; nothing among them for what is not known."""
        stands = bool(self.kept_mm or self.pulleys_mm or self.sheaves_in_hand)
        return frozenset([self.made_of(turned=True)] * self.turned + [self.made_of(turned=False)] * stands)

    @property
    def turned(self) -> bool:
        """Whether steps of this side may be turned."""
        return bool(self.blanks_mm) or self.discs_in_hand or self.free_mm is not None

    @property
    def pulleys_mm(self) -> tuple[float, ...]:
        """Diameters of all pulleys that may be used as they are, ready or in hand."""
        return tuple(dict.fromkeys((*self.ready_mm, *self.hand_mm)))

    @property
    def discs_mm(self) -> tuple[float, ...]:
        """Diameters of all discs that steps may be turned from, in set sizes or in hand."""
        return tuple(dict.fromkeys((*self.blanks_mm, *self.hand_discs_mm)))

    @property
    def kept_fixed_mm(self) -> tuple[float, ...]:
        """The steps of the cone that exist, in their order along the shaft."""
        return tuple(size for size in self.kept_mm if size is not None)

    @property
    def kept_open(self) -> bool:
        """Whether some steps of the cone are still to be made."""
        return len(self.kept_fixed_mm) < len(self.kept_mm)

    @property
    def kept_whole(self) -> bool:
        """Whether all steps of the cone exist."""
        return bool(self.kept_mm) and not self.kept_open

    @property
    def _stated(self) -> bool:
        """Whether there are any diameters."""
        return self.turned or self.sheaves_in_hand or bool(self.ready_mm) or bool(self.kept_mm)

    @rule("ready_mm", "blanks_mm", "free_mm", "kept_mm", "sheaves_in_hand", "discs_in_hand")
    def _has_diameters(self, _: str) -> Iterator[Fault]:
        others = [key for key, given in (("ready", self.ready_mm), ("blanks", self.blanks_mm)) if given]
        others += ["free"] if self.free_mm else []
        others += [key for key in ("sheaves_in_hand", "discs_in_hand") if getattr(self, key)]
        if self.kept_mm and not self.kept_open and others:
            yield Fault(
                "kept",
                f"a whole kept cone stands alone, but {', '.join(others)} is stated beside it",
                _written(self.kept_mm),
                f'kept alone, kept with "open" steps, or any of {WAYS}',
                "leave one of them out",
            )
        elif self.kept_mm and not self.kept_fixed_mm:
            advice = "leave kept out" if others else "write free = [least, most] in its place"
            yield Fault(
                "kept", "no step of the kept cone exists", _written(self.kept_mm), "one diameter at least", advice
            )
        elif self.kept_open and not others:
            yield Fault(
                "kept",
                "nothing says what the open steps may be",
                _written(self.kept_mm),
                f"{WAYS} beside kept",
                "add free = [least, most]",
            )
        elif not self.kept_mm and not others and not self.shared:
            yield Fault("", "no diameters are stated", allowed=f"{WAYS}, kept", advice="add free = [least, most]")

    @rule("shared")
    def _a_shared_cone_is_told_where_it_is_driven(self, _: str) -> Iterator[Fault]:
        names = [name for name in type(self).model_fields if name in self.model_fields_set and name not in NOT_TOLD]
        for name in names if self.shared else ():
            yield Fault(
                type(self).model_fields[name].alias or name,
                "a shared cone is told where it is driven, in the stage before",
                as_written(getattr(self, name)),
                advice="leave it out here",
            )

    @rule("ready_mm", "blanks_mm")
    def _differ(self, units: str) -> Iterator[Fault]:
        yield from repeated_sizes("ready", self.ready_mm, units)
        yield from repeated_sizes("blanks", self.blanks_mm, units)

    @rule("kept_mm")
    def _kept_is_a_cone(self, units: str) -> Iterator[Fault]:
        steps = [(index, size) for index, size in enumerate(self.kept_mm) if size is not None]
        rises = [(index, size, size - before) for (_, before), (index, size) in pairwise(steps)]
        first = next((rise for _, _, rise in rises if abs(rise) > SAME_MM), 0.0)
        for index, size, rise in rises:
            if rise * first < 0 and abs(rise) > SAME_MM:
                yield Fault(
                    f"kept[{index}]",
                    "the kept cone grows, then shrinks again"
                    if first > 0
                    else "the kept cone shrinks, then grows again",
                    show_length(size, units),
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
                advice="leave it out, or add blanks, free or discs_in_hand",
            )


def _written(kept_mm: tuple[float | None, ...]) -> str:
    """Return a kept cone as the maker writes it."""
    return as_written(["open" if size is None else size for size in kept_mm])
