"""Sheets of machines as files, made once."""

from __future__ import annotations

from pathlib import Path

from optimizer.documents.blocks import Table, listed_section
from optimizer.documents.design_sheet import design_sheet_html
from optimizer.pipeline.job import Job
from tests.jobs import job

__all__ = ["LISTS", "MACHINES", "Sheets", "sheet_file"]

MACHINES = ("bench-shaper", "polishing-head", "grindstone")
"""Two stages in inches, one stage with work sizes, a crossed flat belt on locked shafts."""
LISTS = (
    listed_section("Cut list", Table(("cone", "layers", "blank"), (("motor, driver", "3", "240"),)), "Bore last."),
    listed_section(
        "Buying list", Table(tuple(f"column {n}" for n in range(12)), (tuple("a word or two" for _ in range(12)),))
    ),
)


class Sheets(dict[str, Path]):
    """Sheets of machines as files, each made when it is first asked for."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder

    def __missing__(self, machine: str) -> Path:
        self[machine] = sheet_file(self.folder, job(machine), machine)
        return self[machine]


def sheet_file(folder: Path, job: Job, name: str) -> Path:
    """Write a job's sheet where a browser can open it."""
    file = folder / f"{name}.html"
    file.write_bytes(design_sheet_html(job))
    return file
