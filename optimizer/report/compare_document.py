"""A comparison as a JSON document, with the schema it follows."""

from __future__ import annotations

from typing import Any

from optimizer.records.comparison import Comparison
from optimizer.report.document import json_text, schema_of

__all__ = ["comparison_json", "comparison_schema"]


def comparison_json(comparison: Comparison) -> str:
    """Return a comparison as JSON, keys in the order of the record, the same bytes for the same comparison."""
    return json_text(comparison.model_dump(mode="json"))


def comparison_schema() -> dict[str, Any]:
    """Return the JSON schema of a comparison document."""
    return schema_of(Comparison)
