"""Checks: how many were passed, what is wrong or near its limit, every one with its figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.documents.blocks import MARKDOWN, PAGE, TERMINAL, Lines, Rank, Rows, Section, Table, Text, table_of
from optimizer.documents.figures import Units, counted, place_words, unit_and_size
from optimizer.records.design import CheckSheet, Design
from optimizer.records.sheet import MachineSheet

__all__ = ["check_answer", "check_section", "check_summary", "check_table", "troubles"]

ROUGH = frozenset({"kW", "times", "s", "N m", "1/s"})
"""Units in which nothing is known to more than three digits."""
BURSTS = ("fastest speed", "shaft speed", "marked surface speed", "rim speed, ")
"""How the names of checks begin of what can burst by speed; it is told how near they come."""
NEAR = 0.1


def check_answer(checks: tuple[CheckSheet, ...], machine: MachineSheet, units: Units, *more: str) -> Section:
    """Return for the terminal how many checks were passed, then what is wrong or near its limit, then more lines."""
    lines = (check_summary(checks), *troubles(checks, machine, units), *more)
    return Section("", [Lines(lines, rank=Rank.ANSWER)], only=TERMINAL)


def check_section(design: Design) -> Section:
    """Return every check, and what could not be checked."""
    summary = check_summary(design.checks)
    blocks = [
        Text(f"{summary}. Each is recomputed from the outside diameters above, apart from the search.", only=MARKDOWN),
        Text(
            f"{summary}. Each is recomputed from the outside diameters by code that shares nothing with the search.",
            only=PAGE,
        ),
        Rows(check_table(design.checks, design.machine, design.scenario.units), "All checks", rank=Rank.PROOF),
    ]
    if design.skipped:
        left = [(place_words(skip.where, design.machine), skip.name, skip.why) for skip in design.skipped]
        table = Table(("check", "where", "why"), tuple((name, where, why) for where, name, why in left))
        blocks += [
            Text("Not checked:", only=MARKDOWN),
            Lines([": ".join(words) for words in left], only=MARKDOWN),
            Section("Not checked", [Rows(table, "Not checked")], only=PAGE),
        ]
    return Section("Checks", blocks, anchor="checks")


def check_table(checks: Iterable[CheckSheet], machine: MachineSheet, units: Units) -> Table:
    """Return checks with value, limit, margin, and whether each was passed."""

    def figure(value: float | None, check: CheckSheet) -> str:
        return "none" if value is None else f"{value / unit_and_size(check.unit, units)[1]:.5g}"

    def verdict(check: CheckSheet) -> str:
        return "passed" if check.passed else "warning" if check.kind == "advice" else "FAILED"

    return table_of(
        checks,
        ("check", lambda c: c.name),
        ("where", lambda c: place_words(c.where, machine)),
        ("value", lambda c: figure(c.value, c)),
        ("limit", lambda c: figure(c.limit, c)),
        ("margin", lambda c: figure(c.margin, c)),
        ("unit", lambda c: unit_and_size(c.unit, units)[0]),
        ("class", lambda c: c.kind),
        ("result", verdict),
        ("source", lambda c: c.source),
    )


def check_summary(checks: tuple[CheckSheet, ...]) -> str:
    """Return how many checks were passed, warned, failed."""
    failed = sum(not c.passed and c.kind != "advice" for c in checks)
    warned = sum(not c.passed and c.kind == "advice" for c in checks)
    said = f"Checks: {len(checks) - failed - warned} passed, {counted(warned, 'warning')}"
    return f"{said}, {failed} FAILED" if failed else said


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
