"""The JSON schema of the file as a maker writes it."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Any, get_args

from pydantic.fields import FieldInfo

from optimizer.scenario.scenario import Scenario
from optimizer.scenario.stated import Stated
from optimizer.scenario.values import LIMIT_SCHEMA, QUANTITY_SCHEMA, Quantity, quantity_of, show

__all__ = ["scenario_schema"]

_SHORT_WAYS: dict[str, dict[str, Any]] = {
    "belt": {"type": "string", "description": "The section alone."},
    "positions": {"type": "integer", "minimum": 1, "maximum": 6},
    "centres": {"$ref": "#/$defs/Quantity"},
}
"""Keys of a belt stage that may be written shorter."""


def scenario_schema() -> dict[str, Any]:
    """Return the JSON schema (draft 2020-12) of a scenario file.

    Examples
    --------
    >>> schema = scenario_schema()
    >>> schema["required"]
    ['title', 'units', 'motor', 'stage']
    >>> schema["$defs"]["BeltStage"]["properties"]["wrap"]["default"]
    '90 degrees'
    """
    schema = Scenario.model_json_schema(by_alias=True)
    definitions = schema["$defs"]
    for model in sorted(_tables(Scenario), key=lambda table: table.__name__):
        properties = (schema if model is Scenario else definitions[model.__name__])["properties"]
        for name, field in model.model_fields.items():
            if name in model.internal:
                properties.pop(field.alias or name, None)
            else:
                _polish(properties[field.alias or name], field)
    for key, short in _SHORT_WAYS.items():
        stage = definitions["BeltStage"]["properties"]
        long = {
            part: stage[key].pop(part) for part in list(stage[key]) if part not in ("title", "description", "default")
        }
        stage[key]["anyOf"] = [short, long]
    definitions["Quantity"] = {"description": "A number, or text with its unit such as '4 1/2 in'.", **QUANTITY_SCHEMA}
    definitions["Limit"] = {"description": "A value, or a value with the reason it was changed.", **LIMIT_SCHEMA}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_with_references(schema, ("Quantity", "Limit")),
    }


def _tables(model: type[Stated]) -> Iterator[type[Stated]]:
    """Yield a model and all models within it."""
    yield model
    for field in model.model_fields.values():
        for inner in _models(field.annotation):
            yield from _tables(inner)


def _models(annotation: Any) -> Iterator[type[Stated]]:
    if isinstance(annotation, type) and issubclass(annotation, Stated):
        yield annotation
    for part in get_args(annotation):
        yield from _models(part)


def _polish(described: dict[str, Any], field: FieldInfo) -> None:
    """Take out what a TOML file cannot say, and give every default its unit."""
    arms = [arm for arm in described.get("anyOf", []) if arm != {"type": "null"}]
    if "anyOf" in described:
        del described["anyOf"]
        described |= arms[0] if len(arms) == 1 else {"anyOf": arms}
    default = described.get("default")
    if default in (None, inf):
        described.pop("default", None)
    mark = quantity_of(field)
    if isinstance(mark, Quantity) and isinstance(described.get("default"), float):
        described["default"] = show(described["default"], mark.kind, "mm")


def _with_references(part: Any, names: tuple[str, ...], name: str = "") -> Any:
    """Replace every spelled-out quantity or changed limit by a reference."""
    if isinstance(part, list):
        return [_with_references(item, names) for item in part]
    if not isinstance(part, dict):
        return part
    if name not in names:
        for known, spelled in (("Limit", LIMIT_SCHEMA), ("Quantity", QUANTITY_SCHEMA)):
            if part.get("anyOf") == spelled["anyOf"]:
                others = {key: value for key, value in part.items() if key != "anyOf"}
                return {"$ref": f"#/$defs/{known}", **others}
    return {key: _with_references(value, names, key) for key, value in part.items()}
