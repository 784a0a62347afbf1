"""Answers of a maker: as they were written, and what they come to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

__all__ = ["Answer", "Answers", "Plain", "Stocked", "Suggestion", "Wanted", "Written"]

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
