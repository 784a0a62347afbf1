"""What a maker states of a stage's belt."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf
from typing import Annotated, Any, ClassVar, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from optimizer.catalogue.entry import Grade, Section
from optimizer.catalogue.lengths import series_of
from optimizer.catalogue.sections import section
from optimizer.errors import Fault
from optimizer.quantities import LENGTH, as_written, show_length
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import Default, Flag, Name, Quantity, as_lengths, repeated_sizes

__all__ = ["AnyLength", "Belt", "BeltLength", "LengthMeasured"]

AnyLength = Literal["stock", "metric stock", "inch stock", "any"]
LengthMeasured = Literal["datum", "inside", "outside"]
LONGEST_BELT_MM = 20_000.0
LINKED = frozenset({"Z", "A", "B", "3L", "4L", "5L"})
"""Sections sold as link belt; common practice, no source."""

BeltLength = Annotated[float, Quantity(LENGTH, least=50.0, most=LONGEST_BELT_MM)]


def _known(name: str) -> str:
    return section(name).name


class Belt(Stated):
    """The belt of a stage: its section, with the lengths it may have."""

    header: ClassVar[str] = "the belt of a [[stage]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"section": "A"}
    internal: ClassVar[frozenset[str]] = frozenset({"hand_mm"})

    section: Annotated[Name, AfterValidator(_known)]
    """Name of the section as printed on the belt; round and flat belts with their size."""
    lengths: Annotated[AnyLength | tuple[BeltLength, ...], BeforeValidator(as_lengths), Default("by section")] = "stock"
    """Lengths to choose from: a stock series, any length, or the maker's own list [mm]."""
    measured: Annotated[LengthMeasured, Default("the line the catalogue's lengths run on")] = "datum"
    """The line on which the lengths of the maker's list run."""
    grade: Annotated[Grade, Default("the weaker kind of the same size; judgement")] = "ordinary"
    """How strong a belt of its section it is: ordinary, or of the highest rated power."""
    link: Flag = False
    """Whether it is link belt."""
    hand_mm: tuple[float, ...] = ()
    """Datum lengths of the belts in hand of its section."""
    every_mm: Annotated[float, Quantity(LENGTH, least=1.0, most=500.0), Default()] = Field(10.0, alias="every")
    """Step of the list that stands for any length."""
    shortest_mm: Annotated[float, Quantity(LENGTH, most=LONGEST_BELT_MM)] = Field(0.0, alias="shortest")
    """No belt shorter than this, on the line `measured`."""
    longest_mm: Annotated[float, Quantity(LENGTH, most=LONGEST_BELT_MM, above=True)] = Field(inf, alias="longest")
    """No belt longer than this, on the line `measured`."""

    @classmethod
    def shaped(cls, data: object) -> object:
        """Take a bare name for the section."""
        return {"section": data} if isinstance(data, str) else data

    @property
    def data(self) -> Section:
        """The section's figures."""
        return section(self.section)

    @property
    def joined(self) -> bool:
        """Whether a length of any size can be had."""
        return self.lengths == "any"

    def completed(self) -> None:
        """Take any length for belts that are joined from any length."""
        if self.link or self.data.default_series is None:
            self.fill(lengths="any")

    @rule("section", "link")
    def _comes_as_link_belt(self, _: str) -> Iterator[Fault]:
        if self.link and self.section not in LINKED:
            yield Fault(
                "link",
                f"section {self.section} does not come as link belt",
                "true",
                ", ".join(sorted(LINKED)),
                "leave it out",
            )

    @rule("section", "link", "lengths")
    def _has_stock_lengths(self, _: str) -> Iterator[Fault]:
        if not isinstance(self.lengths, str) or self.lengths == "any":
            return
        if self.link:
            yield Fault("lengths", "link belt has no stock lengths", as_written(self.lengths), '"any" or a list')
        elif self.data.default_series is None:
            yield Fault(
                "lengths",
                f"{self.data.kind} belts have no stock lengths",
                as_written(self.lengths),
                '"any" or a list of lengths',
            )
        elif self.lengths != "stock" and self.lengths.removesuffix(" stock") not in series_of(self.data):
            words = [as_written(f"{series} stock") for series in series_of(self.data)]
            yield Fault(
                "lengths",
                f"belts of section {self.section} are not kept in these stock lengths",
                as_written(self.lengths),
                ", ".join(['"stock"', *words, '"any" or a list of lengths']),
            )

    @rule("lengths", "measured")
    def _only_lists_are_measured(self, _: str) -> Iterator[Fault]:
        if "measured" in self.model_fields_set and isinstance(self.lengths, str):
            yield Fault(
                "measured", "only the lengths of a list are measured", as_written(self.measured), advice="leave it out"
            )

    @rule("lengths", "every_mm")
    def _only_any_length_has_a_step(self, units: str) -> Iterator[Fault]:
        if "every_mm" in self.model_fields_set and self.lengths != "any":
            yield Fault(
                "every",
                "only any length has a step",
                show_length(self.every_mm, units),
                advice='leave it out, or lengths = "any"',
            )

    @rule("lengths")
    def _lengths_differ(self, units: str) -> Iterator[Fault]:
        if isinstance(self.lengths, tuple):
            yield from repeated_sizes("lengths", self.lengths, units)

    @rule("shortest_mm", "longest_mm")
    def _shortest_is_below_longest(self, units: str) -> Iterator[Fault]:
        if self.shortest_mm > self.longest_mm:
            yield Fault(
                "longest",
                "the longest belt is shorter than the shortest",
                show_length(self.longest_mm, units),
                f"{show_length(self.shortest_mm, units)} or more",
            )
