"""How a sheet of any size goes onto paper at its true size: on one page, or cut into tiles that overlap."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product
from math import ceil
from types import MappingProxyType

from optimizer.drawing.lettering import text_width_mm, wrapped
from optimizer.drawing.page_marks import (
    CHECK_BAR_MM,
    PAGE_LAYERS,
    SMALL_MM,
    check_bar,
    joints,
    shortened,
    tile_key,
)
from optimizer.drawing.sheet import Entity, Layer, Point, Sheet, Text
from optimizer.drawing.speed_words import one_line

__all__ = [
    "CHECK_BAR_MM",
    "MARGIN_MM",
    "OVERLAP_MM",
    "PAPERS",
    "Page",
    "Paper",
    "Window",
    "check_bar",
    "headed",
    "paged",
    "scale_words",
]

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
HEAD, HEAD_MM, HEAD_LEAD_MM = "head", 2.8, 5.0
"""Layer of words above a drawing; height of their capitals; from line to line."""
ROUNDING_MM = 1e-6
"""A sheet this much larger than the room still fits."""


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
class Window:
    """A rectangle of a sheet [mm]."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float

    @property
    def width_mm(self) -> float:
        """Its width."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """Its height."""
        return self.top_mm - self.bottom_mm


@dataclass(frozen=True, slots=True)
class Page:
    """One side of paper: the part of a sheet that is on it, with what stands around and over it."""

    width_mm: float
    height_mm: float
    sheet: Sheet
    window: Window
    """What is shown of the sheet; the rest is cut off."""
    at: Point
    """Where the window's lower left corner lies on the paper, from the paper's lower left corner."""
    furniture: Sheet
    """Caption, bars and marks, as large as the paper."""

    def placed(self, point: Point) -> Point:
        """Return where a point of the sheet lies on the paper."""
        return (self.at[0] + point[0] - self.window.left_mm, self.at[1] + point[1] - self.window.bottom_mm)


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
    >>> len(pages), pages[0].width_mm, pages[0].window, pages[1].window.left_mm
    (2, 297.0, Window(left_mm=0.0, bottom_mm=0.0, right_mm=155.0, top_mm=100.0), 145.0)
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
    lines = wrapped(words, sheet.width_mm - 2 * HEAD_MM, HEAD_MM)
    top = sheet.height_mm + HEAD_LEAD_MM * (len(lines) + 1)
    said = [Text(HEAD, (HEAD_MM, top - HEAD_LEAD_MM * (row + 1)), line, HEAD_MM) for row, line in enumerate(lines)]
    layers, entities = (*sheet.layers, Layer(HEAD, 0.0)), (*sheet.entities, *said)
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
    whole = Window(0.0, 0.0, sheet.width_mm, sheet.height_mm)
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
        at = MARGIN_MM + (room[0] - right + left) / 2, MARGIN_MM + FOOT_MM + (room[1] - top + bottom) / 2
        marks = joints(
            (seams[0], seams[1]),
            (sheet.width_mm, sheet.height_mm),
            ((left, bottom), (right, top)),
            (at[0] - left, at[1] - bottom),
        )
        entities = (*marks, *_foot(sheet, tiling, (column, row)))
        furniture = Sheet(sheet.title, width, height, PAGE_LAYERS, entities)
        yield Page(width, height, sheet, Window(left, bottom, right, top), at, furniture)


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
        for number, line in enumerate(JOINING):
            y = MARGIN_MM + CHECK_BAR_MM[1] * (1 - (number + 0.5) / len(JOINING))
            yield Text("caption", (left, y), line, SMALL_MM, along="middle")
        left += max(text_width_mm(line, SMALL_MM) for line in JOINING) + GAP_MM
        key = (left, MARGIN_MM), (right, MARGIN_MM + CHECK_BAR_MM[1])
        yield from tile_key((tiling.columns, tiling.rows), tile, key)
