"""Pages as PDF documents, measured by their own coordinates."""

from __future__ import annotations

import subprocess
import sys
from io import BytesIO

import pytest
from pypdf import PdfReader

from optimizer.drawing.lettering import text_width_mm
from optimizer.drawing.pages import PAPERS, Page, paged
from optimizer.drawing.sheet import Area, Circle, Line, Sheet, Text
from optimizer.render import pdf_bytes
from tests.pdfs import PdfPath, read_pdf
from tests.sheets import HOSTILE, LAYERS, rich_sheet

MAKE = """
from optimizer.drawing.pages import PAPERS, paged
from optimizer.render import pdf_bytes
from tests.sheets import rich_sheet
import sys
sys.stdout.buffer.write(pdf_bytes([*paged(rich_sheet(), PAPERS["A4"]), *paged(rich_sheet(500, 400), PAPERS["A3"])]))
"""


def _pages(*entities: Area | Circle | Line | Text, title: str = "t") -> tuple[Page, ...]:
    return paged(Sheet(title, 100, 60, LAYERS, entities), PAPERS["A4"])


def _lengths(paths: tuple[PdfPath, ...]) -> list[float]:
    """Return the lengths of level lines outside every window."""
    lines = [path.points for path in paths if not path.clips and len(path.points) == 2]
    return [abs(b[0] - a[0]) for a, b in lines if abs(b[1] - a[1]) < 1e-6]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("size", [(100.0, 50.0), (700.0, 500.0)])
def test_the_bars_are_as_long_as_they_say(paper: str, size: tuple[float, float]) -> None:
    """On every page of every paper there is a bar of 50.00 mm and one of 50.80 mm, 2 in, with ticks at both ends."""
    pages = paged(Sheet("t", *size, LAYERS, ()), PAPERS[paper])
    for found in read_pdf(pdf_bytes(pages)):
        lengths = _lengths(found.paths)
        for bar in (50.0, 50.8):
            # cut lines and crosses are level too, none of them as long
            assert [length for length in lengths if abs(length - bar) < 0.1] == [pytest.approx(bar, abs=0.02)]
        uprights = {round(path.points[0][0], 2) for path in found.paths if path.points[0][0] == path.points[-1][0]}
        assert {8.0, 58.0, 58.8} <= uprights


@pytest.mark.parametrize("paper", PAPERS)
def test_pages_are_as_large_as_the_paper(paper: str) -> None:
    """A page is as large as its paper to a hundredth of a millimetre, lying where the drawing is wide."""
    for size in ((100.0, 150.0), (250.0, 100.0)):
        (page,) = read_pdf(pdf_bytes(paged(Sheet("t", *size, (), ()), PAPERS[paper])))
        sides = PAPERS[paper].width_mm, PAPERS[paper].height_mm
        expected = sides if size[1] > size[0] else sides[::-1]
        assert (page.width_mm, page.height_mm) == pytest.approx(expected, abs=0.01)


def test_lines_have_the_width_of_their_pen() -> None:
    """A pen of 0.5 mm draws 0.5 mm, one of 0 nothing; grey ink is lighter than black."""
    (page,) = read_pdf(
        pdf_bytes(_pages(*(Line(name, (0, 1), (10, 1)) for name in ("cut", "thin lines", "words", "dots/marks"))))
    )
    drawn = [(round(path.pen_mm, 4), round(path.lightness, 3)) for path in page.paths if path.clips]
    assert drawn == [(0.5, 0.0), (0.13, 0.353), (0.2, 1.0)]  # 0.353 = 90/255


def test_hatching_stays_within_its_outline() -> None:
    """Slanted lines are drawn within a clip along the outline, and cross all of its box."""
    points = ((10.0, 10.0), (50.0, 10.0), (30.0, 40.0))
    pages = _pages(Area("shades", points, "hatch"))
    (page,) = read_pdf(pdf_bytes(pages))
    (hatch,) = [path for path in page.paths if path.clips == 2]
    outline = page.clips[1].points
    for (x, y), point in zip(outline, points, strict=True):
        assert (x, y) == pytest.approx(pages[0].placed(point), abs=0.001)
    rises = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(hatch.points[::2], hatch.points[1::2], strict=True)]
    assert all(right == pytest.approx(up, abs=0.001) for right, up in rises)
    # across the lines the box of 40 x 30 mm is (40 + 30)/sqrt(2) = 49.5 mm wide: 24.7 spaces of 2 mm
    assert 25 <= len(rises) <= 27


def test_the_face_is_in_the_document() -> None:
    """DejaVu Sans is embedded as a subset, and no other face is named."""
    document = pdf_bytes(_pages(Text("words", (1, 1), "Größe Ø", 3)))
    (page,) = PdfReader(BytesIO(document)).pages
    fonts = page["/Resources"]["/Font"].values()  # type: ignore[index]  # an entry may be anything, this one is a table
    faces = [font.get_object() for font in fonts]
    assert faces
    assert all(face["/BaseFont"].endswith("+DejaVuSans") for face in faces)
    assert all("/FontFile2" in face["/FontDescriptor"] for face in faces)
    assert document.count(b"/BaseFont") == len(faces)


def test_letters_keep_to_the_room_reckoned_for_them() -> None:
    """Words set in the face are no wider than the room that drawings keep for them."""
    words = ("measure before cutting: print at 100 %", "Ø 114.30 × 17.7", '4 1/2" (4.500)', "WWMM@%&", "Ünïcödé fijlrt")
    (page,) = read_pdf(pdf_bytes(_pages(*(Text("words", (0, 0), text, 3) for text in words))))
    for letters in page.letters[: len(words)]:
        assert letters.text in words
        assert letters.end[0] - letters.start[0] <= text_width_mm(letters.text, 3)


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_stay_words(words: str) -> None:
    """Whatever a maker writes can be set; what the face lacks is replaced by a sign that can be seen."""
    document = pdf_bytes(_pages(Text("words", (1, 1), words, 3), title=words))
    (page,) = read_pdf(document)
    shown = "".join(letters.text for letters in page.letters if letters.clips)
    assert len(shown) == len(words)
    for one, other in zip(words, shown, strict=True):
        assert one == other or other in "\ufffd "
    if "木" in words:
        assert "\ufffd" in shown
    assert PdfReader(BytesIO(document)).metadata is not None


def test_many_scripts_at_once() -> None:
    """More than 256 different signs in one document are all set, each as itself."""
    signs = [
        chr(code) for code in (*range(0x21, 0x7F), *range(0xA1, 0x180), *range(0x391, 0x3A2), *range(0x410, 0x450))
    ]
    rows = ["".join(signs[start : start + 40]) for start in range(0, len(signs), 40)]
    (page,) = read_pdf(pdf_bytes(_pages(*(Text("words", (0, 5 * row), text, 2) for row, text in enumerate(rows)))))
    shown = "".join(letters.text for letters in page.letters if letters.clips)
    expected = "".join(
        sign if sign != "\xad" and sign.isprintable() else shown[place] for place, sign in enumerate(signs)
    )
    assert shown == expected


def test_the_document_has_its_title() -> None:
    """The title is the first sheet's, or the one given; no date is that of the day."""
    read = [
        PdfReader(BytesIO(pdf_bytes(_pages(title="Ölmühle <1>"), title))).metadata for title in ("", "All the papers")
    ]
    assert [found and found.title for found in read] == ["Ölmühle <1>", "All the papers"]
    assert read[0] is not None
    assert read[0].creation_date is not None
    assert read[0].creation_date.year == 2000


def test_the_same_bytes_in_another_process() -> None:
    """Processes with different hash seeds write the same bytes, compressed."""
    call = [sys.executable, "-c", MAKE]
    runs = [subprocess.run(call, env={"PYTHONHASHSEED": seed}, capture_output=True, check=True) for seed in ("1", "2")]
    here = pdf_bytes([*paged(rich_sheet(), PAPERS["A4"]), *paged(rich_sheet(500, 400), PAPERS["A3"])])
    assert {run.stdout for run in runs} == {here}
    assert b"/FlateDecode" in here


def test_a_document_needs_a_page() -> None:
    """No pages are refused."""
    with pytest.raises(ValueError, match="needs a page"):
        pdf_bytes(())
