"""Sentences about changes that a maker can act on."""

from __future__ import annotations

import json

import jsonschema
import pytest

from optimizer.changes import Known, changes_for_none, changes_for_one
from optimizer.changes.tell import usual_first
from optimizer.documents.changes import change_words, none_lines, spare_table
from optimizer.documents.data import record_json, schema_of
from optimizer.documents.design import design_paper, design_screen
from optimizer.layouts import layouts_of, problem_for
from optimizer.pipeline.design import design
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.pipeline.options import DesignOptions
from optimizer.records.changes import Change, Changes, LayoutReason, NoDesign, Setting, Together, Unmoved
from optimizer.scenario import load_scenario
from optimizer.search import search
from tests.unit.changes.machines import KEPT, SIEVE, edited

BLANK = Setting(key="making.largest_blank", unit="mm", now=241.3, value=247.65, short=246.0625)
WORD = Setting(key="stage[0].driver.material", unit="", now="timber", value="metal")
BELT = Setting(key="stage[1].belt.lengths", unit="mm", now=(1000.0, 1060.0), value=(1120.0,))


def told(changes: Changes) -> NoDesign:
    """Return the record of no design with changes."""
    reason = LayoutReason(layouts=("2x3", "2x4"), reason="out of reach")
    return NoDesign(title="Mill", units="mm", reasons=(reason,), changes=changes)


@pytest.mark.parametrize(
    ("settings", "proved", "units", "sentence"),
    [
        ((BLANK,), True, "in", "making.largest_blank = 9.75 (now 9.5): layout 4; 9.6875 gives none"),
        ((BLANK,), True, "cm", "making.largest_blank = 24.765 (now 24.13): layout 4; 24.60625 gives none"),
        ((BLANK,), False, "in", "making.largest_blank = 9.75 (now 9.5): layout 4; found, not proved least"),
        ((WORD,), True, "mm", 'stage[0].driver.material = "metal" (now "timber"): layout 4'),
    ],
)
def test_change_is_written_as_in_the_file(
    settings: tuple[Setting, ...], proved: bool, units: str, sentence: str
) -> None:
    """Keys, values in the file's units, what is set now, the layout, and what is not enough."""
    change = Change(kind="blank", settings=settings, layout="4", proved=proved)
    assert change_words(change, "in" if units == "in" else "cm" if units == "cm" else "mm") == sentence


def test_belt_is_said_to_be_the_nearest() -> None:
    """A length from stock is told as a list of one, with the proof that no nearer one does."""
    change = Change(kind="belt stock", settings=(BELT,), layout="2x3", proved=True)
    assert change_words(change, "mm") == (
        "stage[1].belt.lengths = [1120] (now [1000, 1060]): layout 2x3; no nearer length kept in stock gives one"
    )


def test_single_changes_are_told_with_what_gives_none() -> None:
    """Reasons first, then a line for every change, then the kinds that alone give none and those left open."""
    unmoved = (
        Unmoved(kind="travel", settings=(), proved=True),
        Unmoved(kind="travel", settings=(), proved=True),
        Unmoved(kind="room", settings=(), proved=False),
        Unmoved(kind="blank", settings=(), proved=True),
    )
    least = (Change(kind="blank", settings=(BLANK,), layout="2x3", proved=True),)
    assert none_lines(told(Changes(least=least, unmoved=unmoved))) == (
        "layout 2x3; 2x4: out of reach",
        "a design exists, all else as it is, with one of",
        "  - making.largest_blank = 247.65 (now 241.3): layout 2x3; 246.0625 gives none",
        "alone, none is given by travel",
        "left open by the limit of effort: room",
    )


def test_what_passes_a_limit_of_a_maker_or_of_safety_comes_last_with_its_risk() -> None:
    """Usual changes are one list, risky ones a paragraph after everything else, each with what it risks."""
    rim = Setting(key="making.rim_speed", unit="m/s", now=20.0, value=29.5, short=29.0)
    blank = Change(kind="blank", settings=(BLANK,), layout="2x3", proved=True)
    fast = Change(kind="rim speed", settings=(rim,), layout="2x3", proved=True)
    changes = Changes(least=usual_first([fast, blank]), unmoved=(Unmoved(kind="travel", settings=(), proved=True),))
    assert none_lines(told(changes))[1:] == (
        "a design exists, all else as it is, with one of",
        "  - making.largest_blank = 247.65 (now 241.3): layout 2x3; 246.0625 gives none",
        "alone, none is given by travel",
        "",
        "what follows passes a limit of a maker or of safety, and is no advice: change the machine sooner",
        "  - making.rim_speed = 29.5 (now 20): layout 2x3; 29 gives none",
        "    risk: a rim that runs too fast bursts and throws its pieces; no published limit for timber rims was found",
    )
    document = json.loads(record_json(told(changes)))
    classes = [(each["kind"], each["remedy"], bool(each["risk"])) for each in document["changes"]["least"]]
    assert classes == [("blank", "usual", False), ("rim speed", "risky", True)]
    alone = none_lines(told(Changes(least=usual_first([fast]))))[1]
    assert alone == "no single change that was tried, and that keeps all limits of makers and safety, gives a design"


@pytest.mark.parametrize("key", ["rim_speed", "smallest", "belt_speed", "wrap", "least_grip", "carry"])
def test_every_key_of_a_maker_s_or_a_safety_limit_is_risky(key: str) -> None:
    """Limits of rims, of pulleys under a belt, of belt speed, wrap, grip are; a motor on blocks is not."""
    (change,) = usual_first(
        [Change(kind="wrap", settings=(Setting(key=f"a.{key}", unit="", now=1.0, value=2.0),), layout="4", proved=True)]
    )
    assert (change.remedy, change.risk != "") == ("risky", True)
    plate = Setting(key="motor.plate", unit="", now=True, value=False)
    (blocks,) = usual_first([Change(kind="motor stand", settings=(plate,), layout="4", proved=True)])
    assert (blocks.remedy, blocks.risk) == ("usual", "")
    assert change_words(blocks, "mm") == "motor.plate = false (now true): layout 4"


def test_pair_is_told_with_its_units() -> None:
    """Two limits together are told where no single one does, with the number of units and what a unit is."""
    pair = Together(units=2, kinds=("blank", "belt stock"), settings=(BLANK, BELT), layout="2x3", proved=True)
    lines = none_lines(told(Changes(together=pair, together_tried=True, together_units=10)))
    assert lines[1:] == (
        "no single change that was tried gives a design; with two together there is one, all else as it is:",
        "  - making.largest_blank = 247.65 (now 241.3), stage[1].belt.lengths = [1120] (now [1000, 1060]): layout 2x3; "
        "2 units each, a unit less does for no pair; a unit is 5 mm of blank or travel, 10 mm of centre distance, "
        "5 % of a band's edge, 1 of a want",
    )


def test_nothing_that_helps_is_told_too() -> None:
    """Where not even two changes give a design, that is said, and how far both were let out."""
    lines = none_lines(told(Changes(together_tried=True, together_units=10)))
    assert lines[1].startswith("no single change that was tried gives a design, and no two together by up to 10 units")
    assert none_lines(NoDesign(title="Mill", units="mm", reasons=())) == ()


def test_document_of_no_design_follows_its_schema() -> None:
    """Reasons and changes are one JSON document that its schema allows."""
    scenario = load_scenario(edited(KEPT, {"stage[0].travel": 30}), "drill.toml")
    changes = changes_for_none(scenario, [Known(layout, None) for layout in layouts_of(scenario)])
    document = json.loads(record_json(told(changes)))
    jsonschema.validate(document, schema_of(NoDesign))
    assert document["format"] == "conewright no design 1"
    assert document["changes"]["least"][0]["settings"][0]["key"] == "stage[0].travel"


def test_spare_is_a_table_of_limits() -> None:
    """Every limit is a row with its value now, the tightest that still has a design, and what is lost beyond it."""
    scenario = load_scenario(KEPT, "drill.toml")
    (layout,) = layouts_of(scenario)
    found = search(problem_for(scenario, layout))
    assert found.candidate is not None
    table = spare_table(changes_for_one(scenario, [Known(layout, found)], found.candidate).spare, "mm")
    rows = {row[0]: row for row in table.rows}
    assert rows["band[0].want"][2:] == ("3", "4", "5 gives none")
    assert all(row[4].endswith("gives none") or row[4] == "tried no further" for row in table.rows)


def test_design_tells_changes_only_where_asked() -> None:
    """Screen and paper have what limits could give up where that was asked for, and are silent otherwise."""
    scenario = load_scenario(KEPT, "drill.toml")
    asked, plain = design(scenario, DesignOptions(changes=True)), design(scenario)
    assert "What every limit could give up, one at a time" in design_screen(asked)
    assert "What a little more would buy" in design_screen(asked)
    assert "## What every limit could give up" in design_paper(asked)
    assert plain.changes is None
    assert "could give up" not in design_screen(plain) + design_paper(plain)


def test_one_layout_is_told_its_own_changes() -> None:
    """Asked for one layout alone, the changes are those that give it a design, though another has one."""
    scenario = load_scenario(edited(SIEVE, {"stage[0].positions": [2, 3], "band[0].want": 1}), "sieve.toml")
    with pytest.raises(NoLayoutError) as caught:
        design(scenario, DesignOptions(layout="2"))
    changes = caught.value.told.changes
    assert changes is not None
    assert {change.layout for change in changes.least} == {"2"}
    assert "band[1].want" in {setting.key for change in changes.least for setting in change.settings}
