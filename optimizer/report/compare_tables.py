"""The tables of a comparison, each keyed by row and layout so that none is too wide for a terminal."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby

from optimizer.records.comparison import ComparedRow, Comparison
from optimizer.report.compare_words import MARK, note_words, proof_word
from optimizer.report.figures import MM_PER, Units, length, percent
from optimizer.report.table import Table

__all__ = ["belt_table", "layout_table", "making_table", "proof_table", "size_table", "speed_figures_table", "volume"]

Cells = Callable[[ComparedRow], Sequence[tuple[str, ...]]]
CUBED = {"mm": "cm³", "cm": "cm³", "in": "in³"}
"""Units of volume that go with units of length."""


def volume(mm3: float, units: Units) -> str:
    """Return a volume without its unit: whole cubic centimetres, or tenths of a cubic inch.

    Examples
    --------
    >>> volume(6_633_613, "mm"), volume(6_633_613, "in")
    ('6634', '404.8')
    """
    return f"{mm3 / MM_PER['in'] ** 3:.1f}" if units == "in" else f"{mm3 / 1000:.0f}"


def layout_table(comparison: Comparison, *, parted: bool = False) -> Table:
    """Return every row with its order, its number of speeds, what it is among the others.

    `parted` sets an empty line between numbers of speeds, where one has several rows.
    """
    heads = ("", "row", "layout", "speeds", "order", "what it is")
    groups = [list(rows) for _, rows in groupby(comparison.rows, key=lambda row: len(row.speeds_rpm))]
    apart = parted and any(len(group) > 1 for group in groups)
    lines: list[tuple[str, ...]] = []
    for group in groups:
        lines += [("",) * len(heads)] if lines and apart else []
        lines += [_layout(row) for row in group]
    return Table(heads, tuple(lines))


def _layout(row: ComparedRow) -> tuple[str, ...]:
    mark = MARK if row.undominated else ""
    return (mark, *_key(row), str(len(row.speeds_rpm)), row.order, note_words(row))


def speed_figures_table(comparison: Comparison) -> Table:
    """Return how good the speeds of every row are, with what was proved of them."""

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        shares = (percent(share, 1) for share in (row.end_miss, row.unevenness, row.widest_gap))
        return [(*_key(row), *shares, percent(row.j), proof_word(row), "+".join(map(str, row.band_counts)))]

    heads = ("row", "layout", "end miss", "unevenness", "widest gap", "J", "search", "in bands")
    return _table(comparison, heads, cells)


def making_table(comparison: Comparison) -> Table:
    """Return what every row asks of the maker, with what it is best at."""
    units = comparison.scenario.units

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        blank = length(row.largest_disc_mm or None, units)
        best = "everything" if len(row.best_at) == len(comparison.criteria) else ", ".join(row.best_at) or "nothing"
        grip = (f"{row.grip:.2f}" if row.grip is not None else "",) if known else ()
        made = (str(row.turned_steps), blank, volume(row.timber_mm3, units), *grip, str(row.belt_moves))
        return [(*_key(row), *made, best)]

    known = any(row.grip is not None for row in comparison.rows)
    grip_head = ("grip",) if known else ()
    heads = ("row", "layout", "steps", f"blank {units}", f"timber {CUBED[units]}", *grip_head, "moves", "best at")
    return _table(comparison, heads, cells)


def belt_table(comparison: Comparison) -> Table:
    """Return the belts of every row with their centre distances and least wrap, a line a stage."""
    units = comparison.scenario.units

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        return [
            (
                *_key(row, number),
                str(number),
                stage.marking,
                _span(stage.centres_mm, units),
                f"{stage.least_wrap_deg:.0f}",
            )
            for number, stage in enumerate(row.stages, 1)
        ]

    heads = ("row", "layout", "stage", "belt", f"centre distances {units}", "least wrap °")
    return _table(comparison, heads, cells)


def proof_table(comparison: Comparison) -> Table:
    """Return what the search of every row looked at, and how good its design can be at all."""

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        proof = row.proof
        counts = (f"{proof.combinations:,}", f"{proof.examined:,}", f"{proof.held_bytes / 1e6:.1f}")
        return [(*_key(row), *(percent(j, 3) for j in (proof.structural, proof.listed, row.j)), *counts)]

    heads = ("row", "layout", "structural J", "listed J", "final J", "combinations", "looked at", "held MB")
    return _table(comparison, heads, cells)


def size_table(comparison: Comparison) -> Table:
    """Return the outside diameters of every row, a line a stage, positions slowest first."""
    units = comparison.scenario.units

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        return [
            (
                *_key(row, number),
                str(number),
                *(_sizes(side, units) for side in (s.driver_outside_mm, s.driven_outside_mm)),
            )
            for number, s in enumerate(row.stages, 1)
        ]

    return _table(comparison, ("row", "layout", "stage", f"driver {units}", f"driven {units}"), cells)


def _table(comparison: Comparison, heads: tuple[str, ...], cells: Cells) -> Table:
    return Table(heads, tuple(line for row in comparison.rows for line in cells(row)))


def _key(row: ComparedRow, line: int = 1) -> tuple[str, str]:
    """Return what a row is known by, said once where it has several lines."""
    return (str(row.number), row.name) if line == 1 else ("", "")


def _span(mm: tuple[float, float], units: Units) -> str:
    return " to ".join(dict.fromkeys(length(end, units) for end in mm))


def _sizes(mm: tuple[float, ...], units: Units) -> str:
    return ", ".join(length(size, units) for size in mm)
