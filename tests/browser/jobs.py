"""Designs of shipped scenarios with their sheets as files, made once."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from optimizer.papers.design_sheet import design_sheet_html
from optimizer.papers.lists import ListSection
from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job
from optimizer.report.table import Table
from optimizer.scenario import load_scenario

__all__ = ["LISTS", "MACHINES", "job_named", "sheet_file"]

SCENARIOS = Path(__file__).parents[2] / "scenarios"
MACHINES = ("pattern-mill", "bench-shaper", "polishing-head", "grindstone")
"""Two stages in mm, two in inches, one stage with work sizes, a crossed flat belt on locked shafts."""
LISTS = (
    ListSection("Cut list", Table(("cone", "layers", "blank"), (("motor, driver", "3", "240"),)), ("Bore last.",)),
    ListSection(
        "Buying list", Table(tuple(f"column {n}" for n in range(12)), (tuple("a word or two" for _ in range(12)),))
    ),
)


@cache
def job_named(machine: str) -> Job:
    """Return the design of a shipped scenario beside it."""
    file = SCENARIOS / f"{machine}.toml"
    scenario = load_scenario(file.read_text(encoding="utf-8"), file.name)
    return Job(design(scenario), scenario)


def sheet_file(folder: Path, job: Job, name: str) -> Path:
    """Write a job's sheet where a browser can open it."""
    file = folder / f"{name}.html"
    file.write_bytes(design_sheet_html(job))
    return file
