"""What the schema of a scenario lets stand at a place, so that keys a file leaves out can be put in."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from random import Random
from typing import Any, NamedTuple

from optimizer.scenario import scenario_schema
from tests.fuzz.edges import an_edge

__all__ = ["Table", "tables", "value_for"]

DEEPEST = 6
"""Values made up from the schema are nested no deeper."""


class Table(NamedTuple):
    """A table of a scenario with what the schema says of it; nothing where the schema does not know it."""

    here: dict[str, Any]
    schema: dict[str, Any] | None


@cache
def _whole() -> dict[str, Any]:
    return scenario_schema()


def tables(tree: dict[str, Any]) -> list[Table]:
    """Return all tables of a scenario, the outermost first."""
    return list(_tables(tree, _whole()))


def _tables(node: Any, schema: dict[str, Any] | None) -> Iterator[Table]:
    if isinstance(node, dict):
        known = next((arm for arm in _arms(schema) if "properties" in arm), None)
        yield Table(node, known)
        for key, value in node.items():
            yield from _tables(value, known["properties"].get(key) if known else None)
    elif isinstance(node, list):
        listed = next((arm for arm in _arms(schema) if "items" in arm), None)
        for value in node:
            yield from _tables(value, listed["items"] if listed else None)


def _arms(schema: dict[str, Any] | None) -> Iterator[dict[str, Any]]:
    """Yield the schemas that a value may follow, references looked up."""
    if not isinstance(schema, dict):
        return
    if "$ref" in schema:
        yield from _arms(_whole()["$defs"][schema["$ref"].rsplit("/", 1)[-1]])
    for word in ("anyOf", "oneOf", "allOf"):
        for arm in schema.get(word, ()):
            yield from _arms(arm)
    yield schema


def value_for(schema: dict[str, Any], random: Random, depth: int = 0) -> Any:
    """Return a value that the schema allows, or, now and then, any other."""
    arms = [arm for arm in _arms(schema) if {"type", "enum", "const", "properties"} & arm.keys()]
    if not arms or depth > DEEPEST or random.random() < 0.1:
        return an_edge(random)
    arm = random.choice(arms)
    if "const" in arm:
        return arm["const"]
    if "enum" in arm:
        return random.choice(arm["enum"])
    kind = arm.get("type", "object")
    if kind == "object":
        return _table_for(arm, random, depth)
    if kind == "array":
        fixed = arm.get("prefixItems") or [arm.get("items", {})] * random.randrange(1, 5)
        return [value_for(item, random, depth + 1) for item in fixed]
    if kind == "integer":
        low, high = arm.get("minimum", 0), arm.get("maximum", 100)
        return random.choice((low, high, low - 1, high + 1, random.randint(int(low), int(high))))
    plain = {"number": _number, "boolean": lambda r: r.random() < 0.5, "string": _word}
    return plain[kind](random) if kind in plain else an_edge(random)


def _table_for(schema: dict[str, Any], random: Random, depth: int) -> dict[str, Any]:
    properties, required = schema.get("properties", {}), schema.get("required", ())
    keys = [key for key in properties if key in required or random.random() < 0.2]
    return {key: value_for(properties[key], random, depth + 1) for key in keys}


def _number(random: Random) -> float:
    return round(10 ** random.uniform(-2, 3.5), random.randrange(4))


def _word(random: Random) -> str:
    return random.choice(("motor", "countershaft", "spindle", "12 mm", "1 1/2 in", "900 rpm", "5 %", "a name"))
