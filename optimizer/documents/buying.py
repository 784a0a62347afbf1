"""The buying list: every belt under all its names, hubs, keys, bearings, sheets; as sections, CSV, JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Literal

from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.buying import BuyingBelt, BuyingLine, BuyingList, Figure, Group, buying_list
from optimizer.documents.blocks import Section, Table, listed_section, table_of
from optimizer.documents.data import csv_text, json_text, schema_of
from optimizer.documents.figures import LBF_N, Units, length
from optimizer.pipeline.job import Job
from optimizer.records.figures import Document

__all__ = ["buying_csv", "buying_json", "buying_schema", "buying_sections"]

TITLES: dict[Group, str] = {
    "sheave": "Sheaves",
    "hub": "Hubs",
    "key": "Keys",
    "gauge pins": "Gauge pins",
    "bearing": "Bearings",
    "shaft": "Shafts",
    "sheet": "Sheets",
}
NO_FIT = "not even the chosen belt keeps every limit"


def buying_sections(job: Job) -> list[Section]:
    """Return the buying list: a section a table.

    Groups without lines are left out. Lengths are in the maker's units, inches as fractions with the true value beside.
    """
    found, words = buying_list(job), BenchWords.of(job.scenario)
    tables = [("Belts", _belts(found.belts, job.scenario.units), tuple(_belt_notes(found.belts)))]
    for group, title in TITLES.items():
        if lines := [line for line in found.lines if line.group == group]:
            tables.append((title, _lines(lines, words), ()))
    *front, (title, table, notes) = tables
    return [
        listed_section(title, table, *notes)
        for title, table, notes in (*front, (title, table, (*notes, *found.remarks)))
    ]


def buying_csv(job: Job) -> str:
    """Return the buying list as comma-separated text, a line for every kind of thing, sizes in words with units."""
    found, words = buying_list(job), BenchWords.of(job.scenario)
    heads = ("kind", "count", "what", "sizes", "where_used", "not_stated", "source")
    return csv_text(heads, [*_belt_rows(found, job.scenario.units), *_line_rows(found, words)])


def _belts(belts: Sequence[BuyingBelt], units: Units) -> Table:
    """Return every belt under all its names, with the lengths that fit as well."""
    return table_of(
        belts,
        ("stage", lambda belt: f"{belt.stage}, {belt.driver_shaft} to {belt.driven_shaft}"),
        ("count", lambda belt: str(belt.count)),
        ("belt", lambda belt: belt.window.marking),
        ("grade", _grade),
        (f"datum {units}", lambda belt: length(belt.window.datum_length_mm, units)),
        (f"inside {units}", lambda belt: length(belt.window.inside_mm, units)),
        (f"outside {units}", lambda belt: length(belt.window.outside_mm, units)),
        ("numbered", _numbers),
        (f"fits from {units}", lambda belt: length(belt.window.shortest_mm, units, "")),
        (f"to {units}", lambda belt: length(belt.window.longest_mm, units, "")),
        ("in stock that fits", _stock),
    )


def _belt_notes(belts: Sequence[BuyingBelt]) -> Iterator[str]:
    """Yield what is said of the belts."""
    yield (
        "Shops mark a belt by its inside, datum or outside length; the three figures are the same belt. The span of "
        "datum lengths holds for this design's diameters, centre distances and travel."
    )
    for belt in belts:
        if belt.note:
            yield f"Stage {belt.stage}: {belt.note}."
        if belt.window.shortest_mm is None:
            yield f"Stage {belt.stage}: {NO_FIT}; see the checks."
    yield "Plug out before a belt is fitted; guards back on before the start. A worn belt is no measure for a new one."


def _lines(lines: Sequence[BuyingLine], words: BenchWords) -> Table:
    """Return the lines of a group, a column for every size that one of them has."""
    units = {figure.name: figure.unit for line in lines for figure in line.sizes}
    names = _columns([[figure.name for figure in line.sizes] for line in lines])

    def size(line: BuyingLine, name: str) -> str:
        return next((_shown(figure, words) for figure in line.sizes if figure.name == name), "")

    return table_of(
        lines,
        ("count", lambda line: str(line.count)),
        ("what", lambda line: line.what),
        *((f"{name} {_unit(units[name], words)}", lambda line, name=name: size(line, name)) for name in names),
        ("where used", lambda line: line.why),
        ("not stated", lambda line: line.unknown) if any(line.unknown for line in lines) else None,
        ("source", lambda line: line.source) if any(line.source for line in lines) else None,
    )


def _columns(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return all names of some rows, each behind the one it follows in its row, the first in front.

    Examples
    --------
    >>> _columns([["outside", "bore"], ["most", "bore"]])
    ['most', 'outside', 'bore']
    """
    found: list[str] = []
    for row in rows:
        place = 0
        for name in row:
            if name not in found:
                found.insert(place, name)
            place = found.index(name) + 1
    return found


def _belt_rows(found: BuyingList, units: Units) -> Iterator[tuple[str | float | None, ...]]:
    for belt in found.belts:
        window = belt.window
        lines = (("datum", window.datum_length_mm), ("inside", window.inside_mm), ("outside", window.outside_mm))
        sizes = [f"{name} {length(mm, units)} {units}" for name, mm in lines]
        if window.shortest_mm is not None and window.longest_mm is not None:
            sizes.append(f"fits from {length(window.shortest_mm, units)} to {length(window.longest_mm, units)} {units}")
        if window.stock:
            sizes.append(f"in stock that fits {_stock(belt)}")
        yield (
            "belt",
            belt.count,
            f"{window.marking}, section {window.section}, {_grade(belt)}",
            "; ".join(sizes),
            f"stage {belt.stage}, {belt.driver_shaft} to {belt.driven_shaft}",
            "" if window.shortest_mm is not None else NO_FIT,
            belt.note,
        )


def _line_rows(found: BuyingList, words: BenchWords) -> Iterator[tuple[str | float | None, ...]]:
    for line in found.lines:
        sizes = "; ".join(f"{f.name} {_shown(f, words)} {_unit(f.unit, words)}" for f in line.sizes)
        yield line.group, line.count, line.what, sizes, line.why, line.unknown, line.source


def _grade(belt: BuyingBelt) -> str:
    return "ordinary or stronger" if belt.grade == "ordinary" else "of the highest rated power"


def _numbers(belt: BuyingBelt) -> str:
    """Return the number that every series would give the belt, and what is printed on it where one is."""
    told = (
        f"{each.series} {each.number:.4g}" + (f" ({each.marking})" if each.marking else "")
        for each in belt.window.numbers
    )
    return "; ".join(told) or "by length"


def _stock(belt: BuyingBelt) -> str:
    if belt.window.stock:
        return ", ".join(each.marking for each in belt.window.stock)
    return "joined to length" if belt.joined else "none"


def _unit(unit: str, words: BenchWords) -> str:
    if unit == "mm":
        return words.units
    return "lbf" if unit == "N" and words.units == "in" else unit


def _shown(figure: Figure, words: BenchWords) -> str:
    """Return a figure without its unit; loads and speeds whole."""
    if figure.unit == "mm":
        return words.bare(figure.value)
    return f"{figure.value / LBF_N if _unit(figure.unit, words) == 'lbf' else figure.value:.0f}"


class BuyingDocument(Document):
    """All that is bought for one machine."""

    format: Literal["conewright buying 1"] = "conewright buying 1"
    title: str
    scenario_sha256: str
    """Digest of the scenario's text that the design was made from."""
    belts: tuple[BuyingBelt, ...]
    lines: tuple[BuyingLine, ...]
    remarks: tuple[str, ...]


def buying_json(job: Job) -> str:
    """Return the buying list as JSON, keys in the order of the record, the same bytes for the same design."""
    found = buying_list(job)
    document = BuyingDocument(
        title=job.scenario.title,
        scenario_sha256=job.design.scenario.sha256,
        belts=found.belts,
        lines=found.lines,
        remarks=found.remarks,
    )
    return json_text(document.model_dump(mode="json"))


def buying_schema() -> dict[str, Any]:
    """Return the JSON schema of a buying list."""
    return schema_of(BuyingDocument)
