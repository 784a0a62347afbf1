"""The files of a design's folder, as bytes."""

from __future__ import annotations

from optimizer.pipeline.job import job_of
from optimizer.records.design import Design
from optimizer.report.cuts_csv import cuts_csv
from optimizer.report.document import design_json
from optimizer.report.paper import design_paper
from optimizer.report.recheck_form import MEASURED_CSV, MEASURED_TOML, measured_csv, measured_toml

__all__ = ["design_files"]


def design_files(design: Design) -> dict[str, bytes]:
    """Return the name and content of every file of the result."""
    texts = {
        "cuts.csv": cuts_csv(job_of(design)),
        "design.json": design_json(design),
        "design.md": design_paper(design),
        MEASURED_CSV: measured_csv(design),
        MEASURED_TOML: measured_toml(design),
    }
    return {name: text.encode("utf-8") for name, text in texts.items()}
