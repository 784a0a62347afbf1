"""What papers and screens say of mounts that weight, a spring or a screw draws, word for word."""

from __future__ import annotations

from typing import Any

import pytest

from optimizer.documents.design import speeds_screen
from optimizer.documents.figures import Units
from optimizer.documents.hanging import hanging_sections, mount_table, mount_words
from optimizer.pipeline.known import tell_known
from optimizer.records.hanging import HangingSheet, HungSheet, MountSheet, SpanSheet
from optimizer.records.known import KnownMachine
from optimizer.scenario import load_scenario
from tests.docs.pages import ROOT
from tests.unit.documents.listed import on_paper

ROW = HungSheet(
    position=1,
    worn=False,
    rpm=602.2,
    tight_lever=254.0,
    slack_lever=-50.8,
    rest_n=44.482216,
    tight_n=88.964432,
    slack_n=22.241108,
    needed_slack_n=20.0,
    most_n=150.0,
    carries_kw=0.745699872,
    must_kw=0.25,
)
MORE = SpanSheet(least=4.4482216, most=44.482216, some=True)


@pytest.fixture(scope="module")
def known() -> KnownMachine:
    """Return the shipped machine with a pivoting frame."""
    path = ROOT / "scenarios" / "tool-grinder.toml"
    return tell_known(load_scenario(path.read_text(encoding="utf-8"), path.name))


def mount(**changed: Any) -> MountSheet:
    """Return a hinge that draws too little."""
    told: dict[str, Any] = {
        "shaft": "motor",
        "kind": "hinge",
        "key": "stage[0]",
        "locked": False,
        "unstated": "",
        "nearer": "slack",
        "rows": (ROW,),
        "does": False,
        "pull_n": MORE,
        "mass_kg": SpanSheet(least=0.45359237, most=4.5359237, some=True),
        "hinge_mm": (SpanSheet(least=-50.8, most=-25.4, some=True),),
        "line_deg": 0.0,
        "press_n": (4.4482216, 8.8964432),
    }
    return MountSheet(**(told | changed))


NONE: dict[str, Any] = {"mass_kg": None, "hinge_mm": ()}
SLIDE: dict[str, Any] = {"kind": "slide", "nearer": None, "line_deg": None, **NONE}


@pytest.mark.parametrize(
    ("sheet", "units", "said"),
    [
        pytest.param(
            mount(),
            "mm",
            "The hinge of motor draws the belt of stage 1 too little, 44.5 N a strand at rest; enough and not "
            "too much would be 0.454 kg to 4.54 kg more at the centre of mass, or a spring that draws 4.45 N to 44.5 N "
            "more at motor, square to its arm about the hinge, or the hinge 25 to 51 mm to the left",
            id="too little",
        ),
        pytest.param(
            mount(),
            "in",
            "The hinge of motor draws the belt of stage 1 too little, 10.0 lbf a strand at rest; enough and "
            "not too much would be 1.00 lb to 10.0 lb more at the centre of mass, or a spring that draws 1.00 lbf to "
            "10.0 lbf more at motor, square to its arm about the hinge, or the hinge 1.00 to 2.00 in to the left",
            id="inches",
        ),
        pytest.param(
            mount(pull_n=SpanSheet(least=-90.0, most=-4.0, some=True), **NONE),
            "mm",
            "The hinge of motor draws the belt of stage 1 too hard, 44.5 N a strand at rest; enough and not "
            "too much would be a spring that holds back 4.00 N to 90.0 N at motor, square to its arm about the hinge",
            id="too hard",
        ),
        pytest.param(
            mount(pull_n=SpanSheet(least=9.0, most=4.0, some=False), **NONE),
            "mm",
            "The hinge of motor draws the belt of stage 1 too little at one position and too hard at another, 44.5 N a "
            "strand at rest; no one pull is enough and not too much everywhere",
            id="no pull does",
        ),
        pytest.param(
            mount(does=True),
            "mm",
            "The hinge of motor draws the belt of stage 1 enough and not too much, 44.5 N a strand at rest",
            id="enough",
        ),
        pytest.param(
            mount(does=None, pull_n=None, **NONE),
            "mm",
            "The hinge of motor draws the belt of stage 1, 44.5 N a strand at rest; whether that is enough is "
            "not known",
            id="not known",
        ),
        pytest.param(
            mount(unstated="the pull that draws it is not stated (pull)", does=None, **SLIDE),
            "mm",
            "The slide of motor draws the belt of stage 1: the pull that draws it is not stated (pull); enough and not "
            "too much would be a spring or screw that draws 4.45 N to 44.5 N along the slide",
            id="pull not stated",
        ),
        pytest.param(
            mount(unstated="what hangs there is not stated", does=None, hinge_mm=()),
            "mm",
            "The hinge of motor draws the belt of stage 1: what hangs there is not stated; enough and not too much "
            "would be 0.454 kg to 4.54 kg in all at its centre of mass, or a spring that draws 4.45 N to 44.5 N at "
            "motor, square to its arm about the hinge",
            id="mass not stated",
        ),
    ],
)
def test_a_mount_in_a_sentence(known: KnownMachine, sheet: MountSheet, units: Units, said: str) -> None:
    """How it draws its belt, whether that does, what would."""
    assert mount_words(sheet, known.machine, units) == said


def test_the_table_has_the_makers_units() -> None:
    """Arms in inches, pulls in pounds-force, power in horsepower; a belt that never slips says so."""
    table = mount_table(mount(rows=(ROW, ROW.model_copy(update={"carries_kw": None, "worn": True}))), "in")
    assert table.heads[3:6] == ("arm tight in", "arm slack in", "at rest lbf")
    assert table.rows[0] == (
        *("1", "new", "602.2", "10.000", "-2.000", "10.0", "20.0", "5.00", "4.50", "33.7"),
        *("1.00", "0.335"),
    )
    assert (table.rows[1][1], table.rows[1][10]) == ("worn", "never")
    assert mount_table(mount(**SLIDE), "mm").heads[3:5] == ("share tight", "share slack")


def test_the_paper_has_cautions_first(known: KnownMachine) -> None:
    """Cautions stand before any figure; the strand nearer to the hinge, the press, other places of the hinge follow."""
    sheet = HangingSheet(mounts=(mount(does=True), mount(locked=True)), cautions=("Prop it.",))
    parts = on_paper(*hanging_sections(sheet, known.machine, "mm")).split("\n\n")
    assert parts[1:3] == ["## What draws the belts taut", "- **Prop it.**"]
    text = "\n".join(parts)
    assert "The slack strand lies nearer to the hinge, so that the load slackens the belt;" in text
    assert "With the same weight all would do with the hinge 25 to 51 mm to the left of where it stands." in text
    assert "Locked, the mount does not follow the belt" in text
    assert "4.45 N pressed square on the middle of a free strand bend it in by 1/64" in text


def test_the_shipped_frame_draws_both_belts(known: KnownMachine) -> None:
    """Both mounts are told on the screen with the caution, within its width."""
    screen = speeds_screen(known)
    assert "The hinge of countershaft draws the belt of stage 2 enough and not too much" in screen
    assert "The slide of motor draws the belt of stage 1 enough and not too much" in screen
    assert "A hung motor falls when its belt breaks" in screen
    assert max(map(len, screen.splitlines())) <= 80


def test_a_slide_is_not_told_to_mind_a_hung_motor() -> None:
    """With the motor on a slide alone nothing hangs: the pull is taken off, the cable follows, slides are stiff."""
    text = (ROOT / "scenarios" / "tool-grinder.toml").read_text(encoding="utf-8")
    stated = load_scenario(text, "tool-grinder.toml")
    shafts = [
        shaft if shaft.name == "motor" else shaft.model_copy(update={"mount": "fixed", "hinge": None, "pull_n": None})
        for shaft in stated.shafts
    ]
    sheet = tell_known(stated.model_copy(update={"shafts": tuple(shafts)})).hanging
    assert sheet is not None
    assert [mount.kind for mount in sheet.mounts] == ["slide"]
    said = " ".join(sheet.cautions)
    assert "hung" not in said
    assert "Lift the weight" not in said
    assert "swing" not in said
    assert sheet.cautions[0].startswith("Take the pull off the mount")
    assert "Stiff slides, hard starts are not in these figures" in said


def test_the_shipped_frame_by_hand(known: KnownMachine) -> None:
    """About the hinge: motor 6.5 kg·(190 + 330), frame 5.5 kg·(20 + 330) mm as stated, strands some 600 mm in all.

    The stated places are near the running ones, so that the hand's (6.5·520 + 5.5·350)·g/(2·300) = 86.7 N a strand,
    with both arms taken to the countershaft's axis, is met within five in a hundred.
    """
    assert known.hanging is not None
    frame = next(sheet for sheet in known.hanging.mounts if sheet.shaft == "countershaft")
    for row in frame.rows:
        assert row.rest_n == pytest.approx((6.5 * 520 + 5.5 * 350) * 9.80665 / 600, rel=0.05)
