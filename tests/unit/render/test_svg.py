"""Sheets as scalable vector graphics."""

from __future__ import annotations

import subprocess
import sys
from math import log
from xml.etree import ElementTree as Tree

import pytest

from optimizer.drawing import Sheet, speed_chart_sheet
from optimizer.drawing.sheet import Arc, Area, Circle, Layer, Line, Polyline, Text
from optimizer.records.speed_chart import SpeedChart
from optimizer.render import svg_bytes, svg_element
from tests.charts import CHARTS, line
from tests.drawn import Round, svg_shapes
from tests.sheets import HOSTILE, rich_sheet

SVG = "{http://www.w3.org/2000/svg}"
MAKE = """
from optimizer.drawing import speed_chart_sheet
from optimizer.render import svg_bytes
from tests.charts import CHARTS
import sys
sys.stdout.buffer.write(b"".join(svg_bytes(speed_chart_sheet(chart)) for chart in CHARTS.values()))
"""


def _root(sheet: Sheet) -> Tree.Element:
    return Tree.fromstring(svg_bytes(sheet))


def _sheet(*entities: Arc | Area | Circle | Line | Polyline | Text) -> Sheet:
    return Sheet("t", 100, 60, (Layer("cut", 0.5), Layer("quiet", ink="grey", dashes_mm=(2, 1))), entities)


def _only(sheet: Sheet, tag: str) -> dict[str, str]:
    (found,) = _root(sheet).iter(f"{SVG}{tag}")
    return dict(found.attrib)


@pytest.mark.parametrize("name", CHARTS)
def test_every_chart_is_xml_of_its_size(name: str) -> None:
    """A chart parses as XML, one unit a millimetre, with a white background as large as the page."""
    sheet = speed_chart_sheet(CHARTS[name])
    root = _root(sheet)
    assert root.attrib["width"] == "210mm"
    assert float(root.attrib["height"].removesuffix("mm")) == pytest.approx(sheet.height_mm, abs=1e-3)
    assert root.attrib["viewBox"] == f"0 0 210 {root.attrib['height'].removesuffix('mm')}"
    ground = root.find(f"{SVG}rect")
    assert ground is not None
    assert ground.attrib == {"width": "210", "height": root.attrib["height"].removesuffix("mm"), "fill": "white"}


def test_dots_stand_where_the_scale_says() -> None:
    """In the document, dots lie to 0.01 mm where the ends of the plot and the logarithms put them."""
    speeds = [100.0, 137.5, 260.0, 999.0]
    root = _root(speed_chart_sheet(SpeedChart(title="t", lines=(line("1x4", speeds),))))
    dots = [float(dot.attrib["cx"]) for dot in root.iter(f"{SVG}circle")]
    (frame,) = [group for group in root.iter(f"{SVG}g") if group.attrib["id"] == "frame"]
    left, right = float(frame[0].attrib["x1"]), float(frame[0].attrib["x2"])
    # 3 % of the axis is free at either end, so that 94 % of it spans 100 to 999 rpm
    for speed, x in zip(speeds, dots, strict=True):
        place = 0.03 + 0.94 * log(speed / 100) / log(999 / 100)
        assert x == pytest.approx(left + place * (right - left), abs=0.01)


def test_a_makers_words_stay_words() -> None:
    """Signs that mean something in XML are kept as text, in names, in the title, and in what is said."""
    name = "a <b> & \"c\" 'd'"
    root = _root(speed_chart_sheet(SpeedChart(title=name, lines=(line(name, [100, 200]),))))
    assert root.findtext(f"{SVG}title") == name
    assert [text.text for text in root.iter(f"{SVG}text")].count(name) == 2
    assert (root.findtext(f"{SVG}desc") or "").startswith(name)


def test_what_xml_cannot_hold_is_replaced() -> None:
    """Control signs, lone surrogates and non-characters become the replacement character."""
    root = _root(_sheet(Text("cut", (0, 0), "a\x00b\x1bc\ud800d\uffffe", 3)))
    assert root.findtext(f".//{SVG}text") == "a\ufffdb\ufffdc\ufffdd\ufffde"


def test_the_same_bytes_in_another_process() -> None:
    """Processes with different hash seeds write the same bytes."""
    call = [sys.executable, "-c", MAKE]
    runs = [subprocess.run(call, env={"PYTHONHASHSEED": seed}, capture_output=True, check=True) for seed in ("1", "2")]
    assert {run.stdout for run in runs} == {b"".join(svg_bytes(speed_chart_sheet(chart)) for chart in CHARTS.values())}


def test_y_rises_on_the_sheet_and_falls_in_the_document() -> None:
    """A line from 10 to 50 mm up a page of 60 mm runs from 50 to 10 down."""
    found = _only(_sheet(Line("cut", (1, 10), (2.5, 50))), "line")
    assert found == {"x1": "1", "y1": "50", "x2": "2.5", "y2": "10"}


def test_fills_and_strokes() -> None:
    """A closed polyline is an empty polygon; a hatched area is filled by the pattern, which is there then only."""
    points = ((0.0, 0.0), (10.0, 0.0), (10.0, 5.0))
    assert _only(_sheet(Polyline("cut", points)), "polyline") == {"points": "0,60 10,60 10,55", "fill": "none"}
    closed = _sheet(Polyline("cut", points, closed=True))
    assert _only(closed, "polygon") == {"points": "0,60 10,60 10,55", "fill": "none"}
    hatched = _sheet(Area("cut", points, "hatch"))
    assert _only(hatched, "polygon")["fill"] == "url(#hatch)"
    assert _only(hatched, "pattern")["id"] == "hatch"
    assert not list(_root(closed).iter(f"{SVG}pattern"))


def test_layers_are_groups_in_order() -> None:
    """Layers become groups in their order, with pen, ink and dashes."""
    cut, quiet = _root(_sheet()).iter(f"{SVG}g")
    assert cut.attrib == {
        "id": "cut",
        "stroke": "black",
        "stroke-width": "0.5",
        "fill": "black",
        "font-family": "sans-serif",
    }
    assert (quiet.attrib["stroke"], quiet.attrib["stroke-dasharray"]) == ("#5a5a5a", "2 1")


def test_grey_letters_are_readable() -> None:
    """Grey on white has a contrast of at least 4.5 to 1 (WCAG 2.1, success criterion 1.4.3, from memory)."""
    quiet = list(_root(_sheet()).iter(f"{SVG}g"))[1].attrib["fill"]
    share = int(quiet[1:3], 16) / 255
    assert quiet[1:] == quiet[1:3] * 3
    assert 1.05 / (((share + 0.055) / 1.055) ** 2.4 + 0.05) >= 4.5


@pytest.mark.parametrize(("along", "base"), [("base", "40"), ("middle", "43.6"), ("top", "47.2")])
def test_lettering_stands_by_its_capitals(along: str, base: str) -> None:
    """Lettering of 7.2 mm is set in 10 mm type, its base line a whole or half capital below the point."""
    text = Text("cut", (10, 20), "A", 7.2, "right", along)  # type: ignore[arg-type]  # one of the three words
    found = _only(_sheet(text), "text")
    assert found == {"x": "10", "y": base, "font-size": "10", "text-anchor": "end", "stroke": "none"}


def test_turned_lettering_turns_about_its_point() -> None:
    """A counter-clockwise turn on the sheet is a negative one in the document, about the text's point."""
    found = _only(_sheet(Text("cut", (10, 20), "A", 7.2, along="middle", turn_deg=90)), "text")
    assert found["transform"] == "rotate(-90 10 40)"


def test_a_note_is_there_without_being_drawn() -> None:
    """What a dot stands for is its title, which readers show or speak."""
    root = _root(_sheet(Circle("cut", (1, 1), 1, "ink", "2x4: 200 rpm")))
    assert root.findtext(f".//{SVG}circle/{SVG}title") == "2x4: 200 rpm"


@pytest.mark.parametrize(
    ("start", "end", "span"),
    [(0, 90, 90), (350, 10, 20), (10, 350, 340), (0, 180, 180), (90, 269.99, 179.99), (-90, 270, 360), (720, 725, 5)],
)
def test_arcs_run_counter_clockwise_from_end_to_end(start: float, end: float, span: float) -> None:
    """Worked out from its path, an arc has its centre, radius, ends and turn, also at half and full turns."""
    (found,) = svg_shapes(svg_bytes(_sheet(Arc("cut", (40, 30), 25, start, end))), 60)
    assert isinstance(found, Round)
    assert found.centre == pytest.approx((40, 30), abs=0.01)
    assert found.radius == pytest.approx(25, abs=0.001)
    assert found.span_deg == pytest.approx(span, abs=0.01)
    assert (found.start_deg - start + 180) % 360 - 180 == pytest.approx(0, abs=0.01)


def test_hatching_is_not_cut_in_half() -> None:
    """The line of the pattern lies inside its strip, as what reaches over the strip's edge is not drawn."""
    sheet = _sheet(Area("cut", ((0, 0), (10, 0), (10, 5)), "hatch"))
    found = _only(sheet, "line")
    strip = float(_only(sheet, "pattern")["width"])
    half = float(found["stroke-width"]) / 2
    assert half <= float(found["x1"]) == float(found["x2"]) <= strip - half


def test_an_element_is_the_same_drawing() -> None:
    """As a part of a page the drawing has the same shapes and words at the same places."""
    sheet = rich_sheet()
    element = svg_element(sheet, "machine-")
    assert svg_shapes(element.encode(), sheet.height_mm) == svg_shapes(svg_bytes(sheet), sheet.height_mm)
    root = Tree.fromstring(element)
    assert [text.text for text in root.iter(f"{SVG}text")] == [text.text for text in _root(sheet).iter(f"{SVG}text")]
    assert not element.startswith("<?xml")
    assert "width" not in root.attrib
    assert (root.attrib["viewBox"], root.attrib["role"]) == ("0 0 160 120", "img")


def test_an_element_names_everything_after_its_prefix() -> None:
    """All ids begin with the prefix, what is referred to is there, title and description are what it is labelled by."""
    root = Tree.fromstring(svg_element(rich_sheet(), "machine-"))
    ids = [one.attrib["id"] for one in root.iter() if "id" in one.attrib]
    assert len(set(ids)) == len(ids)
    assert all(name.startswith("machine-") for name in ids)
    fills = {one.attrib["fill"] for one in root.iter() if one.attrib.get("fill", "").startswith("url")}
    assert fills == {"url(#machine-hatch)"}
    labels = {one.attrib["id"]: one.text for one in root if one.tag in (f"{SVG}title", f"{SVG}desc")}
    assert root.attrib["aria-labelledby"].split() == [*labels]
    assert [*labels.values()] == ["A rich sheet", "All there is."]
    groups = [group.attrib["class"] for group in root.iter(f"{SVG}g")]
    assert groups == ["layer-shades", "layer-cut", "layer-thin-lines", "layer-dots-marks", "layer-words"]


def test_an_element_can_be_drawn_dark() -> None:
    """Every colour of an element is a custom property of the page with its colour on paper in reserve."""
    root = Tree.fromstring(svg_element(rich_sheet()))
    colours = {one.attrib[key] for one in root.iter() for key in ("fill", "stroke") if key in one.attrib}
    assert colours == {
        "none",
        "url(#hatch)",
        "var(--ink, black)",
        "var(--paper, white)",
        "var(--grey, #5a5a5a)",
        "var(--pale, #e9e9e9)",
        "var(--mid, #9a9a9a)",
    }


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_stay_words_in_an_element(words: str) -> None:
    """Markup in titles, notes and texts is text; no element or attribute comes of it."""
    sheet = Sheet(
        words, 100, 60, (Layer("cut"),), (Text("cut", (0, 0), words, 3), Circle("cut", (9, 9), 1, note=words))
    )
    root = Tree.fromstring(svg_element(sheet))
    assert {one.tag.removeprefix(SVG) for one in root.iter()} <= {"svg", "title", "rect", "g", "text", "circle"}
    for told in (
        root.findtext(f"{SVG}title"),
        root.findtext(f".//{SVG}text"),
        root.findtext(f".//{SVG}circle/{SVG}title"),
    ):
        assert ("</text><script>alert(1)</script>" in (told or "")) == ("<script>" in words)
