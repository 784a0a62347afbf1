"""The command that prints a JSON schema."""

from __future__ import annotations

from typing import Literal

from cli.codes import DONE
from optimizer.report.compare_document import comparison_schema
from optimizer.report.document import design_schema, json_text, no_design_schema, speeds_schema
from optimizer.report.list_documents import buying_schema, cuts_schema
from optimizer.report.recheck_screen import recheck_schema
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
