"""The base of all that a maker states: every fault of a table is found in one reading."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import FunctionType
from typing import Any, ClassVar, Self, TypeVar

from pydantic import ConfigDict, ModelWrapValidatorHandler, ValidationError, ValidationInfo, model_validator
from pydantic_core import ErrorDetails

from optimizer.errors import Fault
from optimizer.quantities import as_written
from optimizer.scenario.base import Model
from optimizer.scenario.faults import Refused, faults_of, refusal, refused, unknown_key, value_at

__all__ = ["Reading", "Stated", "rule"]

_Rule = TypeVar("_Rule", bound=Callable[[Any, str], Iterator[Fault]])


@dataclass(frozen=True)
class Reading:
    """How a file is read; without it a model is being built by the program, in mm and by the fields' own names."""

    units: str = "mm"


def rule(*uses: str) -> Callable[[_Rule], _Rule]:
    """Mark a method that yields what is wrong across fields, with places relative to the table.

    It is handed the maker's units, and runs where all that it uses can be read.

    Parameters
    ----------
    uses
        Fields, such as `travel_mm`, or fields of the tables within, such as `driver.kept_mm`.
    """

    def mark(method: _Rule) -> _Rule:
        method.__dict__["uses"] = frozenset(uses)
        return method

    return mark


class Stated(Model):
    """A table of the maker's file.

    Fields carry their unit in the name; the key a maker writes is the field's alias. Rules across fields are methods
    marked with `rule`. A table with faults is refused as a whole, but what could be read of it is handed on beside the
    refusal, so that the rules of the tables around it can still run.
    """

    model_config = ConfigDict(populate_by_name=True)

    header: ClassVar[str] = ""
    """Where the table stands in the file."""
    stand_ins: ClassVar[Mapping[str, Any]] = {}
    """A legal value for every required key, so that the rules of the other keys can run where one cannot be read."""
    internal: ClassVar[frozenset[str]] = frozenset()
    """Fields that no maker states."""

    @classmethod
    def shaped(cls, data: object) -> object:
        """Turn a short way to write the table into the long one, or add internal fields that tell how it is written."""
        return data

    def completed(self) -> None:
        """Fill what follows from other fields where it was not stated."""

    def fill(self, **values: Any) -> None:
        """Set fields that were not stated, without counting them as stated; only for `completed`."""
        self.__dict__.update({name: value for name, value in values.items() if name not in self.model_fields_set})

    def filled(self, **values: Any) -> Self:
        """Return a copy with fields set that were not stated, without counting them as stated."""
        copy = self.model_copy()
        copy.fill(**values)
        return copy

    @classmethod
    @cache
    def known_keys(cls) -> dict[str, str]:
        """Return the field of every key that a maker may write."""
        return {f.alias or name: name for name, f in cls.model_fields.items() if name not in cls.internal}

    @model_validator(mode="wrap")
    @classmethod
    def _find_all_faults(cls, data: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo) -> Self:
        if isinstance(data, cls):
            return handler(data)
        reading = info.context if isinstance(info.context, Reading) else None
        given = cls.shaped(data)
        if not isinstance(given, dict):
            advice = f"write {cls.header}" if cls.header.startswith("[") else ""
            fault = Fault("", "this must be a table", as_written(given), "a table of keys", advice)
            raise refusal(Refused((fault,)))
        faults: list[Fault] = []
        if reading is not None:
            known = cls.known_keys()
            added = cls.internal.difference(data) if isinstance(data, dict) else cls.internal
            strange = {key: value for key, value in given.items() if key not in known and key not in added}
            faults += [unknown_key(key, known, value, _homes(key)) for key, value in strange.items()]
            given = {key: value for key, value in given.items() if key not in strange}
        failed: frozenset[str] = frozenset()
        try:
            model = handler(given)
        except ValidationError as error:
            faults += faults_of(error)
            failed = cls._failed(error)
            rest = cls._rest(given, error, handler)
            if rest is None:
                raise refusal(Refused(tuple(faults), failed)) from None
            model = rest
        model.completed()
        broken, suspect = model._broken(failed, reading.units if reading else "mm")
        faults += [_as_given(fault, given) for fault in broken] if reading else broken
        if faults:
            raise refusal(Refused(tuple(faults), failed | suspect, model))
        return model

    @classmethod
    def _failed(cls, error: ValidationError) -> frozenset[str]:
        """Return the fields that could not be read, `driver.kept_mm` for one in a table within."""
        failed: set[str] = set()
        for details in error.errors(include_url=False):
            name = cls._field(details)
            within = refused(details)
            failed |= {f"{name}.{inner}" for inner in within.failed} if within and within.rest else {name}
        return frozenset(failed)

    @classmethod
    def _field(cls, details: ErrorDetails) -> str:
        first = str(details["loc"][0]) if details["loc"] else ""
        return cls.known_keys().get(first, first)

    @classmethod
    def _rest(
        cls, given: dict[str, Any], error: ValidationError, handler: ModelWrapValidatorHandler[Self]
    ) -> Self | None:
        """Read what can be read: what is left of tables within, stand-ins for what is required and cannot be read."""
        known = cls.known_keys()
        kept = dict(given)
        lost: set[str] = set()
        for details in error.errors(include_url=False):
            within = refused(details)
            match details["loc"]:
                case (str(key),) if within and within.rest:
                    kept[key] = within.rest
                case (str(key), int(index)) if within and within.rest:
                    kept[key] = [within.rest if i == index else item for i, item in enumerate(kept[key])]
                case _:
                    lost.add(cls._field(details))
        kept = {key: value for key, value in kept.items() if known.get(key, key) not in lost}
        kept |= {key: value for key, value in cls.stand_ins.items() if known[key] in lost}
        try:
            return handler(kept)
        except ValidationError:
            return None

    def _broken(self, failed: frozenset[str], units: str) -> tuple[list[Fault], frozenset[str]]:
        """Return what the rules say that use nothing that failed, with the fields that they doubt."""
        found: list[Fault] = []
        suspect: frozenset[str] = frozenset()
        for name, uses in _rules(type(self)):
            if not any(_overlap(used, lost) for used in uses for lost in failed):
                faults = list(getattr(self, name)(units))
                found += faults
                suspect |= uses if faults else frozenset()
        return found, suspect


@cache
def _rules(cls: type[Stated]) -> tuple[tuple[str, frozenset[str]], ...]:
    """Return the names of the methods marked as rules with what they use, in the order they are written."""
    found: dict[str, frozenset[str]] = {}
    for base in reversed(cls.__mro__):
        functions = {name: member for name, member in vars(base).items() if isinstance(member, FunctionType)}
        found |= {name: member.__dict__["uses"] for name, member in functions.items() if "uses" in member.__dict__}
    return tuple(found.items())


def _homes(key: str) -> list[str]:
    """Return where a key may stand."""
    return sorted({table.header for table in Stated.__subclasses__() if key in table.known_keys()})


def _overlap(one: str, other: str) -> bool:
    """Tell whether two fields are the same or one holds the other."""
    return f"{one}.".startswith(f"{other}.") or f"{other}.".startswith(f"{one}.")


def _as_given(fault: Fault, given: object) -> Fault:
    """Show the value as the maker wrote it, where there is one at the fault's place."""
    value = value_at(given, fault.where)
    if isinstance(value, dict) and "value" in value:
        value = value["value"]
    if isinstance(value, str | int | float) or (isinstance(value, list) and fault.got):
        return replace(fault, got=as_written(value))
    return fault
