"""What is drawn in each file format, read back as the same plain shapes in millimetres."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from itertools import pairwise
from math import atan2, cos, degrees, hypot, radians, sin
from xml.etree import ElementTree as Tree

from ezdxf.document import Drawing
from ezdxf.entities.arc import Arc
from ezdxf.entities.circle import Circle
from ezdxf.entities.line import Line
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.text import Text
from ezdxf.filemanagement import read

from tests.pdfs import PdfPath

__all__ = [
    "Chain",
    "Lettering",
    "Round",
    "dxf_lettering",
    "dxf_shapes",
    "pdf_shapes",
    "read_dxf",
    "svg_lettering",
    "svg_shapes",
]

SVG = "{http://www.w3.org/2000/svg}"
CAPITAL_EM = 0.72
"""Height of a capital as a share of the type size, as `optimizer/drawing/lettering.py` states it."""
Point = tuple[float, float]


@dataclass(frozen=True)
class Chain:
    """Straight lines through points; a closed one ends where it begins."""

    points: tuple[Point, ...]


@dataclass(frozen=True)
class Round:
    """Part of a circle, counter-clockwise."""

    centre: Point
    radius: float
    start_deg: float
    span_deg: float

    @property
    def ends(self) -> tuple[Point, ...]:
        """Where it begins, its middle and its end; of a full circle four points, as it begins anywhere."""
        full = self.span_deg > 359.999
        turns = (0, 90, 180, 270) if full else [self.start_deg + self.span_deg * share for share in (0, 0.5, 1)]
        (x, y), r = self.centre, self.radius
        return tuple((x + r * cos(radians(turn)), y + r * sin(radians(turn))) for turn in turns)


Shape = Chain | Round


@dataclass(frozen=True)
class Lettering:
    """A text with the point of its base line that stands at its place."""

    text: str
    at: Point
    capital_mm: float
    turn_deg: float


def svg_shapes(document: bytes, height_mm: float) -> list[Shape]:
    """Return what an SVG document strokes, in its order, y upward."""
    found: list[Shape] = []
    for group in Tree.fromstring(document).findall(f"{SVG}g"):
        if "stroke" in group.attrib:
            found.extend(shape for element in group if (shape := _svg_shape(element, height_mm)))
    return found


def _svg_shape(element: Tree.Element, height: float) -> Shape | None:
    values = {key: float(value) for key, value in element.attrib.items() if re.fullmatch(r"-?[\d.]+", value)}
    match element.tag.removeprefix(SVG):
        case "line":
            return Chain(((values["x1"], height - values["y1"]), (values["x2"], height - values["y2"])))
        case "polyline" | "polygon" as kind:
            pairs = [tuple(map(float, pair.split(","))) for pair in element.attrib["points"].split()]
            points = [(x, height - y) for x, y in pairs]
            return Chain((*points, *points[:1])) if kind == "polygon" else Chain(tuple(points))
        case "circle":
            return Round((values["cx"], height - values["cy"]), values["r"], 0, 360)
        case "path":
            return _svg_path(element.attrib["d"], height)
    return None


def _svg_path(written: str, height: float) -> Round:
    """Return a path of circular arcs as one, each with its centre worked out from its ends (SVG 1.1, F.6.5)."""
    first, *curves = written.split(" A ")
    points = [tuple(map(float, first.removeprefix("M ").split()))]
    radii = set()
    for curve in curves:
        radius, same, turn, large, sweep, x, y = map(float, curve.split())
        assert (radius, turn, large, sweep) == (same, 0, 0, 0)
        radii.add(radius)
        points.append((x, y))
    (radius,) = radii
    ways = [(x, height - y) for x, y in points]
    centres = []
    for (x1, y1), (x2, y2) in pairwise(ways):
        # counter-clockwise on the page, less than half a turn: the centre is to the left of the chord
        half = hypot(x2 - x1, y2 - y1) / 2
        reach = (radius**2 - half**2) ** 0.5 / (2 * half)
        centres.append(((x1 + x2) / 2 - reach * (y2 - y1), (y1 + y2) / 2 + reach * (x2 - x1)))
    centre = sum(x for x, _ in centres) / len(centres), sum(y for _, y in centres) / len(centres)
    assert all(hypot(x - centre[0], y - centre[1]) < 0.01 for x, y in centres)
    return _through(centre, radius, ways)


def pdf_shapes(paths: Sequence[PdfPath], shift: Point = (0, 0)) -> list[Shape]:
    """Return paths of a PDF page, moved, where curves are parts of circles."""
    found: list[Shape] = []
    for path in paths:
        points = [(x + shift[0], y + shift[1]) for x, y in path.points]
        curves = [piece for word, piece in path.pieces if word == "c"]
        if not curves:
            closed = any(word == "h" for word, _ in path.pieces)
            found.append(Chain((*points, *points[:1]) if closed else tuple(points)))
            continue
        middles = [
            tuple((a[way] + 3 * b[way] + 3 * c[way] + d[way]) / 8 + shift[way] for way in (0, 1))
            for a, (b, c, d) in zip(path.points, curves, strict=False)
        ]
        centre, radius = _circle(points[0], (middles[0][0], middles[0][1]), points[1])
        assert all(abs(hypot(x - centre[0], y - centre[1]) - radius) < 0.005 for x, y in (*points, *middles))
        found.append(_through(centre, radius, points))
    return found


def _circle(a: Point, b: Point, c: Point) -> tuple[Point, float]:
    """Return centre and radius of the circle through three points."""
    (ax, ay), (bx, by), (cx, cy) = a, b, c
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    aa, bb, cc = ax**2 + ay**2, bx**2 + by**2, cx**2 + cy**2
    x = (aa * (by - cy) + bb * (cy - ay) + cc * (ay - by)) / d
    y = (aa * (cx - bx) + bb * (ax - cx) + cc * (bx - ax)) / d
    return (x, y), hypot(ax - x, ay - y)


def _through(centre: Point, radius: float, points: Sequence[Point]) -> Round:
    """Return the arc around a centre that runs counter-clockwise through points less than half a turn apart."""
    turns = [degrees(atan2(y - centre[1], x - centre[0])) for x, y in points]
    return Round(centre, radius, turns[0], sum((b - a) % 360 for a, b in pairwise(turns)))


def read_dxf(document: bytes) -> Drawing:
    """Return a drawing as its library reads it."""
    return read(StringIO(document.decode("utf-8")))


def dxf_shapes(drawing: Drawing, scale: float = 1.0) -> list[Shape]:
    """Return the lines of a drawing in its order, in millimetres on a sheet of a scale."""
    return [shape for entity in drawing.modelspace() for shape in _dxf_shape(entity, scale)]


def _dxf_shape(entity: object, scale: float) -> Iterator[Shape]:
    match entity:
        case Line():
            yield Chain(tuple((end.x * scale, end.y * scale) for end in (entity.dxf.start, entity.dxf.end)))
        case LWPolyline():
            points = [(x * scale, y * scale) for x, y in entity.get_points("xy")]
            yield Chain((*points, *points[:1]) if entity.closed else tuple(points))
        case Arc():
            span = (entity.dxf.end_angle - entity.dxf.start_angle) % 360
            centre = entity.dxf.center.x * scale, entity.dxf.center.y * scale
            yield Round(centre, entity.dxf.radius * scale, entity.dxf.start_angle, span)
        case Circle():
            centre = entity.dxf.center.x * scale, entity.dxf.center.y * scale
            yield Round(centre, entity.dxf.radius * scale, 0, 360)


def svg_lettering(document: bytes, height_mm: float) -> list[Lettering]:
    """Return the texts of an SVG document, y upward."""
    found = []
    for text in Tree.fromstring(document).iter(f"{SVG}text"):
        x, y = float(text.attrib["x"]), float(text.attrib["y"])
        turn = 0.0
        if "transform" in text.attrib:
            turn, about_x, about_y = map(float, text.attrib["transform"][len("rotate(") : -1].split())
            c, s = cos(radians(turn)), sin(radians(turn))
            dx, dy = x - about_x, y - about_y
            x, y = about_x + c * dx - s * dy, about_y + s * dx + c * dy
        size = float(text.attrib["font-size"]) * CAPITAL_EM
        found.append(Lettering(text.text or "", (x, height_mm - y), size, -turn))
    return found


def dxf_lettering(drawing: Drawing, scale: float = 1.0) -> list[Lettering]:
    """Return the texts of a drawing, in millimetres on a sheet of a scale."""
    found = []
    for text in drawing.modelspace().query("TEXT"):
        assert isinstance(text, Text)
        align, first, second = text.get_placement()
        at = first if second is None else second
        words = align.name
        drop = text.dxf.height * (0.5 if words.startswith("MIDDLE") else 1 if words.startswith("TOP") else 0)
        turn = radians(text.dxf.rotation)
        base = (at.x + drop * sin(turn)) * scale, (at.y - drop * cos(turn)) * scale
        found.append(Lettering(text.plain_text(), base, text.dxf.height * scale, text.dxf.rotation))
    return found
