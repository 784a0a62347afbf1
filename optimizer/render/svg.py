"""A sheet as scalable vector graphics, at true size, in black on white."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import cos, radians, sin
from xml.etree import ElementTree as Tree

from optimizer.drawing.lettering import CAPITAL_EM
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Ink, Layer, Line, Point, Polyline, Shade, Sheet, Text

__all__ = ["svg_bytes"]

FILLS: dict[Shade, str] = {
    "none": "none",
    "paper": "white",
    "pale": "#e9e9e9",
    "grey": "#9a9a9a",
    "ink": "black",
    "hatch": "url(#hatch)",
}
GREY = "#5a5a5a"
"""Grey of lines and letters, still 6.9 to 1 against white (WCAG 2.1, relative luminance)."""
INKS: dict[Ink, str] = {"black": "black", "grey": GREY, "paper": "white"}
HATCH_MM = 2.0
"""Distance of slanted lines."""
NOT_XML = re.compile("[^\\t\\n\\r\\x20-\\uD7FF\\uE000-\\uFFFD\\U00010000-\\U0010FFFF]")
"""What a document may not hold (XML 1.0, production 2, Char)."""
ANCHORS = {"left": "start", "middle": "middle", "right": "end"}
SINK = {"base": 0.0, "middle": 0.5, "top": 1.0}
"""How far the base line lies below the point, as a share of a capital's height."""


def svg_bytes(sheet: Sheet) -> bytes:
    """Return the sheet as an SVG document (SVG 1.1), in UTF-8, the same bytes for the same sheet.

    One unit is one millimetre; y, which rises on the sheet, falls in the document. Lettering is text in the reader's
    own face without serifs. The background is white, whatever stands behind. Characters that XML cannot hold are
    replaced.

    Examples
    --------
    >>> sheet = Sheet("Dot", 20, 10, (Layer("dots"),), (Circle("dots", (5, 2.5), 1, "ink"),))
    >>> svg_bytes(sheet).decode().splitlines()[1][:79]
    '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm" viewBox="0 0'
    >>> '<circle cx="5" cy="7.5" r="1" fill="black" />' in svg_bytes(sheet).decode()
    True
    """
    size = {"width": _mm(sheet.width_mm), "height": _mm(sheet.height_mm)}
    root = Tree.Element("svg", {"xmlns": "http://www.w3.org/2000/svg"} | {key: f"{mm}mm" for key, mm in size.items()})
    root.set("viewBox", f"0 0 {size['width']} {size['height']}")
    root.set("role", "img")
    _said(root, "title", sheet.title)
    if sheet.said:
        _said(root, "desc", sheet.said)
    if any(isinstance(entity, Area | Circle) and entity.shade == "hatch" for entity in sheet.entities):
        _add_hatch(root)
    Tree.SubElement(root, "rect", size | {"fill": "white"})
    for layer in sheet.layers:
        group = Tree.SubElement(root, "g", _pen(layer))
        for entity in sheet.on(layer.name):
            group.append(_drawn(entity, sheet.height_mm))
    Tree.indent(root, "")
    document: str = Tree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{document}\n'.encode()


def _drawn(entity: Entity, height_mm: float) -> Tree.Element:
    """Return the element of an entity on a page of a height."""
    match entity:
        case Line():
            return _line(entity, height_mm)
        case Polyline():
            return _polyline(entity, height_mm)
        case Area():
            return _area(entity, height_mm)
        case Circle():
            return _circle(entity, height_mm)
        case Arc():
            return _arc(entity, height_mm)
        case Text():
            return _text(entity, height_mm)


def _line(entity: Line, height_mm: float) -> Tree.Element:
    (x1, y1), (x2, y2) = entity.start, entity.end
    ends = {"x1": x1, "y1": height_mm - y1, "x2": x2, "y2": height_mm - y2}
    return Tree.Element("line", {key: _mm(value) for key, value in ends.items()})


def _polyline(entity: Polyline, height_mm: float) -> Tree.Element:
    kind = "polygon" if entity.closed else "polyline"
    return Tree.Element(kind, {"points": _points(entity.points, height_mm), "fill": "none"})


def _area(entity: Area, height_mm: float) -> Tree.Element:
    return Tree.Element("polygon", {"points": _points(entity.points, height_mm), "fill": FILLS[entity.shade]})


def _circle(entity: Circle, height_mm: float) -> Tree.Element:
    place = {"cx": entity.centre[0], "cy": height_mm - entity.centre[1], "r": entity.radius_mm}
    circle = Tree.Element("circle", {key: _mm(value) for key, value in place.items()} | {"fill": FILLS[entity.shade]})
    if entity.note:
        _said(circle, "title", entity.note)
    return circle


def _arc(entity: Arc, height_mm: float) -> Tree.Element:
    span = (entity.end_deg - entity.start_deg) % 360
    ends = [
        (entity.centre[0] + entity.radius_mm * cos(turn), height_mm - entity.centre[1] - entity.radius_mm * sin(turn))
        for turn in (radians(entity.start_deg), radians(entity.end_deg))
    ]
    radius = _mm(entity.radius_mm)
    (x1, y1), (x2, y2) = ends
    path = f"M {_mm(x1)} {_mm(y1)} A {radius} {radius} 0 {int(span > 180)} 0 {_mm(x2)} {_mm(y2)}"
    return Tree.Element("path", {"d": path, "fill": "none"})


def _text(entity: Text, height_mm: float) -> Tree.Element:
    x, y = entity.at[0], height_mm - entity.at[1]
    sink = SINK[entity.along] * entity.height_mm
    place = {"x": _mm(x), "y": _mm(y + sink)}
    if entity.turn_deg:
        place["transform"] = f"rotate({_mm(-entity.turn_deg)} {_mm(x)} {_mm(y)})"
    size = {"font-size": _mm(entity.height_mm / CAPITAL_EM), "text-anchor": ANCHORS[entity.across]}
    text = Tree.Element("text", place | size | {"stroke": "none"})
    text.text = _clean(entity.text)
    return text


def _pen(layer: Layer) -> dict[str, str]:
    """Return the attributes of a layer's group; letters are filled, not outlined."""
    ink = INKS[layer.ink]
    attributes = {"id": re.sub(r"[^\w-]+", "-", layer.name)}
    if layer.pen_mm:
        attributes |= {"stroke": ink, "stroke-width": _mm(layer.pen_mm)}
    if layer.dashes_mm:
        attributes["stroke-dasharray"] = " ".join(map(_mm, layer.dashes_mm))
    return attributes | {"fill": ink, "font-family": "sans-serif"}


def _add_hatch(root: Tree.Element) -> None:
    """Add the pattern of slanted lines."""
    size = _mm(HATCH_MM)
    defs = Tree.SubElement(root, "defs")
    box = {"id": "hatch", "width": size, "height": size, "patternUnits": "userSpaceOnUse"}
    pattern = Tree.SubElement(defs, "pattern", box | {"patternTransform": "rotate(45)"})
    Tree.SubElement(
        pattern, "line", {"x1": "0", "y1": "0", "x2": "0", "y2": size, "stroke": "black", "stroke-width": "0.25"}
    )


def _said(parent: Tree.Element, tag: str, text: str) -> None:
    Tree.SubElement(parent, tag).text = _clean(text)


def _clean(text: str) -> str:
    """Return a text with what XML cannot hold replaced.

    Examples
    --------
    >>> _clean("a\\x00b")
    'a\N{REPLACEMENT CHARACTER}b'
    """
    return NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text)


def _points(points: Sequence[Point], height_mm: float) -> str:
    return " ".join(f"{_mm(x)},{_mm(height_mm - y)}" for x, y in points)


def _mm(value: float) -> str:
    """Return a figure to a thousandth, without zeros that say nothing.

    Examples
    --------
    >>> _mm(12.5), _mm(-0.0001), _mm(210)
    ('12.5', '0', '210')
    """
    written = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written
