"""Squares nested on sheets by a packing library, the best of several ways of packing."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from itertools import accumulate
from math import inf
from typing import Any, NamedTuple

import rectpack

from optimizer.cuts.room import Box, are_parted_by_straight_cuts, largest_free
from optimizer.records.nesting import (
    AreaBound,
    Leftover,
    NestedSheet,
    Nesting,
    PlacedSquare,
    Square,
    Stock,
    UnplacedSquare,
)

__all__ = ["Nesting", "Square", "Stock", "nest"]

TICK_MM = 1e-6
"""Places are worked out in whole ticks, so that no sum of floats can make squares overlap; a 64th inch is whole."""
PACKINGS = (
    rectpack.GuillotineBssfSas,
    rectpack.GuillotineBafSas,
    rectpack.GuillotineBssfMinas,
    rectpack.GuillotineBafLas,
    rectpack.GuillotineBssfMaxas,
    rectpack.GuillotineBlsfLas,
    rectpack.MaxRectsBl,
    rectpack.MaxRectsBssf,
    rectpack.SkylineBlWm,
)
"""Ways to choose a place: those whose squares are all parted by straight cuts first, then those that leave out less."""
MANY, FEW_PACKINGS = 100, 3
"""Above so many squares only so many ways are tried, as the work grows with their square."""


class _Sheet(NamedTuple):
    """A sheet that squares are put on, in ticks."""

    stock: Stock
    boxes: list[tuple[int, Box]]
    """Which square, and where it lies within the edge strip, its kerf included."""


def nest(squares: Sequence[Square], stocks: Sequence[Stock], kerf_mm: float, edge_mm: float) -> Nesting:
    """Return where each square is sawn from; none is lost: those without a place are named with the reason.

    Sheets of a stated number are used first, the smallest first; what they do not hold goes on the first of the
    sheets there is no end of that is large enough. Several ways of packing are tried, on the sheets as they are and
    turned by a quarter. The best places most area, then takes the fewest sheets without end, the fewest sheets,
    has the fewest that straight cuts do not part, leaves the largest rectangle on the last sheet.

    Parameters
    ----------
    squares
        What is to be sawn.
    stocks
        What from.
    kerf_mm
        Width that the saw takes between two squares [mm].
    edge_mm
        Strip along the edges of every sheet that is not used [mm].

    Raises
    ------
    ValueError
        The kerf or the edge is below 0.

    Examples
    --------
    >>> nesting = nest([Square(name="disc", side_mm=200)] * 5, [Stock(width_mm=420, length_mm=420)], 3, 5)
    >>> [[(square.x_mm, square.y_mm) for square in sheet.squares] for sheet in nesting.sheets]
    [[(5.0, 5.0), (208.0, 5.0), (5.0, 208.0), (208.0, 208.0)], [(5.0, 5.0)]]
    """
    if kerf_mm < 0 or edge_mm < 0:
        raise ValueError(f"kerf and edge must be 0 or more: {kerf_mm} and {edge_mm} mm")
    shop = _Shop(squares, stocks, kerf_mm, edge_mm)
    packings = PACKINGS if len(squares) <= MANY else PACKINGS[:FEW_PACKINGS]
    tries = [shop.packed(packing, turned=turned) for packing in packings for turned in (False, True)]
    return shop.nesting(shop.in_order(shop.best(tries)))


class _Shop:
    """Squares, stocks, kerf and edge of one question."""

    def __init__(self, squares: Sequence[Square], stocks: Sequence[Stock], kerf_mm: float, edge_mm: float) -> None:
        """Turn all lengths into ticks."""
        self.squares, self.kerf_mm, self.edge_mm = squares, kerf_mm, edge_mm
        self.kerf = _ticks(kerf_mm)
        self.sides = [_ticks(square.side_mm + kerf_mm) for square in squares]
        counted = [stock for stock in stocks if stock.count is not None]
        counted.sort(key=lambda stock: (stock.width_mm * stock.length_mm, stock.width_mm))
        self.counted = [stock for stock in counted if min(self.room(stock)) > 0]
        self.endless = [stock for stock in stocks if stock.count is None and min(self.room(stock)) > 0]
        most = max((min(self.room(stock)) for stock in (*self.counted, *self.endless)), default=0)
        self.fitting = [which for which, side in enumerate(self.sides) if side <= most]

    def room(self, stock: Stock) -> tuple[int, int]:
        """Return width and length within the edge strip, with one kerf more, as every square carries one."""
        more_mm = self.kerf_mm - 2 * self.edge_mm
        return _ticks(stock.width_mm + more_mm), _ticks(stock.length_mm + more_mm)

    def packed(self, packing: type[Any], *, turned: bool) -> list[_Sheet]:
        """Return the sheets that one way of packing uses, those of a stated number first."""
        sheets = self._filled(packing, self.fitting, self.counted, turned)
        placed = {which for sheet in sheets for which, _ in sheet.boxes}
        rest = [which for which in self.fitting if which not in placed]
        return sheets + self._filled(packing, rest, self.endless, turned)

    def _filled(self, packing: type[Any], which: Sequence[int], stocks: Sequence[Stock], turned: bool) -> list[_Sheet]:
        packer = rectpack.newPacker(
            bin_algo=rectpack.PackingBin.BFF, pack_algo=packing, sort_algo=rectpack.SORT_LSIDE, rotation=False
        )
        for one in which:
            packer.add_rect(self.sides[one], self.sides[one], one)
        for number, stock in enumerate(stocks):
            width, length = self.room(stock)
            size = (length, width) if turned else (width, length)
            packer.add_bin(*size, count=len(which) if stock.count is None else stock.count, bid=number)
        packer.pack()
        return [
            _Sheet(stocks[sheet.bid], [(rect.rid, _box(rect, turned)) for rect in sheet]) for sheet in packer if sheet
        ]

    def best(self, tries: Sequence[list[_Sheet]]) -> list[_Sheet]:
        """Return the best way; each question is only asked of those that are equal in all before it."""
        for worth in (self._unplaced, _endless, len, _crooked, self._not_left):
            worths = [worth(sheets) for sheets in tries]
            least = min(worths)
            tries = [sheets for sheets, one in zip(tries, worths, strict=True) if one == least]
        return tries[0]

    def _unplaced(self, sheets: Sequence[_Sheet]) -> int:
        """Return how much area has no place; the squares that fit no sheet are the same in all tries."""
        placed = {which for sheet in sheets for which, _ in sheet.boxes}
        return sum(self.sides[which] ** 2 for which in self.fitting if which not in placed)

    def _not_left(self, sheets: Sequence[_Sheet]) -> float:
        """Return the area of the largest rectangle left on the last sheet, below 0."""
        box = self._left(sheets[-1]) if sheets else None
        return -float((box.right - box.left - self.kerf) * (box.high - box.low - self.kerf)) if box else inf

    def _left(self, sheet: _Sheet) -> Box | None:
        return largest_free([box for _, box in sheet.boxes], *self.room(sheet.stock), self.kerf)

    def in_order(self, sheets: Sequence[_Sheet]) -> list[_Sheet]:
        """Return the sheets with the largest squares of each first, equal squares in the order they were stated."""
        waiting: dict[float, deque[int]] = defaultdict(deque)
        for which in self.fitting:
            waiting[self.squares[which].side_mm].append(which)
        ordered = []
        for stock, boxes in sheets:
            sides = sorted((-self.squares[which].side_mm, box.low, box.left, box) for which, box in boxes)
            ordered.append(_Sheet(stock, [(waiting[-side].popleft(), box) for side, _, _, box in sides]))
        return ordered

    def nesting(self, sheets: Sequence[_Sheet]) -> Nesting:
        """Return the record of sheets, squares numbered through all of them in their order."""
        records: list[NestedSheet] = []
        first = 1
        for number, sheet in enumerate(sheets, 1):
            records.append(self._record(number, sheet, first, last=number == len(sheets)))
            first += len(sheet.boxes)
        placed = {which for sheet in sheets for which, _ in sheet.boxes}
        unplaced = tuple(
            UnplacedSquare(
                name=square.name,
                side_mm=square.side_mm,
                reason="no sheet left" if which in self.fitting else "too large for every sheet",
            )
            for which, square in enumerate(self.squares)
            if which not in placed
        )
        return Nesting(
            kerf_mm=self.kerf_mm,
            edge_mm=self.edge_mm,
            sheets=tuple(records),
            unplaced=unplaced,
            bound=self._bound(sheets),
        )

    def _record(self, number: int, sheet: _Sheet, first: int, *, last: bool) -> NestedSheet:
        return NestedSheet(
            number=number,
            width_mm=sheet.stock.width_mm,
            length_mm=sheet.stock.length_mm,
            counted=sheet.stock.count is not None,
            kerf_mm=self.kerf_mm,
            edge_mm=self.edge_mm,
            squares=tuple(
                PlacedSquare(
                    number=count,
                    name=self.squares[which].name,
                    x_mm=self._at(box.left),
                    y_mm=self._at(box.low),
                    side_mm=self.squares[which].side_mm,
                )
                for count, (which, box) in enumerate(sheet.boxes, first)
            ),
            straight=not _crooked([sheet]),
            leftover=self._leftover(sheet) if last else None,
        )

    def _leftover(self, sheet: _Sheet) -> Leftover | None:
        box = self._left(sheet)
        return box and Leftover(
            x_mm=self._at(box.left),
            y_mm=self._at(box.low),
            width_mm=round((box.right - box.left - self.kerf) * TICK_MM, 6),
            length_mm=round((box.high - box.low - self.kerf) * TICK_MM, 6),
        )

    def _bound(self, sheets: Sequence[_Sheet]) -> AreaBound:
        """Return what area alone allows of the sheets, in the order they are used."""
        need = sum(self.sides[which] ** 2 for sheet in sheets for which, _ in sheet.boxes)
        rooms = [width * length for width, length in (self.room(sheet.stock) for sheet in sheets)]
        count = next((count for count, held in enumerate(accumulate(rooms), 1) if held >= need), 0)
        squares = sum(self.squares[which].side_mm ** 2 for sheet in sheets for which, _ in sheet.boxes)
        area = sum(sheet.stock.width_mm * sheet.stock.length_mm for sheet in sheets[:count])
        return AreaBound(sheets=count, waste=1 - squares / area if count else 0.0)

    def _at(self, ticks: int) -> float:
        """Return a place from the sheet's corner [mm]."""
        return round(self.edge_mm + ticks * TICK_MM, 6)


def _ticks(length_mm: float) -> int:
    return round(length_mm / TICK_MM)


def _box(rect: Any, turned: bool) -> Box:
    box = Box(rect.left, rect.bottom, rect.right, rect.top)
    return Box(box.low, box.left, box.high, box.right) if turned else box


def _endless(sheets: Iterable[_Sheet]) -> int:
    """Return how many sheets are of those without end."""
    return sum(sheet.stock.count is None for sheet in sheets)


def _crooked(sheets: Iterable[_Sheet]) -> int:
    """Return how many sheets straight cuts do not part."""
    return sum(not are_parted_by_straight_cuts([box for _, box in sheet.boxes]) for sheet in sheets)
