"""Documents of a result, as text or bytes."""

from optimizer.report.changes import none_lines
from optimizer.report.document import (
    ChangedDesignError,
    design_json,
    design_of_json,
    design_schema,
    json_text,
    no_design_json,
    no_design_schema,
    speeds_json,
    speeds_schema,
)
from optimizer.report.files import design_files
from optimizer.report.screen import design_screen, speeds_screen

__all__ = [
    "ChangedDesignError",
    "design_files",
    "design_json",
    "design_of_json",
    "design_schema",
    "design_screen",
    "json_text",
    "no_design_json",
    "no_design_schema",
    "none_lines",
    "speeds_json",
    "speeds_schema",
    "speeds_screen",
]
