"""A drawing with the words below it, in a frame that scrolls where the page is too narrow."""

from __future__ import annotations

from optimizer.drawing import Sheet
from optimizer.papers.markup import Markup, inside, tag
from optimizer.render import svg_element

__all__ = ["drawn"]


def drawn(sheet: Sheet, prefix: str, name: str, caption: str) -> Markup:
    """Return a sheet as a figure, which is printed at its true size.

    Parameters
    ----------
    sheet
        The drawing.
    prefix
        What all names of places in it begin with.
    name
        Name of its frame, which the keyboard can scroll.
    caption
        What stands below it.
    """
    frame = tag(
        "div",
        Markup(svg_element(sheet, prefix)),
        class_="drawing",
        role="group",
        aria_label=name,
        tabindex="0",
        style=f"--wide: {sheet.width_mm:g}mm",
    )
    return inside("figure", [frame, tag("figcaption", caption)])
