"""A sheet as a DXF drawing, at the true size of what is drawn."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from optimizer.drawing.sheet import Sheet

__all__ = ["dxf_bytes"]

CACHE = "XDG_CACHE_HOME"
"""Variable of the environment that says where programs keep what they can make again."""
EMPTY = '{"version": 2, "font-faces": []}'
"""A list of no fonts; were its form another one some day, fonts would be read, still without a trace."""


def dxf_bytes(sheet: Sheet) -> bytes:
    """Return the sheet as a DXF drawing (R2010), the same bytes for the same sheet.

    Its unit is the millimetre, and its sizes are those of what is drawn: places on the sheet over its scale. Every
    layer of the sheet is a layer of the drawing, in the same order, with its width of line and its dashes. Shades are
    hatches; paper, which hides what lies below it, is left out, as a plotter or a cutter cannot draw it.

    Raises
    ------
    RuntimeError
        The drawing does not stand up to the library's own audit.
    """
    with _without_fonts():
        # its library takes a third of a second, which only a command that writes drawings is to spend
        from optimizer.render.dxf_drawing import drawing_of, written

    return written(drawing_of(sheet))


@contextmanager
def _without_fonts() -> Iterator[None]:
    """Keep the library, while it is loaded, from reading the machine's fonts and from writing a list of them.

    It does both unless it finds its list, so it is shown an empty one; nothing here asks it how wide letters are.
    """
    if "ezdxf" in sys.modules:
        yield
        return
    before = os.environ.get(CACHE)
    with TemporaryDirectory() as place:
        folder = Path(place) / "ezdxf"
        folder.mkdir()
        (folder / "font_manager_cache.json").write_text(EMPTY)
        os.environ[CACHE] = place
        try:
            yield
        finally:
            if before is None:
                del os.environ[CACHE]
            else:
                os.environ[CACHE] = before
