"""What is there already and may be used before anything is bought: sheaves, discs, belts, each so many of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Any, ClassVar

from pydantic import AfterValidator, BeforeValidator, Field

from optimizer.catalogue.entry import Section
from optimizer.catalogue.lengths import datum_length_mm
from optimizer.catalogue.lines import shifts
from optimizer.catalogue.sections import section
from optimizer.errors import Fault
from optimizer.quantities import LENGTH, QuantityError, as_written, show_length
from optimizer.scenario.belt import BeltLength, LengthMeasured
from optimizer.scenario.side import Measured, Side
from optimizer.scenario.stage import BeltStage, FixedStage
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import SAME_MM, Default, Diameter, Name, Quantity, Whole, as_several

__all__ = ["BeltInHand", "Disc", "InHand", "Sheave", "in_hand_faults", "takes", "with_in_hand"]

MOST_ALIKE = 100
MOST_GROOVES = 6


def _known(name: str) -> str:
    return section(name).name


SectionName = Annotated[Name, AfterValidator(_known)]


def _as_steps(value: object, info: Any) -> object:
    if not isinstance(value, list | tuple):
        return [value]
    if not value:
        raise QuantityError("no groove is stated", "[]", f"1 to {MOST_GROOVES} diameters", "write steps = [90]")
    return as_several(value, info)


class Sheave(Stated):
    """A sheave, or a piece with several grooves, for the sides that say `sheaves_in_hand = true`."""

    header: ClassVar[str] = "[[in_hand.sheave]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"section": "A", "steps": [80.0]}

    section: SectionName
    """Section of belt that its grooves take."""
    steps_mm: Annotated[tuple[Diameter, ...], BeforeValidator(_as_steps)] = Field(alias="steps")
    """Diameter of its groove; several in their order along the shaft, which stay together: one piece."""
    count: Annotated[int, Whole(1, MOST_ALIKE)] = 1
    """How many there are of it."""
    measured: Annotated[Measured, Default("by section")] = "datum"
    """The line on which its diameters are given."""
    pitch_mm: Annotated[float, Quantity(LENGTH, least=1.0, most=1000.0)] | None = Field(None, alias="pitch")
    """Distance of its grooves along the shaft; where nothing is stated they are taken to suit the steps."""

    @property
    def data(self) -> Section:
        """The section's figures."""
        return section(self.section)

    def completed(self) -> None:
        """Take the line by which pulleys of the section are sold."""
        plain = self.data.kind == "flat"
        self.fill(measured="outside" if plain else self.data.default_measured)

    @rule("steps_mm")
    def _has_few_grooves(self, _: str) -> Iterator[Fault]:
        if len(self.steps_mm) > MOST_GROOVES:
            most = f"at most {MOST_GROOVES}"
            yield Fault("steps", "no piece has so many grooves", str(len(self.steps_mm)), most, "a table a piece")

    @rule("steps_mm", "pitch_mm")
    def _one_groove_has_no_pitch(self, units: str) -> Iterator[Fault]:
        if self.pitch_mm is not None and len(self.steps_mm) == 1:
            got = show_length(self.pitch_mm, units)
            yield Fault("pitch", "one groove has no distance to another", got, advice="leave it out")

    @rule("section", "measured")
    def _pins_need_a_groove(self, _: str) -> Iterator[Fault]:
        if self.measured == "over pins" and not self.data.pins_measured:
            what = f"no gauge pins are known for a groove of section {self.section}"
            yield Fault("measured", what, '"over pins"', '"outside", "datum"', "measure over the rim")


class Disc(Stated):
    """Discs of one size, each for one step, for the sides that say `discs_in_hand = true`."""

    header: ClassVar[str] = "[[in_hand.disc]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"diameter": 100.0}

    diameter_mm: Diameter = Field(alias="diameter")
    """Diameter of the disc before it is trued."""
    count: Annotated[int, Whole(1, MOST_ALIKE)] = 1
    """How many there are of it."""


class BeltInHand(Stated):
    """A belt that is there, preferred to one that is bought wherever its section runs."""

    header: ClassVar[str] = "[[in_hand.belt]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"section": "A", "length": 1000.0}

    section: SectionName
    """Name of its section as printed on it."""
    length_mm: BeltLength = Field(alias="length")
    """Its length."""
    measured: Annotated[LengthMeasured, Default("the line the catalogue's lengths run on")] = "datum"
    """The line on which its length runs."""
    count: Annotated[int, Whole(1, MOST_ALIKE)] = 1
    """How many there are of it."""

    @property
    def data(self) -> Section:
        """The section's figures."""
        return section(self.section)

    @property
    def datum_length_mm(self) -> float:
        """Its length along the datum line."""
        return datum_length_mm(self.data, self.length_mm, self.measured)


class InHand(Stated):
    """What is there already, for the whole machine: nothing of it is used more often than there is of it."""

    header: ClassVar[str] = "[in_hand]"

    sheaves: tuple[Sheave, ...] = Field((), alias="sheave")
    """Sheaves in the drawer, one table each kind."""
    discs: tuple[Disc, ...] = Field((), alias="disc")
    """Discs that steps can be turned from, one table each size."""
    belts: tuple[BeltInHand, ...] = Field((), alias="belt")
    """Belts on the nail, one table each kind."""

    @rule("discs.diameter_mm")
    def _discs_differ(self, units: str) -> Iterator[Fault]:
        seen: dict[float, int] = {}
        for index, disc in enumerate(self.discs):
            first = next((i for size, i in seen.items() if abs(size - disc.diameter_mm) < SAME_MM), None)
            if first is not None:
                what = f"discs of this size stand at disc[{first}] already"
                got = show_length(disc.diameter_mm, units)
                yield Fault(f"disc[{index}].diameter", what, got, "every size once", "raise the count there")
            seen.setdefault(disc.diameter_mm, index)

    @rule("belts.section", "belts.length_mm", "belts.measured")
    def _belts_differ(self, units: str) -> Iterator[Fault]:
        for index, belt in enumerate(self.belts):
            for first, other in enumerate(self.belts[:index]):
                same = (other.section, other.measured) == (belt.section, belt.measured)
                if same and abs(other.length_mm - belt.length_mm) < SAME_MM:
                    what = f"this belt stands at belt[{first}] already"
                    got = f"{as_written(belt.section)}, {show_length(belt.length_mm, units)}"
                    yield Fault(f"belt[{index}]", what, got, "every kind once", "raise the count there")
                    break


def takes(stage: BeltStage, side: Side, sheave: Sheave) -> bool:
    """Tell whether a side may use a sheave: it has the belt's section, and the kind of rim that comes with it."""
    plain = "flat" if stage.belt.data.kind == "flat" else "v"
    return side.sheaves_in_hand and sheave.section == stage.belt.section and side.groove == plain


def with_in_hand(stage: BeltStage, there: InHand) -> BeltStage:
    """Return a stage that knows what is in hand for it: diameters of sheaves on each side's own line, discs, belts."""
    sides = {}
    for name, side in (("driver", stage.driver), ("driven", stage.driven)):
        lines = shifts(stage.belt.data, side.groove)
        sheaves = [
            size + lines.of(side.measured) - lines.of(sheave.measured)
            for sheave in there.sheaves
            if takes(stage, side, sheave)
            for size in sheave.steps_mm
        ]
        discs = [disc.diameter_mm for disc in there.discs] if side.discs_in_hand else []
        sides[name] = side.filled(hand_mm=tuple(dict.fromkeys(sheaves)), hand_discs_mm=tuple(discs))
    belts = [belt.datum_length_mm for belt in there.belts if belt.section == stage.belt.section]
    copy = stage.model_copy()
    copy.__dict__.update(sides, belt=stage.belt.filled(hand_mm=tuple(belts)))
    return copy


def in_hand_faults(stages: Sequence[BeltStage | FixedStage], there: InHand) -> Iterator[Fault]:
    """Yield a fault for every side that is to use what is in hand, where there is nothing it can use."""
    for number, stage in enumerate(stages):
        if not isinstance(stage, BeltStage):
            continue
        for name, side in (("driver", stage.driver), ("driven", stage.driven)):
            place = f"stage[{number}].{name}"
            if side.sheaves_in_hand and not any(takes(stage, side, sheave) for sheave in there.sheaves):
                yield _no_sheave(place, stage, side, there)
            if side.discs_in_hand and not there.discs:
                what = "no discs are in hand"
                yield Fault(f"{place}.discs_in_hand", what, "true", "", "state them under [[in_hand.disc]]")


def _no_sheave(place: str, stage: BeltStage, side: Side, there: InHand) -> Fault:
    """Return why a side that is to use sheaves in hand finds none."""
    own, key = stage.belt.section, f"{place}.sheaves_in_hand"
    if not there.sheaves:
        return Fault(key, "no sheaves are in hand", "true", advice="state them under [[in_hand.sheave]]")
    if any(sheave.section == own for sheave in there.sheaves):
        plain = stage.belt.data.kind == "flat"
        what = f"the sheaves in hand for section {own} have {'flat rims' if plain else 'grooves'}, this side has not"
        return Fault(f"{place}.groove", what, as_written(side.groove), as_written("flat" if plain else "v"))
    sections = ", ".join(dict.fromkeys(sheave.section for sheave in there.sheaves))
    what = f"no sheave in hand takes a belt of section {own}, only of {sections}"
    return Fault(key, what, "true", advice="add one under [[in_hand.sheave]], or leave this out")
