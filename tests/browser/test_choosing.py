"""Choosing a speed on the design sheet, by mouse, by keyboard, by link, without script."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Dialog, Page

from optimizer.documents.speeds import said_at
from optimizer.pipeline.job import Job
from tests.browser.chromium import opened
from tests.browser.jobs import MACHINES, sheet_file
from tests.jobs import job
from tests.sampled import named
from tests.unit.documents.hostile import HOSTILE


def _shown(page: Page) -> list[str]:
    """Return the names of the speeds that can be seen."""
    names: list[str] = page.locator("article.speed").evaluate_all(
        """all => all.filter(one => one.getBoundingClientRect().height > 0
            && getComputedStyle(one).visibility === 'visible').map(one => one.id)"""
    )
    return names


def _expected(made: Job, number: int) -> tuple[str, list[str], list[tuple[str, str]]]:
    """Return rpm, positions, diameters of a speed, from the record alone."""
    design = made.design
    speed = design.machine.speeds[number - 1]
    size, places = {"mm": (1, 2), "cm": (10, 3), "in": (25.4, 3)}[design.scenario.units]
    pairs = [stage.positions[at - 1] for stage, at in zip(design.machine.stages, speed.positions, strict=True)]
    sizes = [tuple(f"{d / size:.{places}f}" for d in (p.driver.outside_mm, p.driven.outside_mm)) for p in pairs]
    return f"{speed.rpm:.1f} rpm", [str(at) for at in speed.positions], [(a, b) for a, b in sizes]


def _told(page: Page, number: int) -> tuple[str, list[str], list[tuple[str, str]]]:
    """Return rpm, positions, diameters as the page shows them for a speed."""
    article = page.locator(f"#speed-{number}")
    rows: list[list[str]] = article.locator("tbody tr").evaluate_all(
        "all => all.map(row => [...row.querySelectorAll('th, td')].map(one => one.innerText))"
    )
    heads = article.locator("thead th").all_inner_texts()
    at, one, two = (next(i for i, head in enumerate(heads) if head.startswith(w)) for w in ("pos", "driver", "driven"))
    return article.locator("dd").first.inner_text(), [r[at] for r in rows], [(r[one], r[two]) for r in rows]


@pytest.mark.parametrize("machine", MACHINES)
def test_a_click_shows_a_speed_with_its_figures(machine: str, browser: Browser, sheets: dict[str, Path]) -> None:
    """After a click on any speed it alone is shown, drawing and figures, true to the design; the rest is hidden."""
    made = job(machine)
    with opened(browser, sheets[machine]) as (page, said, asked):
        assert page.title() == made.design.scenario.title
        assert _shown(page) == ["speed-1"]
        for speed in reversed(made.design.machine.speeds):
            page.locator(f"input[name=speed][value='{speed.number}']").click()
            assert _shown(page) == [f"speed-{speed.number}"]
            assert page.locator(f"#speed-{speed.number} svg").is_visible()
            assert _told(page, speed.number) == _expected(made, speed.number)
            assert page.locator("#now").inner_text() == said_at(made.design, speed)
            assert page.locator("#speeds tr.chosen th").inner_text() == str(speed.number)
        assert said == []
        assert set(asked) == {sheets[machine].as_uri()}


def test_pictures_of_speeds_differ(browser: Browser, sheets: dict[str, Path]) -> None:
    """Every speed's drawing is another one."""
    with opened(browser, sheets["bench-shaper"]) as (page, *_):
        drawings = page.locator("article.speed svg").evaluate_all("all => all.map(one => one.innerHTML)")
        assert len(set(drawings)) == len(drawings) == len(job("bench-shaper").design.machine.speeds)


def test_arrow_keys_move_between_speeds(browser: Browser, sheets: dict[str, Path]) -> None:
    """The choice is reached by tabs; arrows choose the next and the last speed, the words for it are read out."""
    made = job("polishing-head")
    last = len(made.design.machine.speeds)
    with opened(browser, sheets["polishing-head"]) as (page, said, _):
        for _tabs in range(40):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.name") == "speed":
                break
        for number in range(2, last + 1):
            page.keyboard.press("ArrowRight")
            assert _shown(page) == [f"speed-{number}"]
            assert page.locator("#now").inner_text() == said_at(made.design, made.design.machine.speeds[number - 1])
        page.keyboard.press("ArrowUp")
        assert _shown(page) == [f"speed-{last - 1}"]
        assert page.evaluate("document.activeElement.value") == str(last - 1)
        assert page.locator("#now").get_attribute("aria-live") == "polite"
        assert said == []


def test_the_first_tab_skips_to_the_sheet(browser: Browser, sheets: dict[str, Path]) -> None:
    """The first stop of the keyboard is a visible link past the contents."""
    with opened(browser, sheets["grindstone"]) as (page, *_):
        page.keyboard.press("Tab")
        link = page.locator("a.skip")
        assert link.evaluate("one => one === document.activeElement")
        box = link.bounding_box()
        assert box is not None
        assert box["x"] >= 0
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "sheet"


def test_a_link_in_the_table_chooses_its_speed(browser: Browser, sheets: dict[str, Path]) -> None:
    """A speed's number in the table leads to it, as does an address that ends in it; a wrong one does no harm."""
    with opened(browser, sheets["polishing-head"]) as (page, said, _):
        page.locator("#speeds a[href='#speed-3']").click()
        page.wait_for_function("document.activeElement.value === '3'")
        assert _shown(page) == ["speed-3"]
        for end, shown in (("#speed-2", "speed-2"), ("#speed-99", "speed-1"), ("#speed-0", "speed-1")):
            page.goto("about:blank")
            page.goto(sheets["polishing-head"].as_uri() + end)
            assert _shown(page) == [shown]
        assert said == []


def test_without_script_everything_is_shown(browser: Browser, sheets: dict[str, Path]) -> None:
    """Every speed with its drawing and figures stands one after another, and no choice that would do nothing."""
    made = job("grindstone")
    speeds = made.design.machine.speeds
    with opened(browser, sheets["grindstone"], java_script_enabled=False) as (page, said, _):
        assert _shown(page) == [f"speed-{speed.number}" for speed in speeds]
        for speed in speeds:
            assert page.locator(f"#speed-{speed.number} svg").is_visible()
            assert _told(page, speed.number) == _expected(made, speed.number)
            assert page.get_by_text(said_at(made.design, speed)).first.is_visible()
        assert not page.locator("input[name=speed]").first.is_visible()
        page.locator("#speeds a[href='#speed-2']").click()
        assert page.url.endswith("#speed-2")
        assert said == []


@pytest.mark.parametrize("name", named(HOSTILE, slow=("controls", "turned", "half", "long", "hebrew")))
def test_a_hostile_title_runs_nothing(name: str, browser: Browser, tmp_path: Path) -> None:
    """A name of markup or script is shown as it is; nothing runs, nothing is asked for, speeds can be chosen."""
    made, text = job("grindstone"), HOSTILE[name]
    scenario = made.design.scenario.model_copy(update={"title": text, "note": text, "text": text})
    speeds = tuple(speed.model_copy(update={"bands": (text,)}) for speed in made.design.machine.speeds)
    machine = made.design.machine.model_copy(update={"speeds": speeds})
    titled = made.scenario.model_copy(update={"title": text})
    hostile = Job(made.design.model_copy(update={"scenario": scenario, "machine": machine}), titled)
    file = sheet_file(tmp_path, hostile, "sheet")
    with opened(browser, file) as (page, said, asked):
        talks: list[str] = []

        def hush(dialog: Dialog, talks: list[str] = talks) -> None:
            talks.append(dialog.message)
            dialog.dismiss()

        page.on("dialog", hush)
        page.locator("input[name=speed][value='2']").click()
        assert _shown(page) == ["speed-2"]
        shown = page.locator("h1").evaluate("one => one.textContent")
        assert "alert(1)" in shown or "alert" not in text
        assert page.locator("script").count() == 1
        assert page.locator("img").count() == 0
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert said == talks == []
        assert set(asked) == {file.as_uri()}
