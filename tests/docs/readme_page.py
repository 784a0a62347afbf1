"""The parts of README.md that are made: a real run, the figures it gave, the shipped scenarios."""

from __future__ import annotations

import re
from pathlib import Path

from optimizer.documents.comparison import comparison_screen
from optimizer.documents.design import design_screen
from optimizer.documents.figures import rpm
from optimizer.quantities.written import percent
from optimizer.records.comparison import Comparison
from optimizer.records.design import Design
from tests.docs.markup import table, with_blocks
from tests.docs.pages import ROOT

__all__ = ["README_SCENARIO", "comment_of", "readme_page", "shipped", "stated_code"]

README_SCENARIO = ROOT / "scenarios/pattern-mill.toml"


def readme_page(design: Design, gripping: Design, comparison: Comparison) -> str:
    """Return the page with its made blocks renewed, from the designs and the comparison of the README's scenario.

    `gripping` is the design in which grip is preferred.
    """
    blocks = {
        "example": _example(design),
        "figures": _figures(design),
        "grip": _grip(design, gripping),
        "comparison": _comparison(comparison),
        "scenarios": _scenarios(),
    }
    return with_blocks((ROOT / "README.md").read_text(encoding="utf-8"), blocks)


def shipped() -> list[Path]:
    """Return the shipped scenarios, by name."""
    return sorted((ROOT / "scenarios").glob("*.toml"))


def comment_of(scenario: Path) -> str:
    """Return the comment that a scenario opens with, as one line."""
    lines = scenario.read_text(encoding="utf-8").splitlines()
    count = next(index for index, line in enumerate(lines) if not line.startswith("#"))
    return " ".join(line.removeprefix("#").strip() for line in lines[:count]).replace("  ", " ")


def stated_code(scenario: Path) -> int:
    """Return the exit code that the opening comment states; 0 where it states none."""
    found = re.search(r"exit code (\d)", comment_of(scenario))
    return int(found[1]) if found else 0


def command_for(scenario: Path) -> str:
    """Return the command that the scenario is for: one with bands is designed, unless its comment says compared."""
    if "`conewright compare`" in comment_of(scenario):
        return "compare"
    return "design" if "\n[[band]]" in scenario.read_text(encoding="utf-8") else "speeds"


def _example(design: Design) -> str:
    return f"```text\n$ conewright design scenarios/{README_SCENARIO.name}\n{design_screen(design)}```"


def _comparison(comparison: Comparison) -> str:
    """Return the first tables of the screen."""
    shown, _ = comparison_screen(comparison).split("\n\nBelts\n")
    return f"```text\n$ conewright compare scenarios/{README_SCENARIO.name}\n{shown}\n```"


def _figures(design: Design) -> str:
    proof = design.proof
    rows = [
        ("ideal", percent(proof.ideal, 3), "an even series over these bands, whatever the machine"),
        ("structural", percent(proof.structural, 3), "no diameters within the limits, listed or not, can be better"),
        ("listed", percent(proof.listed, 3), "the best over the listed sizes, found and proved"),
        ("final", percent(proof.final, 3), "the design as it is to be turned"),
    ]
    return table(("figure", "J above", "what it is"), rows)


def _grip(design: Design, gripping: Design) -> str:
    rows = []
    for call, each in (("design", design), ("design --prefer grip", gripping)):
        assert each.carrying is not None
        assert each.carrying.grip is not None
        counts = " + ".join(str(len(band.speeds_rpm)) for band in each.bands)
        between = ", ".join(sorted({rpm(speed.shafts[1].rpm) for speed in each.machine.speeds}))
        torque = f"{each.carrying.speeds[0].torque_nm:.1f}"
        rows.append((f"`{call}`", counts, percent(each.series.j, 3), between, torque, f"{each.carrying.grip:.2f}"))
    heads = ("command", "speeds in the bands", "J", "countershaft rpm", "torque at the slowest speed, N m", "grip")
    return table(heads, rows)


def _scenarios() -> str:
    rows = []
    for path in shipped():
        first = re.split(r"(?<=[.;:]) What it teaches: ", comment_of(path))[0]
        rows.append((f"[{path.name}](scenarios/{path.name})", f"`{command_for(path)}`", first))
    return table(("scenario", "command", "what it shows"), rows)
