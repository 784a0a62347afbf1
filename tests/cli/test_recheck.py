"""The command that checks a made machine again: verdicts, exit codes, what it refuses, what it never touches."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from optimizer.documents.data import schema_of
from optimizer.recheck.records import Recheck
from tests.cli.conftest import Run
from tests.unit.recheck.forms import as_designed, filled, grinder

DESIGN = "grinder-design"
FORM = f"{DESIGN}/measured.toml"


def fill(changes: dict[tuple[int, str, int], float] | None = None, missing: tuple[int, ...] = ()) -> str:
    """Fill in the form as designed, some steps off by so much, some drivers not turned yet; return its path."""
    sizes = {
        where: size + (changes or {}).get(where, 0.0)
        for where, size in as_designed(grinder()).items()
        if not (where[1] == "driver" and where[2] in missing)
    }
    Path(FORM).write_text(filled(Path(FORM).read_text(encoding="utf-8"), sizes), encoding="utf-8")
    return FORM


def test_a_machine_as_designed_is_well(designed: Run) -> None:
    """Sizes as designed: all is well, stop, code 0, nothing proposed, nothing written."""
    before = sorted(Path().rglob("*"))
    ran = designed("recheck", DESIGN, fill())
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(
        "Wet grinder\n\nAll is well: the belts fit, the speeds are where they were wanted. Stop.\n"
    )
    assert "Skim" not in ran.out
    assert sorted(Path().rglob("*")) == before
    assert all(len(line) <= 80 for line in ran.out.splitlines())


def test_the_file_of_measurements_is_never_changed(designed: Run) -> None:
    """Neither by `recheck`, nor by a new design or new papers over the folder, which are refused with code 5."""
    content = Path(fill()).read_bytes()
    assert designed("recheck", DESIGN, FORM, "--out", "again", "--force").code == 0
    for call in (("design", "grinder.toml", "--force"), ("papers", "grinder.toml", "--force", "--out", DESIGN)):
        ran = designed(*call)
        assert ran.code == 5
        assert "measured.toml in it has been filled in with measurements" in ran.err
    assert Path(FORM).read_bytes() == content


def test_a_step_turned_far_too_small_is_told(designed: Run) -> None:
    """A driven step 10 mm too small: the belt does not fit, code 4, a way out is told first."""
    ran = designed("recheck", DESIGN, fill({(1, "driven", 4): -10.0}), "--json")
    assert ran.code == 4
    told = json.loads(ran.out)
    assert told["verdict"] in ("skim", "change the belt", "make a step anew", "no remedy")
    assert told["options"] or told["verdict"] == "no remedy"


def test_steps_not_turned_yet_are_open(designed: Run) -> None:
    """A driver step without a reading is not turned yet; the rest stands, and the screen says so."""
    ran = designed("recheck", DESIGN, fill(missing=(2,)), "--json")
    assert ran.code == 0
    told = json.loads(ran.out)
    assert told["verdict"] == "turn the rest"
    states = [step["state"] for step in told["steps"]]
    assert states.count("not turned") == 1
    assert "1 step is not turned yet; figures take the design's sizes." in told["remarks"]


def test_the_outside_of_a_groove_is_answered(designed: Run) -> None:
    """Outside diameters alone: cannot tell, how to measure, code 4, nothing proposed."""
    form = Path(FORM).read_text(encoding="utf-8").replace("over_pins", "outside")
    sizes = {where: size - 10.4 for where, size in as_designed(grinder()).items()}
    for (stage, side, position), size in sizes.items():
        at = f'stage = {stage}, side = "{side}", position = {position}, outside = '
        form = form.replace(f'{at}""', f"{at}{size}")
    Path("outside.toml").write_text(form.replace('date = "" ', "date = 2026-11-26 "), encoding="utf-8")
    ran = designed("recheck", DESIGN, "outside.toml")
    assert ran.code == 4
    assert "cannot tell: the outside diameter does not say where a belt runs in a groove" in " ".join(ran.out.split())
    assert "lay two pins of 12 mm in the groove on opposite sides" in " ".join(ran.out.split())
    assert "nothing is proposed yet" in ran.out


def test_older_checks_are_shown_beside_the_newest(designed: Run) -> None:
    """Two checks in one file: the newer counts, whatever their order; what wore off is told."""
    text = """units = "mm"
[[check]]
date = 2027-11-26
step = [{ stage = 1, side = "driver", position = 1, over_pins = 93.6 }]
[[check]]
date = 2026-11-26
step = [{ stage = 1, side = "driver", position = 1, over_pins = 94.0 }]
"""
    Path("twice.toml").write_text(text, encoding="utf-8")
    told = json.loads(designed("recheck", DESIGN, "twice.toml", "--json").out)
    assert told["dates"] == ["2026-11-26", "2027-11-26"]
    first = told["steps"][0]
    assert first["pitch_mm"] == pytest.approx(76.6)
    assert first["worn_mm"] == pytest.approx(0.4)
    assert [then["date"] for then in first["history"]] == ["2026-11-26", "2027-11-26"]
    screen = designed("recheck", DESIGN, "twice.toml").out
    assert "Earlier checks" in screen and "2026-11-26" in screen


def test_a_table_from_a_spreadsheet_is_read(designed: Run) -> None:
    """The CSV form, with semicolons, decimal commas, CRLF, a byte order mark, in an old encoding too."""
    rows = ["date;what;stage;side;position;over_pins;note"]
    for (stage, side, position), size in as_designed(grinder()).items():
        rows.append(
            f"26.11.2026;step;{stage};{side};{position};{size:.1f};müde".replace(".0;", ",0;").replace(".5;", ",5;")
        )
    text = "\r\n".join(rows)
    for name, encoding in (("a.csv", "utf-8-sig"), ("b.csv", "cp1252"), ("c.csv", "utf-16")):
        Path(name).write_bytes(text.encode(encoding))
        ran = designed("recheck", f"{DESIGN}/design.json", name)
        assert (ran.code, ran.err) == (0, "")
        assert "All is well" in ran.out


def test_the_folder_is_whole_and_follows_the_schema(designed: Run) -> None:
    """`--out` writes recheck.json and recheck.md; a folder that is there is refused, replaced with --force only."""
    ran = designed("recheck", DESIGN, fill(), "--out", "again")
    assert ran.code == 0
    assert ran.err.splitlines() == [f"written: {Path('again') / name}" for name in ("recheck.json", "recheck.md")]
    told = json.loads(Path("again/recheck.json").read_bytes())
    jsonschema.validate(told, schema_of(Recheck))
    assert told == json.loads(designed("recheck", DESIGN, FORM, "--json").out)
    assert designed("recheck", DESIGN, FORM, "--out", "again").code == 5
    assert designed("recheck", DESIGN, FORM, "--out", "again", "--force").code == 0
    Path("again/mine.txt").write_text("mine")
    assert designed("recheck", DESIGN, FORM, "--out", "again", "--force").code == 5
    assert Path("again/mine.txt").read_text() == "mine"


def test_a_stale_or_edited_design_is_refused(designed: Run) -> None:
    """A scenario that changed after the design, a design that was edited: code 2, with what to do."""
    fill()
    scenario = Path("grinder.toml").read_text(encoding="utf-8")
    Path("grinder.toml").write_text(scenario.replace("want = 2", "want = 1"), encoding="utf-8")
    ran = designed("recheck", DESIGN, FORM)
    assert ran.code == 2
    assert "design it anew: conewright design grinder.toml --force" in ran.err
    Path("grinder.toml").write_text(scenario, encoding="utf-8")
    document = json.loads(Path(f"{DESIGN}/design.json").read_bytes())
    document["machine"]["stages"][0]["positions"][0]["driver"]["outside_mm"] += 1
    Path(f"{DESIGN}/design.json").write_text(json.dumps(document))
    assert "it was changed after it was written" in designed("recheck", DESIGN, FORM).err
    assert "is not what its outside diameters and belts give" in designed("recheck", DESIGN, FORM, "--as-changed").err


def test_a_changed_design_is_taken_where_asked_and_said(designed: Run) -> None:
    """A check's value changed by hand: with --as-changed the screen, the text to keep and the JSON say so."""
    form = fill()
    document = json.loads(Path(f"{DESIGN}/design.json").read_bytes())
    document["checks"][0]["value"] = 1.0
    Path(f"{DESIGN}/design.json").write_text(json.dumps(document))
    assert designed("recheck", DESIGN, form).code == 2
    ran = designed("recheck", DESIGN, form, "--as-changed", "--out", "again")
    assert ran.code == 0
    for text in (ran.out, Path("again/recheck.md").read_text(), Path("again/recheck.json").read_text()):
        assert "CHANGED BY HAND: " in text
        assert "changed by hand after conewright made it" in " ".join(text.split())


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("none.toml", "none.toml: the file is not there"),
        (DESIGN, f"{DESIGN}: the file is a folder"),
        ("grinder.toml", "title: there is no such key"),
        (FORM, "measured.toml: nothing that was measured stands in it"),
    ],
)
def test_files_that_are_no_measurements(designed: Run, name: str, said: str) -> None:
    """What cannot be read is refused with code 2 and a sentence."""
    ran = designed("recheck", DESIGN, name)
    assert ran.code == 2
    assert ran.out == ""
    assert ran.err.startswith(said)


def test_speeds_tell_slip(designed: Run) -> None:
    """Speeds read at both ends of the cone, with the motor's: slip and pitch line are told, with how sure they are."""
    form = Path(fill()).read_text(encoding="utf-8")
    for position, rpm in ((1, 527), (4, 1750)):
        old = f'positions = [{position}], speed = "", motor = ""'
        assert old in form
        form = form.replace(old, f"positions = [{position}], speed = {rpm}, motor = 1492")
    Path("speeds.toml").write_text(form, encoding="utf-8")
    ran = designed("recheck", DESIGN, "speeds.toml", "--json")
    assert ran.code == 0
    told = json.loads(ran.out)
    assert [read["positions"] for read in told["read_speeds"]] == [[1], [4]]
    values = {value["name"]: value for value in told["slip"]["values"]}
    assert "slip of stage 1 idle" in values
    screen = designed("recheck", DESIGN, "speeds.toml").out
    assert "Slip and pitch line" in screen and all(len(line) <= 80 for line in screen.splitlines())
