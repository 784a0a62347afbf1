"""Values of a scenario's keys, read with their units; names that may stand once."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf, isinf
from typing import Annotated, Any, get_args

from pydantic import AfterValidator, BeforeValidator, GetCoreSchemaHandler, GetJsonSchemaHandler, Strict, ValidationInfo
from pydantic.fields import FieldInfo
from pydantic_core import CoreSchema, core_schema

from optimizer.errors import Fault
from optimizer.quantities import COORDINATE, LENGTH, SHARE, Kind, QuantityError, as_written, quantity, show_length
from optimizer.scenario.stated import Reading

__all__ = [
    "LIMIT_SCHEMA",
    "LONGEST_MM",
    "PRACTICE",
    "QUANTITY_SCHEMA",
    "SAME_MM",
    "Coordinate",
    "Default",
    "Diameter",
    "Flag",
    "Name",
    "Note",
    "Pair",
    "Point",
    "Quantity",
    "Whole",
    "as_counts",
    "as_lengths",
    "as_pair",
    "as_places",
    "as_point",
    "as_several",
    "as_step",
    "as_step_pitch",
    "default_of",
    "quantity_of",
    "repeated_names",
    "repeated_sizes",
    "show",
    "units_of",
]

SAME_MM = 1e-6
"""Two sizes closer than this are one [mm]."""


def repeated_names(key: str, names: Sequence[str]) -> Iterator[Fault]:
    """Yield a fault for every table whose name another had before."""
    for index, name in enumerate(names):
        first = names.index(name)
        if first < index:
            what = f"{key}[{first}] has this name already"
            yield Fault(f"{key}[{index}].name", what, as_written(name), "a name of its own")


def repeated_sizes(key: str, sizes_mm: Sequence[float], units: str) -> Iterator[Fault]:
    """Yield a fault for every size of a list that stood there before."""
    for index, size in enumerate(sizes_mm):
        first = next(i for i, other in enumerate(sizes_mm) if abs(other - size) < SAME_MM)
        if first < index:
            what = f"this size stands at {key}[{first}] already"
            yield Fault(f"{key}[{index}]", what, show_length(size, units), "every size once", "leave it out")


PRACTICE = "common practice, no source"
"""What is said of a default that no text backs."""
LONGEST_MM = 5000.0
"""No size of a shop machine is larger [mm]."""
_UNIT_WORDS = {"mm": "mm", "cm": "cm", "in": "inches"}
_LONGEST_TEXT = {"name": 80, "note": 2000}


_PLAIN_SCHEMA: list[dict[str, Any]] = [{"type": "number"}, {"type": "string"}]
QUANTITY_SCHEMA: dict[str, Any] = {"anyOf": _PLAIN_SCHEMA}
"""JSON schema of a number that may carry a unit."""
LIMIT_SCHEMA: dict[str, Any] = {
    "anyOf": [
        *_PLAIN_SCHEMA,
        {
            "type": "object",
            "properties": {"value": QUANTITY_SCHEMA, "reason": {"type": "string"}},
            "required": ["value"],
            "additionalProperties": False,
        },
    ]
}
"""JSON schema of a limit that may be changed with a reason."""


@dataclass(frozen=True)
class Default:
    """Says that a field's default is listed in results, with where it comes from."""

    source: str = PRACTICE


@dataclass(frozen=True)
class Quantity:
    """How a number with a unit is read, with the range it must lie in."""

    kind: Kind
    least: float = 0.0
    most: float = inf
    above: bool = False
    """Whether the least itself is refused."""
    limit: bool = False
    """Whether the maker may change it with a reason: `{ value = …, reason = "…" }`."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Read before pydantic looks at the value."""
        return core_schema.with_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """Return the schema of the value as a maker writes it."""
        del core, handler
        return dict(LIMIT_SCHEMA if self.limit else QUANTITY_SCHEMA)

    def read(self, value: object, info: ValidationInfo) -> object:
        """Return the value in the unit of its kind."""
        if value is None or (not isinstance(info.context, Reading) and isinstance(value, float) and isinf(value)):
            return value
        units = units_of(info)
        stated = self._without_reason(value) if isinstance(value, dict) else value
        return self.held(stated, units)

    def held(self, stated: object, units: str) -> float:
        """Return a value in the unit of its kind; `QuantityError` where it cannot be read or lies outside the range."""
        result = quantity(stated, self.kind, units if self.kind in (LENGTH, COORDINATE) else "")
        low = result < self.least or (self.above and result <= self.least)
        if low or result > self.most:
            what = f"this is too {'small' if low else 'large'}"
            if low and self.least == 0:
                what = "this must be above 0"
            raise QuantityError(what, as_written(stated), self._range(units), self._advice(stated, units))
        return result

    def _without_reason(self, value: dict[str, object]) -> object:
        if not self.limit:
            raise QuantityError("this takes a plain value, not a table", as_written(value), self.kind.example)
        if "value" not in value or value.keys() - {"value", "reason"}:
            raise QuantityError("this table is not that of a changed limit", as_written(value), "{ value, reason }")
        reason = value.get("reason", "")
        if not isinstance(reason, str):
            raise QuantityError("the reason of a changed limit must be text", as_written(reason), "text in quotes")
        if reason.strip():
            _note(reason)
        return value["value"]

    def _range(self, units: str) -> str:
        least = f"above {show(self.least, self.kind, units)}" if self.above else show(self.least, self.kind, units)
        if self.most == inf:
            return least if self.above else f"{least} or more"
        return f"{least}{' up' if self.above else ''} to {show(self.most, self.kind, units)}"

    def _advice(self, stated: object, units: str) -> str:
        if self.kind in (LENGTH, COORDINATE) and not isinstance(stated, str):
            return f"check the unit: a bare number is in {_UNIT_WORDS[units]} here"
        if self.kind is SHARE and isinstance(stated, int | float) and stated >= 1:
            return f'write "{stated:g} %" if per cent are meant'
        return ""


@dataclass(frozen=True)
class Whole:
    """How a whole number is read, with the range it must lie in."""

    least: int
    most: int

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Read before pydantic looks at the value."""
        return core_schema.no_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """Return the schema of the value as a maker writes it."""
        del core, handler
        return {"type": "integer", "minimum": self.least, "maximum": self.most}

    def read(self, value: object) -> int:
        """Return the number."""
        allowed = f"{self.least} to {self.most}"
        if isinstance(value, bool) or not isinstance(value, int):
            raise QuantityError("this must be a whole number", as_written(value), allowed)
        if not self.least <= value <= self.most:
            raise QuantityError(f"this is too {'small' if value < self.least else 'large'}", as_written(value), allowed)
        return value


def quantity_of(field: FieldInfo) -> Quantity | None:
    """Return how a field's number is read, also where the field may be nothing."""
    return next((mark for mark in _marks(field) if isinstance(mark, Quantity)), None)


def default_of(field: FieldInfo) -> Default | None:
    """Return where a field's default comes from, nothing where it is not listed."""
    return next((mark for mark in _marks(field) if isinstance(mark, Default)), None)


def _marks(field: FieldInfo) -> list[object]:
    """Return what is noted of a field, or of its value where the field may be nothing."""
    return [*field.metadata, *(mark for arm in get_args(field.annotation) for mark in getattr(arm, "__metadata__", ()))]


def units_of(info: ValidationInfo) -> str:
    """Return the units of bare lengths."""
    return info.context.units if isinstance(info.context, Reading) else "mm"


def show(value: float, kind: Kind, units: str) -> str:
    """Write a value with its unit.

    Examples
    --------
    >>> from optimizer.quantities import NUMBER
    >>> show(114.3, LENGTH, "in"), show(0.03, SHARE, "mm"), show(2.5, NUMBER, "mm")
    ('4.5 in', '3 %', '2.5')
    """
    if kind in (LENGTH, COORDINATE):
        return show_length(value, units)
    if kind is SHARE:
        return f"{100 * value:.10g} %"
    return f"{value:.10g} {kind.unit}".strip()


def _text(value: str, most: int) -> str:
    strange = [c for c in value if unicodedata.category(c) in ("Cc", "Zl", "Zp", "Cs") or _turns_text(c)]
    if strange:
        raise QuantityError(
            "control characters cannot be shown", as_written(value), "letters, digits, signs", "leave them out"
        )
    plain = unicodedata.normalize("NFC", value).strip()
    if not plain:
        raise QuantityError("this must not be empty", as_written(value), "some text")
    if len(plain) > most:
        raise QuantityError("this is too long", as_written(value), f"at most {most} characters")
    return plain


def _turns_text(character: str) -> bool:
    """Tell whether a character changes the direction of the text after it."""
    return character in "\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def _name(value: str) -> str:
    return _text(value, _LONGEST_TEXT["name"])


def _note(value: str) -> str:
    lines = value.replace("\r\n", "\n").split("\n")
    joined = "\n".join(_text(line.replace("\t", " "), _LONGEST_TEXT["note"]) if line.strip() else "" for line in lines)
    return joined.strip()


def as_pair(value: object) -> object:
    """Turn one value into the pair that begins and ends with it."""
    if isinstance(value, list | tuple):
        if len(value) != 2:
            raise QuantityError("this takes one value, or two: least, most", as_written(value), "[least, most]")
        return value
    return (value, value)


def as_two(value: object) -> object:
    """Refuse all but a list of two."""
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise QuantityError("this takes two values: least, most", as_written(value), "[least, most]")
    return value


def as_point(value: object) -> object:
    """Refuse all but a list of two coordinates."""
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise QuantityError("this takes two values: x, y", as_written(value), "[x, y]")
    return value


_STEP_WIDTH = Quantity(LENGTH, least=1.0, most=1000.0)
Name = Annotated[str, AfterValidator(_name)]
"""A short text on one line."""
Note = Annotated[str, AfterValidator(_note)]
"""A text of any number of lines."""


def as_places(value: object) -> object:
    """Refuse all but a list of two places along a line."""
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise QuantityError("this takes two places", as_written(value), "[one, other]")
    return value


Flag = Annotated[bool, Strict()]
Diameter = Annotated[float, Quantity(LENGTH, least=5.0, most=LONGEST_MM)]
"""Diameter of a pulley, a step or a disc [mm]."""
Coordinate = Annotated[float, Quantity(COORDINATE, least=-LONGEST_MM, most=LONGEST_MM)]
"""A place along a line, from an origin of the maker's choice [mm]."""
Point = Annotated[tuple[Coordinate, Coordinate], BeforeValidator(as_point)]
"""A place across the shafts, seen from the motor's pulley end: x to the right, y up [mm]."""
Pair = Annotated[tuple[Diameter, Diameter], BeforeValidator(as_two)]


def as_step_pitch(value: object, info: ValidationInfo) -> object:
    """Read a step pitch: a word, or a width [mm]."""
    if value in ("layers", "faced"):
        return value
    if isinstance(value, str) and value[:1].isalpha():
        raise QuantityError("this is none of the words allowed here", as_written(value), '"layers", "faced" or a width')
    return _STEP_WIDTH.read(value, info)


def as_lengths(value: object, info: ValidationInfo) -> object:
    """Check the shape of a belt's lengths: a word, or a list."""
    words = ("stock", "metric stock", "inch stock", "any")
    if isinstance(value, str):
        if value not in words:
            near = difflib.get_close_matches(value.lower(), words, n=1)
            raise QuantityError(
                "this is none of the words allowed here",
                as_written(value),
                f"{', '.join(map(as_written, words))} or a list of lengths",
                f"did you mean {as_written(near[0])}?" if near else "put a single length in square brackets",
            )
        return value
    if not isinstance(value, list | tuple):
        raise QuantityError("lengths are a word or a list", as_written(value), "a list in square brackets")
    return as_several(value, info)


def as_several(value: object, info: ValidationInfo) -> object:
    """Refuse all but a list, in a file also one with nothing in it."""
    if not isinstance(value, list | tuple):
        raise QuantityError(
            "this must be a list", as_written(value), "a list in square brackets", f"write [{as_written(value)}]"
        )
    if not value and isinstance(info.context, Reading):
        raise QuantityError("the list is empty", "[]", "at least one value", "leave it out")
    return value


def as_step(value: object) -> object:
    """Take the word for a step that is still to be made as nothing."""
    if isinstance(value, str) and value[:1].isalpha() and value != "open":
        near = difflib.get_close_matches(value.strip().lower(), ("open",), n=1)
        raise QuantityError(
            "this is neither a diameter nor the word for a step still to be made",
            as_written(value),
            f'{LENGTH.example}, or "open"',
            'did you mean "open"?' if near else "",
        )
    return None if value == "open" else value


def as_counts(value: object, info: ValidationInfo) -> object:
    """Turn one number of positions into a list of one."""
    return as_several(value, info) if isinstance(value, list | tuple) else [value]
