"""The command that prints a JSON schema."""

from __future__ import annotations

from typing import Literal

from cli.codes import DONE
from optimizer.documents.buying import BuyingDocument
from optimizer.documents.cut_list import CutsDocument
from optimizer.documents.data import json_text, schema_of
from optimizer.recheck.records import Recheck
from optimizer.records.changes import NoDesign
from optimizer.records.comparison import Comparison
from optimizer.records.design import Design
from optimizer.records.known import KnownMachine
from optimizer.scenario import scenario_schema
from optimizer.scenario.base import Model

__all__ = ["print_schema"]

Subject = Literal["scenario", "design", "comparison", "no-design", "speeds", "cuts", "buying", "recheck"]


def print_schema(of: Subject) -> int:
    """Print the JSON schema of a scenario, or of a result."""
    records: dict[str, type[Model]] = {
        "design": Design,
        "comparison": Comparison,
        "no-design": NoDesign,
        "speeds": KnownMachine,
        "cuts": CutsDocument,
        "buying": BuyingDocument,
        "recheck": Recheck,
    }
    schema = scenario_schema() if of == "scenario" else schema_of(records[of])
    print(json_text(schema), end="")
    return DONE
