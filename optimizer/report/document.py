"""The result as a JSON document, with the schema it follows."""

from __future__ import annotations

import json
from typing import Any

from optimizer.records.design import Design

__all__ = ["design_json", "design_schema", "json_text"]

SCHEMA_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def design_json(design: Design) -> str:
    """Return the design as JSON, keys in the order of the record, the same bytes for the same design."""
    return json_text(design.model_dump(mode="json"))


def design_schema() -> dict[str, Any]:
    """Return the JSON schema of a design document."""
    schema = Design.model_json_schema(mode="serialization")
    return {"$schema": SCHEMA_DIALECT, **schema}


def json_text(value: Any) -> str:
    """Return a value as indented JSON that ends its last line."""
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
