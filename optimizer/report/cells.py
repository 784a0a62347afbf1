"""Tables as comma-separated text that a spreadsheet shows and never runs."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from io import StringIO

__all__ = ["csv_text", "defused"]

TRIGGERS = ("=", "+", "-", "@", "\t", "\r")
"""First characters by which spreadsheets take a cell for a formula (OWASP, CSV Injection, from memory)."""


def defused(cell: str) -> str:
    """Return a text with an apostrophe before it where a spreadsheet would run it as a formula.

    Examples
    --------
    >>> defused("=1+2"), defused("motor")
    ("'=1+2", 'motor')
    """
    return f"'{cell}" if cell.startswith(TRIGGERS) else cell


def csv_text(heads: Sequence[str], rows: Iterable[Sequence[str | float | None]]) -> str:
    """Return rows as comma-separated text; figures stay figures, texts are defused, nothing is an empty cell.

    Rows end as RFC 4180 has it.

    Examples
    --------
    >>> print(csv_text(["name", "size"], [["-cmd", 12.5], ["a,b", None]]).replace("\\r", ""), end="")
    name,size
    '-cmd,12.5
    "a,b",
    """
    sheet = StringIO()
    writer = csv.writer(sheet, lineterminator="\r\n")
    writer.writerow([defused(head) for head in heads])
    for row in rows:
        writer.writerow(
            ["" if cell is None else defused(cell) if isinstance(cell, str) else f"{cell:.10g}" for cell in row]
        )
    return sheet.getvalue()
