"""What a design's checks come to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.documents.blocks import Table
from optimizer.documents.figures import Units, counted, place_words, unit_and_size
from optimizer.documents.html import Markup, html_table, part, tag
from optimizer.records.design import CheckSheet, Design
from optimizer.records.sheet import MachineSheet

__all__ = ["check_summary", "check_table", "checks_part", "troubles"]


def check_table(checks: Iterable[CheckSheet], machine: MachineSheet, units: Units) -> Table:
    """Return checks with value, limit, margin, and whether each was passed."""
    rows = (
        (
            c.name,
            place_words(c.where, machine),
            *(_figure(value, unit_and_size(c.unit, units)[1]) for value in (c.value, c.limit, c.margin)),
            unit_and_size(c.unit, units)[0],
            c.kind,
            verdict(c),
            c.source,
        )
        for c in checks
    )
    return Table(("check", "where", "value", "limit", "margin", "unit", "class", "result", "source"), tuple(rows))


def verdict(check: CheckSheet) -> str:
    """Return the one word that a check comes to."""
    if check.passed:
        return "passed"
    return "warning" if check.kind == "advice" else "FAILED"


def _figure(value: float | None, size: float) -> str:
    return "none" if value is None else f"{value / size:.5g}"


ROUGH = frozenset({"kW", "times", "s", "N m", "1/s"})
"""Units in which nothing is known to more than three digits."""
BURSTS = ("fastest speed", "shaft speed", "marked surface speed", "rim speed, ")
"""How the names of checks begin of what can burst by speed; it is told how near they come."""
NEAR = 0.1


def check_summary(checks: tuple[CheckSheet, ...]) -> str:
    """Return how many checks were passed, warned, failed."""
    failed = sum(not c.passed and c.kind != "advice" for c in checks)
    warned = sum(not c.passed and c.kind == "advice" for c in checks)
    passed = len(checks) - failed - warned
    return (
        f"Checks: {passed} passed, {counted(warned, 'warning')}, {failed} FAILED"
        if failed
        else (f"Checks: {passed} passed, {counted(warned, 'warning')}")
    )


def troubles(checks: tuple[CheckSheet, ...], machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield one sentence for every check not passed, what cannot be first, then for what can burst near its limit."""
    order = {"impossible": 0, "limit": 1, "advice": 2}
    told = [c for c in checks if not c.passed or _near(c)]
    for c in sorted(told, key=lambda c: (c.passed, order[c.kind], c.where, c.name)):
        word = "near its limit" if c.passed else "warning" if c.kind == "advice" else f"FAILED ({c.kind})"
        note = f": {c.note}" if c.note else ""
        unit, size = unit_and_size(c.unit, units)
        digits = 3 if c.unit in ROUGH else 6
        value = f"{_digits(c.value, size, digits)} {unit}, limit {_digits(c.limit, size, digits)} {unit}"
        yield f"{word}: {place_words(c.where, machine)}: {c.name} is {value}{note}"


def _near(check: CheckSheet) -> bool:
    """Tell whether something that can burst comes nearer than a tenth to its limit."""
    return (
        check.passed
        and check.kind == "limit"
        and check.name.startswith(BURSTS)
        and (check.margin or 0.0) < NEAR * check.limit
    )


def _digits(value: float | None, size: float, digits: int) -> str:
    return "unknown" if value is None else f"{value / size:.{digits}g}"


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
