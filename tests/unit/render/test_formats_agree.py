"""The same sheet in all formats: SVG, PDF and DXF agree to 0.01 mm."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, hypot, radians, sin

import pytest

from optimizer.drawing.pages import PAPERS, paged
from optimizer.drawing.sheet import Text
from optimizer.render import dxf_bytes, pdf_bytes, svg_bytes
from tests.drawn import (
    Chain,
    Lettering,
    Round,
    dxf_lettering,
    dxf_shapes,
    pdf_shapes,
    read_dxf,
    svg_lettering,
    svg_shapes,
)
from tests.pdfs import PdfPage, read_pdf
from tests.sheets import rich_sheet

AGREE_MM = 0.01
"""What the formats are to agree to."""
SIZES = {"one page": (160.0, 120.0, 1.0), "half size": (160.0, 120.0, 0.5), "tiles": (400.0, 500.0, 0.2)}
Shape = Chain | Round


def _same(first: Sequence[Shape], second: Sequence[Shape]) -> None:
    """Hold shapes against each other, in order, by the places they run through."""
    assert len(first) == len(second)
    for one, other in zip(first, second, strict=True):
        assert type(one) is type(other)
        ends, others = (shape.points if isinstance(shape, Chain) else shape.ends for shape in (one, other))
        assert len(ends) == len(others)
        for (x, y), (u, v) in zip(ends, others, strict=True):
            assert hypot(x - u, y - v) < AGREE_MM
        if isinstance(one, Round) and isinstance(other, Round):
            assert abs(one.radius - other.radius) < AGREE_MM
            assert hypot(one.centre[0] - other.centre[0], one.centre[1] - other.centre[1]) < AGREE_MM


@pytest.mark.parametrize("size", SIZES)
def test_svg_draws_what_dxf_draws(size: str) -> None:
    """Every line, polyline, circle and arc is in both, in one order, at the same place."""
    sheet = rich_sheet(*SIZES[size])
    shapes = svg_shapes(svg_bytes(sheet), sheet.height_mm)
    assert len(shapes) == 13
    assert sum(isinstance(shape, Round) for shape in shapes) == 7
    _same(shapes, dxf_shapes(read_dxf(dxf_bytes(sheet)), sheet.scale))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("size", SIZES)
def test_every_pdf_page_draws_what_svg_draws(size: str, paper: str) -> None:
    """On every page, whole or tile, what the window alone clips lies where the SVG has it, moved to its place."""
    sheet = rich_sheet(*SIZES[size])
    pages = paged(sheet, PAPERS[paper])
    assert (len(pages) > 1) == (size == "tiles")
    shapes = svg_shapes(svg_bytes(sheet), sheet.height_mm)
    for page, found in zip(pages, read_pdf(pdf_bytes(pages)), strict=True):
        back = page.window.left - page.at[0], page.window.low - page.at[1]
        strokes = [path for path in found.paths if path.clips == 1 and path.painted == "stroke"]
        _same(pdf_shapes(strokes, back), shapes)
        window = found.clips[0].points
        corner = page.at[0] + page.window.width, page.at[1] + page.window.height
        assert min(window) == pytest.approx(page.at, abs=AGREE_MM)
        assert max(window) == pytest.approx(corner, abs=AGREE_MM)


def _pdf_lettering(page: PdfPage, texts: Sequence[Text], back: tuple[float, float]) -> list[Lettering]:
    """Return the letters within a page's window with the point that the sheet's text names."""
    found = []
    for letters, text in zip([one for one in page.letters if one.clips], texts, strict=True):
        share = {"left": 0.0, "middle": 0.5, "right": 1.0}[text.across]
        x, y = (a + share * (b - a) for a, b in zip(letters.start, letters.end, strict=True))
        length = hypot(letters.end[0] - letters.start[0], letters.end[1] - letters.start[1])
        assert (letters.end[0] - letters.start[0]) / length == pytest.approx(cos(radians(text.turn_deg)), abs=1e-4)
        assert (letters.end[1] - letters.start[1]) / length == pytest.approx(sin(radians(text.turn_deg)), abs=1e-4)
        found.append(Lettering(letters.text, (x + back[0], y + back[1]), letters.size_mm * 0.72, text.turn_deg))
    return found


@pytest.mark.parametrize("size", SIZES)
def test_lettering_stands_at_one_place(size: str) -> None:
    """The base line of every text passes its place in all three formats, at one height and one turn."""
    sheet = rich_sheet(*SIZES[size])
    svg = svg_lettering(svg_bytes(sheet), sheet.height_mm)
    dxf = dxf_lettering(read_dxf(dxf_bytes(sheet)), sheet.scale)
    texts = [entity for layer in sheet.layers for entity in sheet.on(layer.name) if isinstance(entity, Text)]
    assert len(svg) == len(texts) == 5
    pages = paged(sheet, PAPERS["A4"])
    pdfs = [
        _pdf_lettering(found, texts, (page.window.left - page.at[0], page.window.low - page.at[1]))
        for page, found in zip(pages, read_pdf(pdf_bytes(pages)), strict=True)
    ]
    for other in (dxf, *pdfs):
        for one, two in zip(svg, other, strict=True):
            assert one.text == two.text
            assert one.at == pytest.approx(two.at, abs=AGREE_MM)
            assert one.capital_mm == pytest.approx(two.capital_mm, abs=AGREE_MM)
            assert one.turn_deg == pytest.approx(two.turn_deg, abs=0.001)
