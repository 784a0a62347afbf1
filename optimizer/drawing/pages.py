"""How a sheet of any size goes onto paper at its true size: on one page, or cut into tiles that overlap."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import ceil
from types import MappingProxyType

from optimizer.drawing.lettering import Hand, one_line, shortened, text_width_mm
from optimizer.drawing.placing import Room
from optimizer.drawing.sheet import Area, Entity, Layer, Line, Point, Polyline, Sheet, Text

__all__ = [
    "CHECK_BAR_MM",
    "MARGIN_MM",
    "OVERLAP_MM",
    "PAPERS",
    "Page",
    "Paper",
    "check_bar",
    "headed",
    "paged",
    "scale_words",
]

PAGE_LAYERS = (
    Layer("cut lines", 0.13, ink="grey", dashes_mm=(4.0, 1.5)),
    Layer("crosses", 0.18),
    Layer("bars", 0.25),
    Layer("caption", 0.0),
    Layer("tiles", 0.13),
)
"""Layers of what stands around a drawing; crosses and cut lines lie over it."""
SMALL_MM = 2.0
"""Height of small capitals."""
BARS = (("2 in", 50.8), ("50 mm", 50.0))
"""Label and length of the bars, from the lower one up; an inch is 25.4 mm exactly."""
ADVICE = ("print at 100 %, no fitting", "measure before cutting:")
"""What stands beside the bars, from the lower line up."""
BAR_ROW_MM, TICK_MM, BAR_GAP_MM = 5.0, 2.4, 2.0
"""From bar to bar; length of the ticks at the ends; between bar, label and advice."""
LABEL_MM = max(text_width_mm(label, SMALL_MM) for label, _ in BARS)
CHECK_BAR_MM = (
    50.8 + LABEL_MM + 2 * BAR_GAP_MM + max(text_width_mm(line, SMALL_MM) for line in ADVICE),
    BAR_ROW_MM + TICK_MM,
)
"""Width and height of the bars with their words."""
CROSS_MM, INSET_MM = 3.0, 4.0
"""Half the length of a cross' lines; how far the outermost crosses stand inside the sheet's edge."""
CELL_MM = 4.0
"""Side of a tile in the key, where all of them have room."""
Seams = tuple[Sequence[float], Sequence[float]]
"""Where tiles meet: across the sheet, up the sheet [mm]."""
MARGIN_MM = 8.0
"""What stays free along every edge, as printers reach no farther (common practice, no source)."""
OVERLAP_MM = 10.0
"""How far neighbouring tiles show the same part of the sheet."""
CAPTION_MM, CAPTION_ROW_MM = 2.4, 6.0
"""Height of the caption's capitals, of its row above the bars."""
GAP_MM = 2.0
"""Between the drawing and what stands below it."""
FOOT_MM = CHECK_BAR_MM[1] + CAPTION_ROW_MM + GAP_MM
"""Height of the strip below the drawing, with the caption and the bars."""
JOINING = ("cut one of two along its dashes,", "lay its crosses on the other's")
"""How tiles are joined."""
HEAD = Hand("head", 2.8, 5.0)
"""Words above a drawing."""
ROUNDING_MM = 1e-6
"""A sheet this much larger than the room still fits."""


def check_bar(layer: str, at: Point) -> tuple[Entity, ...]:
    """Return bars of 50 mm and of 2 in, ticks at their ends, with the advice to measure them before anything is cut.

    Lengths are between the middles of the ticks. All of it lies within `CHECK_BAR_MM` from its lower left corner.

    Parameters
    ----------
    layer
        The layer, which needs a pen.
    at
        The lower left corner.

    Examples
    --------
    >>> bars = [entity for entity in check_bar("bars", (8, 8)) if isinstance(entity, Line)]
    >>> [round(bar.end[0] - bar.start[0], 9) for bar in bars if bar.start[1] == bar.end[1]]
    [50.8, 50.0]
    """
    found: list[Entity] = []
    words_mm = at[0] + BARS[0][1] + BAR_GAP_MM
    for row, ((label, length), advice) in enumerate(zip(BARS, ADVICE, strict=True)):
        y = at[1] + TICK_MM / 2 + row * BAR_ROW_MM
        found.append(Line(layer, (at[0], y), (at[0] + length, y)))
        ends = (at[0], at[0] + length)
        found.extend(Line(layer, (x, y - TICK_MM / 2), (x, y + TICK_MM / 2)) for x in ends)
        found.append(Text(layer, (words_mm, y), label, SMALL_MM, along="middle"))
        found.append(Text(layer, (words_mm + LABEL_MM + BAR_GAP_MM, y), advice, SMALL_MM, along="middle"))
    return tuple(found)


def _joints(seams: Seams, sheet_mm: tuple[float, float], window: Room, shift: Point) -> Iterator[Entity]:
    """Yield the lines to cut along and the crosses that lie in one tile's window.

    Crosses stand where seams meet, and near the sheet's edges on every seam; the same cross is on every tile that
    shows its place.

    Parameters
    ----------
    seams
        Where tiles meet.
    sheet_mm
        Width and height of the sheet.
    window
        What the tile shows of the sheet.
    shift
        Where the sheet's lower left corner lies on the paper.

    Examples
    --------
    >>> lines = list(_joints(((85.0,), ()), (160, 100), Room(0, 0, 90, 100), (8, 20)))
    >>> [(line.start, line.end) for line in lines if line.layer == "cut lines"]
    [((93.0, 20), (93.0, 120))]
    """
    left, bottom, right, top = window
    across = [seam for seam in seams[0] if left < seam < right]
    up = [seam for seam in seams[1] if bottom < seam < top]

    def line(layer: str, start: Point, end: Point) -> Line:
        return Line(layer, *((shift[0] + x, shift[1] + y) for x, y in (start, end)))

    for x in across:
        yield line("cut lines", (x, bottom), (x, top))
    for y in up:
        yield line("cut lines", (left, y), (right, y))
    for x, y in _crosses(seams, sheet_mm):
        if left <= x <= right and bottom <= y <= top:
            yield line("crosses", (x - CROSS_MM, y), (x + CROSS_MM, y))
            yield line("crosses", (x, y - CROSS_MM), (x, y + CROSS_MM))


def _tile_key(tiles: tuple[int, int], this: tuple[int, int], room: Room) -> Iterator[Entity]:
    """Yield a small picture of how the tiles lie, this one black, at the right end of a room.

    Parameters
    ----------
    tiles
        Numbers of columns and of rows.
    this
        The tile's column from the left, its row from the top, both from 0.
    room
        What the picture may take.
    """
    columns, rows = tiles
    cell = min(CELL_MM, room.width / columns, room.height / rows)
    for row, column in product(range(rows), range(columns)):
        x, y = room.right - (columns - column) * cell, room.low + (rows - row - 1) * cell
        corners = Room(x, y, x + cell, y + cell).corners
        yield Area("tiles", corners, "ink") if (column, row) == this else Polyline("tiles", corners, closed=True)


def _crosses(seams: Seams, sheet_mm: tuple[float, float]) -> list[Point]:
    """Return where the crosses of a sheet stand."""
    across, up = seams
    edges = [dict.fromkeys((min(INSET_MM, length / 2), length - min(INSET_MM, length / 2))) for length in sheet_mm]
    return [*product(across, (*up, *edges[1])), *product(edges[0], up)]


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper, upright."""

    name: str
    width_mm: float
    height_mm: float


PAPERS: Mapping[str, Paper] = MappingProxyType(
    {
        "A4": Paper("A4", 210.0, 297.0),
        "A3": Paper("A3", 297.0, 420.0),
        "Letter": Paper("Letter", 215.9, 279.4),
    }
)
"""By name: A3 and A4 of ISO 216, Letter of 8 1/2 x 11 in (ANSI Y14.1, size A); all from memory."""


@dataclass(frozen=True, slots=True)
class Page:
    """One side of paper: the part of a sheet that is on it, with what stands around and over it."""

    width_mm: float
    height_mm: float
    sheet: Sheet
    window: Room
    """What is shown of the sheet; the rest is cut off."""
    at: Point
    """Where the window's lower left corner lies on the paper, from the paper's lower left corner."""
    furniture: Sheet
    """Caption, bars and marks, as large as the paper."""

    def placed(self, point: Point) -> Point:
        """Return where a point of the sheet lies on the paper."""
        return (self.at[0] + point[0] - self.window.left, self.at[1] + point[1] - self.window.low)


@dataclass(frozen=True, slots=True)
class _Tiling:
    """How many tiles of which size on a paper, which may lie on its side."""

    paper_mm: tuple[float, float]
    columns: int
    rows: int

    @property
    def count(self) -> int:
        return self.columns * self.rows


def paged(sheet: Sheet, paper: Paper, *, bar: bool = True) -> tuple[Page, ...]:
    """Return the pages of a sheet, never scaled, on paper upright or on its side, whichever needs fewer pages.

    Tiles are of one size and overlap by `OVERLAP_MM`; they come row by row from the top, each from the left. Every
    page has the room of `MARGIN_MM` along its edges, a caption, and the bars of `check_bar`.

    Parameters
    ----------
    sheet
        The drawing.
    paper
        One of `PAPERS`.
    bar
        False for a sheet that has its own margins and bars: where it is no larger than the paper, it is put in the
        middle of it with nothing around; where it is larger, it is tiled like any other.

    Examples
    --------
    >>> sheet = Sheet("Gauge", 300.0, 100.0, (), ())
    >>> pages = paged(sheet, PAPERS["A4"])
    >>> len(pages), pages[0].width_mm, pages[0].window, pages[1].window.left
    (2, 297.0, Room(left=0.0, low=0.0, right=155.0, high=100.0), 145.0)
    """
    wide = sheet.width_mm > sheet.height_mm
    turns = [(paper.width_mm, paper.height_mm), (paper.height_mm, paper.width_mm)]
    if wide:
        turns.reverse()
    if not bar:
        for size in turns:
            if sheet.width_mm <= size[0] + ROUNDING_MM and sheet.height_mm <= size[1] + ROUNDING_MM:
                return (_bare(sheet, size),)
    tiling = min((_tiling(sheet, size) for size in turns), key=lambda tiling: tiling.count)
    return tuple(_pages(sheet, tiling))


def headed(sheet: Sheet, words: str) -> Sheet:
    """Return a sheet with words above its drawing, over as many lines as it is wide, on a layer of their own.

    Examples
    --------
    >>> sheet = headed(Sheet("Gauge", 60.0, 100.0, (), ()), "Do not build from it")
    >>> sheet.height_mm, sheet.entities[0].text
    (110.0, 'Do not build from it')
    """
    lines = HEAD.broken(words, sheet.width_mm - 2 * HEAD.height_mm)
    top = sheet.height_mm + HEAD.lead_mm * (len(lines) + 1)
    said = HEAD.down((HEAD.height_mm, top - HEAD.lead_mm), lines, along="base")
    layers, entities = (*sheet.layers, Layer(HEAD.layer, 0.0)), (*sheet.entities, *said)
    return replace(sheet, height_mm=top, layers=layers, entities=entities, said=f"{words}. {sheet.said}".strip())


def scale_words(scale: float) -> str:
    """Return a scale as drawings state it.

    Examples
    --------
    >>> scale_words(1), scale_words(0.5), scale_words(0.4), scale_words(2)
    ('1:1', '1:2', '1:2.5', '2:1')
    """
    return f"{scale:.4g}:1" if scale > 1 else f"1:{1 / scale:.4g}"


def _bare(sheet: Sheet, size: tuple[float, float]) -> Page:
    """Return a sheet in the middle of a paper with nothing around it."""
    at = ((size[0] - sheet.width_mm) / 2, (size[1] - sheet.height_mm) / 2)
    whole = Room(0.0, 0.0, sheet.width_mm, sheet.height_mm)
    return Page(*size, sheet, whole, at, Sheet(sheet.title, *size, PAGE_LAYERS, ()))


def _tiling(sheet: Sheet, size: tuple[float, float]) -> _Tiling:
    room = size[0] - 2 * MARGIN_MM, size[1] - 2 * MARGIN_MM - FOOT_MM
    return _Tiling(size, _needed(sheet.width_mm, room[0]), _needed(sheet.height_mm, room[1]))


def _needed(length_mm: float, room_mm: float) -> int:
    """Return how many tiles cover a length."""
    return max(1, ceil((length_mm - OVERLAP_MM - ROUNDING_MM) / (room_mm - OVERLAP_MM)))


def _spans(length_mm: float, count: int) -> list[tuple[float, float]]:
    """Return the ends of equal tiles along a length, the first at 0, the last ending with the length.

    Examples
    --------
    >>> _spans(250.0, 3)
    [(0.0, 90.0), (80.0, 170.0), (160.0, 250.0)]
    """
    step = (length_mm - OVERLAP_MM) / count
    return [
        (number * step if number else 0.0, length_mm if number == count - 1 else (number + 1) * step + OVERLAP_MM)
        for number in range(count)
    ]


def _pages(sheet: Sheet, tiling: _Tiling) -> Iterator[Page]:
    across, up = _spans(sheet.width_mm, tiling.columns), _spans(sheet.height_mm, tiling.rows)
    seams = tuple([start + OVERLAP_MM / 2 for start, _ in spans[1:]] for spans in (across, up))
    width, height = tiling.paper_mm
    room = width - 2 * MARGIN_MM, height - 2 * MARGIN_MM - FOOT_MM
    for row, column in product(range(tiling.rows), range(tiling.columns)):
        (left, right), (bottom, top) = across[column], up[tiling.rows - 1 - row]
        window = Room(left, bottom, right, top)
        at = MARGIN_MM + (room[0] - window.width) / 2, MARGIN_MM + FOOT_MM + (room[1] - window.height) / 2
        marks = _joints(
            (seams[0], seams[1]),
            (sheet.width_mm, sheet.height_mm),
            window,
            (at[0] - left, at[1] - bottom),
        )
        entities = (*marks, *_foot(sheet, tiling, (column, row)))
        furniture = Sheet(sheet.title, width, height, PAGE_LAYERS, entities)
        yield Page(width, height, sheet, window, at, furniture)


def _foot(sheet: Sheet, tiling: _Tiling, tile: tuple[int, int]) -> Iterator[Entity]:
    """Yield the caption and what stands below it: bars, how tiles are joined, how they lie."""
    column, row = tile
    right = tiling.paper_mm[0] - MARGIN_MM
    words = f"scale {scale_words(sheet.scale)}, page {row * tiling.columns + column + 1} of {tiling.count}"
    if tiling.count > 1:
        words = f"row {row + 1} of {tiling.rows}, column {column + 1} of {tiling.columns}, {words}"
    y = MARGIN_MM + FOOT_MM - GAP_MM - CAPTION_MM
    room = right - MARGIN_MM - text_width_mm(words, CAPTION_MM) - GAP_MM
    yield Text("caption", (MARGIN_MM, y), shortened(one_line(sheet.title), room, CAPTION_MM), CAPTION_MM)
    yield Text("caption", (right, y), words, CAPTION_MM, across="right")
    yield from check_bar("bars", (MARGIN_MM, MARGIN_MM))
    if tiling.count > 1:
        left = MARGIN_MM + CHECK_BAR_MM[0] + GAP_MM
        hand = Hand("caption", SMALL_MM, CHECK_BAR_MM[1] / len(JOINING))
        yield from hand.about((left, MARGIN_MM + CHECK_BAR_MM[1] / 2), JOINING)
        left += max(text_width_mm(line, SMALL_MM) for line in JOINING) + GAP_MM
        key = Room(left, MARGIN_MM, right, MARGIN_MM + CHECK_BAR_MM[1])
        yield from _tile_key((tiling.columns, tiling.rows), tile, key)
