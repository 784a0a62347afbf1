"""A sheet as scalable vector graphics: a document at true size in black on white, or a part of a web page."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from xml.etree import ElementTree as Tree

from optimizer.drawing.lettering import CAPITAL_EM
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Ink, Layer, Line, Point, Polyline, Shade, Sheet, Text
from optimizer.render.curves import turns_deg
from optimizer.render.inks import HATCH_DEG, HATCH_MM, HATCH_PEN_MM, INKS, SHADES, has_hatch
from optimizer.render.signs import REPLACED, distinct_names

__all__ = ["svg_bytes", "svg_element"]

NOT_XML = re.compile("[^\\t\\n\\r\\x20-\\uD7FF\\uE000-\\uFFFD\\U00010000-\\U0010FFFF]")
"""What a document may not hold (XML 1.0, production 2, Char)."""
NOT_NAMED = r"[^\w-]+"
"""What names of layers do not hold here."""
ANCHORS = {"left": "start", "middle": "middle", "right": "end"}
SINK = {"base": 0.0, "middle": 0.5, "top": 1.0}
"""How far the base line lies below the point, as a share of a capital's height."""
MOST_DEG = 90.0
"""Longest part of an arc."""


@dataclass(frozen=True, slots=True)
class _Look:
    """How a sheet's inks and shades are written, with what goes before its names."""

    inks: dict[Ink, str]
    shades: dict[Shade, str]
    prefix: str = ""
    """What ids begin with."""
    classes: bool = False
    """Whether layers have a class."""

    def named(self, name: str) -> dict[str, str]:
        """Return what tells a layer from others."""
        return {"id": f"{self.prefix}{name}"} | ({"class": f"layer-{name}"} if self.classes else {})

    def fill(self, shade: Shade) -> str:
        """Return what fills an outline."""
        if shade == "hatch":
            return f"url(#{self.prefix}hatch)"
        return self.shades.get(shade, "none")


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
    look = _Look(
        {ink: _colour(lightness) for ink, lightness in INKS.items()},
        {shade: _colour(lightness) for shade, lightness in SHADES.items()},
    )
    size = {"width": f"{_mm(sheet.width_mm)}mm", "height": f"{_mm(sheet.height_mm)}mm"}
    root = Tree.Element("svg", {"xmlns": "http://www.w3.org/2000/svg"} | size | _view(sheet))
    _said(root, "title", sheet.title)
    if sheet.said:
        _said(root, "desc", sheet.said)
    _add_drawing(root, sheet, look)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{_written(root)}\n'.encode()


def svg_element(sheet: Sheet, prefix: str = "") -> str:
    """Return the same drawing as an ``svg`` element for a web page, as wide as the page lets it be.

    Layers are groups of the class ``layer-<name>``. Ink, paper and shades are the custom properties ``--ink``,
    ``--paper``, ``--grey`` for lines and letters, ``--pale`` and ``--mid`` for what fills outlines, so that a page can
    draw it dark; where they are not set it is black on white.

    Parameters
    ----------
    sheet
        The drawing.
    prefix
        What all ids begin with, so that several drawings can be in one page.

    Examples
    --------
    >>> sheet = Sheet("Dot", 20, 10, (Layer("dots"),), (Circle("dots", (5, 2.5), 1, "ink"),))
    >>> for line in svg_element(sheet, "a-").splitlines()[:3]:
    ...     print(line)
    <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 10" role="img" aria-labelledby="a-title">
    <title id="a-title">Dot</title>
    <rect width="20" height="10" fill="var(--paper, white)" />
    """
    inks: dict[Ink, str] = {"black": "ink", "grey": "grey", "paper": "paper"}
    shades: dict[Shade, str] = {"paper": "paper", "pale": "pale", "grey": "mid", "ink": "ink"}
    look = _Look(
        {key: f"var(--{name}, {_colour(INKS[key])})" for key, name in inks.items()},
        {key: f"var(--{name}, {_colour(SHADES[key])})" for key, name in shades.items()},
        prefix,
        classes=True,
    )
    root = Tree.Element("svg", {"xmlns": "http://www.w3.org/2000/svg"} | _view(sheet))
    said = {"title": sheet.title} | ({"desc": sheet.said} if sheet.said else {})
    root.set("aria-labelledby", " ".join(f"{prefix}{tag}" for tag in said))
    for tag, text in said.items():
        _said(root, tag, text).set("id", f"{prefix}{tag}")
    _add_drawing(root, sheet, look)
    return _written(root)


def _add_drawing(root: Tree.Element, sheet: Sheet, look: _Look) -> None:
    """Add background and layers."""
    if has_hatch(sheet):
        _add_hatch(root, look)
    size = {"width": _mm(sheet.width_mm), "height": _mm(sheet.height_mm)}
    Tree.SubElement(root, "rect", size | {"fill": look.fill("paper")})
    names = distinct_names((layer.name for layer in sheet.layers), NOT_NAMED)
    for layer in sheet.layers:
        group = Tree.SubElement(root, "g", look.named(names[layer.name]) | _pen(layer, look))
        for entity in sheet.on(layer.name):
            group.append(_drawn(entity, sheet.height_mm, look))


def _drawn(entity: Entity, height_mm: float, look: _Look) -> Tree.Element:
    """Return the element of an entity on a page of a height."""
    match entity:
        case Line():
            return _line(entity, height_mm)
        case Polyline():
            return _polyline(entity, height_mm)
        case Area():
            points = _points(entity.points, height_mm)
            return Tree.Element("polygon", {"points": points, "fill": look.fill(entity.shade)})
        case Circle():
            return _circle(entity, height_mm, look.fill(entity.shade))
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


def _circle(entity: Circle, height_mm: float, fill: str) -> Tree.Element:
    place = {"cx": entity.centre[0], "cy": height_mm - entity.centre[1], "r": entity.radius_mm}
    circle = Tree.Element("circle", {key: _mm(value) for key, value in place.items()} | {"fill": fill})
    if entity.note:
        _said(circle, "title", entity.note)
    return circle


def _arc(entity: Arc, height_mm: float) -> Tree.Element:
    """Return the path of an arc, in parts: ends to a thousandth do not say where the middle of half a turn is."""
    (x, y), radius = entity.centre, entity.radius_mm
    turns = [radians(turn) for turn in turns_deg(entity, MOST_DEG)]
    places = [(_mm(x + radius * cos(turn)), _mm(height_mm - y - radius * sin(turn))) for turn in turns]
    curves = "".join(f" A {_mm(radius)} {_mm(radius)} 0 0 0 {right} {down}" for right, down in places[1:])
    return Tree.Element("path", {"d": f"M {places[0][0]} {places[0][1]}{curves}", "fill": "none"})


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


def _pen(layer: Layer, look: _Look) -> dict[str, str]:
    """Return the attributes of a layer's group; letters are filled, not outlined."""
    ink = look.inks[layer.ink]
    attributes = {}
    if layer.pen_mm:
        attributes = {"stroke": ink, "stroke-width": _mm(layer.pen_mm)}
    if layer.dashes_mm:
        attributes["stroke-dasharray"] = " ".join(map(_mm, layer.dashes_mm))
    return attributes | {"fill": ink, "font-family": "sans-serif"}


def _add_hatch(root: Tree.Element, look: _Look) -> None:
    """Add the pattern of slanted lines, each in the middle of its strip, as strips are cut at their edges."""
    size, middle = _mm(HATCH_MM), _mm(HATCH_MM / 2)
    defs = Tree.SubElement(root, "defs")
    box = {"id": f"{look.prefix}hatch", "width": size, "height": size, "patternUnits": "userSpaceOnUse"}
    pattern = Tree.SubElement(defs, "pattern", box | {"patternTransform": f"rotate({_mm(HATCH_DEG)})"})
    ends = {"x1": middle, "y1": "0", "x2": middle, "y2": size}
    Tree.SubElement(pattern, "line", ends | {"stroke": look.inks["black"], "stroke-width": _mm(HATCH_PEN_MM)})


def _view(sheet: Sheet) -> dict[str, str]:
    return {"viewBox": f"0 0 {_mm(sheet.width_mm)} {_mm(sheet.height_mm)}", "role": "img"}


def _written(root: Tree.Element) -> str:
    Tree.indent(root, "")
    written: str = Tree.tostring(root, encoding="unicode")
    return written


def _said(parent: Tree.Element, tag: str, text: str) -> Tree.Element:
    element = Tree.SubElement(parent, tag)
    element.text = _clean(text)
    return element


def _clean(text: str) -> str:
    """Return a text with what XML cannot hold replaced.

    Examples
    --------
    >>> _clean("a\\x00b")
    'a\N{REPLACEMENT CHARACTER}b'
    """
    return NOT_XML.sub(REPLACED, text)


def _points(points: Sequence[Point], height_mm: float) -> str:
    return " ".join(f"{_mm(x)},{_mm(height_mm - y)}" for x, y in points)


def _colour(lightness: int) -> str:
    """Return a grey as documents write it.

    Examples
    --------
    >>> [_colour(grey) for grey in (0, 90, 255)]
    ['black', '#5a5a5a', 'white']
    """
    return {0: "black", 255: "white"}.get(lightness, f"#{3 * f'{lightness:02x}'}")


def _mm(value: float) -> str:
    """Return a figure to a thousandth, without zeros that say nothing.

    Examples
    --------
    >>> _mm(12.5), _mm(-0.0001), _mm(210)
    ('12.5', '0', '210')
    """
    written = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written
