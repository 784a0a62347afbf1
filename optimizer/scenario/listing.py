"""The list of what was not stated, of what was stated otherwise than usual."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf
from typing import Any, NamedTuple

from pydantic.fields import FieldInfo

from optimizer.quantities import as_written
from optimizer.scenario.faults import inside
from optimizer.scenario.stated import Stated
from optimizer.scenario.values import default_of, quantity_of, show

__all__ = ["ChangedLimit", "DefaultUsed", "changed_limits", "defaults_used"]


class DefaultUsed(NamedTuple):
    """A value the maker did not state."""

    key: str
    """Place it would have in the file, such as `stage[0].wrap`."""
    value: str
    source: str


class ChangedLimit(NamedTuple):
    """A limit the maker set otherwise than the default."""

    limit: str
    """Place in the file, such as `stage[0].wrap`."""
    value: str
    default: str
    reason: str


def defaults_used(stated: Stated, units: str) -> tuple[DefaultUsed, ...]:
    """Return every default that was used, in the order of the models."""
    found = []
    for where, model, name, field in _fields(stated, ""):
        default = default_of(field)
        value = getattr(model, name)
        if default is not None and name not in model.model_fields_set and value is not None and value != inf:
            found.append(DefaultUsed(where, _shown(value, field, units), default.source))
    return tuple(found)


def changed_limits(stated: Stated, units: str, reasons: Mapping[str, str]) -> tuple[ChangedLimit, ...]:
    """Return every limit that differs from its default or was given a reason."""
    found = []
    for where, model, name, field in _fields(stated, ""):
        mark = quantity_of(field)
        if mark is None or not mark.limit or name not in model.model_fields_set:
            continue
        value, default = getattr(model, name), field.get_default()
        if value != default or where in reasons:
            usual = "by section" if name == "smallest_mm" else "none"
            if default is not None and default != inf:
                usual = _shown(default, field, units)
            elif (told := default_of(field)) is not None:
                usual = told.source
            found.append(ChangedLimit(where, _shown(value, field, units), usual, reasons.get(where, "no reason given")))
    return tuple(found)


def _fields(stated: Stated, place: str) -> Iterator[tuple[str, Stated, str, FieldInfo]]:
    """Yield place, model, name and definition of every field, tables within tables included."""
    for name, field in type(stated).model_fields.items():
        where = inside(place, field.alias or name)
        value: Any = getattr(stated, name)
        if isinstance(value, Stated):
            yield from _fields(value, where)
        elif isinstance(value, tuple) and value and isinstance(value[0], Stated):
            for index, item in enumerate(value):
                yield from _fields(item, f"{where}[{index}]")
        else:
            yield where, stated, name, field


def _shown(value: object, field: FieldInfo, units: str) -> str:
    mark = quantity_of(field)
    if mark is not None and isinstance(value, int | float):
        return show(float(value), mark.kind, units)
    if isinstance(value, tuple) and len(value) == 1:
        return as_written(value[0])
    return value if isinstance(value, str) else as_written(value)
