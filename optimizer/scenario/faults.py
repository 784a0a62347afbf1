"""What pydantic says of a scenario, in plain words."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails, PydanticCustomError

from optimizer.catalogue.entry import CatalogueError
from optimizer.errors import Fault
from optimizer.quantities import QuantityError, as_written
from optimizer.scenario.places import inside, place_of

__all__ = ["faults_of", "refusal", "unknown_key"]

_REFUSED = "refused"

_WRONG_TYPE: Mapping[str, tuple[str, str]] = {
    "string_type": ("this must be text", "text in quotes"),
    "int_type": ("this must be a whole number", "a whole number"),
    "int_from_float": ("this must be a whole number", "a whole number"),
    "bool_type": ("this must be true or false", "true or false"),
    "tuple_type": ("this must be a list", "a list in square brackets"),
    "list_type": ("this must be a list", "a list in square brackets"),
    "dict_type": ("this must be a table", "a table of keys"),
    "model_type": ("this must be a table", "a table of keys"),
    "model_attributes_type": ("this must be a table", "a table of keys"),
}


def refusal(faults: Iterable[Fault]) -> PydanticCustomError:
    """Return the one error that carries many faults through pydantic, places relative to the model."""
    kept = tuple(faults)
    said = "; ".join(str(fault) for fault in kept).replace("{", "{{").replace("}", "}}")
    # pydantic's own type wants a literal template, which a list of faults cannot be
    return PydanticCustomError(_REFUSED, "{said}", {"faults": kept, "said": said})


def faults_of(error: ValidationError) -> list[Fault]:
    """Translate every error of a failed validation."""
    return [fault for details in error.errors(include_url=False) for fault in _translated(details)]


def unknown_key(key: str, known: Iterable[str], value: object, table: str) -> Fault:
    """Return the fault for a key that the table does not have, with the nearest that it has.

    Examples
    --------
    >>> print(unknown_key("speeed", ["speed", "power", "turns"], 1420, ""))
    speeed: there is no such key; got 1420; allowed: power, speed, turns; try: did you mean speed?
    """
    names = sorted(known)
    near = difflib.get_close_matches(key.lower(), names, n=1, cutoff=0.6)
    advice = f"did you mean {near[0]}?" if near else "leave it out"
    plain = key if key.isprintable() and key else as_written(key)
    return Fault(inside(table, plain), "there is no such key", as_written(value), ", ".join(names), advice)


def _translated(details: ErrorDetails) -> Iterator[Fault]:
    where = place_of(details["loc"])
    context: dict[str, Any] = details.get("ctx", {})
    cause = context.get("error")
    got = as_written(details["input"])
    kind = details["type"]
    if kind == _REFUSED:
        for fault in context["faults"]:
            yield Fault(inside(where, fault.where), fault.what, fault.got, fault.allowed, fault.advice)
    elif isinstance(cause, QuantityError | CatalogueError):
        yield Fault(where, cause.what, cause.got, cause.allowed, cause.advice)
    elif kind == "missing":
        yield Fault(where, "this is missing", advice=f"add {where.rsplit('.', 1)[-1]}")
    elif kind == "extra_forbidden":
        yield Fault(where, "there is no such key", got, advice="leave it out")
    elif kind in ("literal_error", "enum"):
        allowed = context["expected"].replace("'", '"')
        yield Fault(where, "this is none of the words allowed here", got, allowed, _nearest(details, allowed))
    elif kind in _WRONG_TYPE:
        what, allowed = _WRONG_TYPE[kind]
        yield Fault(where, what, got, allowed)
    else:
        yield Fault(where, details["msg"][:1].lower() + details["msg"][1:], got)


def _nearest(details: ErrorDetails, allowed: str) -> str:
    words = allowed.replace('"', "").replace(" or ", ", ").split(", ")
    near = difflib.get_close_matches(str(details["input"]).lower(), words, n=1)
    return f"did you mean {as_written(near[0])}?" if near else ""
