"""The sawing plan: one page for every sheet of plywood, with the list of its squares."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import NamedTuple

from optimizer.drawing.columns import Block, Column, flowed
from optimizer.drawing.hatching import hatched
from optimizer.drawing.lettering import text_width_mm, wrapped
from optimizer.drawing.page_marks import shortened
from optimizer.drawing.placing import moved
from optimizer.drawing.sawing_picture import BELOW_MM, BESIDE_MM, HATCH_DEG, LAYERS, across_mm, picture, unnumbered
from optimizer.drawing.sawing_words import (
    CAUTION,
    EDGE,
    GRAIN,
    KERF,
    LEFT_OVER,
    NO_PLACE,
    SMALL,
    WASTE,
    Row,
    Rule,
    count_of,
    facts,
    rows,
    said,
    unplaced_rows,
)
from optimizer.drawing.sheet import Area, Entity, Polyline, Sheet, Text
from optimizer.drawing.speed_words import one_line
from optimizer.records.nesting import NestedSheet, Nesting, PlacedSquare

__all__ = ["PAGE_MM", "sawing_plan_sheets"]

PAGE_MM = 263.0, 178.0
"""Width and height: what A4 and Letter on their side have room for, with bars and caption."""
EDGE_MM, GAP_MM = 4.0, 6.0
"""Free along the edges of the page; between picture and columns, between columns."""
TITLE_MM, HEAD_MM = 3.0, 7.5
"""Height of the title's capitals, of its row."""
TEXT_MM, LEAD_MM = 1.9, 3.5
"""Height of capitals, distance of lines."""
COLUMN_MM = 80.0
"""Least width of a column."""
SHORTEST_MM = 25.0
"""Least height of the columns below a picture."""
SCALES = (1.0, 2.0, 2.5, 5.0, 10.0, 15.0, 20.0, 25.0, 50.0, 100.0, 200.0)
"""Size of the sheet over size on paper, whichever comes first that has room."""
MOST_SCALES = 3
"""So many scales are tried to keep the list on the page of its picture; smaller ones cannot be read."""
SIGNS = (("edge strip", EDGE), ("kerf", KERF), ("waste", WASTE), ("left over", LEFT_OVER))
"""Layers that need an explanation, with it."""
SWATCH_MM = 5.0
"""Length of the sample beside it."""


class _Place(NamedTuple):
    """Where the picture of a sheet stands, and the columns beside or below it."""

    scale: float
    corner: tuple[float, float]
    columns: tuple[Column, ...]
    column_mm: float
    """Width of a column."""


def sawing_plan_sheets(nesting: Nesting, title: str, units: str, division_mm: float) -> tuple[Sheet, ...]:
    """Return a page for every sheet of plywood, further pages where its list is long; none where there is no square.

    What has no place on any sheet is listed at the end.

    Parameters
    ----------
    nesting
        Squares on sheets.
    title
        What is sawn, in the maker's words.
    units
        ``"mm"``, ``"cm"`` or ``"in"``.
    division_mm
        Finest division of the maker's rule, for inches [mm].
    """
    rule = Rule(units, division_mm)
    pages: list[Sheet] = []
    for sheet in nesting.sheets:
        pages += _plan(nesting, sheet, one_line(title), rule)
    if nesting.unplaced and not nesting.sheets:
        listed = _Table(nesting, (), _columns(0.0, _top())[1], rule)
        blocks = (*_lines(f"{NO_PLACE}:", listed.width_mm), listed.head, *listed.unplaced)
        head = f"Sawing plan: {one_line(title)}"
        pages += [_page(head, entities, 1.0, NO_PLACE) for entities in flowed(blocks, _wide(), _wide())]
    return tuple(pages)


def _plan(nesting: Nesting, sheet: NestedSheet, title: str, rule: Rule) -> Iterator[Sheet]:
    """Yield the pages of one sheet: the largest picture with all that is to be said on its page, if there is one."""
    head = f"Sawing plan, sheet {sheet.number} of {len(nesting.sheets)}"
    tried = []
    for place in islice(_placed(sheet, rule), MOST_SCALES):
        listed = _Table(nesting, sheet.squares, min(place.column_mm, _columns(0.0, _top())[1]), rule)
        words = _words(nesting, sheet, place.scale, listed)
        tried.append((place, flowed(words, place.columns, _wide(), listed.head)))
        if len(tried[-1][1]) == 1:
            break
    place, (first, *more) = min(tried, key=lambda one: len(one[1]))
    drawn = (*picture(sheet, place.corner, place.scale, rule), *first)
    yield _page(f"{head}: {title}", drawn, place.scale, said(nesting, sheet, place.scale, rule))
    for entities in more:
        yield _page(f"{head}, continued: {title}", entities, 1.0, "The rest of the list of squares.")


def _page(head: str, entities: Sequence[Entity], scale: float, words: str) -> Sheet:
    wide, high = PAGE_MM
    line = shortened(head, wide - 2 * EDGE_MM, TITLE_MM)
    title = Text("words", (EDGE_MM, high - EDGE_MM), line, TITLE_MM, along="top")
    return Sheet(head, wide, high, LAYERS, (title, *entities), scale=scale, said=words)


def _placed(sheet: NestedSheet, rule: Rule) -> Iterator[_Place]:
    """Yield every scale at which the picture has room, the largest first, with columns beside or below it."""
    wide, high = PAGE_MM[0] - 2 * EDGE_MM - BESIDE_MM, _top() - EDGE_MM - BELOW_MM
    for times in SCALES:
        long, deep = across_mm(sheet, 1 / times, rule), sheet.width_mm / times
        beside = wide - long - GAP_MM >= COLUMN_MM
        below = high - deep - GAP_MM >= SHORTEST_MM
        if not (long <= wide and deep <= high and (beside or below)):
            continue
        corner = EDGE_MM + BESIDE_MM, _top() - deep
        if beside:
            columns, column = _columns(corner[0] + long + GAP_MM - EDGE_MM, _top())
        else:
            columns, column = _columns(0.0, corner[1] - BELOW_MM - GAP_MM)
        yield _Place(1 / times, corner, columns, column)


def _columns(after_mm: float, top_mm: float) -> tuple[tuple[Column, ...], float]:
    """Return columns that fill the page from a place and a height on, with their width."""
    room = PAGE_MM[0] - 2 * EDGE_MM - after_mm
    count = max(1, int((room + GAP_MM) // (COLUMN_MM + GAP_MM)))
    width = (room - (count - 1) * GAP_MM) / count
    lefts = [EDGE_MM + after_mm + number * (width + GAP_MM) for number in range(count)]
    return tuple(Column(left, top_mm, EDGE_MM) for left in lefts), width


def _wide() -> tuple[Column, ...]:
    """Return the columns of a page without a picture."""
    return _columns(0.0, _top())[0]


def _top() -> float:
    return PAGE_MM[1] - EDGE_MM - HEAD_MM


def _words(nesting: Nesting, sheet: NestedSheet, scale: float, listed: _Table) -> Iterator[Block]:
    """Yield what stands in the columns of a sheet."""
    width = listed.width_mm
    for fact in facts(nesting, sheet, scale, listed.rule):
        yield from _lines(fact, width)
    if small := unnumbered(sheet, scale, listed.rule):
        yield from _lines(SMALL.format(f"{count_of(small)} {'is' if small == 1 else 'are'}"), width)
    yield from (*_signs(width), _gap())
    yield from (*_lines(CAUTION, width), _gap())
    yield from (*_lines(GRAIN, width, "quiet words"), _gap())
    first, *others = listed.squares
    yield _below(listed.head, first)
    yield from others
    if nesting.unplaced and sheet is nesting.sheets[-1]:
        yield _gap()
        yield from _lines(f"{NO_PLACE}:", width)
        yield from listed.unplaced


class _Table:
    """The list of a sheet's squares, with those that have no place, as blocks with equal columns."""

    def __init__(self, nesting: Nesting, squares: Sequence[PlacedSquare], width_mm: float, rule: Rule) -> None:
        """Lay the columns out."""
        self.width_mm, self.rule = width_mm, rule
        head, listed = Row("number", "side", "for"), list(rows(squares, rule))
        lost = list(unplaced_rows(nesting.unplaced, rule))
        every = (head, *listed, *lost)
        self.size_mm = max(text_width_mm(row.numbers, TEXT_MM) for row in every) + 2
        self.name_mm = self.size_mm + max(text_width_mm(row.size, TEXT_MM) for row in every) + 2
        self.head = self._block(head, "quiet words")
        self.squares = [self._block(row, "words") for row in listed]
        self.unplaced = [self._block(row, "words") for row in lost]

    def _block(self, row: Row, layer: str) -> Block:
        lines = wrapped(row.name, self.width_mm - self.name_mm, TEXT_MM)
        cells = [_text(0.0, 0, row.numbers, layer), _text(self.size_mm, 0, row.size, layer)]
        cells += [_text(self.name_mm, number, line, layer) for number, line in enumerate(lines)]
        return Block(tuple(cells), LEAD_MM * len(lines))


def _below(upper: Block, lower: Block) -> Block:
    """Return two blocks as one, of which the lower is enough where the upper stands already."""
    moved_down = (moved(entity, (0.0, -upper.height_mm)) for entity in lower.entities)
    return Block((*upper.entities, *moved_down), upper.height_mm + lower.height_mm, headed=lower)


def _lines(text: str, width: float, layer: str = "words") -> Iterator[Block]:
    """Yield a paragraph line by line."""
    for line in wrapped(text, width, TEXT_MM):
        yield Block((_text(0.0, 0, line, layer),), LEAD_MM)


def _text(x: float, line: int, text: str, layer: str) -> Text:
    return Text(layer, (x, -LEAD_MM * line), text, TEXT_MM, along="top")


def _signs(width: float) -> Iterator[Block]:
    """Yield the explanation of the picture's tints and lines, in as many rows as the column needs."""
    row: list[Entity] = []
    x = 0.0
    for layer, words in SIGNS:
        long = SWATCH_MM + 1 + text_width_mm(words, TEXT_MM)
        if row and x + long > width:
            yield Block(tuple(row), LEAD_MM)
            row, x = [], 0.0
        row += [*_swatch(layer, x), _text(x + SWATCH_MM + 1, 0, words, "words")]
        x += long + 3
    yield Block(tuple(row), LEAD_MM)


def _swatch(layer: str, x: float) -> Iterator[Entity]:
    box = ((x, -TEXT_MM), (x + SWATCH_MM, -TEXT_MM), (x + SWATCH_MM, 0.0), (x, 0.0))
    if layer == "waste":
        yield from hatched(layer, box, HATCH_DEG, 1.0)
    elif layer == "left over":
        yield Polyline(layer, box, closed=True)
    else:
        yield Area(layer, box, "pale" if layer == "edge strip" else "grey")


def _gap() -> Block:
    return Block((), LEAD_MM / 2, falls_away=True)
