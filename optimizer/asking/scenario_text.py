"""The commented scenario that answers come to."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.asking.answer import Answers
from optimizer.asking.purposes import purpose_named
from optimizer.asking.tables import Line, Table, scenario_tables
from optimizer.asking.toml_text import comment_lines, toml_value

__all__ = ["scenario_text"]

OPENING = (
    "Written by conewright new from a maker's answers; edit it as you like, conewright check says what is wrong "
    "with it. What is marked as suggested was not stated by the maker: look at it before anything is turned."
)
CAUTION = (
    "This does not replace guards over belts and pulleys, a competent electrician, local codes, or the limits that the "
    "makers of belts, motor and tools state."
)


def scenario_text(answers: Answers, *, countershaft: bool) -> str:
    """Return the scenario of a machine, each of its values with a comment in words."""
    lines = [*comment_lines(OPENING), *comment_lines(CAUTION)]
    caution = purpose_named(answers.word("purpose")).caution
    lines += comment_lines(caution)
    told: set[str] = set()
    for table in scenario_tables(answers, countershaft=countershaft):
        lines += ["", *_table_lines(table, answers, told)]
    return "\n".join(lines) + "\n"


def _table_lines(table: Table, answers: Answers, told: set[str]) -> Iterator[str]:
    yield from comment_lines(table.about)
    if table.header:
        yield table.header
    for line in table.lines:
        yield from comment_lines(f"{line.means}{_suggested(line, answers, told)}")
        yield f"{line.key} = {toml_value(line.value)}"


def _suggested(line: Line, answers: Answers, told: set[str]) -> str:
    """Return that a value was suggested, the reason only where it was not told before."""
    known = answers.by_name.get(line.question)
    if known is None or not known.reason or not line.own:
        return ""
    if line.question in told:
        return " Suggested."
    told.add(line.question)
    return f" Suggested: {known.reason}."
