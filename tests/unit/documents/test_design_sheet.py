"""The design sheet as a file: whole, closed to the network, in order, true to the design."""

from __future__ import annotations

import base64
import hashlib
import re
from itertools import pairwise

import pytest

from optimizer.documents.basis import answer_words, verdict_words
from optimizer.documents.blocks import Table, listed_section
from optimizer.documents.buying import buying_sections
from optimizer.documents.cut_list import cut_sections
from optimizer.documents.design_sheet import design_sheet_html, lists_html
from optimizer.documents.html import page_text, shown
from optimizer.documents.speeds import belts_at, facts_at, said_at
from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job
from optimizer.scenario import load_scenario
from tests.machines import MIXER
from tests.unit.documents.hostile import HOSTILE
from tests.unit.documents.listed import listed
from tests.unit.documents.outline import Outline, outline_of

SECTIONS = [
    "verdict",
    "machine",
    "chart",
    "speeds",
    "stages",
    "tolerance",
    "cuts",
    "buying",
    "loads",
    "checks",
    "proof",
    "layouts",
    "defaults",
    "cautions",
    "scenario",
]
CUTS = listed_section("Cut list", Table(("cone", "layers"), (("motor, driver", "3"), ("</td><b>", "4"))), "Bore last.")


@pytest.fixture(scope="module")
def sheet(mixer_job: Job) -> bytes:
    """Return the mixer's sheet."""
    return design_sheet_html(mixer_job)


@pytest.fixture(scope="module")
def outline(sheet: bytes) -> Outline:
    """Return its elements."""
    return outline_of(sheet)


def test_elements_close_in_order(outline: Outline) -> None:
    """Every element is closed by its own end tag, none is left open."""
    assert not outline.wrong
    assert not outline.open


def test_sections_stand_in_the_order_of_a_decision(outline: Outline) -> None:
    """Answer, machine, chart, speeds, diameters, turning, lists, loads, checks, proof, basis, in this order."""
    assert [section["id"] for section in outline.named("section")] == SECTIONS


def test_headings_rise_by_one(outline: Outline) -> None:
    """There is one first heading; none below skips a level."""
    levels = [int(tag[1]) for tag, _ in outline.elements if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_what_is_named_is_there_once(outline: Outline) -> None:
    """Names of places are unique; every link and every label leads to one."""
    names = [attributes["id"] for _, attributes in outline.elements if "id" in attributes]
    assert len(set(names)) == len(names)
    led = [a["href"] for a in outline.named("a")]
    assert all(href.startswith("#") and href[1:] in names for href in led)
    labels = [label for _, a in outline.elements for label in a.get("aria-labelledby", "").split()]
    assert labels
    assert not set(labels) - set(names)


def test_nothing_is_fetched(sheet: bytes, outline: Outline) -> None:
    """No element names anything outside the file, nor does the style; the policy forbids it besides."""
    for _, attributes in outline.elements:
        assert not {"src", "srcset", "data", "action", "poster"} & set(attributes)
        assert not [
            value
            for name, value in attributes.items()
            if name != "xmlns" and value.startswith(("http:", "https:", "//", "file:"))
        ]
    assert not re.search(r"url\((?!#)|@import|@font-face", page_text("page.css"))
    assert b"url(http" not in sheet
    (policy,) = [m["content"] for m in outline.named("meta") if m.get("http-equiv") == "Content-Security-Policy"]
    assert policy.startswith("default-src 'none';")


def test_only_the_script_of_the_sheet_may_run(sheet: bytes, outline: Outline) -> None:
    """The policy lets one script run, by the digest of the very bytes in the file."""
    (code,) = re.findall(rb"<script>(.*?)</script>", sheet, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(code).digest()).decode()
    (policy,) = [m["content"] for m in outline.named("meta") if m.get("http-equiv") == "Content-Security-Policy"]
    assert policy.endswith(f"script-src 'sha256-{digest}'")
    assert len(code) < 4000


def test_same_job_same_bytes(mixer_job: Job, sheet: bytes) -> None:
    """Nothing of the clock or of chance is in the file."""
    assert design_sheet_html(mixer_job) == sheet


def test_every_speed_is_in_the_file(mixer_job: Job, outline: Outline) -> None:
    """Each speed has its choice, its drawing, its figures, its sentence."""
    speeds = mixer_job.design.machine.speeds
    assert [a["id"] for a in outline.named("article")] == [f"speed-{s.number}" for s in speeds]
    boxes = [a for a in outline.named("input") if a["type"] == "radio"]
    assert [box["value"] for box in boxes] == [str(s.number) for s in speeds]
    assert [box["value"] for box in boxes if "checked" in box] == ["1"]
    assert len(outline.named("svg")) == len(speeds) + 1
    assert outline.texts["figcaption"][: len(speeds)] == [said_at(mixer_job.design, speed) for speed in speeds]


def test_figures_of_a_speed_are_the_designs(mixer_job: Job) -> None:
    """Diameters, positions, torque, grip of a speed are those in the record, in the maker's units."""
    design = mixer_job.design
    assert design.carrying is not None or design.scenario.units == "in"
    for speed in design.machine.speeds:
        table = belts_at(design, speed)
        for row, stage, number in zip(table.rows, design.machine.stages, speed.positions, strict=True):
            position = stage.positions[number - 1]
            cells = dict(zip(table.heads, row, strict=True))
            assert float(cells["driver in"]) == pytest.approx(position.driver.outside_mm / 25.4, abs=5.1e-4)
            assert float(cells["driven in"]) == pytest.approx(position.driven.outside_mm / 25.4, abs=5.1e-4)
            assert cells["position"] == str(number)
        assert dict(facts_at(design, speed))["spindle"] == f"{speed.rpm:.1f} rpm"


def test_belt_speed_is_rim_times_turns(mixer_job: Job) -> None:
    """The first belt runs at π·d·n of the motor's pulley: 1725 rpm, feet a minute of the pitch diameter in inches."""
    design = mixer_job.design
    for speed in design.machine.speeds:
        step = design.machine.stages[0].positions[speed.positions[0] - 1].driver
        feet = 3.14159265 * step.pitch_mm / 25.4 / 12 * 1725
        said = dict(zip(belts_at(design, speed).heads, belts_at(design, speed).rows[0], strict=True))["belt speed"]
        assert float(said.removesuffix(" ft/min")) == pytest.approx(feet, rel=5e-3)


def test_the_answer_is_one_sentence(mixer_job: Job) -> None:
    """Layout, number and span of speeds, belts, largest disc, verdict."""
    design = mixer_job.design
    speeds, belts = design.machine.speeds, [stage.marking for stage in design.machine.stages]
    answer = answer_words(design)
    assert answer.startswith(f"Layout {design.layout.name}")
    disc = design.layout.largest_disc_mm / 25.4
    for said in (f"{len(speeds)} speeds, {speeds[0].rpm:.1f} to {speeds[-1].rpm:.1f} rpm", *belts, f"{disc:.3f} in"):
        assert said in answer
    assert answer.count(".") == len(re.findall(r"\d\.\d", answer)) + 1


def test_a_failed_check_is_said_first(mixer_job: Job) -> None:
    """A failed limit is in the answer, in the first section, and the page does not call itself passed."""
    design = mixer_job.design
    broken = design.checks[0].model_copy(update={"passed": False, "kind": "limit", "name": "wrap", "where": "stage[0]"})
    bad = design.model_copy(update={"checks": (broken, *design.checks[1:])})
    assert verdict_words(bad) == f"1 of {len(bad.checks)} checks FAILED: do not build it so"
    page = design_sheet_html(Job(bad, mixer_job.scenario)).decode()
    first = page[page.index('<section id="verdict"') : page.index('<section id="machine"')]
    assert "FAILED (limit): stage 1: wrap is" in first
    assert '<p class="answer failed"' in page


def test_all_that_was_decided_is_there(mixer_job: Job, sheet: bytes) -> None:
    """Every check with its source, default, layout, caution, the digest, the whole scenario."""
    design, text = mixer_job.design, " ".join(outline_of(sheet).texts["body"])
    wanted = [check.name for check in design.checks] + [check.source for check in design.checks]
    wanted += [default.key for default in design.scenario.defaults] + [entry.title for entry in design.tried]
    wanted += [*design.cautions, design.scenario.sha256]
    assert not [said for said in wanted if said not in text]
    assert outline_of(sheet).texts["pre"] == ["\n" + design.scenario.text]


def test_lists_are_in_the_sheet(mixer_job: Job, sheet: bytes) -> None:
    """Every table of the cut list and of the buying list stands under its title, with what is said of it."""
    outline = outline_of(sheet)
    for title, table, notes in listed([*cut_sections(mixer_job), *buying_sections(mixer_job)]):
        assert title in outline.texts["h3"]
        assert title in outline.texts["caption"]
        assert set(notes) <= set(outline.texts["li"])
        assert {cell for row in table.rows for cell in row} <= {*outline.texts["td"], *outline.texts["th"], ""}


def test_lists_have_a_page_of_their_own(mixer_job: Job) -> None:
    """The cautions come first; titles, cells, notes are escaped; there is no script; a table without rows says so."""
    own = lists_html("Cut list of a mill", [CUTS, listed_section("Rest", Table(("a",), ()))], ("Guards first.",))
    outline = outline_of(own)
    assert outline.texts["h2"] == ["Before you build", "Cut list", "Rest"]
    assert outline.texts["td"] == ["3", "4"]
    assert outline.texts["th"][2:] == ["motor, driver", "</td><b>"]
    assert outline.texts["li"] == ["Guards first.", "Bore last."]
    assert "None." in outline.texts["p"]
    assert not outline.named("script")
    assert not outline.wrong


@pytest.fixture(scope="module")
def plain_outline(mixer_job: Job) -> Outline:
    """Return the elements of the sheet with plain names."""
    return outline_of(design_sheet_html(_renamed(mixer_job, "name")))


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_stay_text(name: str, mixer_job: Job, plain_outline: Outline) -> None:
    """A title, note, band, shaft, file of markup or control characters changes no element of the page."""
    text = HOSTILE[name]
    page = design_sheet_html(_renamed(mixer_job, text))
    outline = outline_of(page)
    assert [tag for tag, _ in _page_only(outline)] == [tag for tag, _ in _page_only(plain_outline)]
    assert not outline.wrong
    assert outline.texts["h1"] == [shown(text)]
    assert page.count(b"<script") == 1


def test_hostile_names_of_a_scenario_stay_text() -> None:
    """A scenario whose title, band, shaft are markup is designed, drawn, listed; no element comes of their names."""
    names = {"Clay mixer": "</script><script>alert(1)</script>", "wedging": "<img src=x onerror=alert(1)>"}
    text = MIXER.replace('"countershaft"', "'<i>\"&</td>'")
    for name, hostile in names.items():
        text = text.replace(name, hostile)
    scenario = load_scenario(text, "mixer.toml")
    outline = outline_of(design_sheet_html(Job(design(scenario), scenario)))
    assert not outline.wrong
    assert not outline.named("i", "img")
    assert outline.texts["h1"] == [scenario.title]
    assert any('driven on <i>"&</td>' in cell for cell in outline.texts["th"])


def test_eighteen_speeds_make_no_giant(mixer_job: Job, sheet: bytes) -> None:
    """What a speed adds, times eighteen, with all the rest, stays below 1.5 MB."""
    machine = mixer_job.design.machine
    one = mixer_job.design.model_copy(update={"machine": machine.model_copy(update={"speeds": machine.speeds[:1]})})
    alone = len(design_sheet_html(Job(one, mixer_job.scenario)))
    assert alone + 17 * (len(sheet) - alone) / (len(machine.speeds) - 1) < 1.5e6


def _page_only(outline: Outline) -> list[tuple[str, dict[str, str]]]:
    """Return all elements but those of drawings, which break long names into lines."""
    return [(tag, a) for tag, a in outline.elements if tag not in ("text", "line", "g", "rect", "polygon", "title")]


def _renamed(job: Job, text: str) -> Job:
    """Return a job in which everything that has a name has this one."""
    design = job.design
    scenario = design.scenario.model_copy(update={"title": text, "note": text, "file": text, "text": text})
    bands = tuple(band.model_copy(update={"name": text}) for band in design.bands)
    speeds = tuple(speed.model_copy(update={"bands": (text,)}) for speed in design.machine.speeds)
    machine = design.machine.model_copy(update={"spindle": text, "speeds": speeds})
    changed = design.model_copy(update={"scenario": scenario, "bands": bands, "machine": machine})
    return Job(changed, job.scenario.model_copy(update={"title": text}))
