"""Answers: as they are typed, and as they are read."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from optimizer.quantities import LENGTH, POWER, RIM_SPEED, SPEED, Kind, QuantityError, as_written
from optimizer.scenario.belt import LONGEST_BELT_MM
from optimizer.scenario.values import Quantity

__all__ = [
    "NONE",
    "Amount",
    "Amounts",
    "Answer",
    "Answers",
    "Count",
    "OrNone",
    "Plain",
    "Reader",
    "Span",
    "Stocked",
    "Suggestion",
    "Text",
    "Wanted",
    "Word",
    "Written",
    "YesNo",
    "parted",
]

Plain = str | int | float
"""One value as TOML holds it."""
Written = str | int | float | bool | tuple[Plain, ...]
"""An answer as the maker wrote it."""
T = TypeVar("T")


@dataclass(frozen=True)
class Suggestion:
    """What is taken where the maker has nothing better, with the reason."""

    written: Written
    reason: str


@dataclass(frozen=True)
class Answer:
    """An answer that could be read."""

    written: Written
    """As it goes into a file."""
    value: object
    """What it comes to, in mm, rpm, kW, m/s; nothing where the maker has none."""
    reason: str = ""
    """Why it was suggested; empty where the maker stated it."""


@dataclass(frozen=True)
class Wanted:
    """A kind of work with the speeds or the sizes it is wanted for."""

    name: str
    least: float
    """Slowest speed [rpm], or smallest size [mm]."""
    most: float
    written: tuple[Plain, Plain]
    """The two as the maker wrote them."""
    want: int | None = None
    """How many speeds; nothing where the maker leaves it open."""
    surface_m_s: tuple[float, float] | None = None
    """Speeds along the surface of the work."""
    surface_written: tuple[Plain, Plain] | None = None


@dataclass(frozen=True)
class Stocked:
    """A thing of which there are some."""

    sizes_mm: tuple[float, ...]
    """Its size; several of one piece in their order."""
    written: tuple[Plain, ...]
    """The same as the maker wrote them."""
    count: int | None
    """How many there are; nothing for any number."""


@dataclass(frozen=True)
class Answers:
    """All that is known of a machine so far, by the names of the questions, in the order they were asked."""

    by_name: Mapping[str, Answer] = field(default_factory=dict)

    def __contains__(self, name: object) -> bool:
        return name in self.by_name

    def __iter__(self) -> Iterator[str]:
        return iter(self.by_name)

    def with_answer(self, name: str, answer: Answer) -> Answers:
        """Return these with one more."""
        return Answers({**self.by_name, name: answer})

    def without(self, name: str) -> Answers:
        """Return these with one less."""
        return Answers({key: answer for key, answer in self.by_name.items() if key != name})

    @property
    def units(self) -> str:
        """Units of bare lengths."""
        return self.word("units") or "mm"

    def written(self, name: str) -> Written | None:
        """Return an answer as the maker wrote it; nothing where it was not asked or the maker has none."""
        known = self.by_name.get(name)
        return None if known is None or known.value is None else known.written

    def _value(self, name: str, kind: type[T]) -> T | None:
        known = self.by_name.get(name)
        return known.value if known is not None and isinstance(known.value, kind) else None

    def word(self, name: str) -> str:
        """Return a word or a text, empty where there is none."""
        return self._value(name, str) or ""

    def flag(self, name: str) -> bool:
        """Return whether an answer is yes."""
        return self._value(name, bool) or False

    def count(self, name: str) -> int | None:
        """Return a whole number."""
        return self._value(name, int)

    def real(self, name: str) -> float | None:
        """Return a quantity in the unit of its kind."""
        return self._value(name, float)

    def reals(self, name: str) -> tuple[float, ...]:
        """Return several quantities in the unit of their kind."""
        return tuple(item for item in self._value(name, tuple) or () if isinstance(item, float))

    def wanted(self, name: str) -> tuple[Wanted, ...]:
        """Return kinds of work."""
        return tuple(item for item in self._value(name, tuple) or () if isinstance(item, Wanted))

    def stock(self, name: str) -> tuple[Stocked, ...]:
        """Return what there is of something."""
        return tuple(item for item in self._value(name, tuple) or () if isinstance(item, Stocked))


NONE = "none"
"""What a maker answers who has no such thing."""
NONE_WORDS = frozenset({NONE, "no", "unknown", "any", "-"})
UNIT_NEEDED: Mapping[Kind, str] = {POWER: '"0.75 kW" or "1 hp"', RIM_SPEED: '"10 m/s" or "2000 ft/min"'}
"""Kinds that are not read without a unit, since makers of different countries mean different ones."""
WIDEST: Mapping[Kind, Quantity] = {
    LENGTH: Quantity(LENGTH, most=LONGEST_BELT_MM),
    SPEED: Quantity(SPEED, least=0.01, most=60_000),
    POWER: Quantity(POWER, most=1000),
    RIM_SPEED: Quantity(RIM_SPEED, least=0.001, most=300.0),
}
"""The widest range in which any key of a scenario takes a kind, so that what is worked out from answers stays finite;
the reader of scenarios knows the range of every key."""
_NUMBER = re.compile(r"[+-]?\d+(?P<decimals>\.\d+)?", re.ASCII)
_UNIT = re.compile(r"[A-Za-z°\"'%].*$")
_TO = re.compile(r"\s+to\s+|\s*(?:\.\.+|…|–|—)\s*|\s+-\s+")
_HYPHEN = re.compile(r"(?P<least>\d+(?:\.\d+)?)-(?P<most>\d+(?:\.\d+)?(?:\s*[^\d/].*)?)", re.ASCII)


class Reader(Protocol):
    """Reads the answers to one question."""

    @property
    def many(self) -> bool:
        """Whether an answer may take several lines."""

    def read(self, value: Written, units: str) -> Answer:
        """Return the answer; `QuantityError` where it cannot be read."""

    def shown(self, written: Written, units: str) -> str:
        """Return an answer as a person reads it."""


class _Plainly:
    """Shows an answer the way it is typed."""

    @property
    def many(self) -> bool:
        """Whether an answer may take several lines."""
        return False

    def shown(self, written: Written, units: str) -> str:
        """Return an answer as a person reads it."""
        del units
        return ", ".join(map(str, written)) if isinstance(written, tuple) else str(written)


@dataclass(frozen=True)
class Text(_Plainly):
    """Reads any text; in quotes where it is one of the words that steer the questions."""

    def read(self, value: Written, units: str) -> Answer:
        """Return the text."""
        del units
        if not isinstance(value, str):
            raise QuantityError("this must be text", _as_given(value), "text")
        text = value.strip()
        if len(text) > 2 and text[0] == text[-1] and text[0] in "\"'":
            text = text[1:-1]
        return Answer(text, text)


@dataclass(frozen=True)
class Word(_Plainly):
    """Reads one of several words, or as much of its beginning as no other shares."""

    words: tuple[str, ...]

    def read(self, value: Written, units: str) -> Answer:
        """Return the word."""
        del units
        plain = " ".join(str(value).lower().replace("_", " ").split()) if isinstance(value, str) else ""
        begins = [word for word in self.words if plain and word.startswith(plain)]
        found = plain if plain in self.words else begins[0] if len(begins) == 1 else ""
        if not found:
            what = "several words begin like this" if begins else "this is none of the words allowed here"
            near = difflib.get_close_matches(plain, begins or self.words, n=1)
            advice = f"did you mean {near[0]}?" if near else ""
            raise QuantityError(what, _as_given(value), ", ".join(begins or self.words), advice)
        return Answer(found, found)


@dataclass(frozen=True)
class YesNo(_Plainly):
    """Reads yes or no."""

    def read(self, value: Written, units: str) -> Answer:
        """Return whether it is yes."""
        del units
        known = {"yes": True, "y": True, "no": False, "n": False}
        found = value if isinstance(value, bool) else known.get(value.strip().lower() if isinstance(value, str) else "")
        if found is None:
            raise QuantityError("this is yes or no", _as_given(value), "yes, no")
        return Answer(found, found)

    def shown(self, written: Written, units: str) -> str:
        """Return yes or no."""
        del units
        return "yes" if written else "no"


@dataclass(frozen=True)
class Count(_Plainly):
    """Reads a whole number."""

    least: int
    most: int

    def read(self, value: Written, units: str) -> Answer:
        """Return the number."""
        del units
        allowed = f"{self.least} to {self.most}"
        text = value.strip() if isinstance(value, str) else value
        if isinstance(text, str) and re.fullmatch(r"\d{1,9}", text, re.ASCII):
            text = int(text)
        if isinstance(text, bool) or not isinstance(text, int):
            raise QuantityError("this must be a whole number", _as_given(value), allowed)
        if not self.least <= text <= self.most:
            raise QuantityError(f"this is too {'small' if text < self.least else 'large'}", _as_given(value), allowed)
        return Answer(text, text)


@dataclass(frozen=True)
class Amount(_Plainly):
    """Reads one quantity."""

    kind: Kind

    def read(self, value: Written, units: str) -> Answer:
        """Return the quantity in the unit of its kind."""
        if isinstance(value, tuple):
            raise QuantityError("this takes one value", _as_given(value), self.kind.example)
        written, real = amount(value, self.kind, units)
        return Answer(written, real)

    def shown(self, written: Written, units: str) -> str:
        """Return the quantity with its unit."""
        return with_unit(written, self.kind, units)


@dataclass(frozen=True)
class Amounts(_Plainly):
    """Reads several quantities, parted by commas; a unit after the last alone is that of all."""

    kind: Kind

    def read(self, value: Written, units: str) -> Answer:
        """Return the quantities in the unit of their kind."""
        parts = parted(value)
        pairs = [amount(part, self.kind, units) for part in _sharing_unit(parts)]
        return Answer(tuple(written for written, _ in pairs), tuple(real for _, real in pairs))

    def shown(self, written: Written, units: str) -> str:
        """Return the quantities with their units."""
        several = written if isinstance(written, tuple) else (written,)
        return ", ".join(with_unit(one, self.kind, units) for one in several)


@dataclass(frozen=True)
class Span(_Plainly):
    """Reads the least and the greatest of a quantity, written `220 to 340`; one value where both are the same."""

    kind: Kind

    def read(self, value: Written, units: str) -> Answer:
        """Return both in the unit of their kind."""
        (low, least), (high, most) = self.ends(value, units)
        return Answer((low, high), (least, most))

    def ends(self, value: Written, units: str) -> tuple[tuple[Plain, float], tuple[Plain, float]]:
        """Return the least and the greatest, each as written and as read."""
        if isinstance(value, str):
            text = value.strip()
            hyphen = _HYPHEN.fullmatch(text)
            parts: Sequence[Plain] = (hyphen["least"], hyphen["most"]) if hyphen else _TO.split(text)
        else:
            parts = parted(value)
        if len(parts) not in (1, 2):
            raise QuantityError("this takes one value, or two: least to greatest", _as_given(value), "220 to 340")
        pairs = [amount(part, self.kind, units) for part in _sharing_unit(parts)]
        if pairs[0][1] > pairs[-1][1]:
            raise QuantityError("the second value is below the first", _as_given(value), "the smaller one first")
        return pairs[0], pairs[-1]

    def shown(self, written: Written, units: str) -> str:
        """Return both with their units."""
        several = written if isinstance(written, tuple) else (written,)
        return " to ".join(dict.fromkeys(with_unit(one, self.kind, units) for one in several))


@dataclass(frozen=True)
class OrNone:
    """Reads an answer of another reader, or that there is none."""

    reader: Reader

    @property
    def many(self) -> bool:
        """Whether an answer may take several lines."""
        return self.reader.many

    def read(self, value: Written, units: str) -> Answer:
        """Return the answer, one without a value where there is none."""
        if value is False or value == () or (isinstance(value, str) and value.strip().lower() in NONE_WORDS):
            return Answer(NONE, None)
        return self.reader.read(value, units)

    def shown(self, written: Written, units: str) -> str:
        """Return an answer as a person reads it."""
        return NONE if written == NONE else self.reader.shown(written, units)


def amount(value: Plain, kind: Kind, units: str) -> tuple[Plain, float]:
    """Return a quantity as it goes into a file, with what it comes to.

    Examples
    --------
    >>> amount("240", LENGTH, "mm"), amount(" 4 1/2 ", LENGTH, "in"), amount("9.5", LENGTH, "cm")
    ((240, 240.0), ('4 1/2', 114.3), (9.5, 95.0))
    """
    text = value.strip() if isinstance(value, str) else value
    plain = _NUMBER.fullmatch(text) if isinstance(text, str) else None
    written: Plain = text if plain is None or not isinstance(text, str) else _number(text, plain["decimals"])
    real = WIDEST[kind].held(written, units)
    if kind in UNIT_NEEDED and not (isinstance(written, str) and _UNIT.search(written)):
        raise QuantityError(f"{kind.name} needs its unit here", _as_given(value), UNIT_NEEDED[kind])
    return written, real


def parted(value: Written) -> tuple[Plain, ...]:
    """Return the parts of a list, typed with commas between or stated as one."""
    if isinstance(value, tuple):
        return value
    if isinstance(value, str):
        return tuple(part.strip() for part in re.split(r"[,;\n]|\s+and\s+", value) if part.strip())
    return (value,)


def with_unit(written: Written, kind: Kind, units: str) -> str:
    """Return a quantity with its unit, which is left out where a maker's own text has one.

    Examples
    --------
    >>> with_unit(240, LENGTH, "mm"), with_unit("4 1/2", LENGTH, "in"), with_unit("12 cm", LENGTH, "in")
    ('240 mm', '4 1/2 in', '12 cm')
    """
    if isinstance(written, str) and _UNIT.search(written):
        return written
    unit = units if kind is LENGTH else "rpm" if kind is SPEED else kind.unit
    return f"{written} {unit}".strip()


def _number(text: str, decimals: str | None) -> int | float:
    return float(text) if decimals or len(text) > 15 else int(text)


def _sharing_unit(parts: Sequence[Plain]) -> tuple[Plain, ...]:
    """Give all parts the unit of the last, where no other has one."""
    *others, last = parts or ("",)
    unit = _UNIT.search(last) if isinstance(last, str) else None
    bare = all(isinstance(part, str) and not _UNIT.search(part) for part in others)
    if unit is None or not others or not bare:
        return tuple(parts)
    gap = "" if unit[0][0] in "\"'" else " "
    return (*(f"{part}{gap}{unit[0]}" for part in others), last)


def _as_given(value: Written) -> str:
    return as_written(list(value) if isinstance(value, tuple) else value)
