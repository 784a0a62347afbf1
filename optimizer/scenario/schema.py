"""The JSON schema of the file as a maker writes it."""

from __future__ import annotations

from typing import Any

from optimizer.scenario.scenario import Scenario

__all__ = ["scenario_schema"]


def scenario_schema() -> dict[str, Any]:
    """Return the JSON schema (draft 2020-12) of a scenario file."""
    schema = Scenario.model_json_schema(by_alias=True)
    for key in Scenario.internal:
        del schema["properties"][key]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
