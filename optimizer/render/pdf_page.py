"""One page drawn into a PDF document."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from importlib.resources import files
from io import BytesIO
from itertools import pairwise
from math import cos, floor, radians, sin

from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from optimizer.drawing.lettering import CAPITAL_EM
from optimizer.drawing.pages import Page
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Layer, Line, Point, Polyline, Sheet, Text
from optimizer.render.curves import FULL_DEG, bezier, turns_deg
from optimizer.render.inks import HATCH_DEG, HATCH_MM, HATCH_PEN_MM, INKS, MITRE, SHADES
from optimizer.render.signs import printable

__all__ = ["canvas", "draw_page"]

POINT_PER_MM = 72 / 25.4
"""A point of a PDF is 1/72 in (ISO 32000-1, 8.3.2.3, from memory)."""
FACE = "DejaVu Sans"
MOST_DEG = 30.0
"""Longest part of a circle that is one curve."""
NON_ZERO = 1
"""The library's word for filling what is turned around at all, as SVG does, not only what is turned around oddly."""
LAST_PLAIN = 0xFFFF
WHITE = 255
SINK = {"base": 0.0, "middle": 0.5, "top": 1.0}
"""How far the base line lies below the point, as a share of a capital's height."""
BACK = {"left": 0.0, "middle": 0.5, "right": 1.0}
"""How far the text begins before the point, as a share of its width."""


@cache
def face() -> TTFont:
    """Return the face, read once and made known to the library."""
    font = TTFont(FACE, BytesIO(files("optimizer.render").joinpath("DejaVuSans.ttf").read_bytes()))
    registerFont(font)
    return font


@cache
def known() -> frozenset[int]:
    """Return the code points that can be set: of those beyond 16 bits the library writes what nobody could copy."""
    return frozenset(code for code in face().face.charToGlyph if code <= LAST_PLAIN)


def canvas(out: BytesIO, title: str) -> Canvas:
    """Return an empty document that is written to a stream when saved.

    The face is its first too, as the library's own would be named in the document without being in it; that this is a
    name and no number is not known to the library's types.
    """
    face()
    document = Canvas(out, invariant=1, pageCompression=1, initialFontName=FACE, lang="en")  # type: ignore[arg-type]
    document.setTitle(title)
    document.setAuthor("")
    document.setSubject("")
    document.setCreator("conewright")
    document.setProducer("conewright")
    return document


def draw_page(document: Canvas, page: Page) -> None:
    """Add a page, in millimetres from its lower left corner."""
    document.setPageSize((page.width_mm * POINT_PER_MM, page.height_mm * POINT_PER_MM))
    document.scale(POINT_PER_MM, POINT_PER_MM)
    document.setMiterLimit(MITRE)
    document.saveState()
    frame = document.beginPath()
    frame.rect(*page.at, page.window.width, page.window.height)
    document.clipPath(frame, stroke=0, fill=0, fillMode=NON_ZERO)
    document.translate(page.at[0] - page.window.left, page.at[1] - page.window.low)
    _draw_sheet(document, page.sheet)
    document.restoreState()
    _draw_sheet(document, page.furniture)
    document.showPage()


def _draw_sheet(document: Canvas, sheet: Sheet) -> None:
    for layer in sheet.layers:
        document.saveState()
        ink = INKS[layer.ink] / WHITE
        document.setStrokeGray(ink)
        document.setLineWidth(layer.pen_mm)
        document.setDash(list(layer.dashes_mm))
        for entity in sheet.on(layer.name):
            _draw(document, entity, layer)
        document.restoreState()


def _draw(document: Canvas, entity: Entity, layer: Layer) -> None:
    """Draw an entity with the pen of its layer, which is set already."""
    match entity:
        case Line():
            _stroke(document, layer, _path(document, (entity.start, entity.end), closed=False))
        case Polyline():
            _stroke(document, layer, _path(document, entity.points, closed=entity.closed))
        case Arc():
            turns = turns_deg(entity, MOST_DEG)
            _stroke(document, layer, _round(document, entity.centre, entity.radius_mm, turns))
        case Circle():
            whole = Arc(entity.layer, entity.centre, entity.radius_mm, 0.0, FULL_DEG)
            path = _round(document, entity.centre, entity.radius_mm, turns_deg(whole, MOST_DEG))
            path.close()
            (x, y), reach = entity.centre, entity.radius_mm
            _fill(document, entity, path, ((x - reach, y - reach), (x + reach, y + reach)))
            _stroke(document, layer, path)
        case Area():
            path = _path(document, entity.points, closed=True)
            _fill(document, entity, path, entity.points)
            _stroke(document, layer, path)
        case Text():
            document.setFillGray(INKS[layer.ink] / WHITE)
            _letter(document, entity)


def _path(document: Canvas, points: Sequence[Point], *, closed: bool) -> PDFPathObject:
    path = document.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if closed:
        path.close()
    return path


def _round(document: Canvas, centre: Point, radius_mm: float, turns: Sequence[float]) -> PDFPathObject:
    """Return the path along a circle through directions [deg]."""
    path = document.beginPath()
    first = radians(turns[0])
    path.moveTo(centre[0] + radius_mm * cos(first), centre[1] + radius_mm * sin(first))
    for start, end in pairwise(turns):
        (x1, y1), (x2, y2), (x3, y3) = bezier(centre, radius_mm, start, end)
        path.curveTo(x1, y1, x2, y2, x3, y3)
    return path


def _stroke(document: Canvas, layer: Layer, path: PDFPathObject) -> None:
    """Draw an outline where the layer has a pen; a width of 0 would be the finest line of the printer."""
    if layer.pen_mm:
        document.drawPath(path, stroke=1, fill=0)


def _fill(document: Canvas, entity: Area | Circle, path: PDFPathObject, reach: Iterable[Point]) -> None:
    if entity.shade == "hatch":
        _hatch(document, path, reach)
    elif entity.shade in SHADES:
        document.setFillGray(SHADES[entity.shade] / WHITE)
        document.drawPath(path, stroke=0, fill=1, fillMode=NON_ZERO)


def _hatch(document: Canvas, path: PDFPathObject, reach: Iterable[Point]) -> None:
    """Draw slanted lines within an outline, over the box of points around it.

    Across the lines a place is ``y cos a - x sin a``; lines stand at whole multiples of their distance.
    """
    points = list(reach)
    c, s = cos(radians(HATCH_DEG)), sin(radians(HATCH_DEG))
    (left, right), (low, high) = ((min(way), max(way)) for way in zip(*points, strict=True))
    corners = [(x, y) for x in (left, right) for y in (low, high)]
    along = [x * c + y * s for x, y in corners]
    across = [y * c - x * s for x, y in corners]
    document.saveState()
    document.clipPath(path, stroke=0, fill=0, fillMode=NON_ZERO)
    document.setStrokeGray(INKS["black"] / WHITE)
    document.setLineWidth(HATCH_PEN_MM)
    document.setDash([])
    lines = document.beginPath()
    for number in range(floor(min(across) / HATCH_MM), floor(max(across) / HATCH_MM) + 2):
        place = number * HATCH_MM
        (x1, y1), (x2, y2) = ((way * c - place * s, way * s + place * c) for way in (min(along), max(along)))
        lines.moveTo(x1, y1)
        lines.lineTo(x2, y2)
    document.drawPath(lines, stroke=1, fill=0)
    document.restoreState()


def _letter(document: Canvas, entity: Text) -> None:
    """Set a line of text, its base line turned about the entity's point."""
    font = face()
    text = printable(entity.text, known())
    size = entity.height_mm / CAPITAL_EM
    back = BACK[entity.across] * font.stringWidth(text, size)
    sink = SINK[entity.along] * entity.height_mm
    document.setFont(FACE, size)
    if not entity.turn_deg:
        document.drawString(entity.at[0] - back, entity.at[1] - sink, text)
        return
    document.saveState()
    document.translate(*entity.at)
    document.rotate(entity.turn_deg)
    document.drawString(-back, -sink, text)
    document.restoreState()
