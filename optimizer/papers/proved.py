"""How good the design is: checks, what was searched and proved, layouts that stood for choice."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.papers.html_table import html_table
from optimizer.papers.markup import Markup, listing, tag
from optimizer.papers.page import part
from optimizer.records.design import Design
from optimizer.report.changes import buy_words, spare_table
from optimizer.report.design_tables import extreme_amount, tried_table
from optimizer.report.figures import percent
from optimizer.report.other_ratios import ratio_sentence, ratio_table
from optimizer.report.sentences import (
    check_summary,
    closing_words,
    evenness_words,
    hand_belt_words,
    proof_words,
    refinement_words,
    solver_words,
)
from optimizer.report.table import Table
from optimizer.report.tables import check_table, place_words

__all__ = ["checks_part", "proof_part", "tried_part"]


def checks_part(design: Design) -> Markup:
    """Return the section of all checks, with what could not be checked."""
    table = check_table(design.checks, design.machine, design.scenario.units)
    content = [
        tag(
            "p",
            f"{check_summary(design.checks)}. Each is recomputed from the outside diameters by code that shares "
            "nothing with the search.",
        ),
        html_table(table, "All checks"),
    ]
    if design.skipped:
        rows = ((s.name, place_words(s.where, design.machine), s.why) for s in design.skipped)
        content += [tag("h3", "Not checked"), html_table(Table(("check", "where", "why"), tuple(rows)), "Not checked")]
    return part("checks", "Checks", content)


def proof_part(design: Design) -> Markup:
    """Return the section of what was searched and proved."""
    said = [evenness_words(design.series), *hand_belt_words(design.hand_belts)]
    said += proof_words(design.proof, design.series)
    said += [closing_words(design.closing), refinement_words(design.refinement), solver_words(design.refinement.solver)]
    return part("proof", "What was searched and proved", [listing(f"{line}." for line in said), *_more(design)])


def tried_part(design: Design) -> Markup:
    """Return the section of layouts that stood for choice."""
    table = tried_table(design)
    return part("layouts", "Layouts that stood for choice", [html_table(table, "Layouts with what became of them")])


def _more(design: Design) -> Iterator[Markup]:
    units = design.scenario.units
    if design.extremes:
        rows = (
            (e.best_at, extreme_amount(e, units), "proved" if e.proved else "found, not proved", percent(e.j, 3))
            for e in design.extremes
        )
        table = Table(("best at", "value", "how sure", "J"), tuple(rows))
        yield html_table(table, "Extremes within the slack of the best J")
    if design.other_ratios:
        yield tag("h3", "Other ratios of gears")
        yield tag("p", f"{ratio_sentence(design.other_ratios)}.")
        yield html_table(ratio_table(design.other_ratios), "Best listed design of each ratio, all else as it is")
    if design.changes:
        yield tag("h3", "What every limit could give up")
        yield html_table(
            spare_table(design.changes.spare, units), "One limit at a time, before the last design is lost"
        )
        yield listing(buy_words(buy, units) for buy in design.changes.buys)
