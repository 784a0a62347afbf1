"""What a maker measured: dated checks of one machine, with every fault of the file found in one reading."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from optimizer.errors import Fault
from optimizer.quantities import COORDINATE, LENGTH, SPEED, QuantityError, as_written
from optimizer.scenario.chain import MOST_SETTINGS
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import LONGEST_MM, Flag, Name, Note, Quantity, Whole

__all__ = ["CentreReading", "DatedCheck", "Load", "Measurements", "RpmReading", "SideName", "StepReading", "as_date"]

SideName = Literal["driver", "driven"]
Load = Literal["idle", "loaded"]
MOST_STAGES = 12
MOST_POSITIONS = 6
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4})")

Size = Annotated[float, Quantity(LENGTH, most=LONGEST_MM, above=True)] | None
Resolution = Annotated[float, Quantity(LENGTH, least=0.001, most=10.0)] | None
FINEST_RPM, FINEST_SHARE = 1.0, 0.001
"""What a tachometer reading may be off by either way where no resolution is stated; judgement."""
Rpm = Annotated[float, Quantity(SPEED, most=60_000, above=True)] | None


def as_date(value: object) -> object:
    """Return the day that a maker or a spreadsheet wrote; days and months are never guessed at.

    Examples
    --------
    >>> str(as_date("2026-11-26")), str(as_date("26.11.2026")), str(as_date("11/26/2026"))
    ('2026-11-26', '2026-11-26', '2026-11-26')
    """
    advice = "write year, month, day, as in 2026-11-26"
    if isinstance(value, datetime.datetime):
        return value.date()
    if isinstance(value, datetime.date):
        return value
    text = value.strip().split("T")[0].split(" ")[0] if isinstance(value, str) else ""
    year = month = day = 0
    if match := _YEAR_FIRST.fullmatch(text):
        year, month, day = map(int, match.groups())
    elif match := _YEAR_LAST.fullmatch(text):
        first, second, year = int(match[1]), int(match[3]), int(match[4])
        day, month = (first, second) if match[2] == "." or first > 12 else (second, first)
        if match[2] != "." and first <= 12 and second <= 12 and first != second:
            raise QuantityError("day and month cannot be told apart", as_written(value), "2026-11-26", advice)
    try:
        return datetime.date(year, month, day)
    except ValueError:
        raise QuantityError("this is no date", as_written(value), "2026-11-26", advice) from None


def _as_positions(value: object) -> object:
    """Read the positions of all belts, motor first: `[1, 2]`, `1`, or `1x2`, which no spreadsheet takes for a date."""
    return _as_numbers(value, "positions")


def _as_settings(value: object) -> object:
    """Read the settings of all that is switched, written as positions are."""
    return _as_numbers(value, "settings")


def _as_numbers(value: object, what: str) -> object:
    if isinstance(value, str):
        parts = re.split(r"\s*[x×,;+ ]\s*", value.strip())
        if not all(part.isascii() and part.isdigit() and len(part) < 4 for part in parts):
            raise QuantityError(f"{what} are whole numbers, motor first", as_written(value), '[1, 2] or "1x2"')
        return [int(part) for part in parts]
    return list(value) if isinstance(value, list | tuple) else [value]


def _side(value: object) -> object:
    return value.strip().lower() if isinstance(value, str) else value


class MeasuredTable(Stated):
    """A table of the file of measurements, in which an empty text is a line that is not filled in yet."""

    @classmethod
    def shaped(cls, data: object) -> object:
        """Leave out what is not filled in."""
        if not isinstance(data, dict):
            return data
        return {key: value for key, value in data.items() if not (isinstance(value, str) and not value.strip())}


class StepReading(MeasuredTable):
    """What was measured on one step."""

    header: ClassVar[str] = "a step of a [[check]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"stage": 1, "side": "driver", "position": 1}

    stage: Annotated[int, Whole(1, MOST_STAGES)]
    """Belt stage, counted from the motor."""
    side: Annotated[SideName, BeforeValidator(_side)]
    """Whether it is the step that pulls, or the one that is pulled."""
    position: Annotated[int, Whole(1, MOST_POSITIONS)]
    """Position of the belt, the slowest first."""
    turned: Flag = True
    """`false` for a step that was measured once and is to be made anew."""
    over_pins_mm: Size = Field(None, alias="over_pins")
    """Size over two gauge pins laid in the groove on opposite sides."""
    pin_mm: Size = Field(None, alias="pin")
    """Diameter of those pins, where they are not the ones of the inspection card."""
    belt_top_mm: Annotated[float, Quantity(COORDINATE, least=-100.0, most=100.0)] | None = Field(None, alias="belt_top")
    """How far the belt's top stands above the rim, below 0 where it lies below it."""
    outside_mm: Size = Field(None, alias="outside")
    """Diameter over the rim."""
    tape_mm: Annotated[float, Quantity(LENGTH, most=4 * LONGEST_MM, above=True)] | None = Field(None, alias="tape")
    """Length of a tape once round the rim."""
    tape_thickness_mm: Annotated[float, Quantity(LENGTH, most=5.0)] | None = Field(None, alias="tape_thickness")
    """Thickness of that tape."""
    diameter_mm: Size = Field(None, alias="diameter")
    """Diameter of a plain rim."""
    resolution_mm: Resolution = Field(None, alias="resolution")
    """Finest difference that the tool shows."""
    note: Note = ""

    @property
    def read(self) -> bool:
        """Whether anything was measured."""
        given = self.over_pins_mm, self.belt_top_mm, self.outside_mm, self.tape_mm, self.diameter_mm
        return any(value is not None for value in given)

    @rule("belt_top_mm", "outside_mm", "tape_mm")
    def _a_belt_top_needs_its_rim(self, _: str) -> Iterator[Fault]:
        if self.belt_top_mm is not None and self.outside_mm is None and self.tape_mm is None:
            what = "how far the belt stands from the rim tells nothing without the rim's diameter"
            yield Fault("belt_top", what, allowed="outside or tape beside it", advice="measure over the rim too")

    @rule("over_pins_mm", "pin_mm")
    def _pins_carry_a_size(self, _: str) -> Iterator[Fault]:
        if self.pin_mm is not None and self.over_pins_mm is None:
            yield Fault("pin", "pins are stated without the size over them", allowed="over_pins beside it")
        elif self.pin_mm is not None and self.over_pins_mm is not None and 2 * self.pin_mm >= self.over_pins_mm:
            yield Fault("over_pins", "the size over the pins is no larger than the two pins", advice="swap the two")

    @rule("tape_mm", "tape_thickness_mm")
    def _tapes_go_round(self, _: str) -> Iterator[Fault]:
        if self.tape_thickness_mm is not None and self.tape_mm is None:
            yield Fault("tape_thickness", "the tape's thickness is stated without its length", allowed="tape beside it")

    @rule("turned", "over_pins_mm", "belt_top_mm", "outside_mm", "tape_mm", "diameter_mm")
    def _what_is_not_there_has_no_size(self, _: str) -> Iterator[Fault]:
        if not self.turned and self.read:
            yield Fault("turned", "a step that is to be made anew has no size yet", "false", advice="leave one out")


class CentreReading(MeasuredTable):
    """A measured centre distance."""

    header: ClassVar[str] = "a centre of a [[check]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"stage": 1}

    stage: Annotated[int, Whole(1, MOST_STAGES)]
    position: Annotated[int, Whole(1, MOST_POSITIONS)] | None = None
    """Position that the belt was taut on; nothing where it was on none, and only the shafts were measured."""
    centre_mm: Size = Field(None, alias="centre")
    """Distance of the two shafts' axes."""
    resolution_mm: Resolution = Field(None, alias="resolution")


class RpmReading(MeasuredTable):
    """A speed read with a tachometer."""

    header: ClassVar[str] = "a speed of a [[check]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"positions": [1]}

    positions: Annotated[tuple[Annotated[int, Whole(1, MOST_POSITIONS)], ...], BeforeValidator(_as_positions)]
    """Position of every belt, motor first."""
    settings: Annotated[tuple[Annotated[int, Whole(1, MOST_SETTINGS)], ...], BeforeValidator(_as_settings)] = ()
    """Setting of all that is switched, motor first, each counted from its slowest; nothing where nothing is."""
    shaft: Name | None = None
    """Shaft that was measured; the spindle where nothing is stated."""
    speed_rpm: Rpm = Field(None, alias="speed")
    motor_rpm: Rpm = Field(None, alias="motor")
    """Speed of the motor measured with it."""
    load: Annotated[Load, BeforeValidator(_side)] = "idle"
    """Whether the machine ran idle, or cut."""
    resolution_rpm: Annotated[float, Quantity(SPEED, most=100.0, above=True)] | None = Field(None, alias="resolution")

    @property
    def finest_rpm(self) -> float:
        """What the speed may be off by either way."""
        return self.resolution_rpm or max(FINEST_RPM, FINEST_SHARE * (self.speed_rpm or 0.0))


class DatedCheck(MeasuredTable):
    """All that was measured on one day."""

    header: ClassVar[str] = "[[check]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"date": datetime.date(2000, 1, 1)}

    date: Annotated[datetime.date, BeforeValidator(as_date)] | None = None
    note: Note = ""
    resolution_mm: Resolution = Field(None, alias="resolution")
    """Finest difference that the tool for diameters shows."""
    step: tuple[StepReading, ...] = ()
    centre: tuple[CentreReading, ...] = ()
    speed: tuple[RpmReading, ...] = ()

    @property
    def read(self) -> bool:
        """Whether anything is filled in."""
        steps = any(step.read or not step.turned for step in self.step)
        centres = any(centre.centre_mm is not None for centre in self.centre)
        return steps or centres or any(speed.speed_rpm is not None for speed in self.speed)

    @rule("date", "step", "centre", "speed")
    def _readings_have_a_day(self, _: str) -> Iterator[Fault]:
        if self.read and self.date is None:
            yield Fault("date", "these readings have no day", advice="write year, month, day, as in 2026-11-26")


class Measurements(MeasuredTable):
    """A file of measurements."""

    units: Literal["mm", "cm", "in"] = "mm"
    """Units of bare lengths; the scenario's where nothing is stated."""
    check: tuple[DatedCheck, ...] = ()

    @property
    def checks(self) -> tuple[DatedCheck, ...]:
        """The checks with anything in them, oldest first; of one day the later in the file counts as later."""
        return tuple(sorted((c for c in self.check if c.read), key=lambda c: c.date or datetime.date.min))
