"""What screens and papers say of how exactly to turn."""

from __future__ import annotations

import re

import pytest

from optimizer.documents.design import design_paper, design_screen
from optimizer.documents.design_sheet import design_sheet_html
from optimizer.documents.markdown import table_markdown
from optimizer.documents.tolerance import allowed_table, chance_table, cut_size_table, error_words, tolerance_words
from optimizer.drawing.inspection_card import size_checks
from optimizer.pipeline.job import Job
from optimizer.records.tolerance import AllowedSheet
from tests.jobs import job

WITH, WITHOUT = ("pattern-mill", "grindstone", "bench-shaper"), ("tool-grinder", "geared")


@pytest.mark.parametrize("name", WITH)
def test_the_screen_has_a_short_section(name: str) -> None:
    """The chance, the careful steps, which way to err: at most a dozen lines of 80 columns."""
    text = design_screen(job(name).design)
    section = text[text.index("How exactly to turn") :].split("\n\n")[0].splitlines()
    assert len(section) <= 12
    assert max(map(len, section)) <= 80
    assert "Chance that all is well" in section[1]
    assert any(line.startswith("Err on the large side") for line in section)


@pytest.mark.parametrize("name", WITHOUT)
def test_machines_without_turned_steps_have_no_section(name: str) -> None:
    """Neither screen nor sheet nor page nor card tells how to turn where nothing is turned."""
    own = job(name)
    assert "How exactly to turn" not in design_screen(own.design) + design_paper(own.design)
    page = design_sheet_html(own).decode()
    assert 'id="tolerance"' not in page
    assert 'href="#tolerance"' not in page
    assert not list(size_checks(own))


@pytest.mark.parametrize("name", WITH)
def test_sheet_and_page_have_a_row_for_every_turned_size(name: str) -> None:
    """Every turned step stands once in either table, and the tables stand in both papers."""
    own = job(name)
    sheet, machine, units = own.design.tolerance, own.design.machine, own.scenario.units
    assert sheet is not None
    turned = sum(step.source == "turned" for s in machine.stages for p in s.positions for step in (p.driver, p.driven))
    paper, page = design_paper(own.design), design_sheet_html(own).decode()
    for table in (allowed_table(sheet, machine, units), cut_size_table(sheet, machine, units)):
        names = [row[0] for row in table.rows]
        assert len(names) == len(set(names)) == turned
        assert table_markdown(table) in paper
        assert all(page.count(f">{name}<") >= 2 for name in names)
    assert table_markdown(chance_table(sheet)) in paper


def test_widths_and_pins_are_told_in_the_makers_units() -> None:
    """In inches, pins of 15/32 in read 0.469, and no length has fewer than three decimals."""
    own = job("bench-shaper")
    assert own.design.tolerance is not None
    table = cut_size_table(own.design.tolerance, own.design.machine, "in")
    assert {row[1] for row in table.rows} == {"over 0.469 in pins"}
    assert all(re.fullmatch(r"\d+\.\d{3}", cell) for row in table.rows for cell in row[2:])


def test_nothing_left_is_told_as_such(mixer_words: str) -> None:
    """A size that may not be smaller at all is told so, and one that may be so by any amount."""
    assert error_words(0.0, 0.3, "mm") == "0.00 mm smaller, 0.30 mm larger"
    assert error_words(None, None, "mm") == "any amount"
    assert error_words(0.2, None, "mm") == "0.20 mm smaller, larger by any amount"
    assert "0.00" in mixer_words


@pytest.fixture(name="mixer_words")
def shifted_words() -> str:
    """Return what is told of the pattern mill, were its most careful step to have nothing left below, and be aimed."""
    design = job("pattern-mill").design
    assert design.tolerance is not None
    place = design.tolerance.careful[0]
    sizes = list(design.tolerance.sizes)
    nothing = AllowedSheet(smaller_mm=0.0, larger_mm=0.81)
    sizes[place] = sizes[place].model_copy(update={"alone": nothing, "aim_mm": 0.25, "left_on_mm": 0.1})
    sheet = design.tolerance.model_copy(update={"sizes": tuple(sizes), "chance_by_cuts": 0.97})
    return "\n".join(tolerance_words(sheet, design.machine, "mm"))


def test_aims_off_the_drawing_are_told(mixer_words: str) -> None:
    """Which step, by how much, which way; and what leaving sizes large makes of the chance."""
    assert "stage 2, driver, step 1, 0.25 mm larger" in mixer_words
    assert "leave up to 0.10 mm on" in mixer_words
    assert "the chance 97 %" in mixer_words


def test_the_card_tells_how_far_cones_may_wear() -> None:
    """Every turned cone has a line, in decimals of the maker's units, with all its steps."""
    lines = list(size_checks(job("pattern-mill")))
    assert len(lines) == 3
    assert "step 1 by 0.87, step 2 by 1.46, step 3 by 1.96" in lines[1]


def test_a_step_that_may_not_wear_is_told_in_words() -> None:
    """Where 0.004 mm is all that a step may lose the card says `not at all`, and no figure that reads 0.00."""
    own = job("pattern-mill")
    tolerance = own.design.tolerance
    assert tolerance is not None
    first = tolerance.sizes[0]
    tight = first.model_copy(update={"alone": first.alone.model_copy(update={"smaller_mm": 0.004})})
    sizes = {"sizes": (tight, *tolerance.sizes[1:])}
    design = own.design.model_copy(update={"tolerance": tolerance.model_copy(update=sizes)})
    line = next(iter(size_checks(Job(design, own.scenario))))
    assert f"step {first.position} not at all" in line
    assert "0.00" not in line


def test_hostile_names_do_not_break_the_section() -> None:
    """The section names steps by stage and side, never by what a maker writes."""
    own = job("grindstone")
    assert isinstance(own, Job) and own.design.tolerance is not None
    for line in tolerance_words(own.design.tolerance, own.design.machine, "mm"):
        assert "motor" not in line and "spindle" not in line
