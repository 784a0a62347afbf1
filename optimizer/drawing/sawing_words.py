"""What a sawing plan says beside its picture: facts, cautions, the list of squares."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from optimizer.drawing.pages import scale_words
from optimizer.drawing.speed_words import one_line
from optimizer.quantities.shop import shop_length
from optimizer.records.nesting import NestedSheet, Nesting, PlacedSquare, UnplacedSquare

__all__ = [
    "CAUTION",
    "EDGE",
    "GRAIN",
    "KERF",
    "LEFT_OVER",
    "NO_PLACE",
    "SMALL",
    "WASTE",
    "Row",
    "Rule",
    "count_of",
    "facts",
    "rows",
    "said",
    "unplaced_rows",
]

CAUTION = (
    "Caution: a saw can maim. Hold up the sheet and what comes off it, keep guard and riving knife on, never saw small "
    "squares freehand; guard eyes, ears and lungs. The saw's own instructions and local rules come first."
)
GRAIN = (
    "Look at the sheet for its face grain, and mark its direction on every square before sawing: a square does not "
    "tell it, and layers are glued with it turned by a quarter."
)
SMALL = "{} too small on this paper for a number: find them by their side, the larger the lower the number."
STRAIGHT = "Straight cuts part all squares, each right across the piece in hand."
CROOKED = "Some cuts must stop inside the sheet: choose their order before the first, and a saw that may stop there."
KERF, EDGE, WASTE, LEFT_OVER = "kerf", "edge strip", "waste", "left over"
NO_PLACE = "No place on any sheet"
UNITS = {"in": "inches"}
"""Units that are not written as they are stated."""


class Rule(NamedTuple):
    """How lengths are written."""

    units: str
    division_mm: float

    def __call__(self, length_mm: float) -> str:
        """Return a length without its unit."""
        return shop_length(length_mm, self.units, self.division_mm)

    def pair(self, width_mm: float, length_mm: float) -> str:
        """Return width and length."""
        return f"{self(width_mm)} × {self(length_mm)}"


class Row(NamedTuple):
    """Squares of one size for one thing."""

    numbers: str
    size: str
    name: str


def facts(nesting: Nesting, sheet: NestedSheet, scale: float, rule: Rule) -> Iterator[str]:
    """Yield what is to be known of a sheet before it is sawn, a sentence or two at a time."""
    size = rule.pair(sheet.width_mm, sheet.length_mm)
    units = UNITS.get(rule.units, rule.units)
    yield f"Sheet {size}{', one of those counted' if sheet.counted else ''}, drawn {scale_words(scale)}."
    yield f"All lengths in {units}. Kerf {rule(sheet.kerf_mm)}, edge strip {rule(sheet.edge_mm)}."
    kept = sheet.leftover.area_mm2 / sheet.area_mm2 if sheet.leftover else 0.0
    rest = f"; {_percent(sheet.waste - kept)} where the largest piece left over is kept" if kept else ""
    yield f"{count_of(len(sheet.squares))}, waste {_percent(sheet.waste)}{rest}."
    if len(nesting.sheets) > 1:
        least = f"by area alone {nesting.bound.sheets} could do"
        yield f"All {len(nesting.sheets)} sheets: waste {_percent(nesting.waste)}; {least}."
    yield STRAIGHT if sheet.straight else CROOKED
    if sheet.leftover:
        yield f"Largest piece left over: {rule.pair(sheet.leftover.width_mm, sheet.leftover.length_mm)}."


def rows(squares: Sequence[PlacedSquare], rule: Rule) -> Iterator[Row]:
    """Yield a row for every run of numbers with one size and one name.

    Examples
    --------
    >>> squares = [
    ...     PlacedSquare(number=number, name=name, x_mm=0, y_mm=0, side_mm=180)
    ...     for number, name in enumerate(("disc", "disc", "lid"), 4)
    ... ]
    >>> [tuple(row) for row in rows(squares, Rule("mm", 0.4))]
    [('4 to 5', '180.00', 'disc'), ('6', '180.00', 'lid')]
    """
    run: list[PlacedSquare] = []
    for square in squares:
        if run and (square.side_mm, square.name) != (run[0].side_mm, run[0].name):
            yield _row(run, rule)
            run = []
        run.append(square)
    if run:
        yield _row(run, rule)


def unplaced_rows(squares: Sequence[UnplacedSquare], rule: Rule) -> Iterator[Row]:
    """Yield a row for every square without a place, with the reason."""
    for square in squares:
        yield Row("-", rule(square.side_mm), f"{one_line(square.name)}: {square.reason}")


def said(nesting: Nesting, sheet: NestedSheet, scale: float, rule: Rule) -> str:
    """Return everything the plan of a sheet shows as sentences, for those who cannot see it."""
    listed = " ".join(f"{row.numbers}: {row.size}, {row.name}." for row in rows(sheet.squares, rule))
    return " ".join((*facts(nesting, sheet, scale, rule), listed, CAUTION))


def _row(run: Sequence[PlacedSquare], rule: Rule) -> Row:
    first, last = run[0], run[-1]
    numbers = f"{first.number}" if first is last else f"{first.number} to {last.number}"
    return Row(numbers, rule(first.side_mm), one_line(first.name))


def count_of(count: int) -> str:
    """Return a number of squares in words."""
    return "1 square" if count == 1 else f"{count} squares"


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"
