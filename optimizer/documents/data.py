"""Results as JSON, with the schemas they follow, and as comma-separated text that a spreadsheet never runs."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Sequence
from io import StringIO
from typing import Any

from pydantic import ValidationError

from optimizer.quantities import as_written
from optimizer.records.design import Design
from optimizer.scenario.base import Model

__all__ = [
    "ChangedDesignError",
    "csv_text",
    "defused",
    "design_json",
    "design_of_json",
    "json_text",
    "record_json",
    "schema_of",
]


SCHEMA_DIALECT = "https://json-schema.org/draft/2020-12/schema"


class ChangedDesignError(ValueError):
    """A design was changed after it was written; carries the design that it is now."""

    def __init__(self, design: Design, stated: object) -> None:
        """Keep the design; word what is wrong with its digest."""
        self.design = design
        carries = f"carries the digest {as_written(stated)}" if stated is not None else "carries no digest"
        super().__init__(f"it was changed after it was written: it {carries}, what it holds gives {design.digest}")


def design_json(design: Design) -> str:
    """Return a design as JSON, its format and digest first, the same bytes for the same design."""
    whole = design.model_dump(mode="json")
    return json_text({"format": whole.pop("format"), "digest": whole.pop("digest"), **whole})


def design_of_json(text: str | bytes) -> Design:
    """Return the design that a JSON document holds; inverts `design_json`.

    Raises
    ------
    ValueError
        It is not JSON, or not a design as this version writes them: with the place of the first thing that is wrong.
    ChangedDesignError
        It is a design, but not the one whose digest it carries.
    """
    try:
        whole = json.loads(text)
        stated = whole.pop("digest", None) if isinstance(whole, dict) else None
        design = Design.model_validate(whole)
        digest = design.digest
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        place = ".".join(map(str, first["loc"]))
        said = first["msg"].removeprefix("Value error, ")
        raise ValueError(f"{place}: {said}" if place else said) from None
    except RecursionError:
        raise ValueError("it is nested too deep") from None
    if stated != digest:
        raise ChangedDesignError(design, stated)
    return design


def record_json(record: Model) -> str:
    """Return a result as JSON, keys in the order of the record, the same bytes for the same record."""
    return json_text(record.model_dump(mode="json"))


def json_text(value: Any) -> str:
    """Return a value as indented JSON in ASCII, so that no terminal can spoil it, its last line ended.

    Raises
    ------
    ValueError
        A figure is infinite, or none, which JSON cannot say.

    Examples
    --------
    >>> print(json_text({"angle": "34°"}), end="")
    {
      "angle": "34\\u00b0"
    }
    """
    return json.dumps(value, indent=2, allow_nan=False) + "\n"


def schema_of(record: type[Model]) -> dict[str, Any]:
    """Return the JSON schema of a record, with the dialect it is written in."""
    return {"$schema": SCHEMA_DIALECT, **record.model_json_schema(mode="serialization")}


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
