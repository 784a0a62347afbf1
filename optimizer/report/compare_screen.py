"""A comparison as a person sees it on the terminal."""

from __future__ import annotations

from optimizer.records.comparison import Comparison
from optimizer.report.compare_chart import comparison_chart
from optimizer.report.compare_tables import belt_table, layout_table, making_table, speed_figures_table
from optimizer.report.compare_words import proposal_words, sign_words, without_words
from optimizer.report.speed_chart import chart_text
from optimizer.report.table import paragraph

__all__ = ["comparison_screen"]


def comparison_screen(comparison: Comparison) -> str:
    """Return the comparison as text of at most 80 columns: tables, words, chart."""
    parts = [paragraph(comparison.scenario.title)]
    parts.append("Layouts\n" + layout_table(comparison, parted=True).text())
    parts.append("Speeds\n" + speed_figures_table(comparison).text())
    parts.append("Making: steps to turn, largest blank, timber, belt moves\n" + making_table(comparison).text())
    parts.append("Belts\n" + belt_table(comparison).text())
    said = (proposal_words(comparison), *sign_words(comparison))
    parts.append("\n".join(paragraph(line, indent="  ") for line in said))
    without = [paragraph(f"- {line}", indent="  ") for line in without_words(comparison)]
    if without:
        parts.append("\n".join(("No design", *without)))
    parts.append(chart_text(comparison_chart(comparison)).rstrip("\n"))
    return "\n\n".join(parts) + "\n"
