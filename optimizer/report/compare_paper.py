"""A comparison as a page to print or keep."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.comparison import Comparison
from optimizer.report.compare_tables import (
    belt_table,
    layout_table,
    making_table,
    proof_table,
    size_table,
    speed_figures_table,
)
from optimizer.report.compare_words import proposal_words, sign_words, without_words
from optimizer.report.table import plain

__all__ = ["comparison_paper"]

CHART = "speeds.svg"
"""Name of the chart's file beside the page."""


def comparison_paper(comparison: Comparison) -> str:
    """Return the whole comparison as Markdown, in the maker's units."""
    return "\n\n".join((*_head(comparison), *_tables(comparison), *_basis(comparison))) + "\n"


def _head(comparison: Comparison) -> Iterator[str]:
    yield f"# {plain(comparison.scenario.title)}: layouts side by side"
    if comparison.scenario.note:
        yield plain(comparison.scenario.note)
    yield f"{plain(proposal_words(comparison))}."
    yield "## Before you build"
    yield "\n".join(f"- {line}" for line in comparison.cautions)


def _tables(comparison: Comparison) -> Iterator[str]:
    yield "## Layouts"
    yield layout_table(comparison).markdown()
    yield "\n".join(f"- {plain(line)}." for line in sign_words(comparison))
    if comparison.without:
        yield "No design:"
        yield "\n".join(f"- {plain(line)}" for line in without_words(comparison))
    yield "## Speeds"
    yield speed_figures_table(comparison).markdown()
    yield f"![Speed chart: the spindle speeds of every row on a logarithmic scale, over the bands]({CHART})"
    yield "## Making"
    yield "Steps to turn, largest blank, timber of all blanks, belts moved from the slowest speed to the fastest."
    yield making_table(comparison).markdown()
    yield "## Belts"
    yield belt_table(comparison).markdown()
    yield "## Diameters"
    yield "Over the rim, positions slowest first."
    yield size_table(comparison).markdown()
    yield "## What was searched"
    yield (
        "Structural: no diameters within the limits give less; listed: the design over the listed sizes that the row "
        "comes from; final: as it is to be turned. Held: the most memory that pairs and tabulated choices took at once."
    )
    yield proof_table(comparison).markdown()


def _basis(comparison: Comparison) -> Iterator[str]:
    if comparison.remarks:
        yield "## Remarks"
        yield "\n".join(f"- {plain(line)}" for line in comparison.remarks)
    yield "## Made from"
    lines = [
        f"- scenario sha256 {comparison.scenario.sha256}",
        *(f"- {v.name} {v.version}" for v in comparison.versions),
    ]
    yield "\n".join(lines)
