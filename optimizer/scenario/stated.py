"""The base of all that a maker states: every fault of a table is found in one reading."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import FunctionType
from typing import Any, ClassVar, Self, TypeVar

from pydantic import ConfigDict, ModelWrapValidatorHandler, ValidationError, ValidationInfo, model_validator

from optimizer.errors import Fault
from optimizer.scenario.base import Model
from optimizer.scenario.faults import faults_of, refusal, unknown_key

__all__ = ["Reading", "Stated", "rule"]

Check = Callable[[Any], Iterator[Fault]]
_Check = TypeVar("_Check", bound=Check)


@dataclass(frozen=True)
class Reading:
    """How a file is read; without it a model is being built by the program, in mm and by the fields' own names."""

    units: str = "mm"


def rule(*uses: str) -> Callable[[_Check], _Check]:
    """Mark a method that yields what is wrong across fields; it runs where all the fields it uses can be read."""

    def mark(check: _Check) -> _Check:
        check.__dict__["uses"] = frozenset(uses)
        return check

    return mark


class Stated(Model):
    """A table of the maker's file.

    Fields carry their unit in the name; the key a maker writes is the field's alias. Subclasses state rules across
    fields as methods marked with `rule`, which yield faults with places relative to the table.
    """

    model_config = ConfigDict(populate_by_name=True)

    stand_ins: ClassVar[Mapping[str, Any]] = {}
    """A legal value for every required key, so that the rules of the other keys can run where one cannot be read."""
    internal: ClassVar[frozenset[str]] = frozenset()
    """Fields that no maker states."""

    @classmethod
    def shaped(cls, data: object) -> object:
        """Turn a short way to write the table into the long one."""
        return data

    def completed(self) -> None:
        """Fill what follows from other fields where it was not stated."""

    def fill(self, **values: Any) -> None:
        """Set fields that were not stated, without counting them as stated; only for `completed`."""
        self.__dict__.update({k: v for k, v in values.items() if k not in self.model_fields_set})

    @classmethod
    def keys(cls) -> dict[str, str]:
        """Return the field of every key that a maker may write."""
        return {f.alias or name: name for name, f in cls.model_fields.items() if name not in cls.internal}

    @model_validator(mode="wrap")
    @classmethod
    def _find_all_faults(cls, data: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo) -> Self:
        given = cls.shaped(data)
        faults: list[Fault] = []
        if isinstance(given, dict) and isinstance(info.context, Reading):
            known = cls.keys()
            strange = [key for key in given if key not in known]
            faults += [unknown_key(key, known, given[key], "") for key in strange]
            given = {key: value for key, value in given.items() if key in known}
        failed: frozenset[str] = frozenset()
        try:
            model = handler(given)
        except ValidationError as error:
            faults += faults_of(error)
            failed = cls._failed(error)
            rest = cls._rest(given, failed, handler)
            if rest is None:
                raise refusal(faults) from None
            model = rest
        model.completed()
        faults += model._broken(failed)
        if faults:
            raise refusal(faults)
        return model

    @classmethod
    def _failed(cls, error: ValidationError) -> frozenset[str]:
        """Return the fields that could not be read."""
        known = cls.keys()
        firsts = [str(details["loc"][0]) for details in error.errors(include_url=False) if details["loc"]]
        return frozenset(known.get(first, first) for first in firsts)

    @classmethod
    def _rest(cls, given: object, failed: frozenset[str], handler: ModelWrapValidatorHandler[Self]) -> Self | None:
        """Read what can be read, stand-ins for what is required and cannot."""
        if not isinstance(given, dict) or not failed:
            return None
        known = cls.keys()
        kept = {key: value for key, value in given.items() if known.get(key, key) not in failed}
        kept |= {key: value for key, value in cls.stand_ins.items() if known[key] in failed}
        try:
            return handler(kept)
        except ValidationError:
            return None

    def _broken(self, failed: frozenset[str]) -> list[Fault]:
        """Return what the rules say that use none of the failed fields."""
        found: list[Fault] = []
        for name, uses in _checks(type(self)):
            if not uses & failed:
                found += getattr(self, name)()
        return found


@cache
def _checks(cls: type[Stated]) -> tuple[tuple[str, frozenset[str]], ...]:
    """Return the names of the methods marked as rules with the fields they use, in the order they are written."""
    found: dict[str, frozenset[str]] = {}
    for base in reversed(cls.__mro__):
        functions = {name: member for name, member in vars(base).items() if isinstance(member, FunctionType)}
        found |= {name: member.__dict__["uses"] for name, member in functions.items() if "uses" in member.__dict__}
    return tuple(found.items())
