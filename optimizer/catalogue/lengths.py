"""Stock belts with their lengths along the datum line."""

from __future__ import annotations

from functools import cache
from math import inf, pi
from typing import Literal

from optimizer.catalogue.entry import CatalogueError, Entry, Section, table

__all__ = [
    "LengthMeasured",
    "StockBelt",
    "datum_length_mm",
    "number_datum_length_mm",
    "series_of",
    "stock_lengths",
]

LengthMeasured = Literal["datum", "inside", "outside"]
Series = Literal["metric", "inch"]


class StockBelt(Entry):
    """A belt that shops keep."""

    marking: str
    datum_length_mm: float
    tolerance_mm: float
    """How far the length may differ either way."""
    series: Series
    source: str
    tolerance_source: str


class Tolerance(Entry):
    """How far belts differ from their marked length."""

    up_to_mm: tuple[float, ...] = (inf,)
    plus_minus_mm: tuple[float, ...] = (0.0,)
    share: float = 0.0
    source: str

    def plus_minus(self, marked_mm: float) -> float:
        """Return how far a belt may differ either way [mm]."""
        pairs = zip(self.up_to_mm, self.plus_minus_mm, strict=True)
        return next(value for most, value in pairs if marked_mm <= most) + self.share * marked_mm


class SeriesRow(Entry):
    """The stock lengths of some sections."""

    sections: tuple[str, ...]
    series: Series
    mark: str
    measured: LengthMeasured
    unit_mm: float
    adds_mm: float = 0.0
    first: float
    numbers: tuple[float, ...]
    tolerance: str
    source: str


def datum_length_mm(section: Section, value_mm: float, measured: LengthMeasured) -> float:
    """Return a belt's length along its datum line from its length on another line [mm].

    ``L_datum = L_inside + 2π(height − depth of the datum line) = L_outside − 2π·depth of the datum line``
    (computed).

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> round(datum_length_mm(section("4L"), 46 * 25.4, "outside"), 2)
    1147.67
    """
    if measured == "inside":
        return value_mm + 2 * pi * (section.height_mm - section.datum_depth_mm)
    if measured == "outside":
        return value_mm - 2 * pi * section.datum_depth_mm
    return value_mm


def series_of(section: Section) -> tuple[Series, ...]:
    """Return the stock series that exist for a section, the usual one first.

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> series_of(section("A")), series_of(section("AX")), series_of(section("round 8"))
    (('metric', 'inch'), ('inch', 'metric'), ())
    """
    there = [row.series for row in _rows() if _family(section) in row.sections]
    return tuple(sorted(there, key=lambda name: (name != section.default_series, name)))


def stock_lengths(section: Section, series: Series | None = None) -> tuple[StockBelt, ...]:
    """Return the belts that shops keep of a section, short ones first.

    Parameters
    ----------
    section
        The belt section.
    series
        ``"metric"`` or ``"inch"``; the section's usual one where none is named.

    Raises
    ------
    CatalogueError
        The section is not kept in that series, or in none.

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> belts = stock_lengths(section("A"), "inch")
    >>> belts[5].marking, round(belts[5].datum_length_mm, 2), belts[5].tolerance_mm
    ('A46', 1201.42, 15.24)
    """
    row = _row(section, series)
    tolerance = _tolerances()[row.tolerance]
    return tuple(
        StockBelt(
            marking=row.mark.format(section=section.name, number=f"{number:g}", ribs=section.ribs),
            datum_length_mm=_datum_mm(section, row, number),
            tolerance_mm=tolerance.plus_minus(number * row.unit_mm),
            series=row.series,
            source=row.source,
            tolerance_source=tolerance.source,
        )
        for number in row.numbers
        if number >= row.first
    )


def number_datum_length_mm(section: Section, number: float, series: Series | None = None) -> float:
    """Return the datum length of the belt with a number of a series, kept in stock or not [mm].

    Raises
    ------
    CatalogueError
        The section has no such series.

    Examples
    --------
    Machinery's Handbook, 31st ed., pp. 2575-2576 (read): datum length = number + 1.8 in for section B.

    >>> from optimizer.catalogue.sections import section
    >>> round(number_datum_length_mm(section("B"), 60, "inch") / 25.4, 6)
    61.8
    """
    return _datum_mm(section, _row(section, series), number)


def _datum_mm(section: Section, row: SeriesRow, number: float) -> float:
    """Return the datum length of a number."""
    return datum_length_mm(section, number * row.unit_mm + row.adds_mm, row.measured)


def _family(section: Section) -> str:
    """Return the name under which the data file keeps a section."""
    return section.name.split()[0]


def _row(section: Section, series: Series | None) -> SeriesRow:
    """Return the row of a section in a series."""
    there = series_of(section)
    wanted = series or (there[0] if there else None)
    for row in _rows():
        if row.series == wanted and _family(section) in row.sections:
            return row
    raise CatalogueError(
        f"belts {section.name} are not kept in stock lengths" + (f" of the {series} series" if there else ""),
        series or "stock",
        ", ".join(there) if there else "any length, or a list of lengths",
        "name the lengths that can be had",
    )


@cache
def _rows() -> tuple[SeriesRow, ...]:
    """Return the rows of the data file with their numbers written out."""
    rows = []
    for row in table("lengths")["series"]:
        given = dict(row)
        numbers = given.pop("numbers")
        if numbers == "r40":
            numbers = table("lengths")["r40"]["numbers"]
        elif isinstance(numbers, dict):
            numbers = range(numbers["first"], numbers["last"] + 1, numbers["step"])
        rows.append(SeriesRow(first=given.pop("from"), numbers=tuple(numbers), **given))
    return tuple(rows)


@cache
def _tolerances() -> dict[str, Tolerance]:
    """Return the tolerances of the data file by name."""
    return {name: Tolerance(**row) for name, row in table("lengths")["tolerance"].items()}
