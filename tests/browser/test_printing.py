"""The design sheet on paper: A4 and Letter, read back from the PDF that the browser makes."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from playwright.sync_api import Browser
from pypdf import PageObject, PdfReader

from tests.browser.chromium import opened
from tests.jobs import job
from tests.sampled import EVERYTHING

PAPERS = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}
"""Sizes in points: ISO 216, 210 x 297 mm; 8.5 x 11 in."""
MACHINES = {"A4": "bench-shaper", "Letter": "bench-shaper" if EVERYTHING else "grindstone"}
"""Two stages in inches; one stage, of which less is to be read."""
PRINTED_PX = {"A4": (210 - 24) * 96 / 25.4, "Letter": 8.5 * 96 - 24 * 96 / 25.4}
"""Width between the margins of 12 mm, 96 px an inch."""


def _packed(text: str) -> str:
    """Return a text without white space, as lines are broken anywhere."""
    return re.sub(r"\s+", "", text)


def _printed(browser: Browser, file: Path, paper: str, **context: Any) -> PdfReader:
    with opened(browser, file, **context) as (page, said, _):
        pdf = page.pdf(format=paper, prefer_css_page_size=False)
        assert said == []
    return PdfReader(BytesIO(pdf))


class Printed(NamedTuple):
    """A page as it is read back."""

    size: tuple[float, float]
    text: str
    places: list[tuple[float, float, str]]
    """Where every piece of text begins."""


@pytest.fixture(scope="module")
def printed(browser: Browser, sheets: dict[str, Path]) -> dict[str, list[Printed]]:
    """A machine's sheet as it is printed on every paper."""
    return {
        paper: [_read(page) for page in _printed(browser, sheets[machine], paper).pages]
        for paper, machine in MACHINES.items()
    }


def _read(page: PageObject) -> Printed:
    places: list[tuple[float, float, str]] = []

    def note(text: str, cm: list[float], tm: list[float], *_: Any) -> None:
        x, y = tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
        if text.strip():
            places.append((x, y, text))

    text = page.extract_text(visitor_text=note)
    return Printed((float(page.mediabox.width), float(page.mediabox.height)), _packed(text), places)


@pytest.mark.parametrize("paper", PAPERS)
def test_everything_is_on_the_printed_pages(paper: str, printed: dict[str, list[Printed]]) -> None:
    """Title and answer are on the first page, every check and caution on some page; all pages have the paper's size."""
    design, pages = job(MACHINES[paper]).design, printed[paper]
    assert 6 <= len(pages) <= 12 + 10 * len(design.machine.stages)
    assert all(page.size == pytest.approx(PAPERS[paper], abs=1) for page in pages)
    assert _packed(design.scenario.title) in pages[0].text
    assert _packed(f"Layout {design.layout.name}") in pages[0].text
    whole = "".join(page.text for page in pages)
    assert [check.name for check in design.checks if _packed(check.name) not in whole] == []
    assert [line for line in design.cautions if _packed(line) not in whole] == []
    assert all(page.text for page in pages)


@pytest.mark.parametrize("paper", PAPERS)
def test_no_lettering_lies_outside_the_page(paper: str, printed: dict[str, list[Printed]]) -> None:
    """Every piece of text begins between the margins of its page."""
    width, height = PAPERS[paper]
    for page in printed[paper]:
        assert page.places
        assert not [at for at in page.places if not (28 < at[0] < width - 28 and 28 < at[1] < height - 28)]


@pytest.mark.parametrize(
    ("machine", "paper"), [("polishing-head", "A4"), ("bench-shaper", "Letter"), ("grindstone", "A4")]
)
def test_nothing_is_cut_off_at_the_side(machine: str, paper: str, browser: Browser, sheets: dict[str, Path]) -> None:
    """As printed, between the margins, no element and no letter reaches past the right edge, tables included."""
    size = {"width": int(PRINTED_PX[paper]), "height": 1000}
    with opened(browser, sheets[machine], viewport=size) as (page, *_):
        page.emulate_media(media="print")
        beyond = page.evaluate(
            """() => [...document.querySelectorAll('body *')]
                .filter((one) => one.getBoundingClientRect().right > innerWidth + 1 && !one.closest('.aloud, .skip'))
                .map((one) => one.outerHTML.slice(0, 120))"""
        )
        assert beyond == []


@pytest.mark.parametrize("machine", ["polishing-head", "bench-shaper"])
def test_drawings_are_printed_at_the_scale_they_name(machine: str, browser: Browser, sheets: dict[str, Path]) -> None:
    """On A4 a drawing is as wide as its sheet of 180 mm, 96 px an inch, and no higher than a page holds."""
    with opened(browser, sheets[machine], viewport={"width": int(PRINTED_PX["A4"]), "height": 1000}) as (page, *_):
        page.emulate_media(media="print")
        drawing = page.locator("article.chosen svg")
        box, view = drawing.bounding_box(), drawing.get_attribute("viewBox")
        assert box is not None
        assert view is not None
        width, height = map(float, view.split()[2:])
        assert (box["width"], width) == pytest.approx((180 * 96 / 25.4, 180), abs=0.1)
        assert box["width"] / width == pytest.approx(box["height"] / height, rel=1e-3)
        assert box["height"] < (279.4 - 30) * 96 / 25.4


def test_the_chosen_speed_is_printed(browser: Browser, sheets: dict[str, Path]) -> None:
    """With script the chosen speed's figures are printed and no other's; without it those of every speed."""
    speeds = job("grindstone").design.machine.speeds
    with opened(browser, sheets["grindstone"]) as (page, *_):
        page.locator("input[name=speed][value='2']").click()
        chosen = PdfReader(BytesIO(page.pdf(format="A4")))
    every = _printed(browser, sheets["grindstone"], "A4", java_script_enabled=False)
    for reader, numbers in ((chosen, {2}), (every, {speed.number for speed in speeds})):
        whole = _packed("".join(page.extract_text() for page in reader.pages))
        heads = {s.number for s in speeds if _packed(f"Speed {s.number}: {s.rpm:.1f} rpm") in whole}
        assert heads == numbers


def test_dark_readers_print_black_on_white(browser: Browser, sheets: dict[str, Path]) -> None:
    """Printing uses the light colours, whatever the screen uses."""
    with opened(browser, sheets["grindstone"], color_scheme="dark") as (page, *_):
        dark = page.evaluate("getComputedStyle(document.body).backgroundColor")
        page.emulate_media(media="print", color_scheme="dark")
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
        assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
        assert dark != "rgb(255, 255, 255)"
