"""What is sawn from the maker's sheets: squares nested on them by a packing library, the best of several ways."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise
from math import inf
from typing import Any, NamedTuple

import rectpack

from optimizer.catalogue.plywood import plywood_sheets_mm
from optimizer.checks.in_hand import discs_in_hand
from optimizer.cuts.cones import CutCone, cut_cones
from optimizer.pipeline.job import Job, machine_of
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

__all__ = [
    "Box",
    "Nesting",
    "Square",
    "Stock",
    "are_parted_by_straight_cuts",
    "largest_free",
    "nest",
    "sawn",
    "squares_words",
]

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


class Box(NamedTuple):
    """A rectangle in whole ticks; of a square, with the kerf to its right and above it."""

    left: int
    low: int
    right: int
    high: int


def largest_free(boxes: Sequence[Box], wide: int, high: int, kerf: int) -> Box | None:
    """Return the largest rectangle of a sheet that no box reaches into; nothing where all is taken.

    The sheet lies between 0 and `wide`, 0 and `high`. The rectangle carries a kerf to its right and above it like every
    box, so the largest is that of the greatest `(width - kerf) · (height - kerf)`. It touches something on all four
    sides: its left edge is 0 or the right edge of a box, and from there the gaps between boxes are followed to the
    right; each box that stands in a gap ends a rectangle and leaves two lower gaps. Of equals it is the leftmost.

    Examples
    --------
    >>> largest_free([Box(0, 0, 60, 60), Box(60, 0, 90, 30)], 100, 100, 2)
    Box(left=0, low=60, right=100, high=100)
    >>> largest_free([Box(0, 0, 100, 100)], 100, 100, 2) is None
    True
    """
    best, most = None, 0
    ordered = sorted(boxes)
    for left in sorted({0, *(box.right for box in boxes)}):
        gaps = [(0, high)]
        for box in (*(box for box in ordered if box.right > left), Box(wide, 0, wide, high)):
            kept = []
            for low, top in gaps:
                if box.high <= low or top <= box.low:
                    kept.append((low, top))
                    continue
                size = (box.left - left - kerf) * (top - low - kerf)
                if box.left - left > kerf and size > most:
                    best, most = Box(left, low, box.left, top), size
                kept += [(low, box.low), (box.high, top)]
            gaps = [(low, top) for low, top in kept if (wide - left - kerf) * (top - low - kerf) > most]
    return best


def are_parted_by_straight_cuts(boxes: Sequence[Box]) -> bool:
    """Tell whether cuts from edge to edge of the piece in hand part all boxes.

    A cut may run where no box lies on both sides of it; what it leaves on either side is a piece in hand again. Which
    cut comes first does not matter: a cut that can be made in the whole can be made in every part of it.

    Examples
    --------
    Four around a fifth, each passing its neighbour's end, let no cut through:

    >>> wheel = [Box(0, 0, 2, 1), Box(2, 0, 3, 2), Box(1, 2, 3, 3), Box(0, 1, 1, 3), Box(1, 1, 2, 2)]
    >>> are_parted_by_straight_cuts(wheel), are_parted_by_straight_cuts(wheel[:3])
    (False, True)
    """
    pieces = [list(boxes)]
    while pieces:
        piece = pieces.pop()
        if len(piece) < 2:
            continue
        parts = _strips(piece, 0) if len(_strips(piece, 0)) > 1 else _strips(piece, 1)
        if len(parts) < 2:
            return False
        pieces.extend(parts)
    return True


def _strips(boxes: Sequence[Box], way: int) -> list[list[Box]]:
    """Return the boxes as groups between all straight cuts across one way: 0 from left to right, 1 upward."""
    ordered = sorted(boxes, key=lambda box: box[way])
    strips, reach = [[ordered[0]]], ordered[0][way + 2]
    for _, box in pairwise(ordered):
        if box[way] >= reach:
            strips.append([])
        strips[-1].append(box)
        reach = max(reach, box[way + 2])
    return strips


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


def squares_words(count: int) -> str:
    """Return a number of squares in words."""
    return "1 square" if count == 1 else f"{count} squares"


def sawn(job: Job) -> Nesting | None:
    """Return the squares of all layers nested on the stated sheets; nothing where nothing is glued from layers.

    Nothing is sawn for steps that are cut from discs in hand.

    Where no sheets are stated, as many as it takes of the first usual size of plywood are taken.
    """
    return job.once("sawn", lambda: _sawn(job))


def _sawn(job: Job) -> Nesting | None:
    scenario, there = job.scenario, discs_in_hand(machine_of(job))
    squares = [
        Square(name=f"{_name(cone)}, layer {layer.number}", side_mm=layer.square_mm)
        for cone in cut_cones(job)
        for layer in cone.layers
        if (cone.key, layer.position - 1) not in there
    ]
    if not squares:
        return None
    stocks = [Stock(width_mm=s.size_mm[0], length_mm=s.size_mm[1], count=s.count) for s in scenario.sheets]
    if not stocks:
        width, length = plywood_sheets_mm()[0]
        stocks = [Stock(width_mm=width, length_mm=length)]
    return nest(squares, stocks, scenario.making.kerf_mm, scenario.making.edge_mm)


def _name(cone: CutCone) -> str:
    """Return what squares of a cone are called, short enough to stand in them."""
    second = "" if cone.second_stage is None else f", {cone.second_stage} driver"
    return f"stage {cone.stage} {cone.side}{second}"
