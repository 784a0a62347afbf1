"""The tables of a design beyond its machine: layouts, limits, defaults; what an extreme is worth."""

from __future__ import annotations

from optimizer.records.design import Design, ExtremeSheet, ScenarioSheet
from optimizer.report.figures import Units, length, percent
from optimizer.report.table import Table

__all__ = ["changed_table", "default_table", "extreme_amount", "tried_table"]


def tried_table(design: Design) -> Table:
    """Return the layouts that stood for choice, with what became of them."""
    rows = (
        (
            entry.title,
            entry.outcome,
            "" if entry.j is None else percent(entry.j, 3),
            "" if entry.turned_steps is None else str(entry.turned_steps),
            str(entry.belt_moves),
            entry.said,
        )
        for entry in design.tried
    )
    judged = "J" if design.series.largest_gap is None else "F"
    return Table(("layout", "outcome", judged, "turned steps", "belt moves", "why"), tuple(rows))


def changed_table(scenario: ScenarioSheet) -> Table:
    """Return the limits that the maker set otherwise than the default."""
    rows = ((c.limit, c.value, c.default, c.reason) for c in scenario.changed_limits)
    return Table(("limit", "value", "default", "reason"), tuple(rows))


def default_table(scenario: ScenarioSheet) -> Table:
    """Return the values that nobody stated."""
    rows = ((d.key, d.value, d.source) for d in scenario.defaults)
    return Table(("key", "value", "source"), tuple(rows))


def extreme_amount(extreme: ExtremeSheet, units: Units) -> str:
    """Return timber in litres, a disc in the maker's units, grip as it is."""
    if extreme.best_at == "least timber":
        return f"{extreme.value / 1e6:.3f} litres"
    return f"{extreme.value:.2f}" if extreme.best_at == "best grip" else f"{length(extreme.value, units)} {units}"
