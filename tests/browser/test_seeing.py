"""The design sheet at three widths, light and dark, with and without script, judged by axe-core."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from optimizer.documents.design_sheet import lists_html
from tests.browser.chromium import opened
from tests.browser.jobs import LISTS
from tests.sampled import EVERYTHING

WIDTHS = (360, 800, 1400)
AXE = files("axe_core_python").joinpath("axe.min.js")
GRAVE = ("serious", "critical")


def _grave(page: Page) -> list[str]:
    """Return what axe-core finds that is serious or critical."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found: dict[str, Any] = page.evaluate("axe.run({resultTypes: ['violations']})")
    assert len(found["passes"]) > 20
    return [
        f"{fault['id']}: {node['html'][:200]} {node['failureSummary']}"
        for fault in found["violations"]
        for node in fault["nodes"]
        if fault["impact"] in GRAVE
    ]


def _beyond(page: Page) -> list[str]:
    """Return elements that reach past the right edge of the page, but for what stands in a frame that scrolls."""
    found: list[str] = page.evaluate(
        """() => [...document.querySelectorAll('body *')]
            .filter((one) => !one.closest('.wide, .drawing, .aloud, .skip'))
            .filter((one) => one.getBoundingClientRect().right > document.documentElement.clientWidth + 0.5)
            .map((one) => one.outerHTML.slice(0, 120))"""
    )
    return found


@pytest.mark.parametrize(
    ("machine", "scheme"), [("polishing-head", "light"), *([("bench-shaper", "dark")] if EVERYTHING else [])]
)
def test_axe_finds_nothing_grave(machine: str, scheme: Any, browser: Browser, sheets: dict[str, Path]) -> None:
    """No serious or critical fault, in either scheme, contrast included."""
    with opened(browser, sheets[machine], color_scheme=scheme) as (page, *_):
        assert _grave(page) == []


@pytest.mark.parametrize("scheme", ["dark"])
def test_axe_finds_nothing_grave_without_script(
    scheme: Any, browser: Browser, sheets: dict[str, Path], tmp_path: Path
) -> None:
    """The same holds for the page as it is without its script, which is taken out so that axe itself can run."""
    bare = tmp_path / "bare.html"
    text = sheets["grindstone"].read_text(encoding="utf-8")
    bare.write_text(re.sub("<script>.*?</script>", "", text, flags=re.DOTALL), encoding="utf-8")
    with opened(browser, bare, color_scheme=scheme) as (page, *_):
        assert page.locator("article.speed:visible").count() == page.locator("article.speed").count() > 1
        assert _grave(page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_grave_on_a_page_of_lists(scheme: Any, browser: Browser, tmp_path: Path) -> None:
    """Pages of lists are as sound as the sheet, on a phone too."""
    file = tmp_path / "lists.html"
    file.write_bytes(lists_html("Cut list", LISTS, ("Guards first.",)))
    with opened(browser, file, color_scheme=scheme, viewport={"width": 360, "height": 740}) as (page, said, asked):
        assert _grave(page) == []
        assert _beyond(page) == []
        assert said == []
        assert asked == [file.as_uri()]


@pytest.mark.parametrize(("machine", "width"), [*(("bench-shaper", w) for w in WIDTHS), ("polishing-head", 360)])
def test_no_width_makes_the_page_scroll_sideways(
    machine: str, width: int, browser: Browser, sheets: dict[str, Path]
) -> None:
    """At 360, 800, 1400 px nothing passes the edge; what is too wide scrolls in a frame that the keyboard reaches."""
    with opened(browser, sheets[machine], viewport={"width": width, "height": 900}) as (page, *_):
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert _beyond(page) == []
        frames = page.locator(".wide, .drawing").evaluate_all(
            "all => all.map(one => [one.scrollWidth > one.clientWidth, one.tabIndex])"
        )
        assert frames
        assert all((stop == 0) == scrolls for scrolls, stop in frames if scrolls or stop == 0)


def test_a_wide_table_scrolls_by_keyboard(browser: Browser, sheets: dict[str, Path]) -> None:
    """On a phone the arrow keys move a wide table that has the focus."""
    with opened(browser, sheets["bench-shaper"], viewport={"width": 360, "height": 740}) as (page, *_):
        frame = page.locator("#checks .wide").first
        frame.focus()
        page.keyboard.press("ArrowRight")
        page.wait_for_function("document.activeElement.scrollLeft > 0")


def test_focus_can_be_seen(browser: Browser, sheets: dict[str, Path]) -> None:
    """Every stop of the keyboard is outlined, the choice of speeds included."""
    with opened(browser, sheets["polishing-head"]) as (page, *_):
        stops = 0
        page.keyboard.press("Tab")
        while page.evaluate("document.activeElement !== document.body"):
            stops += 1
            outlined = page.evaluate(
                """() => [document.activeElement, document.activeElement.nextElementSibling].filter(Boolean)
                    .some((one) => getComputedStyle(one).outlineStyle === 'solid'
                        && parseFloat(getComputedStyle(one).outlineWidth) >= 2)"""
            )
            assert outlined, page.evaluate("document.activeElement.outerHTML.slice(0, 100)")
            page.keyboard.press("Tab")
        assert stops > 15


def test_targets_are_large_enough_for_a_thumb(browser: Browser, sheets: dict[str, Path]) -> None:
    """On a phone every choice is at least 44 px each way (WCAG 2.1, 2.5.5, from memory)."""
    with opened(browser, sheets["bench-shaper"], viewport={"width": 360, "height": 740}) as (page, *_):
        for box in page.locator("input[name=speed]").all():
            size = box.bounding_box()
            assert size is not None
            assert min(size["width"], size["height"]) >= 44
