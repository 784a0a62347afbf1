"""Everything that is wrong with a file, collected with where it stands."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails, PydanticCustomError

from optimizer.catalogue.entry import CatalogueError
from optimizer.errors import Fault
from optimizer.quantities import QuantityError, as_key, as_written

__all__ = ["Refused", "faults_of", "inside", "outside", "place_of", "refusal", "refused", "unknown_key", "value_at"]


def place_of(path: Sequence[str | int]) -> str:
    """Write a path of keys with indices counted from 0.

    Examples
    --------
    >>> place_of(["stage", 1, "driver", "blanks", 3])
    'stage[1].driver.blanks[3]'
    """
    text = ""
    for part in path:
        text = inside(text, f"[{part}]" if isinstance(part, int) else as_key(part))
    return text


def inside(outer: str, inner: str) -> str:
    """Join the place of a table and a place within it.

    Examples
    --------
    >>> inside("stage[1]", "driver"), inside("driver.blanks", "[3]"), inside("", "title"), inside("belt", "")
    ('stage[1].driver', 'driver.blanks[3]', 'title', 'belt')
    """
    if not outer or not inner or inner.startswith("["):
        return outer + inner
    return f"{outer}.{inner}"


def outside(place: str) -> str:
    """Return the place of the list or table around a place.

    Examples
    --------
    >>> outside("stage[1].driver.blanks[3]"), outside("stage[1].driver"), outside("stage[1]"), outside("stage")
    ('stage[1].driver.blanks', 'stage[1]', 'stage', '')
    """
    around = re.sub(r"(^|\.)[\w-]*$|\[\d+\]$", "", place)
    return around if len(around) < len(place) else ""


def value_at(tables: object, place: str) -> object:
    """Return what the file holds at a place, nothing where it holds nothing.

    Examples
    --------
    >>> value_at({"stage": [{"centres": [220, 340]}]}, "stage[0].centres[1]")
    340
    >>> value_at({"stage": []}, "stage[0].centres") is None
    True
    """
    value = tables
    for part in re.findall(r"[^.\[\]]+", place):
        if isinstance(value, dict):
            value = value.get(part)
        elif isinstance(value, list | tuple) and part.isdecimal() and int(part) < len(value):
            value = value[int(part)]
        else:
            return None
    return value


_REFUSED = "refused"

_EXAMPLES: Mapping[str, str] = {
    "title": 'title = "…"',
    "units": 'units = "mm", "cm" or "in"',
    "motor": "[motor] with its speed",
    "at": "at = [x, y]",
    "diameter": "diameter = 120",
    "speed": 'speed = "1420 rpm"',
    "name": 'name = "…"',
    "stage": '[[stage]] from = "motor", to = "spindle"',
    "centres": "centres = [least, most]",
    "belt": 'belt = "A"',
    "section": 'section = "A"',
    "size": "size = [1525, 1525]",
    "driver": "driver = { free = [least, most] }",
    "driven": "driven = { free = [least, most] }",
}
"""What to write for a key that is missing."""
_HEADERS: Mapping[str, str] = {
    "band": "[[band]]",
    "obstacle": "[[obstacle]]",
    "sheet": "[[sheet]]",
    "shaft": "[[shaft]]",
    "stage": "[[stage]]",
}
"""How the lists of tables begin."""
_WRONG_TYPE: Mapping[str, tuple[str, str]] = {
    "string_type": ("this must be text", "text in quotes"),
    "int_type": ("this must be a whole number", "a whole number"),
    "int_from_float": ("this must be a whole number", "a whole number"),
    "bool_type": ("this must be true or false", "true or false"),
    "tuple_type": ("this must be a list", "a list in square brackets"),
    "list_type": ("this must be a list", "a list in square brackets"),
}


@dataclass(frozen=True)
class Refused:
    """What is known of a table that was refused, places relative to it."""

    faults: tuple[Fault, ...]
    failed: frozenset[str] = frozenset()
    """Fields that cannot be relied on."""
    rest: object = None
    """What could be read, stand-ins for the rest; nothing where the table is no table."""


def refusal(known: Refused) -> PydanticCustomError:
    """Return the one error that carries many faults through pydantic."""
    said = "; ".join(str(fault) for fault in known.faults)
    return PydanticCustomError(_REFUSED, "{said}", {"refused": known, "said": said})


def refused(details: ErrorDetails) -> Refused | None:
    """Return what an error carries, nothing where it is one of pydantic's own."""
    known = details.get("ctx", {}).get("refused")
    return known if isinstance(known, Refused) else None


def faults_of(error: ValidationError) -> list[Fault]:
    """Translate every error of a failed validation."""
    return [fault for details in error.errors(include_url=False) for fault in _translated(details)]


def unknown_key(key: str, known: Iterable[str], value: object, homes: Sequence[str] = ()) -> Fault:
    """Return the fault for a key that the table does not have, with the nearest that it has, or where it belongs.

    Examples
    --------
    >>> print(unknown_key("speeed", ["speed", "power", "turns"], 1420))
    speeed: there is no such key; got 1420; allowed: power, speed, turns; try: did you mean speed?
    """
    names = sorted(known)
    near = difflib.get_close_matches(key.lower(), names, n=1, cutoff=0.6)
    advice = f"did you mean {near[0]}?" if near else "leave it out"
    if homes and not near:
        advice = f"it belongs to {' or '.join(homes)}"
    return Fault(as_key(key), "there is no such key", as_written(value), ", ".join(names), advice)


def _translated(details: ErrorDetails) -> Iterator[Fault]:
    where = place_of(details["loc"])
    context: dict[str, Any] = details.get("ctx", {})
    cause = context.get("error")
    got = as_written(details["input"])
    kind = details["type"]
    if within := refused(details):
        for fault in within.faults:
            yield replace(fault, where=inside(where, fault.where))
    elif isinstance(cause, QuantityError):
        yield cause.fault(where)
    elif isinstance(cause, CatalogueError):
        yield Fault(where, cause.what, got, cause.allowed, cause.advice)
    elif kind == "missing":
        key = str(details["loc"][-1])
        yield Fault(where, "this is missing", advice=f"add {_EXAMPLES.get(key, key)}")
    elif kind == "extra_forbidden":
        yield Fault(where, "there is no such key", got, advice="leave it out")
    elif kind in ("literal_error", "enum"):
        allowed = context["expected"].replace("'", '"')
        yield Fault(where, "this is none of the words allowed here", got, allowed, _nearest(details, allowed))
    elif kind in _WRONG_TYPE:
        what, allowed = _WRONG_TYPE[kind]
        header = _HEADERS.get(where, "")
        yield Fault(where, what, got, allowed, f"write {header}" if header else "")
    else:
        yield Fault(where, details["msg"][:1].lower() + details["msg"][1:], got)


def _nearest(details: ErrorDetails, allowed: str) -> str:
    words = allowed.replace('"', "").replace(" or ", ", ").split(", ")
    near = difflib.get_close_matches(str(details["input"]).lower(), words, n=1)
    return f"did you mean {as_written(near[0])}?" if near else ""
