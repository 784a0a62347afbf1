"""What inks, shades and hatching look like, the same in every format."""

from __future__ import annotations

from optimizer.drawing.sheet import Area, Circle, Ink, Shade, Sheet

__all__ = ["HATCH_DEG", "HATCH_MM", "HATCH_PEN_MM", "INKS", "MITRE", "SHADES", "has_hatch"]

INKS: dict[Ink, int] = {"black": 0, "grey": 0x5A, "paper": 255}
"""Lightness of lines and letters, 0 to 255; grey is still 6.9 to 1 against white (WCAG 2.1, relative luminance)."""
SHADES: dict[Shade, int] = {"paper": 255, "pale": 0xE9, "grey": 0x9A, "ink": 0}
"""Lightness of what fills an outline; a shade that is not here is no even one."""
HATCH_MM, HATCH_PEN_MM, HATCH_DEG = 2.0, 0.18, 45.0
"""Distance, width and direction of slanted lines."""
MITRE = 4.0
"""Corners of lines are pointed up to this many widths of the line, the default of SVG 1.1."""


def has_hatch(sheet: Sheet) -> bool:
    """Tell whether anything on a sheet is hatched."""
    return any(isinstance(entity, Area | Circle) and entity.shade == "hatch" for entity in sheet.entities)
