"""Screens, sheets, documents of a result."""

from __future__ import annotations

import csv
import json
from io import StringIO

import jsonschema
import pytest

from optimizer.documents.checks import check_summary, troubles
from optimizer.documents.data import design_json, design_of_json, design_schema, speeds_json, speeds_schema
from optimizer.documents.design import design_files, design_screen, speeds_screen
from optimizer.documents.proof import proof_words
from optimizer.records.design import Design
from optimizer.records.known import KnownMachine


def test_document_follows_its_schema(mixer: Design) -> None:
    """The design document is valid by the published schema, which is itself valid."""
    schema = design_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(design_json(mixer)), schema, jsonschema.Draft202012Validator)


def test_speeds_document_follows_its_schema(saw: KnownMachine) -> None:
    """The document of a known machine is valid by its schema."""
    schema = speeds_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(speeds_json(saw)), schema, jsonschema.Draft202012Validator)


def test_document_reads_back_as_the_same_record(mixer: Design) -> None:
    """Nothing is lost between record and document."""
    assert design_of_json(design_json(mixer)) == mixer


def test_document_is_plain_ascii_with_a_last_line_end(mixer: Design) -> None:
    """Any terminal and any reader can take the document."""
    text = design_json(mixer)
    assert text.isascii()
    assert text.endswith("}\n")


def test_five_files_are_made(mixer: Design) -> None:
    """The folder holds the cut table, the document, the sheet, the forms for measurements."""
    assert sorted(design_files(mixer)) == ["cuts.csv", "design.json", "design.md", "measured.csv", "measured.toml"]


def test_screens_stay_within_eighty_columns(mixer: Design, saw: KnownMachine) -> None:
    """No line of a screen is longer than 80 characters, none ends in a blank."""
    for line in (*design_screen(mixer).splitlines(), *speeds_screen(saw).splitlines()):
        assert len(line) <= 80
        assert line == line.rstrip()


def test_screen_says_what_is_turned_and_how_fast(saw: KnownMachine) -> None:
    """The known machine's positions and speeds stand in two plain tables."""
    assert speeds_screen(saw).splitlines()[:20] == [
        "Old jig saw",
        "",
        "Motor 1420.0 rpm; spindle turns anticlockwise, seen from the motor's pulley end",
        "",
        "Stage 1, motor to spindle: belt A 1120 mm, centre distances 358.89 to 359.89 mm",
        "position  driver mm  driven mm   ratio  centre mm  wrap °  steps",
        "--------  ---------  ---------  ------  ---------  ------  ---------",
        "       1      86.60     178.60  0.4605     359.13     165  both kept",
        "       2     116.60     152.10  0.7485     358.89     174  both kept",
        "       3     146.60     121.10  1.2105     359.89     176  both kept",
        "Diameters over the rim. Belt on at 338.01, worn out at 390.69 mm",
        "Speeds are computed on the pitch line; by outside diameters ratios would differ",
        "  by up to 4.2 %",
        "",
        "Speeds",
        "speed     rpm  position  step up",
        "-----  ------  --------  -------",
        "    1   653.9         1",
        "    2  1062.8         2   62.5 %",
        "    3  1718.9         3   61.7 %",
    ]


def test_cut_table_has_every_step_in_the_makers_units(mixer: Design) -> None:
    """One row for every step of every cone, lengths in inches, the blank of a turned disc one of those in hand."""
    rows = list(csv.DictReader(StringIO(design_files(mixer)["cuts.csv"].decode())))
    assert len(rows) == 2 * sum(len(stage.positions) for stage in mixer.machine.stages)
    assert {row["source"] for row in rows} == {"ready", "turned"}
    discs = [row for row in rows if row["cone"] == "countershaft, driven by motor"]
    assert {row["blank_in"] for row in discs} <= {"8", "10", "12"}
    sizes = [p.driven.outside_mm / 25.4 for p in mixer.machine.stages[0].positions]
    assert [float(row["outside_in"]) for row in discs] == pytest.approx(sizes, abs=1e-4)
    assert all(row["blank_in"] == "" for row in rows if row["source"] == "ready")


def test_sheet_holds_all_that_was_decided(mixer: Design) -> None:
    """The sheet repeats cautions, every check, every default, every layout, the scenario's digest."""
    sheet = design_files(mixer)["design.md"].decode()
    assert sheet.startswith("# Clay mixer, =SUM(A1) in its name\n")
    for line in (*mixer.cautions, mixer.scenario.sha256, *(t.title for t in mixer.tried)):
        assert line in sheet
    for default in mixer.scenario.defaults:
        assert f"| {default.key} |" in sheet
    assert sheet.count("\n| ") >= len(mixer.checks)


def test_failed_check_is_never_shown_without_the_word(mixer: Design) -> None:
    """A design with a failed limit says FAILED on the screen, in the sheet, and names the check."""
    broken = mixer.checks[0].model_copy(update={"passed": False, "kind": "limit", "name": "wrap", "where": "stage[0]"})
    bad = mixer.model_copy(update={"checks": (broken, *mixer.checks[1:])})
    assert bad.failed == (broken,)
    assert "FAILED (limit): stage 1: wrap is" in design_screen(bad)
    assert "FAILED (limit): stage 1: wrap is" in design_files(bad)["design.md"].decode()
    assert check_summary(bad.checks).endswith(", 1 FAILED")


def test_troubles_name_the_impossible_first(mixer: Design) -> None:
    """What cannot be comes before a limit, a limit before advice."""
    kinds = ("advice", "impossible", "limit")
    checks = tuple(mixer.checks[0].model_copy(update={"passed": False, "kind": kind}) for kind in kinds)
    assert [line.split(":")[0] for line in troubles(checks, mixer.machine, "in")] == [
        "FAILED (impossible)",
        "FAILED (limit)",
        "warning",
    ]


def test_unproved_result_says_so(mixer: Design) -> None:
    """A search that was ended is called not proved, with the gap and the reason."""
    update = {"status": "not proved", "gap": 0.012, "reason": "1,000 combinations were looked at"}
    lines = list(proof_words(mixer.proof.model_copy(update=update), mixer.series))
    assert lines[1] == "Not proved, gap 1.200 %: 1,000 combinations were looked at"


def test_nan_never_reaches_a_document(saw: KnownMachine) -> None:
    """A figure that is none cannot be written as JSON by mistake."""
    check = saw.checks[0].model_copy(update={"limit": float("nan")})
    with pytest.raises(ValueError, match="not JSON compliant"):
        speeds_json(saw.model_copy(update={"checks": (check,)}))
