"""What stands around a drawing on its page: bars to check the printer, marks to join tiles, the caption."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from optimizer.drawing.lettering import text_width_mm
from optimizer.drawing.sheet import Area, Entity, Layer, Line, Point, Polyline, Text

__all__ = [
    "CHECK_BAR_MM",
    "PAGE_LAYERS",
    "SMALL_MM",
    "check_bar",
    "joints",
    "shortened",
    "tile_key",
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
Box = tuple[Point, Point]
"""Lower left and upper right corner."""


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
    >>> from optimizer.drawing.sheet import Line
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


def joints(seams: Seams, sheet_mm: tuple[float, float], window: Box, shift: Point) -> Iterator[Entity]:
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
    >>> lines = list(joints(((85.0,), ()), (160, 100), ((0, 0), (90, 100)), (8, 20)))
    >>> [(line.start, line.end) for line in lines if line.layer == "cut lines"]
    [((93.0, 20), (93.0, 120))]
    """
    (left, bottom), (right, top) = window
    across, up = ([seam for seam in way if low < seam < high] for way, low, high in zip(seams, *window, strict=True))

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


def tile_key(tiles: tuple[int, int], this: tuple[int, int], room: Box) -> Iterator[Entity]:
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
    (left, bottom), (right, top) = room
    columns, rows = tiles
    cell = min(CELL_MM, (right - left) / columns, (top - bottom) / rows)
    for row, column in product(range(rows), range(columns)):
        x, y = right - (columns - column) * cell, bottom + (rows - row - 1) * cell
        corners = ((x, y), (x + cell, y), (x + cell, y + cell), (x, y + cell))
        yield Area("tiles", corners, "ink") if (column, row) == this else Polyline("tiles", corners, closed=True)


def shortened(text: str, width_mm: float, height_mm: float) -> str:
    """Return a text that stays within a width [mm], its end replaced by an ellipsis where it would not.

    Examples
    --------
    >>> shortened("profile gauge", 40, 2.4), shortened("profile gauge of the countershaft", 30, 2.4)
    ('profile gauge', 'profile gauge…')
    """
    if text_width_mm(text, height_mm) <= width_mm:
        return text
    while text and text_width_mm(f"{text}…", height_mm) > width_mm:
        text = text[:-1]
    return f"{text.rstrip()}…"


def _crosses(seams: Seams, sheet_mm: tuple[float, float]) -> list[Point]:
    """Return where the crosses of a sheet stand."""
    across, up = seams
    edges = [dict.fromkeys((min(INSET_MM, length / 2), length - min(INSET_MM, length / 2))) for length in sheet_mm]
    return [*product(across, (*up, *edges[1])), *product(edges[0], up)]
