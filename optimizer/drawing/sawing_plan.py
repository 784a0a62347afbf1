"""The sawing plan: one page for every sheet of plywood, to scale, with the list of its squares."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice, pairwise, product
from math import hypot
from typing import NamedTuple

from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.nesting import squares_words
from optimizer.drawing.lettering import Hand, box_of, one_line, shortened, text_width_mm, wrapped
from optimizer.drawing.marks import barbs, hatched
from optimizer.drawing.pages import scale_words
from optimizer.drawing.placing import LEAD, Block, Column, Room, flowed, moved
from optimizer.drawing.sheet import Area, Circle, Entity, Layer, Line, Point, Polyline, Shade, Sheet, Text
from optimizer.records.nesting import NestedSheet, Nesting, PlacedSquare, UnplacedSquare

__all__ = ["sawing_plan_sheets"]

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
LAYERS = (
    Layer("edge strip", 0.0),
    Layer("kerf", 0.0),
    Layer("waste", 0.1, ink="grey"),
    Layer("discs", 0.1, ink="grey"),
    Layer("squares", 0.13),
    Layer("left over", 0.25, dashes_mm=(3.0, 1.0)),
    Layer("sheet", 0.35),
    Layer("grain", 0.25),
    Layer("words", 0.0),
    Layer("quiet words", 0.0, ink="grey"),
)
BESIDE_MM, BELOW_MM = 5.0, 6.0
"""Room left of the sheet for its width, below it for its length and the arrow of the grain."""
SIZE_MM = 2.0
"""Height of capitals of the sheet's own sizes."""
LETTERINGS = ((4.5, 2.4), (3.4, 2.0), (2.6, 1.7), (3.0, 0.0), (2.2, 0.0), (1.6, 0.0))
"""Heights of capitals of number and size in a square, from the largest down; 0 where only the number has room."""
KEPT_MM = (2.6, 2.0, 1.7)
"""The same in the rectangle left over."""
FREE_MM = 0.5
"""Between lettering and the lines around it."""
HATCH_MM, HATCH_DEG = 1.6, 45.0
"""Distance and slope of the lines over waste."""
THINNEST_MM = 0.3
"""Waste narrower than this on paper is left without lines."""
ARROW_MM, ARROW_HEAD_MM = 22.0, 2.2
"""Length of the arrow of the grain, of its heads."""
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


class Row(NamedTuple):
    """Squares of one size for one thing."""

    numbers: str
    size: str
    name: str


def facts(nesting: Nesting, sheet: NestedSheet, scale: float, sizes: BenchWords) -> Iterator[str]:
    """Yield what is to be known of a sheet before it is sawn, a sentence or two at a time."""
    size = _pair(sizes, sheet.width_mm, sheet.length_mm)
    yield f"Sheet {size}{', one of those counted' if sheet.counted else ''}, drawn {scale_words(scale)}."
    yield f"All lengths in {sizes.in_units}. Kerf {sizes.bare(sheet.kerf_mm)}, edge strip {sizes.bare(sheet.edge_mm)}."
    kept = sheet.leftover.area_mm2 / sheet.area_mm2 if sheet.leftover else 0.0
    rest = f"; {_percent(sheet.waste - kept)} where the largest piece left over is kept" if kept else ""
    yield f"{squares_words(len(sheet.squares))}, waste {_percent(sheet.waste)}{rest}."
    if len(nesting.sheets) > 1:
        least = f"by area alone {nesting.bound.sheets} could do"
        yield f"All {len(nesting.sheets)} sheets: waste {_percent(nesting.waste)}; {least}."
    yield STRAIGHT if sheet.straight else CROOKED
    if sheet.leftover:
        yield f"Largest piece left over: {_pair(sizes, sheet.leftover.width_mm, sheet.leftover.length_mm)}."


def rows(squares: Sequence[PlacedSquare], sizes: BenchWords) -> Iterator[Row]:
    """Yield a row for every run of numbers with one size and one name.

    Examples
    --------
    >>> squares = [
    ...     PlacedSquare(number=number, name=name, x_mm=0, y_mm=0, side_mm=180)
    ...     for number, name in enumerate(("disc", "disc", "lid"), 4)
    ... ]
    >>> [tuple(row) for row in rows(squares, BenchWords("mm", 0.4))]
    [('4 to 5', '180.00', 'disc'), ('6', '180.00', 'lid')]
    """
    run: list[PlacedSquare] = []
    for square in squares:
        if run and (square.side_mm, square.name) != (run[0].side_mm, run[0].name):
            yield _row(run, sizes)
            run = []
        run.append(square)
    if run:
        yield _row(run, sizes)


def _unplaced_rows(squares: Sequence[UnplacedSquare], sizes: BenchWords) -> Iterator[Row]:
    """Yield a row for every square without a place, with the reason."""
    for square in squares:
        yield Row("-", sizes.bare(square.side_mm), f"{one_line(square.name)}: {square.reason}")


def said(nesting: Nesting, sheet: NestedSheet, scale: float, sizes: BenchWords) -> str:
    """Return everything the plan of a sheet shows as sentences, for those who cannot see it."""
    listed = " ".join(f"{row.numbers}: {row.size}, {row.name}." for row in rows(sheet.squares, sizes))
    return " ".join((*facts(nesting, sheet, scale, sizes), listed, CAUTION))


def _row(run: Sequence[PlacedSquare], sizes: BenchWords) -> Row:
    first, last = run[0], run[-1]
    numbers = f"{first.number}" if first is last else f"{first.number} to {last.number}"
    return Row(numbers, sizes.bare(first.side_mm), one_line(first.name))


def _pair(sizes: BenchWords, width_mm: float, length_mm: float) -> str:
    """Return width and length."""
    return f"{sizes.bare(width_mm)} × {sizes.bare(length_mm)}"


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


class _Scaled(NamedTuple):
    """How the sheet lies on the page: its length across, its width up."""

    corner: Point
    scale: float

    def room(self, across_mm: float, along_mm: float, wide_mm: float, long_mm: float) -> Room:
        """Return where a rectangle of the sheet lies on the page."""
        left, low = self.corner[0] + self.scale * along_mm, self.corner[1] + self.scale * across_mm
        return Room(left, low, left + self.scale * long_mm, low + self.scale * wide_mm)


def picture(sheet: NestedSheet, corner: Point, scale: float, sizes: BenchWords) -> Iterator[Entity]:
    """Yield the sheet to scale, its lower left corner at a point of the page, with its sizes and the grain's arrow.

    The sheet's length runs across the page. Nothing lies over anything else, so that formats without cover show the
    same. Every square carries its number, and its size where it has room; its disc is a thin circle that touches its
    sides.
    """
    scaled = _Scaled(corner, scale)
    whole = scaled.room(0, 0, sheet.width_mm, sheet.length_mm)
    edge = sheet.edge_mm
    inner = scaled.room(edge, edge, sheet.width_mm - 2 * edge, sheet.length_mm - 2 * edge)
    squares = [scaled.room(square.x_mm, square.y_mm, square.side_mm, square.side_mm) for square in sheet.squares]
    sawn = [_grown(room, scale * sheet.kerf_mm, whole) for room in squares]
    yield from _frame("edge strip", whole, inner, "pale")
    for room, cut in zip(squares, sawn, strict=True):
        yield from _frame("kerf", cut, room, "grey")
    left = sheet.leftover
    kept = [scaled.room(left.x_mm, left.y_mm, left.width_mm, left.length_mm)] if left else []
    for room in _uncovered(inner, [*sawn, *kept]):
        if min(room.width, room.height) >= THINNEST_MM:
            yield from hatched("waste", room.corners, HATCH_DEG, HATCH_MM)
    for square, room in zip(sheet.squares, squares, strict=True):
        yield from _square(square, room, sizes)
    for room in kept:
        yield Polyline("left over", room.corners, closed=True)
        if left:
            yield from _kept_words(room, sizes.bare(left.width_mm), sizes.bare(left.length_mm))
    yield Polyline("sheet", whole.corners, closed=True)
    yield from _sizes(sheet, whole, sizes)


def across_mm(sheet: NestedSheet, scale: float, sizes: BenchWords) -> float:
    """Return how far the picture reaches from the sheet's left edge [mm]: to its right edge, or past it with words."""
    return max(sheet.length_mm * scale, text_width_mm(sizes.bare(sheet.length_mm), SIZE_MM))


def _square(square: PlacedSquare, room: Room, sizes: BenchWords) -> Iterator[Entity]:
    """Yield a square, its disc, its number, its size where there is room."""
    middle, radius = room.middle, room.width / 2
    yield Polyline("squares", room.corners, closed=True)
    note = f"{square.number}: {sizes.bare(square.side_mm)}, {one_line(square.name)}"
    yield Circle("discs", middle, radius, note=note)
    yield from _lettering(square, middle, radius, sizes)


def _unnumbered(sheet: NestedSheet, scale: float, sizes: BenchWords) -> int:
    """Return how many squares of a sheet are too small on paper for their number."""
    return sum(not _lettering(square, (0.0, 0.0), square.side_mm * scale / 2, sizes) for square in sheet.squares)


def _lettering(square: PlacedSquare, middle: Point, radius: float, sizes: BenchWords) -> tuple[Text, ...]:
    """Return the largest lettering that has room in the disc, which may be none."""
    size = sizes.bare(square.side_mm).rsplit(" ", 1)
    for number_mm, size_mm in LETTERINGS:
        lines = [(str(square.number), number_mm), *((line, size_mm) for line in size if size_mm)]
        texts = tuple(_stacked(lines, middle))
        if all(hypot(x - middle[0], y - middle[1]) <= radius - FREE_MM for text in texts for x, y in box_of(text)):
            return texts
    return ()


def _stacked(lines: Sequence[tuple[str, float]], middle: Point) -> Iterator[Text]:
    """Yield lines of lettering one below another around a point, the heights of their capitals given."""
    high = sum(LEAD * height for _, height in lines) - (LEAD - 1) * lines[-1][1]
    top = middle[1] + high / 2
    for line, height in lines:
        yield Text("words", (middle[0], top), line, height, "middle", "top")
        top -= LEAD * height


def _kept_words(room: Room, width: str, length: str) -> Iterator[Text]:
    """Yield the words in the rectangle left over, lying or upright, in as few lines as have room."""
    wide, high, middle = room.width - 2 * FREE_MM, room.height - 2 * FREE_MM, room.middle
    breaks = (
        (f"{LEFT_OVER} {width} × {length}",),
        (LEFT_OVER, f"{width} × {length}"),
        (LEFT_OVER, f"{width} ×", length),
    )
    for height, lines in product(KEPT_MM, breaks):
        long, deep = max(text_width_mm(line, height) for line in lines), LEAD * height * len(lines)
        if long <= wide and deep <= high:
            yield from _stacked([(line, height) for line in lines], middle)
            return
        if len(lines) == 1 and long <= high and deep <= wide:
            yield Text("words", middle, lines[0], height, "middle", "middle", 90.0)
            return


def _sizes(sheet: NestedSheet, whole: Room, sizes: BenchWords) -> Iterator[Entity]:
    """Yield width and length of the sheet beside it, the arrow of the grain below it."""
    width = sizes.bare(sheet.width_mm)
    if text_width_mm(width, SIZE_MM) <= whole.height:
        middle = whole.left - 1.5, (whole.low + whole.high) / 2
        yield Text("words", middle, width, SIZE_MM, "middle", "base", 90.0)
    y = whole.low - 1.5 - SIZE_MM / 2
    length = sizes.bare(sheet.length_mm)
    right = whole.left + across_mm(sheet, whole.width / sheet.length_mm, sizes)
    yield Text("words", (right, y), length, SIZE_MM, "right", "middle")
    words = "face grain, if it runs along the length"
    taken = text_width_mm(length, SIZE_MM) + text_width_mm(words, SIZE_MM) + ARROW_MM + 6
    if taken <= whole.width:
        yield from _arrow((whole.left, y), (whole.left + ARROW_MM, y))
        yield Text("quiet words", (whole.left + ARROW_MM + 2, y), words, SIZE_MM, "left", "middle")


def _arrow(start: Point, end: Point) -> Iterator[Entity]:
    """Yield a level line with a head at both ends: grain has a direction but no sense."""
    yield Line("grain", (start[0] + ARROW_HEAD_MM, start[1]), (end[0] - ARROW_HEAD_MM, end[1]))
    for head in barbs(start, end, (ARROW_HEAD_MM, ARROW_HEAD_MM / 4)):
        yield Area("grain", head, "ink")


def _frame(layer: str, outer: Room, inner: Room, shade: Shade) -> Iterator[Area]:
    """Yield what lies between two rectangles, as up to four rectangles."""
    parts = (
        Room(outer.left, outer.low, outer.right, inner.low),
        Room(outer.left, inner.high, outer.right, outer.high),
        Room(outer.left, inner.low, inner.left, inner.high),
        Room(inner.right, inner.low, outer.right, inner.high),
    )
    for part in parts:
        if part.left < part.right and part.low < part.high:
            yield Area(layer, part.corners, shade)


def _uncovered(whole: Room, covers: Sequence[Room]) -> list[Room]:
    """Return what rectangles leave of a rectangle, as upright strips that do not overlap.

    Examples
    --------
    >>> _uncovered(Room(0, 0, 9, 9), [Room(0, 0, 4, 4)])
    [Room(left=0, low=4, right=4, high=9), Room(left=4, low=0, right=9, high=9)]
    """
    found: list[Room] = []
    open_: dict[tuple[float, float], float] = {}
    edges = {whole.left, whole.right, *(x for room in covers for x in (room.left, room.right))}
    stops = sorted(x for x in edges if whole.left <= x <= whole.right)
    for left, right in pairwise(stops):
        between = [(room.low, room.high) for room in covers if room.left < right and left < room.right]
        gaps = set(_gaps(between, whole.low, whole.high))
        found += [Room(open_.pop(gap), gap[0], left, gap[1]) for gap in sorted(set(open_) - gaps)]
        open_ |= dict.fromkeys(sorted(gaps - set(open_)), left)
    found += [Room(left, low, whole.right, high) for (low, high), left in open_.items()]
    return sorted(found)


def _gaps(spans: Iterable[tuple[float, float]], start: float, end: float) -> Iterator[tuple[float, float]]:
    """Yield what spans leave free between a start and an end."""
    for low, high in sorted(spans):
        if low > start:
            yield start, min(low, end)
        start = max(start, high)
    if start < end:
        yield start, end


def _grown(room: Room, by_mm: float, whole: Room) -> Room:
    """Return a rectangle with a strip around it, as far as the sheet reaches."""
    more = room.grown(by_mm)
    return Room(*map(max, more[:2], whole[:2]), *map(min, more[2:], whole[2:]))


class _Place(NamedTuple):
    """Where the picture of a sheet stands, and the columns beside or below it."""

    scale: float
    corner: tuple[float, float]
    columns: tuple[Column, ...]
    column_mm: float
    """Width of a column."""


def sawing_plan_sheets(nesting: Nesting, title: str, sizes: BenchWords) -> tuple[Sheet, ...]:
    """Return a page for every sheet of plywood, further pages where its list is long; none where there is no square.

    What has no place on any sheet is listed at the end.

    Parameters
    ----------
    nesting
        Squares on sheets.
    title
        What is sawn, in the maker's words.
    sizes
        How lengths are written.
    """
    pages: list[Sheet] = []
    for sheet in nesting.sheets:
        pages += _plan(nesting, sheet, one_line(title), sizes)
    if nesting.unplaced and not nesting.sheets:
        listed = _Table(nesting, (), _columns(0.0, _top())[1], sizes)
        blocks = (*_lines(f"{NO_PLACE}:", listed.width_mm), listed.head, *listed.unplaced)
        head = f"Sawing plan: {one_line(title)}"
        pages += [_page(head, entities, 1.0, NO_PLACE) for entities in flowed(blocks, _wide(), _wide())]
    return tuple(pages)


def _plan(nesting: Nesting, sheet: NestedSheet, title: str, sizes: BenchWords) -> Iterator[Sheet]:
    """Yield the pages of one sheet: the largest picture with all that is to be said on its page, if there is one."""
    head = f"Sawing plan, sheet {sheet.number} of {len(nesting.sheets)}"
    tried = []
    for place in islice(_placed(sheet, sizes), MOST_SCALES):
        listed = _Table(nesting, sheet.squares, min(place.column_mm, _columns(0.0, _top())[1]), sizes)
        words = _words(nesting, sheet, place.scale, listed)
        tried.append((place, flowed(words, place.columns, _wide(), listed.head)))
        if len(tried[-1][1]) == 1:
            break
    place, (first, *more) = min(tried, key=lambda one: len(one[1]))
    drawn = (*picture(sheet, place.corner, place.scale, sizes), *first)
    yield _page(f"{head}: {title}", drawn, place.scale, said(nesting, sheet, place.scale, sizes))
    for entities in more:
        yield _page(f"{head}, continued: {title}", entities, 1.0, "The rest of the list of squares.")


def _page(head: str, entities: Sequence[Entity], scale: float, words: str) -> Sheet:
    wide, high = PAGE_MM
    line = shortened(head, wide - 2 * EDGE_MM, TITLE_MM)
    title = Text("words", (EDGE_MM, high - EDGE_MM), line, TITLE_MM, along="top")
    return Sheet(head, wide, high, LAYERS, (title, *entities), scale=scale, said=words)


def _placed(sheet: NestedSheet, sizes: BenchWords) -> Iterator[_Place]:
    """Yield every scale at which the picture has room, the largest first, with columns beside or below it."""
    wide, high = PAGE_MM[0] - 2 * EDGE_MM - BESIDE_MM, _top() - EDGE_MM - BELOW_MM
    for times in SCALES:
        long, deep = across_mm(sheet, 1 / times, sizes), sheet.width_mm / times
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
    for fact in facts(nesting, sheet, scale, listed.sizes):
        yield from _lines(fact, width)
    if small := _unnumbered(sheet, scale, listed.sizes):
        yield from _lines(SMALL.format(f"{squares_words(small)} {'is' if small == 1 else 'are'}"), width)
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

    def __init__(self, nesting: Nesting, squares: Sequence[PlacedSquare], width_mm: float, sizes: BenchWords) -> None:
        """Lay the columns out."""
        self.width_mm, self.sizes = width_mm, sizes
        head, listed = Row("number", "side", "for"), list(rows(squares, sizes))
        lost = list(_unplaced_rows(nesting.unplaced, sizes))
        every = (head, *listed, *lost)
        self.size_mm = max(text_width_mm(row.numbers, TEXT_MM) for row in every) + 2
        self.name_mm = self.size_mm + max(text_width_mm(row.size, TEXT_MM) for row in every) + 2
        self.head = self._block(head, "quiet words")
        self.squares = [self._block(row, "words") for row in listed]
        self.unplaced = [self._block(row, "words") for row in lost]

    def _block(self, row: Row, layer: str) -> Block:
        lines = wrapped(row.name, self.width_mm - self.name_mm, TEXT_MM)
        hand, columns = Hand(layer, TEXT_MM, LEAD_MM), (0.0, self.size_mm, self.name_mm)
        cells = zip(columns, ([row.numbers], [row.size], lines), strict=True)
        return Block(tuple(text for x, cell in cells for text in hand.down((x, 0.0), cell)), LEAD_MM * len(lines))


def _below(upper: Block, lower: Block) -> Block:
    """Return two blocks as one, of which the lower is enough where the upper stands already."""
    moved_down = (moved(entity, (0.0, -upper.height_mm)) for entity in lower.entities)
    return Block((*upper.entities, *moved_down), upper.height_mm + lower.height_mm, headed=lower)


def _lines(text: str, width: float, layer: str = "words") -> Iterator[Block]:
    """Yield a paragraph line by line."""
    for line in wrapped(text, width, TEXT_MM):
        yield Block((Text(layer, (0.0, 0.0), line, TEXT_MM, along="top"),), LEAD_MM)


def _signs(width: float) -> Iterator[Block]:
    """Yield the explanation of the picture's tints and lines, in as many rows as the column needs."""
    row: list[Entity] = []
    x = 0.0
    for layer, words in SIGNS:
        long = SWATCH_MM + 1 + text_width_mm(words, TEXT_MM)
        if row and x + long > width:
            yield Block(tuple(row), LEAD_MM)
            row, x = [], 0.0
        row += [*_swatch(layer, x), Text("words", (x + SWATCH_MM + 1, 0.0), words, TEXT_MM, along="top")]
        x += long + 3
    yield Block(tuple(row), LEAD_MM)


def _swatch(layer: str, x: float) -> Iterator[Entity]:
    box = Room(x, -TEXT_MM, x + SWATCH_MM, 0.0).corners
    if layer == "waste":
        yield from hatched(layer, box, HATCH_DEG, 1.0)
    elif layer == "left over":
        yield Polyline(layer, box, closed=True)
    else:
        yield Area(layer, box, "pale" if layer == "edge strip" else "grey")


def _gap() -> Block:
    return Block((), LEAD_MM / 2, falls_away=True)
