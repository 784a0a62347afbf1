"""A sheet with every kind of entity, worked out by hand, for tests of what is made of sheets."""

from __future__ import annotations

from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Layer, Line, Polyline, Sheet, Text

__all__ = ["HOSTILE", "LAYERS", "rich_sheet"]

HOSTILE = (
    "\x00\x1b[31m\x9b\r\n\ttab",
    "</text><script>alert(1)</script>&amp;\"'",
    "\ud800\uffff\ue000",
    "\u202eright to left\u202c \u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",
    "\u6728\u5de5\u65cb\u76e4 \U0001f600 \U0001d54f",
    "Ü" * 80,
    "%%c %%%%d ^J ^ \\U+0041 \\P {\\H3x;big} <>",
    "(unbalanced \\( parenthesis \\",
    "",
    " ",
)
"""What makers may write into titles, notes and names."""
LAYERS = (
    Layer("shades", 0.0),
    Layer("cut", 0.5),
    Layer("thin lines", 0.13, ink="grey", dashes_mm=(4.0, 1.5)),
    Layer("dots/marks", 0.2, ink="paper", dashes_mm=(0.3,)),
    Layer("words", 0.0),
)


def rich_sheet(width_mm: float = 160.0, height_mm: float = 120.0, scale: float = 1.0) -> Sheet:
    """Return a sheet whose entities spread over all of it."""
    w, h = width_mm, height_mm
    box = ((0.1 * w, 0.1 * h), (0.3 * w, 0.1 * h), (0.3 * w, 0.25 * h), (0.1 * w, 0.25 * h))
    entities: tuple[Entity, ...] = (
        Area("shades", box, "pale"),
        Area("shades", ((0.5 * w, 5), (0.9 * w, 5), (0.7 * w, 0.3 * h)), "hatch"),
        Area("cut", tuple((x + 0.02 * w, y + 0.3 * h) for x, y in box), "grey"),
        Line("cut", (0, 0), (w, h)),
        Line("cut", (12.345, 6.789), (0.75 * w, 0.5 * h)),
        Polyline("cut", ((5, 5), (0.4 * w, 5), (0.4 * w, 0.4 * h))),
        Polyline("cut", ((10, h - 10), (0.3 * w, h - 10), (0.2 * w, 0.7 * h)), closed=True),
        Circle("cut", (0.5 * w, 0.5 * h), 0.3 * h),
        Circle("dots/marks", (0.6 * w, 0.8 * h), 4, "ink", "a note"),
        Circle("dots/marks", (0.7 * w, 0.8 * h), 6, "hatch"),
        Arc("cut", (0.5 * w, 0.5 * h), 0.25 * h, 20, 200),
        Arc("thin lines", (0.5 * w, 0.5 * h), 0.2 * h, 300, 30),
        Arc("thin lines", (0.5 * w, 0.5 * h), 0.15 * h, 10, 359),
        Arc("thin lines", (0.5 * w, 0.5 * h), 0.1 * h, 0, 360),
        Line("thin lines", (0, 0.5 * h), (w, 0.5 * h)),
        Text("words", (0.05 * w, 0.9 * h), "Left at its base line", 3.6),
        Text("words", (0.9 * w, 0.6 * h), 'right Ø 4 1/2" (4.500)', 2.5, "right", "middle"),
        Text("words", (0.5 * w, 0.45 * h), "middle, top", 2.0, "middle", "top"),
        Text("words", (0.85 * w, 0.2 * h), "turned", 3.0, "middle", "middle", 60.0),
        Text("thin lines", (0.1 * w, 0.6 * h), "turned grey", 3.0, "right", "base", -90.0),
    )
    return Sheet("A rich sheet", w, h, LAYERS, entities, scale, "All there is.")
