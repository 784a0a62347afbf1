"""What a key of a scenario takes, and what stands where it is left out, in words."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BeforeValidator
from pydantic.fields import FieldInfo

from optimizer.scenario.around import as_span
from optimizer.scenario.shop import as_pulls
from optimizer.scenario.stated import Stated
from optimizer.scenario.values import (
    Quantity,
    Whole,
    as_counts,
    as_pair,
    as_places,
    as_point,
    as_step,
    as_step_pitch,
    default_of,
    quantity_of,
    show,
)

__all__ = ["default_words", "heading_of", "value_words"]

FOLLOWS = frozenset({"measured", "groove", "hub_mm", "rise_mm", "step_pitch", "positions", "along_mm", "least_gap_mm"})
"""Fields whose default is taken from something else, which the default's source names."""
ALONE = frozenset({as_counts, as_pair, as_pulls})
"""Readers that take one value in the place of a list."""


def value_words(field: FieldInfo) -> str:
    """Return what a maker may write."""
    return _words(field.annotation, tuple(field.metadata))


def default_words(name: str, field: FieldInfo, measured_follows: bool = True) -> tuple[str, str]:
    """Return what stands where nothing is stated, with its source."""
    mark, value = default_of(field), field.default
    if field.is_required():
        return "must be given", ""
    if mark is None:
        return ("", "") if value in (None, inf, "", (), False) or field.default_factory else (_shown(value, field), "")
    if value is None or (name in FOLLOWS and (name != "measured" or measured_follows)):
        return mark.source, ""
    return _shown(value, field), mark.source


def heading_of(model: type[Stated]) -> str:
    """Return what the model's table is called in the page's headings."""
    return model.header.removeprefix("the ")[:1].upper() + model.header.removeprefix("the ")[1:]


def _shown(value: Any, field: FieldInfo) -> str:
    mark = quantity_of(field)
    if mark is not None and isinstance(value, int | float):
        return show(float(value), mark.kind, "mm")
    if isinstance(value, bool):
        return "`true`" if value else "`false`"
    return f'`"{value}"`' if isinstance(value, str) else str(value)


def _words(annotation: Any, marks: tuple[Any, ...]) -> str:
    """Return what is taken, looking through unions, lists, marks."""
    told = next(_marked(marks), None)
    if told is not None:
        return told
    origin, parts = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _words(parts[0], (*parts[1:], *marks))
    if origin in (Union, UnionType):
        return " or ".join(dict.fromkeys(_words(part, ()) for part in parts if part is not NoneType))
    if origin is Literal:
        return ", ".join(f'`"{word}"`' for word in parts)
    if origin is tuple:
        alone = any(isinstance(mark, BeforeValidator) and mark.func in ALONE for mark in marks)
        point = any(isinstance(mark, BeforeValidator) and mark.func is as_point for mark in marks)
        span = any(isinstance(mark, BeforeValidator) and mark.func is as_span for mark in marks)
        ends = any(isinstance(mark, BeforeValidator) and mark.func is as_pulls for mark in marks)
        words = "from and to" if span else "shafts nearest and farthest apart" if ends else "least and most"
        places = any(isinstance(mark, BeforeValidator) and mark.func is as_places for mark in marks)
        two = "two, x and y; each" if point else "two; each" if places else f"two, {words}; each"
        number = "a list; each" if parts[1] is Ellipsis else two
        return f"{'one, or ' * alone}{number} {_words(parts[0], ())}"
    if isinstance(annotation, type) and issubclass(annotation, Stated):
        return "a table"
    return {bool: "`true` or `false`", str: "text"}.get(annotation, str(annotation))


def _marked(marks: tuple[Any, ...]) -> Iterator[str]:
    """Yield what the marks of a value say of it."""
    for mark in marks:
        if isinstance(mark, Quantity):
            step = any(isinstance(other, BeforeValidator) and other.func is as_step for other in marks)
            yield _range(mark) + (', or `"open"`' if step else "")
        elif isinstance(mark, Whole):
            yield f"a whole number, {mark.least} to {mark.most}"
        elif isinstance(mark, BeforeValidator) and mark.func is as_step_pitch:
            yield '`"layers"`, `"faced"` or a length, 1 mm to 1000 mm'


def _range(mark: Quantity) -> str:
    least = show(mark.least, mark.kind, "mm")
    low = f"above {least}" if mark.above else least
    if mark.most == inf:
        return f"{mark.kind.name}, {low}{'' if mark.above else ' or more'}"
    return f"{mark.kind.name}, {low}{' up' if mark.above else ''} to {show(mark.most, mark.kind, 'mm')}"
