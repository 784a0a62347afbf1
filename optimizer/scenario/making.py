"""What a maker states of the shop: what it can glue up, swing, turn, what sheets it saws."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from optimizer.catalogue.entry import INCH_MM
from optimizer.errors import Fault
from optimizer.quantities import LENGTH, RIM_SPEED, SHARE, QuantityError, as_written, show_length
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import LONGEST_MM, Default, Quantity, Whole, as_step_pitch

__all__ = ["Making", "SheetStock", "StepPitch"]

StepPitch = Literal["layers", "faced"]
MOST_SHEETS = 1000
BY_HAND = "what a lathe and a calliper hold in timber, judgement"
EdgeLength = Annotated[float, Quantity(LENGTH, least=10.0, most=LONGEST_MM)]


def _as_size(value: object) -> object:
    """Refuse all but a list of two lengths."""
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise QuantityError("this takes two values: width, length", as_written(value), "[width, length]")
    return value


class Making(Stated):
    """What the shop can glue up, swing, turn."""

    header: ClassVar[str] = "[making]"

    largest_blank_mm: Annotated[float, Quantity(LENGTH, least=10.0, most=LONGEST_MM, limit=True)] = Field(
        inf, alias="largest_blank"
    )
    """The largest disc that can be glued up and swung."""
    truing_mm: Annotated[float, Quantity(LENGTH, most=100.0, limit=True), Default()] = Field(4.0, alias="truing")
    """Diameter lost in truing a blank."""
    turn_to_mm: Annotated[float, Quantity(LENGTH, least=0.01, most=25.0), Default()] = Field(0.5, alias="turn_to")
    """Finest difference of diameters that is turned."""
    grid_mm: Annotated[float, Quantity(LENGTH, least=0.1, most=100.0), Default()] = Field(5.0, alias="grid")
    """Step of the listed sizes of turned sides."""
    rise_mm: Annotated[float, Quantity(LENGTH, most=500.0, limit=True), Default("as turn_to")] = Field(
        0.5, alias="rise"
    )
    """Least difference of neighbouring steps that are not equal."""
    layer_mm: Annotated[float, Quantity(LENGTH, least=0.5, most=200.0)] | None = Field(None, alias="layer")
    """Thickness of one glued layer."""
    step_pitch: Annotated[
        StepPitch | float, BeforeValidator(as_step_pitch), Default("layers where a layer is given, otherwise faced")
    ] = "faced"
    """Width of a step along the shaft: whole layers, faced to the least, or a width [mm]."""
    wall_mm: Annotated[float, Quantity(LENGTH, most=200.0, limit=True), Default()] = Field(4.0, alias="wall")
    """Least timber beside a groove, and between a groove and the hub."""
    kerf_mm: Annotated[float, Quantity(LENGTH, most=20.0), Default()] = Field(3.2, alias="kerf")
    """Width that the saw takes between two pieces of a sheet."""
    edge_mm: Annotated[float, Quantity(LENGTH, most=100.0), Default()] = Field(5.0, alias="edge")
    """Strip along the edges of a sheet that is not used."""
    division_mm: Annotated[float, Quantity(LENGTH, least=0.1, most=25.4), Default()] = Field(
        INCH_MM / 64, alias="division"
    )
    """Finest division of the maker's rule, to which papers in inches give fractions."""
    rim_speed_m_s: Annotated[float, Quantity(RIM_SPEED, most=200.0, above=True, limit=True), Default()] = Field(
        20.0, alias="rim_speed"
    )
    """Greatest speed of a timber rim; no published limit for wooden pulleys was found."""

    rim_within_mm: Annotated[float, Quantity(LENGTH, most=10.0, above=True), Default(BY_HAND)] = Field(
        0.2, alias="rim_within"
    )
    """How near a rim's diameter comes to what was meant, either way, in 19 of 20 sizes."""
    pins_within_mm: Annotated[float, Quantity(LENGTH, most=10.0, above=True), Default(BY_HAND)] = Field(
        0.2, alias="pins_within"
    )
    """How near a groove's size over two gauge pins comes to what was meant, likewise."""
    groove_within_mm: Annotated[float, Quantity(LENGTH, most=5.0, above=True), Default(BY_HAND)] = Field(
        0.1, alias="groove_within"
    )
    """How near a groove's width at the rim comes to what was meant, likewise."""
    speed_within: Annotated[
        float, Quantity(SHARE, most=0.5, above=True), Default("what slip changes anyway, judgement")
    ] = 0.01
    """How far a speed may lie off the one designed because of errors in turning."""

    def completed(self) -> None:
        """Take the least rise from the finest turning, and whole layers where a layer is given."""
        self.fill(rise_mm=self.turn_to_mm, step_pitch="faced" if self.layer_mm is None else "layers")

    @rule("layer_mm", "step_pitch")
    def _layers_have_a_thickness(self, _: str) -> Iterator[Fault]:
        if self.step_pitch == "layers" and self.layer_mm is None:
            yield Fault(
                "step_pitch",
                "whole layers need the thickness of a layer",
                '"layers"',
                '"faced" or a width',
                "add layer",
            )

    @rule("largest_blank_mm", "truing_mm")
    def _something_is_left_of_a_blank(self, units: str) -> Iterator[Fault]:
        if self.truing_mm >= self.largest_blank_mm:
            yield Fault(
                "truing",
                "truing takes all of the largest blank",
                show_length(self.truing_mm, units),
                f"below {show_length(self.largest_blank_mm, units)}",
            )


class SheetStock(Stated):
    """Sheets, or offcuts, of one size that blanks are sawn from, as thick as a layer."""

    header: ClassVar[str] = "[[sheet]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"size": (100.0, 100.0)}

    size_mm: Annotated[tuple[EdgeLength, EdgeLength], BeforeValidator(_as_size)] = Field(alias="size")
    """Width and length of the sheet."""
    count: Annotated[int, Whole(1, MOST_SHEETS)] | None = None
    """How many there are; as many as it takes where nothing is stated."""
