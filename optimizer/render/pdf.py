"""Pages as a PDF document, at true size, with its face inside."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from optimizer.render.signs import printable

if TYPE_CHECKING:
    from optimizer.drawing.pages import Page

__all__ = ["pdf_bytes"]


def pdf_bytes(pages: Sequence[Page], title: str = "") -> bytes:
    """Return a document of pages, the same bytes for the same pages.

    One unit of its drawings is a millimetre, with six figures behind the point; all that is outside a page's window is
    clipped. Lettering is set in DejaVu Sans, of which the letters used are in the document; a sign that the face lacks
    is replaced. There are no dates but the fixed one that the library writes.

    Parameters
    ----------
    pages
        The pages, in order, of any size.
    title
        The document's title; where empty that of the first page's sheet.

    Raises
    ------
    ValueError
        There are no pages.
    """
    if not pages:
        raise ValueError("a document needs a page")
    # its library takes a tenth of a second, which only a command that writes documents is to spend
    from optimizer.render.pdf_page import canvas, draw_page

    out = BytesIO()
    document = canvas(out, printable(title or pages[0].sheet.title))
    for page in pages:
        draw_page(document, page)
    document.save()
    return out.getvalue()
