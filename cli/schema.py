"""The command that prints a JSON schema."""

from __future__ import annotations

from typing import Literal

from cli.codes import DONE
from optimizer.documents.buying import buying_schema
from optimizer.documents.comparison import comparison_schema
from optimizer.documents.cut_list import cuts_schema
from optimizer.documents.data import design_schema, json_text, no_design_schema, speeds_schema
from optimizer.documents.recheck import recheck_schema
from optimizer.scenario import scenario_schema

__all__ = ["print_schema"]

Subject = Literal["scenario", "design", "comparison", "no-design", "speeds", "cuts", "buying", "recheck"]


def print_schema(of: Subject) -> int:
    """Print the JSON schema of a scenario, or of a result."""
    schemas = {
        "scenario": scenario_schema,
        "design": design_schema,
        "comparison": comparison_schema,
        "no-design": no_design_schema,
        "speeds": speeds_schema,
        "cuts": cuts_schema,
        "buying": buying_schema,
        "recheck": recheck_schema,
    }
    print(json_text(schemas[of]()), end="")
    return DONE
